package faults

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/require"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
	"beadline/catalog/stock/store"
)

var background = context.Background()

// began is when the clocks of the tests begin.
var began = time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)

// running is a clock that begins so long after began, or before.
func running(ahead time.Duration) func() time.Time {
	start := time.Now()
	return func() time.Time { return began.Add(ahead + time.Since(start)) }
}

// open opens a register as a station does.
func open(name, station string, o store.Options) (*register.Register, error) {
	s, err := store.Open(background, name, o)
	if err != nil {
		return nil, err
	}
	return &register.Register{Store: s, Clock: running(0), Station: station}, nil
}

const (
	coldStore = "Cold store"
	bench     = "Bench 1"
	kit       = register.Amount(1000)
)

// act is one thing a person does: with one batch, or with two for one mix, all or nothing.
type act struct {
	ID     string          `json:"id"`
	Kind   register.Kind   `json:"kind"`
	Lines  []register.Key  `json:"lines"`
	Amount register.Amount `json:"amount"`
	Place  string          `json:"place"`
	To     string          `json:"to,omitempty"`
	Job    string          `json:"job,omitempty"`
	By     string          `json:"by"`
}

// eventID is the id of the event on the act's nth line.
func (a *act) eventID(n int) string { return fmt.Sprintf("%s.%d", a.ID, n) }

func (a *act) event(n int) *register.Event {
	amount := a.Amount
	e := &register.Event{ID: a.eventID(n), Kind: a.Kind, By: a.By, Place: a.Place, To: a.To, Amount: &amount, Unit: "kit", At: register.AtInstant(began.Add(-time.Hour))}
	switch a.Kind {
	case register.KindReceived:
		e.At = register.AtInstant(began.Add(-2 * time.Hour))
		e.Receipt = &register.Receipt{Supplier: "Havn Supplies", Label: shelf.Item{
			Class: "polysulfide-b-2", DOM: label.DayOf(date.New(2026, 9, 1)), Expiry: label.DayOf(date.New(2027, 6, 30))}}
	case register.KindDrawn:
		e.Use = &register.Use{Job: a.Job, Mix: a.ID, Joints: []string{"door " + a.ID, "frame 12"}}
	case register.KindReserved:
		e.Use = &register.Use{Job: a.Job}
	}
	return e
}

// record appends the act.
func (a *act) record(r *register.Register) (*register.Done, error) {
	if len(a.Lines) == 1 {
		return r.Append(background, a.Lines[0], func(*register.State) ([]*register.Event, error) {
			return []*register.Event{a.event(0)}, nil
		})
	}
	keys := func(context.Context) ([]register.Key, error) { return a.Lines, nil }
	return r.AppendAll(background, keys, func(map[register.Key]*register.State) (map[register.Key][]*register.Event, error) {
		events := map[register.Key][]*register.Event{}
		for i, k := range a.Lines {
			events[k] = []*register.Event{a.event(i)}
		}
		return events, nil
	})
}

// batches are the keys of a few batches, so that writers meet on them.
func batches(n int) (keys []register.Key) {
	for i := range n {
		keys = append(keys, register.Batch{Number: fmt.Sprintf("S-22%02d", i+1), Maker: "maker A"}.Key())
	}
	return keys
}

// hand does one thing after another, by chance.
type hand struct {
	name string // ids begin with it
	rng  *rand.Rand
	keys []register.Key
	n    int
}

// next is what comes next; a receipt where the one before was refused for want of stock.
func (h *hand) next(refused bool) *act {
	h.n++
	a := &act{ID: fmt.Sprintf("%s-%d", h.name, h.n), By: "Tech " + h.name, Amount: kit * register.Amount(1+h.rng.IntN(3)), Place: coldStore, Job: "NF12"}
	a.Lines = []register.Key{h.keys[h.rng.IntN(len(h.keys))]}
	switch chance := h.rng.IntN(100); {
	case refused || chance < 25:
		a.Kind, a.Amount = register.KindReceived, 10*kit
	case chance < 60:
		a.Kind = register.KindDrawn
	case chance < 70:
		a.Kind, a.Place = register.KindDrawn, bench
	case chance < 85:
		a.Kind, a.To = register.KindMoved, bench
	default:
		a.Kind, a.Lines = register.KindDrawn, nil
		for _, i := range h.rng.Perm(len(h.keys))[:min(2, len(h.keys))] {
			a.Lines = append(a.Lines, h.keys[i])
		}
	}
	return a
}

// refused reports whether an error is the register's refusal of what cannot have happened.
func refused(err error) bool {
	var r *register.Refused
	return errors.As(err, &r)
}

// plain reports what is wrong with an error as a line for a person: nothing, "".
func plain(err error, name string) string {
	switch text := err.Error(); {
	case strings.ContainsAny(text, "\n\r"):
		return "more than one line: " + text
	case !strings.Contains(text, name):
		return "it does not name the register: " + text
	case len(text) > 500:
		return "too long: " + text
	}
	return ""
}

// work does n acts.
func work(t testing.TB, l *ledger, r *register.Register, h *hand, n int) {
	t.Helper()
	for no := false; n > 0; {
		a := h.next(no)
		l.try(a)
		done, err := a.record(r)
		if no = refused(err); !no {
			require.NoError(t, err)
			n--
		}
		l.answer(a, done)
	}
}
