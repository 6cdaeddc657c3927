package register

import (
	"context"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/shelf"
)

// lastWrite is a store that remembers the last write.
type lastWrite struct {
	*memory
	last Write
}

func (s *lastWrite) Commit(ctx context.Context, w []Write) error {
	s.last = w[0]
	return s.memory.Commit(ctx, w)
}

// TestLaidLineIsTheRecordedOne records a line event by event, and lays the same events at
// once: the same bodies, hashes and projection.
func TestLaidLineIsTheRecordedOne(t *testing.T) {
	b := newBench(t)
	s := &lastWrite{memory: b.store}
	b.Store = s
	faroe, err := time.LoadLocation("Atlantic/Faroe")
	require.NoError(t, err)
	b.Zone = faroe
	b.must(kits("5"))
	b.must(Event{Kind: KindMoved, Place: "cold store", To: "bench", Amount: amount("3")})
	b.must(Event{Kind: KindOpened, Place: "bench", Amount: amount("1"), As: "1"})
	b.must(Event{Kind: KindReserved, Place: "bench", Amount: amount("1"), Use: &Use{Job: "NF12"}})
	b.must(Event{Kind: KindDrawn, Container: "1", Place: "bench", Amount: amount("0.5"), Use: &Use{Job: "NF13", Joints: []string{"door", "panel"}}})
	b.must(Event{Kind: KindTested, Shelf: &shelf.Event{Passed: true, Results: "Shore A 48"}, At: OnDay(date.New(2027, 3, 8))})
	records := b.store.lines[s2207]
	require.Len(t, records, 6)
	var events []*Event
	for _, r := range records {
		e, err := decode(r.Body)
		require.NoError(t, err)
		e.Key, e.Seq = "", 0
		events = append(events, e)
	}
	w, err := Lay(s2207, events)
	require.NoError(t, err)
	assert.Equal(t, records, w.Add)
	assert.Equal(t, s.last.Projection, w.Projection)
	assert.Len(t, w.Lots, 3)
	assert.Equal(t, Head{Key: s2207}, w.After)
}

func TestLaidLineKeepsTheRules(t *testing.T) {
	at := time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)
	line := func() []*Event {
		in, out := kits("5"), Event{Kind: KindDrawn, Place: "cold store", Amount: amount("1")}
		in.ID, out.ID = "1", "2"
		for i, e := range []*Event{&in, &out} {
			e.By, e.Recorded = "Tech 1", at.Add(time.Duration(i)*time.Minute)
			e.At = AtInstant(e.Recorded)
		}
		return []*Event{&in, &out}
	}
	_, err := Lay(s2207, line())
	require.NoError(t, err)
	_, err = Lay(s2207, nil)
	assert.EqualError(t, err, "batch S-2207: a line of no events")
	for want, change := range map[string]func(*Event){
		"event 2: it has no id":                                                                    func(e *Event) { e.ID = "" },
		"event 2: its id 1 is that of an event before it":                                          func(e *Event) { e.ID = "1" },
		"event 2: nobody is named who did it":                                                      func(e *Event) { e.By = " " },
		"event 2: when it happened is not said":                                                    func(e *Event) { e.At = When{} },
		"event 2: when it was recorded is not said, to the millisecond":                            func(e *Event) { e.Recorded = time.Time{} },
		"event 2: it was recorded before the one in front of it":                                   func(e *Event) { e.Recorded = at.Add(-time.Minute) },
		"event 2: it was recorded before it happened, 2027-03-08T08:00:00Z":                        func(e *Event) { e.At = AtInstant(at.Add(time.Hour)) },
		"event 2: there are only 5 kits of it at cold store, not 6 kits":                           func(e *Event) { e.Amount = amount("6") },
		"event 2: place: character 1 (U+200B) cannot be seen: leave it out":                        func(e *Event) { e.Place = "\u200bcold store" },
		"event 2: there was nothing of it at cold store yet: it was received 2027-03-08T07:00:00Z": func(e *Event) { e.At = AtInstant(at.Add(-time.Hour)) },
	} {
		events := line()
		change(events[1])
		_, err := Lay(s2207, events)
		assert.EqualError(t, err, want)
		var refused *Refused
		assert.ErrorAs(t, err, &refused)
	}
}
