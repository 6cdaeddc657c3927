package store

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"strings"
	"time"

	"golang.org/x/text/cases"

	"beadline/catalog/stock/register"
)

// source runs reading statements: on the whole store, or on one moment of it. Statements
// are written once for both stores, with $1, $2 … for arguments.
type source interface {
	// query hands over each row. A query that fails in a way that may pass is tried again:
	// as long as it has handed over none, or after restart, if there is one.
	query(ctx context.Context, statement string, args []any, restart func(), row func(scan func(...any) error) error) error
	// pieces hands over rows of one text, many in one piece, good until each returns.
	pieces(ctx context.Context, statement string, args []any, each func([]byte) error) error
	// among is a condition that a column is among the texts of the argument that list
	// makes, which stands at $n.
	among(column string, n string) string
	list(texts []string) any
	// integrity says what the database finds wrong with itself.
	integrity(ctx context.Context) ([]string, error)
	// moment runs read on one moment; a source that is one already runs it on itself.
	moment(ctx context.Context, read func(source) error) error
	name() string
}

// reader is a register.Reader on a source.
type reader struct{ from source }

// errEnough ends a query from within.
var errEnough = errors.New("enough")

// Load also holds the last event against the head of its line: a line whose last events
// were taken out is a whole chain all the same.
func (r reader) Load(ctx context.Context, key register.Key) ([]register.Record, error) {
	var records []register.Record
	var head register.Head
	err := r.from.query(ctx, `SELECT e.seq, e.id, e.body, e.hash, coalesce(l.seq, 0), l.hash
		FROM event AS e LEFT JOIN line AS l ON l.key = e.line WHERE e.line = $1 ORDER BY e.seq`, []any{string(key)},
		func() { records = nil },
		func(scan func(...any) error) error {
			var e register.Record
			var hash, last []byte
			if err := scan(&e.Seq, &e.ID, &e.Body, &hash, &head.Seq, &last); err != nil {
				return err
			}
			records = append(records, e)
			copy(head.Hash[:], last)
			return r.hash(hash, &records[len(records)-1].Hash)
		})
	if n := len(records); err == nil && n > 0 && (records[n-1].Seq != head.Seq || records[n-1].Hash != head.Hash) {
		return records, damaged(r.from.name(), "%s has %d events, where its head says %d, or the last is not the one that was written", key, n, head.Seq)
	}
	return records, err
}

func (r reader) hash(b []byte, to *register.Hash) error {
	if copy(to[:], b) != len(to) || len(b) != len(to) {
		return damaged(r.from.name(), "a hash of %d bytes", len(b))
	}
	return nil
}

func (r reader) Find(ctx context.Context, id string) (key register.Key, e register.Record, ok bool, err error) {
	err = r.from.query(ctx, `SELECT line, seq, id, body, hash FROM event WHERE id = $1`, []any{id}, func() { ok = false },
		func(scan func(...any) error) error {
			var hash []byte
			ok = true
			if err := scan((*string)(&key), &e.Seq, &e.ID, &e.Body, &hash); err != nil {
				return err
			}
			return r.hash(hash, &e.Hash)
		})
	return key, e, ok && err == nil, err
}

func (r reader) Lines(ctx context.Context, from register.Key, each func(register.Head) bool) error {
	err := r.heads(ctx, `SELECT key, seq, hash FROM line WHERE key >= $1 ORDER BY key`, []any{string(from)},
		func(h register.Head) error {
			if !each(h) {
				return errEnough
			}
			return nil
		})
	if err == errEnough {
		return nil
	}
	return err
}

func (r reader) heads(ctx context.Context, statement string, args []any, each func(register.Head) error) error {
	var hash []byte
	return r.from.query(ctx, statement, args, nil, func(scan func(...any) error) error {
		var h register.Head
		if err := scan((*string)(&h.Key), &h.Seq, &hash); err != nil {
			return err
		}
		if err := r.hash(hash, &h.Hash); err != nil {
			return err
		}
		return each(h)
	})
}

// EachLine hands over all lines of one moment. A line that has lost its events comes with
// none, and events that have lost their line come with a head of Seq 0: whoever verifies
// has to see both.
func (r reader) EachLine(ctx context.Context, each func(register.Head, []register.Record) error) error {
	return r.from.moment(ctx, func(s source) error {
		m := reader{s}
		after := ""
		for {
			heads, err := m.someHeads(ctx, after)
			if err != nil {
				return err
			}
			last := len(heads) == 0
			upto := ""
			if !last {
				upto = string(heads[len(heads)-1].Key)
			}
			events, err := m.someEvents(ctx, after, upto)
			if err != nil {
				return err
			}
			if err := merge(heads, events, each); err != nil || last {
				return err
			}
			after = upto
		}
	})
}

// chunk is how many lines EachLine reads at a time.
const chunk = 512

func (r reader) someHeads(ctx context.Context, after string) (heads []register.Head, err error) {
	err = r.heads(ctx, `SELECT key, seq, hash FROM line WHERE key > $1 ORDER BY key LIMIT $2`, []any{after, chunk},
		func(h register.Head) error {
			heads = append(heads, h)
			return nil
		})
	return heads, err
}

