package shelf

import (
	"errors"
	"fmt"

	"github.com/rickb777/date"

	"beadline/catalog/label"
)

// The limits that stand for doubt about dates. None has a date of its own: each holds
// the batch until a person has settled it.

// undatedRule: with no date of manufacture and none that is printed to end it, nothing
// says that it is good. A kit may carry its dates on its parts.
type undatedRule struct{}

func (undatedRule) name() Name { return LimitUndated }

func (l undatedRule) marks(it *Item, s *sink) {
	if !it.DOM.IsZero() || !it.Expiry.IsZero() || !it.Inspect.IsZero() || !it.BestBefore.IsZero() || it.partsDated() {
		return
	}
	s.add(doubt(l, 0))
}

// partsDated reports whether every part of a kit has an expiry of its own.
func (it *Item) partsDated() bool {
	for i := range it.Parts {
		if it.Parts[i].Expiry.IsZero() {
			return false
		}
	}
	return len(it.Parts) > 0
}

func (undatedRule) words(mark, *telling) (string, string) {
	return "No date: neither made, expiry nor inspect/test date is known.",
		"undated stock is reported, not assumed good (US Navy storekeeper text)"
}

func (undatedRule) decide(mark, *telling) (string, string) {
	return "The quality office must find its dates in the maker's papers, or reject it.",
		"The maker's certificate for this batch, with its date of manufacture or expiry, settles it."
}

// unknownLifeRule: made on a known day, but with no printed date to end it and no
// life given by the class.
type unknownLifeRule struct{}

func (unknownLifeRule) name() Name { return LimitUnknownLife }

func (l unknownLifeRule) marks(it *Item, r *Rules, s *sink) {
	if it.DOM.IsZero() || !it.Expiry.IsZero() || !it.Inspect.IsZero() || !it.BestBefore.IsZero() || r.Unopened.Known() || it.partsDated() {
		return
	}
	s.add(doubt(l, 0))
}

func (unknownLifeRule) words(_ mark, t *telling) (string, string) {
	said := fmt.Sprintf("Made %s, but no expiry is printed and no shelf life is known for %s.", t.it.DOM, t.class())
	if err := t.rules.item.badCode; errors.Is(err, label.ErrNeedsNumber) {
		return said + " Shelf-life code X says more than 60 months, but not how many.", label.CodeSource
	}
	return said, "own decision: what nothing is known of is held, not passed"
}

func (unknownLifeRule) decide(mark, *telling) (string, string) {
	return "The quality office must find its shelf life in the maker's papers, or reject it.",
		"The maker's data sheet, with the shelf life, settles it."
}

// standardRule: a seal of which it is not known how long it keeps, as no standard is
// named for it, or as its record and its class disagree.
type standardRule struct{}

func (standardRule) name() Name { return LimitStandard }

func (l standardRule) marks(r *Rules, s *sink) {
	if r.item.standard != "" {
		s.add(doubt(l, 0))
	}
}

func (standardRule) words(_ mark, t *telling) (string, string) {
	return said(t.rules.item.standard) + ".",
		"ISO 2230 and SAE ARP5316 give the same polymer different lives: which governs is never guessed (own decision)"
}

func (standardRule) decide(mark, *telling) (string, string) {
	return "The quality office must say which standard governs this seal, and of which polymer it is.",
		"The order or drawing that calls for the seal, and the maker's certificate, settle it."
}

// contradictRule: dates that cannot all be true, or that no label can mean, so none
// of them is believed.
type contradictRule struct{}

func (contradictRule) name() Name { return LimitDatesContradict }

// The ways for dates to contradict.
const (
	slipBefore   uint8 = iota // it lies before manufacture
	slipFuture                // it lies after the moment judged
	slipAbsurd                // it lies further from the day judged than anything keeps
	slipUnpaired              // what left the freezer and what went back do not fit together
)

// The dates that can.
const (
	aboutMade uint8 = iota
	aboutExpiry
	aboutInspect
	aboutBestBefore
	aboutReceived
	aboutOpened
	aboutInstalled
	aboutThawed
	aboutRefrozen
	aboutTested
	aboutStored
	aboutHot
	aboutSummed
	aboutPartMade
	aboutPartExpiry
)

// farthest is how many years a date on a label may lie from the day judged: longer
// than any seal or sealant keeps. Beyond it a digit has slipped (own decision).
const (
	farthest     = 60
	farthestDays = farthest*365 + farthest/4
)

