package store

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/register"
)

// opener opens a store: the same register each time, as another program would.
type opener func(t testing.TB, o Options) register.Store

// testStore is what both stores have to do. Each rule gets a register of its own.
func testStore(t *testing.T, fresh func(t testing.TB) opener) {
	for name, test := range map[string]func(*testing.T, opener){
		"WhatIsCommittedIsThere":               committedIsThere,
		"CommitIsCompareAndSwap":               compareAndSwap,
		"CommitIsAllOrNothing":                 allOrNothing,
		"EventIDIsThereOnce":                   idOnce,
		"ImpossibleWritesAreRefused":           impossibleWrites,
		"KeysAreOrderedByTheirBytes":           orderOfKeys,
		"UnusualTextComesBack":                 unusualText,
		"RowsAreFiltered":                      rowsFiltered,
		"ProjectionIsReplaced":                 projectionReplaced,
		"ServedIsFoundByJointAndJob":           servedFound,
		"ProjectionsComeInOrder":               eachProjection,
		"VerifyReadsAll":                       verifyReadsAll,
		"WritersOfOneLineTakeTurns":            writersOfOneLine,
		"WritersOfManyLinesLoseNothing":        writersOfManyLines,
		"PairsOfLinesDoNotWaitForEachOther":    pairsOfLines,
		"SnapshotIsOneMoment":                  snapshotIsOneMoment,
		"CheckpointCoversWhatMoved":            checkpointCovers,
		"CheckpointsAmongWritersCoverAll":      checkpointsAmongWriters,
		"CheckpointCatchesWhatItsEpochsMissed": checkpointCatches,
		"RestoreIsAllOrNothing":                restoreAllOrNothing,
		"ReprojectReplacesAll":                 reproject,
		"EachLineHandsOverWhatIsOutOfJoint":    eachLineOrphans,
		"ReadOnlyRefusesWrites":                readOnlyRefuses,
		"ContextEndsWork":                      contextEnds,
		"CallersErrorsPassAsTheyAre":           callersErrors,
	} {
		t.Run(name, func(t *testing.T) { test(t, fresh(t)) })
	}
}

var background = context.Background()

// change makes a write of n events after a head, with ids and bodies of its own.
func change(after register.Head, n int) register.Write {
	w := register.Write{Key: after.Key, After: after}
	h := after.Hash
	for i := range n {
		seq := after.Seq + 1 + i
		body := fmt.Appendf(nil, `{"line":%q,"seq":%d,"by":"A. Nyholm"}`, string(after.Key), seq)
		h = h.Next(body)
		w.Add = append(w.Add, register.Record{Seq: seq, ID: fmt.Sprintf("%s#%d", string(after.Key), seq), Body: body, Hash: h})
	}
	return w
}

func begin(key string, n int) register.Write { return change(register.Head{Key: register.Key(key)}, n) }

// headOf reads the end of a line.
func headOf(t testing.TB, s register.Reader, key register.Key) register.Head {
	records, err := s.Load(background, key)
	require.NoError(t, err)
	return endOf(key, records)
}

func endOf(key register.Key, records []register.Record) register.Head {
	h := register.Head{Key: key}
	if n := len(records); n > 0 {
		h.Seq, h.Hash = records[n-1].Seq, records[n-1].Hash
	}
	return h
}

// chained holds records to being a chain without gaps.
func chained(t testing.TB, records []register.Record) {
	t.Helper()
	var h register.Hash
	for i, r := range records {
		require.Equal(t, i+1, r.Seq)
		h = h.Next(r.Body)
		require.Equal(t, h, r.Hash)
	}
}

func commit(t testing.TB, s register.Store, writes ...register.Write) {
	t.Helper()
	require.NoError(t, s.Commit(background, writes))
}

func committedIsThere(t *testing.T, open opener) {
	s := open(t, Options{Create: true})
	w := begin("L-1\tmaker", 3)
	commit(t, s, w)
	commit(t, s, change(head(&w), 2))
	s = open(t, Options{})
	records, err := s.Load(background, w.Key)
	require.NoError(t, err)
	require.Len(t, records, 5)
	chained(t, records)
	assert.Equal(t, w.Add, records[:3])

	key, r, ok, err := s.Find(background, "L-1\tmaker#4")
	require.NoError(t, err)
	assert.True(t, ok)
	assert.Equal(t, w.Key, key)
	assert.Equal(t, records[3], r)
	_, _, ok, err = s.Find(background, "L-1\tmaker#9")
	assert.NoError(t, err)
	assert.False(t, ok)

	none, err := s.Load(background, "L-2\tmaker")
	assert.NoError(t, err)
	assert.Empty(t, none)
	totals, err := s.Totals(background)
	assert.NoError(t, err)
	assert.Equal(t, register.Totals{Lines: 1, Events: 5}, totals)
}

