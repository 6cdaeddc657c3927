package shelf

import (
	"fmt"
	"strings"

	"github.com/rickb777/date"

	"beadline/catalog/label"
)

// The limits that stand for doubt. None has a date: each holds the batch until a
// person has settled it.

// heldRule: a person set it aside.
type heldRule struct{}

func (heldRule) name() Name { return LimitHeld }

func (l heldRule) marks(it *Item, ms []mark) []mark {
	if it.Held == "" {
		return ms
	}
	return append(ms, mark{rule: l, verdict: Hold, past: true, counts: true})
}

func (heldRule) words(_ mark, t *telling) (string, string) {
	return "Set aside: " + strings.TrimRight(t.it.Held, ". ") + ".", "records of the batch"
}

// undatedRule: with neither a date of manufacture nor an expiry nor an
// inspect/test date, nothing says that it is good.
type undatedRule struct{}

func (undatedRule) name() Name { return LimitUndated }

func (l undatedRule) marks(it *Item, ms []mark) []mark {
	if !it.DOM.IsZero() || !it.Expiry.IsZero() || !it.Inspect.IsZero() {
		return ms
	}
	return append(ms, mark{rule: l, verdict: Hold, past: true, counts: true})
}

func (undatedRule) words(mark, *telling) (string, string) {
	return "No date: neither made, expiry nor inspect/test date is known.",
		"undated stock is reported, not assumed good (US Navy storekeeper text)"
}

// unknownLifeRule: made on a known day, but with no printed date to end it and no
// life given by the class.
type unknownLifeRule struct{}

func (unknownLifeRule) name() Name { return LimitUnknownLife }

func (l unknownLifeRule) marks(it *Item, r *Rules, ms []mark) []mark {
	if it.DOM.IsZero() || !it.Expiry.IsZero() || !it.Inspect.IsZero() || r.Unopened.Known() {
		return ms
	}
	return append(ms, mark{rule: l, verdict: Hold, past: true, counts: true})
}

func (unknownLifeRule) words(_ mark, t *telling) (string, string) {
	return fmt.Sprintf("Made %s, but no expiry is printed and no shelf life is known for %s.", t.it.DOM, t.class()), "records of the batch"
}

// contradictRule: dates that cannot all be true, or that no label can mean, so none
// of them is believed.
type contradictRule struct{}

func (contradictRule) name() Name { return LimitDatesContradict }

// slip is one way for dates to contradict.
type slip struct {
	what   string     // "opened"
	d      label.Date // the date in doubt
	before bool       // it lies before manufacture; otherwise in the future
	absurd bool       // it lies further from the day judged than anything keeps
}

// farthest is how many years a date on a label may lie from the day judged: longer
// than any seal or sealant keeps. Beyond it a digit has slipped (own decision).
const farthest = 60

func (l contradictRule) marks(it *Item, on date.Date, ms []mark) []mark {
	ms = l.beforeMade("expiry", it.Expiry, it, ms)
	ms = l.beforeMade("inspect/test", it.Inspect, it, ms)
	ms = l.beforeMade("opened", it.Opened, it, ms)
	ms = l.farOff("made", it.DOM, on, ms)
	ms = l.farOff("expiry", it.Expiry, on, ms)
	ms = l.farOff("inspect/test", it.Inspect, on, ms)
	ms = l.inFuture("made", it.DOM, on, ms)
	ms = l.inFuture("opened", it.Opened, on, ms)
	before, future := false, false // one line for all thaws keeps the list short
	for _, d := range it.Thawed {
		if n := len(ms); !before {
			ms = l.beforeMade("thawed", d, it, ms)
			before = len(ms) > n
		}
		if n := len(ms); !future {
			ms = l.inFuture("thawed", d, on, ms)
			future = len(ms) > n
		}
	}
	return ms
}

// beforeMade finds what surely came before manufacture: its last possible day lies
// before the first possible day of manufacture.
func (l contradictRule) beforeMade(what string, d label.Date, it *Item, ms []mark) []mark {
	if d.IsZero() || it.DOM.IsZero() || !d.Last().Before(it.DOM.First()) {
		return ms
	}
	return append(ms, mark{rule: l, verdict: Hold, past: true, counts: true, slip: slip{what: what, d: d, before: true}})
}

// inFuture finds what surely lies after the day judged.
func (l contradictRule) inFuture(what string, d label.Date, on date.Date, ms []mark) []mark {
	if d.IsZero() || !d.First().After(on) {
		return ms
	}
	return append(ms, mark{rule: l, verdict: Hold, past: true, counts: true, slip: slip{what: what, d: d}})
}

// farOff finds what lies so far from the day judged that it was read or written
// wrong.
func (l contradictRule) farOff(what string, d label.Date, on date.Date, ms []mark) []mark {
	y, m, day := on.Date()
	if d.IsZero() || !d.First().After(date.New(y+farthest, m, day)) && !d.Last().Before(date.New(y-farthest, m, day)) {
		return ms
	}
	return append(ms, mark{rule: l, verdict: Hold, past: true, counts: true, slip: slip{what: what, d: d, absurd: true}})
}

func (contradictRule) words(m mark, t *telling) (string, string) {
	s := m.slip
	if s.absurd {
		return fmt.Sprintf("Dates contradict: %s %s lies more than %d years from the day judged, %s: a digit has slipped.",
			s.what, s.d, farthest, label.FormatDay(t.on)), "own decision: nothing on this shelf keeps so long"
	}
	if s.before {
		return fmt.Sprintf("Dates contradict: %s %s, but made %s.", s.what, s.d, t.it.DOM), "records of the batch"
	}
	return fmt.Sprintf("Dates contradict: %s %s lies after the day judged, %s.", s.what, s.d, label.FormatDay(t.on)), "records of the batch"
}
