package store

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"beadline/catalog/stock/register"
)

// Commit sends a whole transaction at once, BEGIN and COMMIT with it, and waits for one
// answer. The first statement of each line moves its head if it is where it has to be, and
// divides by the number of heads moved: 0 is an error, and after an error the server
// passes over all that follows, COMMIT too.
//
// The transaction is REPEATABLE READ, which costs no more than READ COMMITTED: whoever
// waited for another write to the line is told so (40001) and starts from its outcome,
// instead of replacing a projection that it has only half seen. SERIALIZABLE would guard
// what is read as well; nothing is, but by the compare-and-swap.
func (s *pgStore) Commit(ctx context.Context, writes []register.Write) error {
	writes, err := inOrder(writes)
	if err != nil || len(writes) == 0 {
		return err
	}
	if s.o.ReadOnly {
		return fmt.Errorf("%s: %w", s.label, register.ErrReadOnly)
	}
	err = s.again(ctx, func() (bool, error) { return s.tryCommit(ctx, writes) })
	if err == nil {
		for i := range writes {
			for _, p := range places(writes[i].Lots) {
				s.places.Store(p, true)
			}
		}
	}
	return err
}

// tryCommit is final where the commit must not be sent again.
func (s *pgStore) tryCommit(ctx context.Context, writes []register.Write) (final bool, err error) {
	ctx, cancel := context.WithTimeout(ctx, s.o.patience())
	defer cancel()
	conn, err := s.pool.Acquire(ctx)
	if err != nil {
		return false, err
	}
	defer conn.Release() // gives up a connection that is still in a transaction
	var b pgx.Batch
	of := []*register.Write{nil} // the write of each statement
	b.Queue(`BEGIN ISOLATION LEVEL REPEATABLE READ`)
	for i := range writes {
		s.queue(&b, &writes[i])
		for len(of) < b.Len() {
			of = append(of, &writes[i])
		}
	}
	b.Queue(`COMMIT`)
	results := conn.SendBatch(ctx, &b)
	at := 0
	for ; at < b.Len() && err == nil; at++ {
		_, err = results.Exec()
	}
	_ = results.Close()
	if err == nil {
		return false, nil
	}
	if committing := at == b.Len(); unknown(err) && (committing || stateOf(err) == "") {
		return true, unknownOutcome(err)
	}
	if !conn.Conn().IsClosed() {
		_, _ = conn.Exec(ctx, `ROLLBACK`)
	}
	if at-1 < len(of) && of[at-1] != nil {
		err = s.refused(of[at-1], err)
	}
	return false, s.afterStandby(err)
}

func (s *pgStore) refused(w *register.Write, err error) error {
	switch constraint := constraintOf(err); {
	case stateOf(err) == stateDivision, constraint == "event_line_seq":
		return fmt.Errorf("%s: %s: %w", s.label, w.Key, register.ErrConflict)
	case constraint == "event_id":
		return fmt.Errorf("%s: %s: %w", s.label, w.Key, register.ErrDuplicate)
	}
	return err
}

const epochNow = `(SELECT coalesce(max(n), 0) FROM checkpoint)`

// newHead and moveHead are the compare-and-swap, with the events.
const (
	newHead = `WITH l AS (INSERT INTO line (key, seq, hash, epoch) VALUES ($1, $2, $3, ` + epochNow + `)
			ON CONFLICT (key) DO NOTHING RETURNING key),
		e AS (INSERT INTO event (line, seq, id, hash, body)
			SELECT $1, u.seq, u.id, u.hash, u.body FROM unnest($4::bigint[], $5::text[], $6::bytea[], $7::text[]) AS u (seq, id, hash, body))
		SELECT 1 / count(*) FROM l`
	moveHead = `WITH l AS (UPDATE line SET seq = $2, hash = $3, epoch = ` + epochNow + ` WHERE key = $1 AND seq = $8 AND hash = $9 RETURNING key),
		e AS (INSERT INTO event (line, seq, id, hash, body)
			SELECT $1, u.seq, u.id, u.hash, u.body FROM unnest($4::bigint[], $5::text[], $6::bytea[], $7::text[]) AS u (seq, id, hash, body))
		SELECT 1 / count(*) FROM l`
)