func compareAndSwap(t *testing.T, open opener) {
	s := open(t, Options{Create: true})
	first := begin("L-1\tm", 2)
	commit(t, s, first)
	other := begin("L-1\tm", 1)
	other.Add[0].ID = "another id"
	assert.ErrorIs(t, s.Commit(background, []register.Write{other}), register.ErrConflict, "the line exists")
	assert.ErrorIs(t, s.Commit(background, []register.Write{change(register.Head{Key: "L-2\tm", Seq: 1, Hash: first.Add[0].Hash}, 1)}), register.ErrConflict, "the line does not exist")
	old := change(register.Head{Key: "L-1\tm", Seq: 1, Hash: first.Add[0].Hash}, 1)
	old.Add[0].ID = "a third id"
	assert.ErrorIs(t, s.Commit(background, []register.Write{old}), register.ErrConflict, "the line has gone on")
	wrong := change(register.Head{Key: "L-1\tm", Seq: 2, Hash: register.Hash{1}}, 1)
	assert.ErrorIs(t, s.Commit(background, []register.Write{wrong}), register.ErrConflict, "the line ends otherwise")
	commit(t, s, change(head(&first), 1))
	assert.Equal(t, 3, headOf(t, s, "L-1\tm").Seq)
}

func allOrNothing(t *testing.T, open opener) {
	s := open(t, Options{Create: true})
	a, b := begin("A\tm", 1), begin("B\tm", 1)
	a.Lots = []register.Lot{{Container: "1", Place: "store", Class: "c", Stocked: true, Row: "a\n"}}
	commit(t, s, b)
	again := begin("B\tm", 1)
	again.Add[0].ID = "other"
	c := begin("C\tm", 1)
	assert.ErrorIs(t, s.Commit(background, []register.Write{c, again, a}), register.ErrConflict)
	dup := begin("D\tm", 1)
	dup.Add[0].ID = b.Add[0].ID
	assert.ErrorIs(t, s.Commit(background, []register.Write{a, dup}), register.ErrDuplicate)
	totals, err := s.Totals(background)
	require.NoError(t, err)
	assert.Equal(t, register.Totals{Lines: 1, Events: 1}, totals)
	for _, key := range []register.Key{"A\tm", "C\tm", "D\tm"} {
		assert.Zero(t, headOf(t, s, key).Seq)
	}
	lots, err := s.Lots(background, "A\tm")
	assert.NoError(t, err)
	assert.Empty(t, lots)
	places, err := s.Places(background)
	assert.NoError(t, err)
	assert.Empty(t, places)
	commit(t, s, a, c)
	assert.NoError(t, s.Commit(background, nil), "nothing to write")
	places, err = s.Places(background)
	assert.NoError(t, err)
	assert.Equal(t, []string{"store"}, places)
}

func idOnce(t *testing.T, open opener) {
	s := open(t, Options{Create: true})
	w := begin("L-1\tm", 1)
	commit(t, s, w)
	other := begin("L-2\tm", 2)
	other.Add[1].ID = w.Add[0].ID
	assert.ErrorIs(t, s.Commit(background, []register.Write{other}), register.ErrDuplicate)
	twice := begin("L-3\tm", 2)
	twice.Add[1].ID = twice.Add[0].ID
	assert.ErrorIs(t, s.Commit(background, []register.Write{twice}), register.ErrDuplicate)
	next := change(head(&w), 1)
	next.Add[0].ID = w.Add[0].ID
	assert.ErrorIs(t, s.Commit(background, []register.Write{next}), register.ErrDuplicate)
	assert.Equal(t, 1, headOf(t, s, "L-1\tm").Seq)
}

func impossibleWrites(t *testing.T, open opener) {
	s := open(t, Options{Create: true})
	for name, spoil := range map[string]func(*register.Write){
		"no key":             func(w *register.Write) { w.Key = "" },
		"no events":          func(w *register.Write) { w.Add = nil },
		"a gap":              func(w *register.Write) { w.Add[1].Seq = 3 },
		"no id":              func(w *register.Write) { w.Add[0].ID = "" },
		"NUL in a body":      func(w *register.Write) { w.Add[0].Body = []byte("{\"a\":\"\x00\"}") },
		"NUL in an id":       func(w *register.Write) { w.Add[0].ID = "a\x00b" },
		"not UTF-8":          func(w *register.Write) { w.Key = "L\xff\tm" },
		"NUL in a row":       func(w *register.Write) { w.Lots = []register.Lot{{Row: "a\x00"}} },
		"two lots at a spot": func(w *register.Write) { w.Lots = []register.Lot{{Place: "p"}, {Place: "p", Stocked: true}} },
		"not UTF-8 joint":    func(w *register.Write) { w.Served = []register.Served{{Joint: "\xc3"}} },
	} {
		w := begin("L-1\tm", 2)
		spoil(&w)
		assert.Error(t, s.Commit(background, []register.Write{w}), name)
	}
	assert.Error(t, s.Commit(background, []register.Write{begin("L-1\tm", 1), begin("L-1\tm", 1)}), "one line twice")
	totals, err := s.Totals(background)
	assert.NoError(t, err)
	assert.Zero(t, totals)
}

