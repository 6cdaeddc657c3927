package register

import (
	"context"
	"errors"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog/shelf"
)

// book is what a person would keep with a pencil: how much is where. It knows nothing of
// events, and is held against the fold of them.
type book map[[2]string]Amount

// TestFoldIsWhatAPencilKeeps records things at random, sensible and not, and keeps the
// amounts by hand beside the register: what the register takes must be possible by the
// pencil, what it refuses must not be, and both must have the same in the end.
func TestFoldIsWhatAPencilKeeps(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		b := newBench(t)
		pencil := book{}
		places := []string{"", "cold store", "line store", "North / freezer"}
		place := rapid.SampledFrom(places)
		b.must(kits("3"))
		pencil[[2]string{"", "cold store"}] = 3000
		opened := 0
		for range rapid.IntRange(1, 25).Draw(r, "events") {
			at := [2]string{rapid.SampledFrom([]string{"", "", "", "1", "2"}).Draw(r, "container"), place.Draw(r, "place")}
			n := Amount(rapid.Int64Range(0, 5).Draw(r, "amount") * 1000)
			have, there := pencil[at]
			e := Event{Container: at[0], Place: at[1], Amount: &n, Unit: "kit"}
			ok := there && n <= have && (have > 0 || n == 0 && have > 0)
			var then func()
			switch what := rapid.SampledFrom([]string{"receive", "draw", "move", "open", "scrap", "count", "test"}).Draw(r, "what"); what {
			case "receive":
				e = kits(n.String())
				e.Place = at[1]
				at[0] = ""
				ok, then = true, func() { pencil[at] += n }
			case "draw":
				e.Kind, then = KindDrawn, func() { pencil[at] -= n }
			case "move":
				to := place.Draw(r, "to")
				e.Kind, e.To = KindMoved, to
				ok = ok && to != at[1]
				then = func() {
					pencil[at] -= n
					pencil[[2]string{at[0], to}] += n
					if n == have {
						delete(pencil, at)
					}
				}
			case "open":
				opened++
				e.Kind, e.As = KindOpened, fmt.Sprint("o", opened)
				then = func() {
					pencil[at] -= n
					pencil[[2]string{e.As, at[1]}] += n
					if n == have {
						delete(pencil, at)
					}
				}
			case "scrap":
				e.Kind = KindScrapped
				ok = ok && n < have // the last of it closes the part; that has a test of its own
				if n == have {
					continue
				}
				then = func() { pencil[at] -= n }
			case "count":
				e.Kind, ok = KindCounted, there
				then = func() { pencil[at] = n }
			case "test":
				e.Kind, e.Amount, ok = KindTested, nil, there
				e.Shelf = &shelf.Event{Passed: true}
				if at == [2]string{} {
					ok = true // of the whole batch
				}
				then = func() {}
			}
			err := b.record(e)
			var refused *Refused
			switch {
			case err == nil:
				// What a part of which nothing was ever drawn stands at zero is not told apart.
				if !ok && !(there && have == 0 && n == 0) {
					r.Fatalf("took %s of %v, of which there is %s (%v)", e.Title(), at, have, there)
				}
				then()
			case errors.As(err, &refused):
				if ok {
					r.Fatalf("refused %s of %v, of which there is %s: %s", e.Title(), at, have, err)
				}
			default:
				r.Fatal(err)
			}
		}
		s := b.state()
		got := book{}
		for _, p := range s.Parts {
			got[[2]string{p.Container, p.Place}] = p.Amount
			if p.Amount < 0 {
				r.Fatalf("%v has %s", p, p.Amount)
			}
		}
		assert.Equal(r, pencil, got)
		assert.Empty(r, s.Problems)
	})
}

// TestProjectionDependsOnEventsAlone folds in other zones, and finds the same projection.
func TestProjectionDependsOnEventsAlone(t *testing.T) {
	b := newBench(t)
	b.Zone = time.FixedZone("x", 5*3600)
	b.must(kits("5"))
	b.must(Event{Kind: KindOpened, Place: "cold store", As: "1", Amount: amount("1")})
	here, err := project(s2207, b.state().Events)
	require.NoError(t, err)
	b.Zone = time.UTC
	there, err := project(s2207, b.state().Events)
	require.NoError(t, err)
	assert.Equal(t, here, there)
	assert.Contains(t, here.Lots[1].Row, "2027-03-08T07:01")
}

// TestManyWritersOfOneLineLoseNothing appends from many goroutines; the store in memory
// refuses every write that did not see the last.
func TestManyWritersOfOneLineLoseNothing(t *testing.T) {
	b := newBench(t)
	b.must(kits("1000"))
	const writers, each = 8, 20
	errs := make(chan error, writers)
	for w := range writers {
		go func() {
			for i := range each {
				_, err := b.Append(context.Background(), s2207, func(*State) ([]*Event, error) {
					return []*Event{{ID: fmt.Sprint(w, "-", i), Kind: KindDrawn, Place: "cold store", Amount: amount("1"), By: "Tech", At: AtInstant(b.now)}}, nil
				})
				if err != nil {
					errs <- err
					return
				}
			}
			errs <- nil
		}()
	}
	for range writers {
		require.NoError(t, <-errs)
	}
	assert.Equal(t, Amount((1000-writers*each)*1000), b.state().Parts[0].Amount)
	assert.Len(t, b.state().Events, 1+writers*each)
}

func FuzzDecode(f *testing.F) {
	e := kits("2")
	e.By, e.ID, e.Key, e.Seq, e.At, e.Recorded = "Tech 1", "x", s2207, 1, AtInstant(time.Unix(1804000000, 0)), time.Unix(1804000000, 0)
	body, err := e.encode()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(body)
	f.Add([]byte(`{"id":"x","line":"a\t","seq":1,"kind":"drawn","at":"2027-03-08","recorded":"2027-03-08T07:00:00.000Z","by":"Tech","amount":0.25}`))
	f.Fuzz(func(t *testing.T, body []byte) {
		e, err := decode(body)
		if err != nil {
			return
		}
		once, err := e.encode()
		if err != nil {
			return // what was read can be too odd to be written again, such as a label with control characters
		}
		again, err := decode(once)
		require.NoError(t, err)
		twice, err := again.encode()
		require.NoError(t, err)
		assert.Equal(t, string(once), string(twice))
		Fold(e.Key, []*Event{e}, nil) // must not panic, whatever it says
	})
}