type eventOf struct {
	key register.Key
	register.Record
}

func (r reader) someEvents(ctx context.Context, after, upto string) (events []eventOf, err error) {
	statement, args := `SELECT line, seq, id, body, hash FROM event WHERE line > $1 AND line <= $2 ORDER BY line, seq`, []any{after, upto}
	if upto == "" {
		statement, args = `SELECT line, seq, id, body, hash FROM event WHERE line > $1 ORDER BY line, seq`, args[:1]
	}
	err = r.from.query(ctx, statement, args, func() { events = nil }, func(scan func(...any) error) error {
		var e eventOf
		var hash []byte
		if err := scan((*string)(&e.key), &e.Seq, &e.ID, &e.Body, &hash); err != nil {
			return err
		}
		if err := r.hash(hash, &e.Hash); err != nil {
			return err
		}
		events = append(events, e)
		return nil
	})
	return events, err
}

// merge joins heads and events, both in order of keys.
func merge(heads []register.Head, events []eventOf, each func(register.Head, []register.Record) error) error {
	for len(heads) > 0 || len(events) > 0 {
		h := register.Head{}
		if len(events) == 0 || len(heads) > 0 && heads[0].Key <= events[0].key {
			h, heads = heads[0], heads[1:]
		} else {
			h.Key = events[0].key
		}
		var records []register.Record
		for len(events) > 0 && events[0].key == h.Key {
			records = append(records, events[0].Record)
			events = events[1:]
		}
		if err := each(h, records); err != nil {
			return err
		}
	}
	return nil
}

func (r reader) Rows(ctx context.Context, f register.RowFilter, each func([]byte) error) error {
	where, args := "", []any{}
	if f.Class != "" {
		where, args = where+` AND class = $1`, append(args, f.Class)
	}
	if f.Place != "" {
		at, err := r.placesAt(ctx, f.Place)
		if err != nil || len(at) == 0 {
			return err
		}
		where += ` AND ` + r.from.among("place", []string{"$1", "$2"}[len(args)])
		args = append(args, r.from.list(at))
	}
	statement := `SELECT row FROM lot WHERE stocked = 1` + where + ` ORDER BY line, container, place`
	if f.Gone {
		// Two lists in order, merged: nothing is sorted.
		half := `SELECT line, container, place, row FROM lot WHERE stocked = `
		statement = `SELECT row FROM (` + half + `1` + where + ` UNION ALL ` + half + `0` + where + ` ORDER BY line, container, place) AS lots`
	}
	return r.from.pieces(ctx, statement, args, each)
}

// placesAt are the places that a filter means. They are folded here, since neither store
// knows the capitals of all letters.
func (r reader) placesAt(ctx context.Context, filter string) (at []string, err error) {
	all, err := r.Places(ctx)
	if err != nil {
		return nil, err
	}
	fold := cases.Fold()
	want := fold.String(filter)
	for _, name := range all {
		if folded := fold.String(name); folded == want || strings.HasPrefix(folded, want+" / ") {
			at = append(at, name)
		}
	}
	return at, nil
}

func (r reader) Lots(ctx context.Context, key register.Key) (lots []register.Lot, err error) {
	err = r.from.query(ctx, `SELECT container, place, class, stocked, row FROM lot WHERE stocked IN (0, 1) AND line = $1`, []any{string(key)},
		func() { lots = nil },
		func(scan func(...any) error) error {
			var l register.Lot
			var stocked int
			if err := scan(&l.Container, &l.Place, &l.Class, &stocked, &l.Row); err != nil {
				return err
			}
			l.Stocked = stocked == 1
			lots = append(lots, l)
			return nil
		})
	slices.SortFunc(lots, func(a, b register.Lot) int {
		if c := strings.Compare(a.Container, b.Container); c != 0 {
			return c
		}
		return strings.Compare(a.Place, b.Place)
	})
	return lots, err
}

func (r reader) Served(ctx context.Context, joint, job string) (all []register.Served, err error) {
	where, args := `joint = $1`, []any{joint}
	switch {
	case joint == "":
		where, args = `job = $1`, []any{job}
	case job != "":
		where, args = `joint = $1 AND job = $2`, []any{joint, job}
	}
	return r.served(ctx, where+` ORDER BY at, line, n`, args)
}

func (r reader) served(ctx context.Context, where string, args []any) (all []register.Served, err error) {
	err = r.from.query(ctx, `SELECT line, seq, joint, job, mix, at FROM served WHERE `+where, args, func() { all = nil },
		func(scan func(...any) error) error {
			var s register.Served
			var at string
			err := scan((*string)(&s.Key), &s.Seq, &s.Joint, &s.Job, &s.Mix, &at)
			if err == nil {
				s.At, err = r.instant(at)
			}
			all = append(all, s)
			return err
		})
	return all, err
}

func (r reader) instant(s string) (time.Time, error) {
	t, err := time.Parse(instantLayout, s)
	if err != nil {
		return t, damaged(r.from.name(), "%q is not an instant", s)
	}
	return t, nil
}