func (l contradictRule) marks(it *Item, q *asked, s *sink) {
	// Most dates raise no doubt at first sight; the others are looked at closely.
	from, to := q.on.Add(-farthestDays), q.on.Add(farthestDays)
	if !it.DOM.IsZero() {
		made := it.DOM.First()
		if !between(made, from, q.on) {
			l.farOff(aboutMade, 0, it.DOM, q, s)
			l.inFuture(aboutMade, 0, it.DOM, q, s)
		}
		if made.After(from) {
			from = made
		}
	}
	if !it.Expiry.IsZero() && !between(it.Expiry.First(), from, to) {
		l.printed(aboutExpiry, it.Expiry, it, q, s)
	}
	if !it.Inspect.IsZero() && !between(it.Inspect.First(), from, to) {
		l.printed(aboutInspect, it.Inspect, it, q, s)
	}
	if !it.BestBefore.IsZero() && !between(it.BestBefore.First(), from, to) {
		l.printed(aboutBestBefore, it.BestBefore, it, q, s)
	}
	if !it.Opened.IsZero() {
		l.happened(aboutOpened, 0, it.Opened, it, q, s)
	}
	if it.frozen() {
		l.thaws(it, q, s)
	}
	if it.recorded() {
		l.records(it, q, s)
	}
}

func between(d, from, to date.Date) bool { return !d.Before(from) && !d.After(to) }

// printed finds what is wrong with a printed date.
func (l contradictRule) printed(about uint8, d label.Date, it *Item, q *asked, s *sink) {
	l.beforeMade(about, 0, d, it.DOM, s)
	l.farOff(about, 0, d, q, s)
}

// happened finds what surely came before manufacture, or after the moment judged.
func (l contradictRule) happened(about uint8, n int, d label.Date, it *Item, q *asked, s *sink) (slipped bool) {
	return l.beforeMade(about, n, d, it.DOM, s) || l.inFuture(about, n, d, q, s)
}

// thaws looks at what left the freezer and what went back; one line for all of a kind
// keeps the list short.
func (l contradictRule) thaws(it *Item, q *asked, s *sink) {
	for i, d := range it.Thawed {
		if l.happened(aboutThawed, i, d, it, q, s) {
			break
		}
	}
	for i, d := range it.Refrozen {
		if l.happened(aboutRefrozen, i, d, it, q, s) {
			break
		}
	}
	if it.outUsed() > 0 {
		l.happened(aboutSummed, 0, it.OutAsOf, it, q, s)
	}
	if len(it.Refrozen) > 0 && outingsOf(it, q).unpaired {
		s.add(doubt(l, slipUnpaired))
	}
}

func (l contradictRule) records(it *Item, q *asked, s *sink) {
	l.happened(aboutReceived, 0, it.Received.On, it, q, s)
	l.happened(aboutInstalled, 0, it.Installed, it, q, s)
	for i := range it.Tests {
		if l.happened(aboutTested, i, it.Tests[i].On, it, q, s) {
			break
		}
	}
	for i := range it.Storage {
		st := &it.Storage[i]
		if l.beforeMade(aboutStored, i, st.last(), it.DOM, s) || l.inFuture(aboutStored, i, st.From, q, s) || l.inFuture(aboutHot, i, st.HotFrom, q, s) {
			break
		}
	}
	for i := range it.Parts {
		p := &it.Parts[i]
		l.beforeMade(aboutPartExpiry, i, p.Expiry, p.DOM, s)
		l.farOff(aboutPartMade, i, p.DOM, q, s)
		l.farOff(aboutPartExpiry, i, p.Expiry, q, s)
		l.inFuture(aboutPartMade, i, p.DOM, q, s)
	}
}

// beforeMade finds what surely came before manufacture: its last possible day lies
// before the first possible day of manufacture.
func (l contradictRule) beforeMade(about uint8, n int, d, made label.Date, s *sink) bool {
	if d.IsZero() || made.IsZero() || !d.First().Before(made.First()) || !lastDay(d).Before(made.First()) {
		return false
	}
	l.slip(slipBefore, about, n, s)
	return true
}

// inFuture finds what surely lies after the moment judged.
func (l contradictRule) inFuture(about uint8, n int, d label.Date, q *asked, s *sink) bool {
	if d.IsZero() || q.begun(d) {
		return false
	}
	l.slip(slipFuture, about, n, s)
	return true
}