func orderOfKeys(t *testing.T, open opener) {
	s := open(t, Options{Create: true})
	keys := []string{"10\tm", "1\tm", "1\tM", "a\t", "B\tx", "Å\tx", "å\tx", "ı\tx", "é\tx", "e\u0301\tx", "-\tm", "_\tm", " x\tm", "\U0001F600\tm", "\uFFFD\tm", "catalog\t\tour own"}
	for _, k := range keys {
		commit(t, s, begin(k, 1))
	}
	slices.Sort(keys)
	var got []string
	require.NoError(t, s.Lines(background, "", func(h register.Head) bool { got = append(got, string(h.Key)); return true }))
	assert.Equal(t, keys, got)
	got = nil
	require.NoError(t, s.Lines(background, register.Key(keys[3]), func(h register.Head) bool { got = append(got, string(h.Key)); return len(got) < 4 }))
	assert.Equal(t, keys[3:7], got)
	got = nil
	require.NoError(t, s.EachLine(background, func(h register.Head, records []register.Record) error {
		got = append(got, string(h.Key))
		assert.Equal(t, h, endOf(h.Key, records))
		return nil
	}))
	assert.Equal(t, keys, got)
}

// odd are texts that have broken programs before.
var odd = []string{"'; DROP TABLE line; --", `"quoted", and \backslashed\`, "%_ $1 ?1 :x @y", "semi;colon", "a\r\nb", "\u202eright to left\u202c שלום عربي", "👩🏽‍🔧🧴", "\u00a0\u2003", "é and e\u0301", "\uFEFFmark", strings.Repeat("long ", 20000)}

func unusualText(t *testing.T, open opener) {
	s := open(t, Options{Create: true})
	for i, text := range odd {
		key := register.Key(fmt.Sprintf("%d %.800s\tm", i, text))
		w := begin(string(key), 1)
		body := fmt.Appendf(nil, `{"text":%q}`, text)
		w.Add[0] = register.Record{Seq: 1, ID: fmt.Sprintf("id %d %.800s", i, text), Body: body, Hash: register.Hash{}.Next(body)}
		place, job := fmt.Sprintf("place %.800s", text), fmt.Sprintf("job %.800s", text)
		at := time.Date(2027, 3, 5, 8, 0, i, 0, time.UTC)
		w.Projection = register.Projection{
			Lots:     []register.Lot{{Container: text[:min(len(text), 5)], Place: place, Class: text, Stocked: true, Row: text + "\n"}},
			Served:   []register.Served{{Key: key, Seq: 1, Joint: place, Job: job, Mix: text, At: at}},
			Reserved: []register.Reserved{{Job: job, Container: text, Place: text, Amount: 1250}},
		}
		if !isUTF8(w.Lots[0].Container) {
			w.Lots[0].Container = ""
		}
		commit(t, s, w)
		records, err := s.Load(background, key)
		require.NoError(t, err)
		assert.Equal(t, w.Add, records)
		_, r, ok, err := s.Find(background, w.Add[0].ID)
		assert.NoError(t, err)
		assert.True(t, ok)
		assert.Equal(t, w.Add[0], r)
		lots, err := s.Lots(background, key)
		assert.NoError(t, err)
		assert.Equal(t, w.Lots, lots)
		served, err := s.Served(background, place, job)
		assert.NoError(t, err)
		assert.Equal(t, w.Served, served)
		keys, err := s.ReservedFor(background, job)
		assert.NoError(t, err)
		assert.Equal(t, []register.Key{key}, keys)
		assert.Equal(t, text+"\n", rowsOf(t, s, register.RowFilter{Place: place}))
		assert.Equal(t, text+"\n", rowsOf(t, s, register.RowFilter{Class: text, Gone: true}))
	}
}

func isUTF8(s string) bool { return strings.ToValidUTF8(s, "") == s }

func rowsOf(t testing.TB, s register.Reader, f register.RowFilter) string {
	t.Helper()
	var b strings.Builder
	require.NoError(t, s.Rows(background, f, func(p []byte) error { b.Write(p); return nil }))
	return b.String()
}

func rowsFiltered(t *testing.T, open opener) {
	s := open(t, Options{Create: true})
	add := func(key string, lots ...register.Lot) {
		w := begin(key, 1)
		w.Lots = lots
		commit(t, s, w)
	}
	add("B\tm", register.Lot{Place: "North / Fridge 2", Class: "x", Stocked: true, Row: "4\n"},
		register.Lot{Container: "2", Place: "North / Fridge 2", Class: "x", Row: "gone 6\n"},
		register.Lot{Container: "1", Place: "north", Class: "y", Stocked: true, Row: "5\n"})
	add("A\tm", register.Lot{Place: "Northern / Shelf", Class: "x", Stocked: true, Row: "1\n"},
		register.Lot{Container: "9", Place: "Ærø / Øl", Class: "x", Row: "gone 2\n"},
		register.Lot{Container: "A", Place: "ÆRØ / øl", Class: "x", Stocked: true, Row: "3\n"})
	for _, c := range []struct {
		f    register.RowFilter
		want string
	}{
		{register.RowFilter{}, "1 3 4 5"},
		{register.RowFilter{Gone: true}, "1 gone 2 3 4 5 gone 6"},
		{register.RowFilter{Class: "x"}, "1 3 4"},
		{register.RowFilter{Class: "X"}, ""},
		{register.RowFilter{Place: "NORTH"}, "4 5"},
		{register.RowFilter{Place: "north / fridge 2"}, "4"},
		{register.RowFilter{Place: "north / fridge 2", Gone: true}, "4 gone 6"},
		{register.RowFilter{Place: "north", Class: "y"}, "5"},
		{register.RowFilter{Place: "nor"}, ""},
		{register.RowFilter{Place: "ærØ"}, "3"},
		{register.RowFilter{Place: "ærØ", Gone: true, Class: "x"}, "gone 2 3"},
	} {
		got := strings.TrimSpace(strings.ReplaceAll(rowsOf(t, s, c.f), "\n", " "))
		assert.Equal(t, c.want, got, "%+v", c.f)
	}
	stop := errors.New("stop")
	assert.ErrorIs(t, s.Rows(background, register.RowFilter{}, func([]byte) error { return stop }), stop)
	places, err := s.Places(background)
	assert.NoError(t, err)
	assert.Equal(t, []string{"North / Fridge 2", "Northern / Shelf", "north", "ÆRØ / øl", "Ærø / Øl"}, places)
}

func projectionReplaced(t *testing.T, open opener) {
	s := open(t, Options{Create: true})
	at := time.Date(2027, 3, 5, 8, 0, 0, 123e6, time.UTC)
	key := register.Key("L\tm")
	steps := []register.Projection{
		{Lots: []register.Lot{{Container: "1", Place: "a", Class: "c", Stocked: true, Row: "r1\n"}, {Container: "2", Place: "a", Class: "c", Stocked: true, Row: "r2\n"}},
			Served:   []register.Served{{Key: key, Seq: 1, Joint: "j1", Job: "k", Mix: "m", At: at}, {Key: key, Seq: 1, Joint: "j1", Job: "k", Mix: "m", At: at}},
			Reserved: []register.Reserved{{Job: "k", Container: "1", Place: "a", Amount: 5}, {Job: "l", Container: "1", Place: "a", Amount: 6}}},
		{Lots: []register.Lot{{Container: "1", Place: "a", Class: "c", Row: "r1 gone\n"}, {Container: "2", Place: "b", Class: "d", Stocked: true, Row: "r2\n"}, {Container: "3", Place: "", Class: "", Stocked: true, Row: "r3\n"}},
			Served:   []register.Served{{Key: key, Seq: 2, Joint: "j2", Job: "k", Mix: "m", At: at}},
			Reserved: []register.Reserved{{Job: "l", Container: "1", Place: "a", Amount: 7}}},
		{Lots: []register.Lot{{Container: "1", Place: "a", Class: "c", Stocked: true, Row: "back\n"}},
			Served: []register.Served{{Key: key, Seq: 2, Joint: "j2", Job: "k", Mix: "m", At: at}, {Key: key, Seq: 3, Joint: "j3", Job: "k", Mix: "m", At: at.Add(time.Hour)}}},
		{},
	}
	h := register.Head{Key: key}
	for _, p := range steps {
		w := change(h, 1)
		w.Projection = p
		commit(t, s, w)
		h = head(&w)
		lots, err := s.Lots(background, key)
		assert.NoError(t, err)
		assert.Equal(t, p.Lots, lots)
		served, err := s.Served(background, "", "k")
		assert.NoError(t, err)
		assert.Equal(t, p.Served, served)
		reserved, err := s.Reserved(background)
		assert.NoError(t, err)
		assert.Equal(t, p.Reserved, reserved[key])
		keys, err := s.ReservedFor(background, "k")
		assert.NoError(t, err)
		assert.Len(t, keys, min(1, len(slices.DeleteFunc(slices.Clone(p.Reserved), func(r register.Reserved) bool { return r.Job != "k" }))))
		keys, err = s.ReservedFor(background, "l")
		assert.NoError(t, err)
		assert.Len(t, keys, min(1, len(slices.DeleteFunc(slices.Clone(p.Reserved), func(r register.Reserved) bool { return r.Job != "l" }))))
	}
	places, err := s.Places(background)
	assert.NoError(t, err)
	assert.Equal(t, []string{"a", "b"}, places, "places stay")
	w := register.Write{Key: key, After: h, Projection: steps[0]}
	commit(t, s, w)
	lots, err := s.Lots(background, key)
	assert.NoError(t, err)
	assert.Equal(t, steps[0].Lots, lots, "a projection alone")
}

func servedFound(t *testing.T, open opener) {
	s := open(t, Options{Create: true})
	at := func(h int) time.Time { return time.Date(2027, 3, 5, h, 0, 0, 0, time.UTC) }
	for key, all := range map[register.Key][]register.Served{
		"A\tm": {{Key: "A\tm", Seq: 1, Joint: "door", Job: "J1", Mix: "x", At: at(9)}, {Key: "A\tm", Seq: 1, Joint: "hatch", Job: "J1", Mix: "x", At: at(7)}},
		"B\tm": {{Key: "B\tm", Seq: 1, Joint: "door", Job: "J2", Mix: "y", At: at(8)}, {Key: "B\tm", Seq: 1, Joint: "rib", Job: "J1", Mix: "y", At: at(6)}},
	} {
		w := begin(string(key), 1)
		w.Served = all
		commit(t, s, w)
	}
	for _, c := range []struct{ joint, job, want string }{
		{"door", "", "B8 A9"}, {"door", "J1", "A9"}, {"", "J1", "B6 A7 A9"}, {"none", "", ""}, {"", "J3", ""},
	} {
		served, err := s.Served(background, c.joint, c.job)
		require.NoError(t, err)
		var got []string
		for _, v := range served {
			got = append(got, fmt.Sprintf("%s%d", v.Key[:1], v.At.Hour()))
		}
		assert.Equal(t, c.want, strings.Join(got, " "), "%+v", c)
	}
	joints, err := s.Joints(background)
	assert.NoError(t, err)
	assert.Equal(t, []string{"door", "hatch", "rib"}, joints)
}

func writersOfOneLine(t *testing.T, open opener) {
	const writers, each = 6, 25
	open(t, Options{Create: true})
	var wg sync.WaitGroup
	for i := range writers {
		s := open(t, Options{Patience: time.Minute})
		wg.Go(func() {
			for n := 0; n < each; {
				w := change(headOf(t, s, "L\tm"), 1)
				w.Add[0].ID = fmt.Sprintf("%d/%d", i, n)
				switch err := s.Commit(background, []register.Write{w}); {
				case err == nil:
					n++
				case !errors.Is(err, register.ErrConflict):
					assert.NoError(t, err)
					return
				}
			}
		})
	}
	wg.Wait()
	s := open(t, Options{})
	records, err := s.Load(background, "L\tm")
	require.NoError(t, err)
	require.Len(t, records, writers*each)
	chained(t, records)
	ids := map[string]bool{}
	for _, r := range records {
		ids[r.ID] = true
	}
	assert.Len(t, ids, writers*each)
}

func writersOfManyLines(t *testing.T, open opener) {
	const writers, each = 8, 40
	s := open(t, Options{Create: true, Patience: time.Minute})
	var wg sync.WaitGroup
	for i := range writers {
		wg.Go(func() {
			h := register.Head{Key: register.Key(fmt.Sprintf("L-%d\tm", i))}
			for n := range each {
				w := change(h, 1)
				w.Lots = []register.Lot{{Place: fmt.Sprintf("store / shelf %d", n%5), Class: "c", Stocked: true, Row: fmt.Sprintf("%d,%d\n", i, n)}}
				if !assert.NoError(t, s.Commit(background, []register.Write{w})) {
					return
				}
				h = head(&w)
			}
		})
	}
	wg.Wait()
	totals, err := s.Totals(background)
	require.NoError(t, err)
	assert.Equal(t, register.Totals{Lines: writers, Events: writers * each}, totals)
	require.NoError(t, s.EachLine(background, func(h register.Head, records []register.Record) error {
		chained(t, records)
		assert.Len(t, records, each)
		return nil
	}))
	assert.Equal(t, writers, strings.Count(rowsOf(t, s, register.RowFilter{}), "\n"))
}

// pairsOfLines writes to two lines at once, in either order: nobody may wait for ever.
func pairsOfLines(t *testing.T, open opener) {
	const writers, each = 6, 20
	s := open(t, Options{Create: true, Patience: time.Minute})
	commit(t, s, begin("A\tm", 1), begin("B\tm", 1))
	var wg sync.WaitGroup
	for i := range writers {
		wg.Go(func() {
			for n := 0; n < each; {
				a, b := change(headOf(t, s, "A\tm"), 1), change(headOf(t, s, "B\tm"), 1)
				a.Add[0].ID, b.Add[0].ID = fmt.Sprintf("a %d/%d", i, n), fmt.Sprintf("b %d/%d", i, n)
				pair := []register.Write{a, b}
				if i%2 == 1 {
					pair = []register.Write{b, a}
				}
				switch err := s.Commit(background, pair); {
				case err == nil:
					n++
				case !errors.Is(err, register.ErrConflict):
					assert.NoError(t, err)
					return
				}
			}
		})
	}
	wg.Wait()
	assert.Equal(t, 1+writers*each, headOf(t, s, "A\tm").Seq)
	assert.Equal(t, 1+writers*each, headOf(t, s, "B\tm").Seq)
}

func snapshotIsOneMoment(t *testing.T, open opener) {
	s := open(t, Options{Create: true, Patience: time.Minute})
	commit(t, s, begin("A\tm", 1), begin("B\tm", 1))
	var done atomic.Bool
	var wg sync.WaitGroup
	wg.Go(func() {
		for !done.Load() {
			if !assert.NoError(t, s.Commit(background, []register.Write{change(headOf(t, s, "A\tm"), 1), change(headOf(t, s, "B\tm"), 1)})) {
				return
			}
		}
	})
	for range 30 {
		err := s.Snapshot(background, func(r register.Reader) error {
			a := headOf(t, r, "A\tm").Seq
			time.Sleep(2 * time.Millisecond)
			assert.Equal(t, a, headOf(t, r, "B\tm").Seq)
			totals, err := r.Totals(background)
			assert.Equal(t, register.Totals{Lines: 2, Events: 2 * a}, totals)
			return err
		})
		require.NoError(t, err)
	}
	for range 20 {
		seen := 0
		require.NoError(t, s.EachLine(background, func(h register.Head, records []register.Record) error {
			if seen == 0 {
				seen = len(records)
			}
			assert.Len(t, records, seen)
			return nil
		}))
	}
	done.Store(true)
	wg.Wait()
	stop := errors.New("stop")
	assert.ErrorIs(t, s.Snapshot(background, func(register.Reader) error { return stop }), stop)
}

// makeCheckpoint is what the Register's does.
func makeCheckpoint(last *register.Checkpoint, moved []register.Head) (*register.Checkpoint, error) {
	if len(moved) == 0 {
		return nil, nil
	}
	c := &register.Checkpoint{N: 1, At: time.Date(2027, 3, 5, 8, 0, 0, 5e6, time.UTC), By: "A. Nyholm", Heads: moved}
	if last != nil {
		c.N, c.Previous = last.N+1, last.Hash
	}
	return c, nil
}

func headsOf(t testing.TB, s register.Reader, n int) (heads []register.Head) {
	require.NoError(t, s.CheckpointHeads(background, n, func(h register.Head) error { heads = append(heads, h); return nil }))
	return heads
}

func checkpointCovers(t *testing.T, open opener) {
	s := open(t, Options{Create: true})
	c, err := s.Checkpoint(background, makeCheckpoint)
	require.NoError(t, err)
	assert.Nil(t, c, "nothing to cover")
	b, a := begin("B\tm", 2), begin("A\tm", 3)
	commit(t, s, b, a)
	c, err = s.Checkpoint(background, makeCheckpoint)
	require.NoError(t, err)
	assert.Equal(t, []register.Head{head(&a), head(&b)}, c.Heads)
	assert.Equal(t, []int{1, 2, 5}, []int{c.N, c.Lines, c.Events})
	b2 := change(head(&b), 1)
	commit(t, s, b2)
	commit(t, s, begin("C\tm", 1))
	c2, err := s.Checkpoint(background, makeCheckpoint)
	require.NoError(t, err)
	assert.Equal(t, []int{2, 3, 7, 2}, []int{c2.N, c2.Lines, c2.Events, len(c2.Heads)})
	assert.Equal(t, c.Hash, c2.Previous)
	none, err := s.Checkpoint(background, makeCheckpoint)
	require.NoError(t, err)
	assert.Nil(t, none)
	stop := errors.New("stop")
	_, err = s.Checkpoint(background, func(last *register.Checkpoint, moved []register.Head) (*register.Checkpoint, error) { return nil, stop })
	assert.ErrorIs(t, err, stop)

	all, err := s.Checkpoints(background)
	require.NoError(t, err)
	assert.Equal(t, c2.Heads, headsOf(t, s, 2))
	assert.Equal(t, c.Heads, headsOf(t, s, 1))
	c.Heads, c2.Heads = nil, nil
	assert.Equal(t, []register.Checkpoint{*c, *c2}, all)
}

func checkpointsAmongWriters(t *testing.T, open opener) {
	const writers, each, lines = 4, 60, 7
	s := open(t, Options{Create: true, Patience: time.Minute})
	other := open(t, Options{Patience: time.Minute})
	var done atomic.Bool
	var writing, checking sync.WaitGroup
	for i := range writers {
		writing.Go(func() {
			heads := [lines]register.Head{}
			for n := range each {
				h := &heads[n%lines]
				h.Key = register.Key(fmt.Sprintf("%d %d\tm", i, n%lines))
				w := change(*h, 1)
				if !assert.NoError(t, s.Commit(background, []register.Write{w})) {
					return
				}
				*h = head(&w)
			}
		})
	}
	for _, from := range []register.Store{s, other} {
		checking.Go(func() {
			for !done.Load() {
				_, err := from.Checkpoint(background, makeCheckpoint)
				if !assert.NoError(t, err) {
					return
				}
			}
		})
	}
	writing.Wait()
	done.Store(true)
	checking.Wait()
	_, err := s.Checkpoint(background, makeCheckpoint)
	require.NoError(t, err)
	coversAll(t, s)
}

// coversAll holds the checkpoints to being a chain that covers every head, each once.
func coversAll(t *testing.T, s register.Store) {
	all, err := s.Checkpoints(background)
	require.NoError(t, err)
	covered := map[register.Head]bool{}
	var previous register.Hash
	for i, c := range all {
		require.Equal(t, i+1, c.N)
		require.Equal(t, previous, c.Previous)
		c.Heads = headsOf(t, s, c.N)
		sealed := c
		sealed.Seal()
		require.Equal(t, sealed.Hash, c.Hash)
		previous = c.Hash
		for _, h := range c.Heads {
			require.False(t, covered[h])
			covered[h] = true
		}
	}
	lines := 0
	require.NoError(t, s.Lines(background, "", func(h register.Head) bool {
		lines++
		return assert.True(t, covered[h], "%v", h)
	}))
	last := all[len(all)-1]
	totals, err := s.Totals(background)
	require.NoError(t, err)
	assert.Equal(t, totals, register.Totals{Lines: last.Lines, Events: last.Events})
	assert.Equal(t, lines, totals.Lines)
}

// raw changes the tables behind the store's back.
func raw(t testing.TB, s register.Store, statements ...string) {
	t.Helper()
	for _, q := range statements {
		require.NoError(t, s.(interface{ raw(string) error }).raw(q), q)
	}
}

// checkpointCatches plays a write that saw checkpoint 0 and was durable after number 3.
func checkpointCatches(t *testing.T, open opener) {
	s := open(t, Options{Create: true})
	late := begin("late\tm", 1)
	for i := range 3 {
		commit(t, s, begin(fmt.Sprintf("%d\tm", i), 1))
		_, err := s.Checkpoint(background, makeCheckpoint)
		require.NoError(t, err)
	}
	commit(t, s, late)
	raw(t, s, `UPDATE line SET epoch = 0 WHERE key LIKE 'late%'`)
	c, err := s.Checkpoint(background, makeCheckpoint)
	require.NoError(t, err)
	assert.Equal(t, []register.Head{head(&late)}, c.Heads)
	coversAll(t, s)
}

func restoreAllOrNothing(t *testing.T, open opener) {
	s := open(t, Options{Create: true})
	lines := []register.Write{begin("B\tm", 2), begin("A\tm", 1), begin("C\tm", 3)}
	lines[0].Lots = []register.Lot{{Place: "p", Class: "c", Stocked: true, Row: "r\n"}}
	lines[2].Served = []register.Served{{Key: "C\tm", Seq: 1, Joint: "j", Job: "k", Mix: "m", At: time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)}}
	lines[2].Reserved = []register.Reserved{{Job: "k", Amount: 1}}
	cover := register.Checkpoint{N: 1, At: time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC), By: "x", Lines: 2, Events: 3, Heads: []register.Head{head(&lines[1]), head(&lines[0])}}
	cover.Seal()
	all := func(fail error) func() (*register.Write, error) {
		i := -1
		return func() (*register.Write, error) {
			if i++; i < len(lines) {
				return &lines[i], nil
			}
			return nil, fail
		}
	}
	covers := func() ([]register.Checkpoint, error) { return []register.Checkpoint{cover}, nil }
	stop := errors.New("stop")
	empty := func() {
		t.Helper()
		totals, err := s.Totals(background)
		require.NoError(t, err)
		assert.Zero(t, totals)
		assert.Empty(t, rowsOf(t, s, register.RowFilter{}))
	}
	assert.ErrorIs(t, s.Restore(background, all(stop), covers), stop)
	empty()
	assert.ErrorIs(t, s.Restore(background, all(nil), func() ([]register.Checkpoint, error) { return nil, stop }), stop)
	empty()
	lines[2].Add[1].ID = lines[0].Add[0].ID
	assert.ErrorIs(t, s.Restore(background, all(nil), covers), register.ErrDuplicate)
	empty()
	lines[2] = begin("C\tm", 3)
	lines[2].Add[1].Seq = 7
	assert.Error(t, s.Restore(background, all(nil), covers))
	empty()
	lines[2] = begin("C\tm", 3)
	require.NoError(t, s.Restore(background, all(nil), covers))
	for _, w := range lines {
		assert.Equal(t, head(&w), headOf(t, s, w.Key))
	}
	assert.Equal(t, "r\n", rowsOf(t, s, register.RowFilter{Place: "p"}))
	assert.Equal(t, cover.Heads, headsOf(t, s, 1))
	assert.ErrorIs(t, s.Restore(background, all(nil), covers), register.ErrNotEmpty)
	c, err := s.Checkpoint(background, makeCheckpoint)
	require.NoError(t, err)
	assert.Equal(t, []register.Head{head(&lines[2])}, c.Heads)
	coversAll(t, s)
}

func reproject(t *testing.T, open opener) {
	s := open(t, Options{Create: true})
	for i := range 700 { // more than one chunk
		w := begin(fmt.Sprintf("%04d\tm", i), 1)
		w.Lots = []register.Lot{{Place: "old", Class: "c", Stocked: true, Row: "old\n"}, {Place: "older", Class: "c", Row: "old\n"}}
		w.Served = []register.Served{{Key: w.Key, Seq: 1, Joint: "old", Job: "old", At: time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)}}
		w.Reserved = []register.Reserved{{Job: "old"}}
		if i%2 == 0 {
			w.Projection = register.Projection{}
		}
		commit(t, s, w)
	}
	stop := errors.New("stop")
	n := 0
	assert.ErrorIs(t, s.Reproject(background, func(register.Key, []register.Record) (register.Projection, error) {
		if n++; n > 600 {
			return register.Projection{}, stop
		}
		return register.Projection{}, nil
	}), stop)
	assert.Equal(t, 350, strings.Count(rowsOf(t, s, register.RowFilter{}), "old"), "nothing was replaced")
	require.NoError(t, s.Reproject(background, func(k register.Key, records []register.Record) (register.Projection, error) {
		assert.Len(t, records, 1)
		return register.Projection{Lots: []register.Lot{{Place: "new", Class: "c", Stocked: true, Row: string(k[:4]) + "\n"}},
			Served:   []register.Served{{Key: k, Seq: 1, Joint: "new", Job: "new", At: time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)}},
			Reserved: []register.Reserved{{Job: "new"}}}, nil
	}))
	rows := rowsOf(t, s, register.RowFilter{Gone: true})
	assert.Equal(t, 700, strings.Count(rows, "\n"))
	assert.NotContains(t, rows, "old")
	joints, err := s.Joints(background)
	assert.NoError(t, err)
	assert.Equal(t, []string{"new"}, joints)
	keys, err := s.ReservedFor(background, "old")
	assert.NoError(t, err)
	assert.Empty(t, keys)
	keys, err = s.ReservedFor(background, "new")
	assert.NoError(t, err)
	assert.Len(t, keys, 700)
	places, err := s.Places(background)
	assert.NoError(t, err)
	assert.Equal(t, []string{"new", "old", "older"}, places)
}

// eachLineOrphans: whoever verifies sees lines without events and events without a line.
func eachLineOrphans(t *testing.T, open opener) {
	s := open(t, Options{Create: true})
	for i := range chunk + 3 {
		commit(t, s, begin(fmt.Sprintf("%04d\tm", i), 2))
	}
	raw(t, s, `DELETE FROM line WHERE key LIKE '0001%'`, `DELETE FROM event WHERE line LIKE '0002%'`, `DELETE FROM line WHERE key LIKE '0514%'`)
	var got []string
	require.NoError(t, s.EachLine(background, func(h register.Head, records []register.Record) error {
		if h.Seq != len(records) {
			got = append(got, fmt.Sprintf("%s %d %d", h.Key[:4], h.Seq, len(records)))
		}
		return nil
	}))
	assert.Equal(t, []string{"0001 0 2", "0002 2 0", "0514 0 2"}, got)
}

func readOnlyRefuses(t *testing.T, open opener) {
	w := begin("L\tm", 1)
	commit(t, open(t, Options{Create: true}), w)
	s := open(t, Options{ReadOnly: true, Create: true})
	assert.Equal(t, head(&w), headOf(t, s, w.Key))
	assert.ErrorIs(t, s.Commit(background, []register.Write{begin("M\tm", 1)}), register.ErrReadOnly)
	_, err := s.Checkpoint(background, makeCheckpoint)
	assert.ErrorIs(t, err, register.ErrReadOnly)
	assert.ErrorIs(t, s.Reproject(background, nil), register.ErrReadOnly)
	assert.ErrorIs(t, s.Restore(background, nil, nil), register.ErrReadOnly)
}

func contextEnds(t *testing.T, open opener) {
	s := open(t, Options{Create: true})
	ctx, cancel := context.WithCancel(background)
	cancel()
	_, err := s.Load(ctx, "L\tm")
	assert.ErrorIs(t, err, context.Canceled)
	assert.ErrorIs(t, s.Commit(ctx, []register.Write{begin("L\tm", 1)}), context.Canceled)
	assert.Zero(t, headOf(t, s, "L\tm").Seq)
	commit(t, s, begin("L\tm", 1))
}

// callersErrors: what the caller's own function says is not taken for the store's, even
// where it sounds like a lost connection or a conflict; and it is asked once only.
func callersErrors(t *testing.T, open opener) {
	s := open(t, Options{Create: true, Patience: 200 * time.Millisecond})
	w := begin("L\tm", 1)
	w.Lots = []register.Lot{{Row: "r\n", Stocked: true}}
	commit(t, s, w)
	for _, their := range []error{io.ErrUnexpectedEOF, context.DeadlineExceeded, &net.OpError{Op: "write", Err: syscall.EPIPE}} {
		times := 0
		fail := func() error { times++; return their }
		for name, f := range map[string]func() error{
			"rows": func() error { return s.Rows(background, register.RowFilter{}, func([]byte) error { return fail() }) },
			"lines": func() error {
				return s.EachLine(background, func(register.Head, []register.Record) error { return fail() })
			},
			"snapshot": func() error {
				return s.Snapshot(background, func(r register.Reader) error {
					return r.Rows(background, register.RowFilter{}, func([]byte) error { return fail() })
				})
			},
			"checkpoint": func() error {
				_, err := s.Checkpoint(background, func(*register.Checkpoint, []register.Head) (*register.Checkpoint, error) { return nil, fail() })
				return err
			},
			"reproject": func() error {
				return s.Reproject(background, func(register.Key, []register.Record) (register.Projection, error) {
					return register.Projection{}, fail()
				})
			},
		} {
			times = 0
			err := f()
			assert.ErrorIs(t, err, their, name)
			assert.NotContains(t, err.Error(), "reached", name)
			assert.Equal(t, 1, times, name)
		}
	}
}