func (r reader) ReservedFor(ctx context.Context, job string) (keys []register.Key, err error) {
	names, err := r.texts(ctx, `SELECT DISTINCT line FROM reserved WHERE job = $1 ORDER BY line`, job)
	for _, name := range names {
		keys = append(keys, register.Key(name))
	}
	return keys, err
}

func (r reader) Reserved(ctx context.Context) (all map[register.Key][]register.Reserved, err error) {
	all = map[register.Key][]register.Reserved{}
	err = r.from.query(ctx, `SELECT line, job, container, place, amount FROM reserved ORDER BY line, n`, nil, func() { clear(all) },
		func(scan func(...any) error) error {
			var key register.Key
			var v register.Reserved
			err := scan((*string)(&key), &v.Job, &v.Container, &v.Place, (*int64)(&v.Amount))
			all[key] = append(all[key], v)
			return err
		})
	return all, err
}

func (r reader) Places(ctx context.Context) ([]string, error) {
	return r.texts(ctx, `SELECT name FROM place ORDER BY name`)
}

func (r reader) Joints(ctx context.Context) ([]string, error) {
	return r.texts(ctx, `SELECT DISTINCT joint FROM served WHERE joint <> '' ORDER BY joint`)
}

func (r reader) texts(ctx context.Context, statement string, args ...any) (all []string, err error) {
	err = r.from.query(ctx, statement, args, func() { all = nil }, func(scan func(...any) error) error {
		var s string
		if err := scan(&s); err != nil {
			return err
		}
		all = append(all, s)
		return nil
	})
	return all, err
}

func (r reader) Checkpoints(ctx context.Context) ([]register.Checkpoint, error) {
	return r.checkpoints(ctx, `ORDER BY n`)
}

func (r reader) checkpoints(ctx context.Context, order string) (all []register.Checkpoint, err error) {
	err = r.from.query(ctx, `SELECT n, at, by, lines, events, previous, hash FROM checkpoint `+order, nil, func() { all = nil },
		func(scan func(...any) error) error {
			var c register.Checkpoint
			var at string
			var previous, hash []byte
			err := scan(&c.N, &at, &c.By, &c.Lines, &c.Events, &previous, &hash)
			if err == nil {
				c.At, err = r.instant(at)
			}
			if err == nil {
				err = cmp.Or(r.hash(previous, &c.Previous), r.hash(hash, &c.Hash))
			}
			if err != nil {
				return err
			}
			all = append(all, c)
			return nil
		})
	return all, err
}

// CheckpointHeads reads some at a time, so that others may be read from within each.
func (r reader) CheckpointHeads(ctx context.Context, n int, each func(register.Head) error) error {
	var last register.Head
	for {
		some := make([]register.Head, 0, chunk)
		err := r.heads(ctx, `SELECT line, seq, hash FROM checkpoint_head WHERE n = $1 AND line >= $2 AND (line > $2 OR seq > $3) ORDER BY line, seq LIMIT $4`,
			[]any{n, string(last.Key), last.Seq, chunk}, func(h register.Head) error {
				some = append(some, h)
				return nil
			})
		if err != nil {
			return err
		}
		for _, h := range some {
			if err := each(h); err != nil {
				return err
			}
		}
		if len(some) < chunk {
			return nil
		}
		last = some[len(some)-1]
	}
}

// EachCheckpointHead reads some at a time, so that other reading may go on beside it. A
// head is known by its line and event.
func (r reader) EachCheckpointHead(ctx context.Context, each func(int, register.Head) error) error {
	return r.from.moment(ctx, func(s source) error {
		after := register.Head{}
		for {
			some, err := reader{s}.someCheckpointHeads(ctx, after)
			if err != nil || len(some) == 0 {
				return err
			}
			for _, h := range some {
				if err := each(h.n, h.Head); err != nil {
					return err
				}
			}
			after = some[len(some)-1].Head
		}
	})
}

type headOfCheckpoint struct {
	n int
	register.Head
}

func (r reader) someCheckpointHeads(ctx context.Context, after register.Head) (some []headOfCheckpoint, err error) {
	err = r.from.query(ctx, `SELECT n, line, seq, hash FROM checkpoint_head WHERE (line, seq) > ($1, $2) ORDER BY line, seq LIMIT $3`,
		[]any{string(after.Key), after.Seq, chunk}, func() { some = nil }, func(scan func(...any) error) error {
			var h headOfCheckpoint
			var hash []byte
			if err := scan(&h.n, (*string)(&h.Key), &h.Seq, &hash); err != nil {
				return err
			}
			if err := r.hash(hash, &h.Hash); err != nil {
				return err
			}
			some = append(some, h)
			return nil
		})
	return some, err
}

func (r reader) Totals(ctx context.Context) (t register.Totals, err error) {
	err = r.from.query(ctx, `SELECT count(*), CAST(coalesce(sum(seq), 0) AS bigint) FROM line`, nil, func() {},
		func(scan func(...any) error) error { return scan(&t.Lines, &t.Events) })
	return t, err
}