// farOff finds what lies so far from the day judged that it was read or written
// wrong.
func (l contradictRule) farOff(about uint8, n int, d label.Date, q *asked, s *sink) {
	if d.IsZero() {
		return
	}
	days := d.First().Sub(q.on)
	if days > farthestDays || days < -farthestDays && lastDay(d).Sub(q.on) < -farthestDays {
		l.slip(slipAbsurd, about, n, s)
	}
}

func (l contradictRule) slip(kind, about uint8, n int, s *sink) {
	m := doubt(l, kind)
	m.about, m.n = about, int32(n)
	s.add(m)
}

// slipped names the date that a mark is about, and what it is held against.
func (t *telling) slipped(m mark) (what string, d, made label.Date) {
	it := t.it
	switch made = it.DOM; m.about {
	case aboutMade:
		return "made", it.DOM, made
	case aboutExpiry:
		return "expiry", it.Expiry, made
	case aboutInspect:
		return "inspect/test", it.Inspect, made
	case aboutBestBefore:
		return "best before", it.BestBefore, made
	case aboutReceived:
		return "received", it.Received.On, made
	case aboutOpened:
		return "opened", it.Opened, made
	case aboutInstalled:
		return "fitted", it.Installed, made
	case aboutThawed:
		return "thawed", it.Thawed[m.n], made
	case aboutRefrozen:
		return "refrozen", it.Refrozen[m.n], made
	case aboutTested:
		return "tested", it.Tests[m.n].On, made
	case aboutHot:
		return "too warm from", it.Storage[m.n].HotFrom, made
	case aboutSummed:
		return "time out summed", it.OutAsOf, made
	case aboutStored:
		if m.kind == slipFuture {
			return "stored from", it.Storage[m.n].From, made
		}
		return "stored until", it.Storage[m.n].last(), made
	}
	p := it.Parts[m.n]
	if m.about == aboutPartMade {
		return p.title(int(m.n)) + " made", p.DOM, p.DOM
	}
	return p.title(int(m.n)) + " expiry", p.Expiry, p.DOM
}

// contradictSource is what most of them rest on.
const contradictSource = "records of the batch; dates that contradict are not believed: own decision"

func (contradictRule) words(m mark, t *telling) (string, string) {
	if m.kind == slipUnpaired {
		return "The freezer's records contradict: what left it and what went back do not pair.", contradictSource
	}
	what, d, made := t.slipped(m)
	switch m.kind {
	case slipAbsurd:
		return fmt.Sprintf("Dates contradict: %s %s lies more than %d years from the day judged, %s: a digit has slipped.",
			what, d, farthest, label.FormatDay(t.q.on)), "own decision: nothing on this shelf keeps so long"
	case slipBefore:
		return fmt.Sprintf("Dates contradict: %s %s, but made %s.", what, d, made), contradictSource
	}
	when := "the day judged, " + label.FormatDay(t.q.on)
	if t.q.timed && d.First() == t.q.on {
		when = "the moment judged, " + label.At(t.q.on, int(t.q.at)).String()
	}
	return fmt.Sprintf("Dates contradict: %s %s lies after %s.", what, d, when), contradictSource
}

func (contradictRule) decide(m mark, _ *telling) (string, string) {
	if m.kind == slipUnpaired {
		return "The quality office must find when it left the freezer and when it went back, or reject it.",
			"The freezer's log, or the times written on the container, settle it."
	}
	return "Read the label again and correct the record; the quality office decides if the label itself is wrong.",
		"The label on the container and the maker's certificate settle it."
}

// readings is what was assumed in reading the dates.
func readings(it *Item) []string {
	var notes []string
	say := func(what string, d label.Date) {
		if a := d.Assumed(); a != "" {
			notes = append(notes, what+" "+a)
		}
	}
	say("Date of manufacture", it.DOM)
	say("Expiry", it.Expiry)
	say("Inspect/test date", it.Inspect)
	say("Best-before date", it.BestBefore)
	say("Date received", it.Received.On)
	say("Date opened", it.Opened)
	say("Date fitted", it.Installed)
	for _, d := range it.Thawed {
		say("Date thawed", d)
	}
	for _, d := range it.Refrozen {
		say("Date refrozen", d)
	}
	for i, p := range it.Parts {
		say(upper(p.title(i))+" date of manufacture", p.DOM)
		say(upper(p.title(i))+" expiry", p.Expiry)
	}
	return notes
}