// The rest of a line is written where it differs, and no more: a row that is touched is a
// row to clean up after. Each statement changes a table once only, as some distributed
// clusters demand.
const (
	dropProjected = `WITH s AS (DELETE FROM served WHERE line = $1 AND n >= $2), r AS (DELETE FROM reserved WHERE line = $1 AND n >= $3)
		DELETE FROM lot WHERE stocked IN (0, 1) AND line = $1 AND NOT EXISTS (
			SELECT 1 FROM unnest($4::smallint[], $5::text[], $6::text[]) AS u (stocked, container, place)
			WHERE u.stocked = lot.stocked AND u.container = lot.container AND u.place = lot.place)`
	putLots = `INSERT INTO lot (stocked, line, container, place, class, row)
		SELECT u.stocked, $1, u.container, u.place, u.class, u.row
		FROM unnest($2::smallint[], $3::text[], $4::text[], $5::text[], $6::text[]) AS u (stocked, container, place, class, row)
		WHERE NOT EXISTS (SELECT 1 FROM lot AS o WHERE o.stocked = u.stocked AND o.line = $1 AND o.container = u.container
			AND o.place = u.place AND o.class = u.class AND o.row = u.row)
		ON CONFLICT (stocked, line, container, place) DO UPDATE SET class = excluded.class, row = excluded.row`
	putServed = `INSERT INTO served (line, n, seq, joint, job, mix, at)
		SELECT $1, u.n, u.seq, u.joint, u.job, u.mix, u.at
		FROM unnest($2::bigint[], $3::bigint[], $4::text[], $5::text[], $6::text[], $7::text[]) AS u (n, seq, joint, job, mix, at)
		WHERE NOT EXISTS (SELECT 1 FROM served AS o WHERE o.line = $1 AND o.n = u.n
			AND o.seq = u.seq AND o.joint = u.joint AND o.job = u.job AND o.mix = u.mix AND o.at = u.at)
		ON CONFLICT (line, n) DO UPDATE SET seq = excluded.seq, joint = excluded.joint, job = excluded.job, mix = excluded.mix, at = excluded.at`
	putReserved = `INSERT INTO reserved (line, n, job, container, place, amount)
		SELECT $1, u.n, u.job, u.container, u.place, u.amount
		FROM unnest($2::bigint[], $3::text[], $4::text[], $5::text[], $6::bigint[]) AS u (n, job, container, place, amount)
		WHERE NOT EXISTS (SELECT 1 FROM reserved AS o WHERE o.line = $1 AND o.n = u.n
			AND o.job = u.job AND o.container = u.container AND o.place = u.place AND o.amount = u.amount)
		ON CONFLICT (line, n) DO UPDATE SET job = excluded.job, container = excluded.container, place = excluded.place, amount = excluded.amount`
	putPlaces = `INSERT INTO place (name) SELECT unnest($1::text[]) ON CONFLICT (name) DO NOTHING`
)

// queue adds the statements of one line.
func (s *pgStore) queue(b *pgx.Batch, w *register.Write) {
	h := head(w)
	var seqs []int64
	var ids, bodies []string
	var hashes [][]byte
	for i := range w.Add {
		r := &w.Add[i]
		seqs, ids = append(seqs, int64(r.Seq)), append(ids, r.ID)
		hashes, bodies = append(hashes, r.Hash[:]), append(bodies, string(r.Body))
	}
	args := []any{string(w.Key), h.Seq, h.Hash[:], seqs, ids, hashes, bodies}
	if w.After.Seq == 0 {
		b.Queue(newHead, args...)
	} else {
		b.Queue(moveHead, append(args, w.After.Seq, w.After.Hash[:])...)
		c := columnsOf(w.Lots)
		b.Queue(dropProjected, string(w.Key), len(w.Served), len(w.Reserved), c.stocked, c.containers, c.places)
	}
	s.queueProjection(b, w.Key, &w.Projection)
}

// lotColumns are lots as the columns that one statement inserts.
type lotColumns struct {
	stocked                            []int16
	containers, places, classes, texts []string
}

func columnsOf(lots []register.Lot) (c lotColumns) {
	c = lotColumns{[]int16{}, []string{}, []string{}, []string{}, []string{}}
	for i := range lots {
		l := &lots[i]
		c.stocked = append(c.stocked, int16(number(l.Stocked)))
		c.containers, c.places = append(c.containers, l.Container), append(c.places, l.Place)
		c.classes, c.texts = append(c.classes, l.Class), append(c.texts, l.Row)
	}
	return c
}

func (s *pgStore) queueProjection(b *pgx.Batch, key register.Key, p *register.Projection) {
	if len(p.Lots) > 0 {
		c := columnsOf(p.Lots)
		b.Queue(putLots, string(key), c.stocked, c.containers, c.places, c.classes, c.texts)
	}
	if len(p.Served) > 0 {
		var n, seqs []int64
		var joints, jobs, mixes, ats []string
		for i, v := range p.Served {
			n, seqs, joints, jobs = append(n, int64(i)), append(seqs, int64(v.Seq)), append(joints, v.Joint), append(jobs, v.Job)
			mixes, ats = append(mixes, v.Mix), append(ats, instant(v.At))
		}
		b.Queue(putServed, string(key), n, seqs, joints, jobs, mixes, ats)
	}
	if len(p.Reserved) > 0 {
		var n, amounts []int64
		var jobs, containers, at []string
		for i, v := range p.Reserved {
			n, amounts, jobs = append(n, int64(i)), append(amounts, int64(v.Amount)), append(jobs, v.Job)
			containers, at = append(containers, v.Container), append(at, v.Place)
		}
		b.Queue(putReserved, string(key), n, jobs, containers, at, amounts)
	}
	var fresh []string
	for _, name := range places(p.Lots) {
		if _, known := s.places.Load(name); !known {
			fresh = append(fresh, name)
		}
	}
	if len(fresh) > 0 {
		b.Queue(putPlaces, fresh)
	}
}

// run sends a batch inside a transaction.
func run(ctx context.Context, tx pgx.Tx, b *pgx.Batch) error {
	if b.Len() == 0 {
		return nil
	}
	results := tx.SendBatch(ctx, b)
	var err error
	for i := 0; i < b.Len() && err == nil; i++ {
		_, err = results.Exec()
	}
	if err == nil {
		return results.Close()
	}
	return errors.Join(err, ignore(results.Close()))
}

// ignore is an error that has been told already.
func ignore(error) error { return nil }
