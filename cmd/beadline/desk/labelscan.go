package desk

import (
	"fmt"
	"slices"

	"beadline/catalog/label"
	"beadline/catalog/label/scan"
	"beadline/catalog/label/tag"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
)

// LimitPrinted is the limit of the label that was printed when a container was opened,
// thawed or mixed: its batch may last for months, and the pot ends within the hour.
const LimitPrinted shelf.Name = "printed-label"

// Sticker is what the code of a label printed for one container says of it.
type Sticker struct {
	Batch     string
	Container string // "" where it has none, or the code has no room for it
	State     tag.State
	// End is until when the code says it may be used, a day or a minute; zero: not said.
	End label.Date
	// wholeDays is true of a code that has no room for an hour: what ends within a day
	// then has the day before.
	wholeDays bool
}

// StickerOf is the printed label that a scan is of; ok is false for any other code, such
// as the maker's.
func StickerOf(s *scan.Scan) (p Sticker, ok bool) {
	p = Sticker{Batch: s.Lot, End: s.Expiry, wholeDays: s.Standard == scan.ISO15434}
	p.State, p.Container, ok = tag.ReadState(s.Serial)
	return p, ok
}

// StickerTyped is the printed label whose plain Code 128 was scanned, or copied by hand:
// S-2207/MIXED.
func StickerTyped(text string) (p Sticker, ok bool) {
	p.Batch, p.State, ok = tag.ReadPlain(text)
	return p, ok
}

// LabelOn finds what a person typed, or a plain code carries, on a stock list, as BatchOn
// does. A text like S-2207/MIXED that is no batch number of the list is the label of a
// container of the batch S-2207, and judged as one.
func (j *Judge) LabelOn(l *List, o stock.Options, text string) (rows []Checked, warnings []string, err error) {
	p, ok := StickerTyped(text)
	if ok {
		if ok, err = j.lacks(l, o, text); err != nil {
			return nil, nil, err
		}
	}
	if !ok {
		return j.BatchOn(l, o, text)
	}
	if rows, warnings, err = j.BatchOn(l, o, p.Batch); err != nil {
		return nil, warnings, err
	}
	for i := range rows {
		rows[i] = j.Stuck(rows[i], p)
	}
	return rows, warnings, nil
}

// lacks reports whether no row of a list has a batch number.
func (j *Judge) lacks(l *List, o stock.Options, batch string) (bool, error) {
	o.Today = j.On
	found, _, _, err := findOn(l, o, ofBatch(batch))
	if err != nil {
		return false, err
	}
	return len(found.rows)+len(found.bad) == 0, nil
}

// Alone judges a container of which nothing but a plain code of its label is known.
func (j *Judge) Alone(p Sticker, class string) Checked {
	return j.Stuck(j.Item(shelf.Item{Batch: p.Batch, Class: class}), p)
}

// Stuck adds what a printed label says of one container to what is known of its batch.
// The earliest of all ends governs, so the label can only shorten a life. Where nothing
// else is known that ends the batch, the label's own end stands in for it, as it was the
// earliest of all when it was printed; a code that carries none is held for that.
func (j *Judge) Stuck(c Checked, p Sticker) Checked {
	if p.Container != "" {
		c.Item.Container = p.Container
	}
	if c.Row == nil {
		c.Judgement = without(c.Judgement, shelf.LimitUndated, shelf.LimitUnknownLife)
	}
	l := j.printed(&p)
	c.Judgement = placed(c.Judgement, l)
	if until := j.question.Until; !until.IsZero() && l.Dated && !l.Past && endsBefore(&l, until) {
		x := held(shelf.LimitOutlast, fmt.Sprintf("By its label it ends %s, before the work is done (%s): take another.", p.End, until), "the job asked about: own decision")
		x.Who, x.Evidence = "Whoever plans the work must take another container, or finish sooner.", "A container that lasts, or an earlier end of the work, settles it."
		c.Judgement = placed(c.Judgement, x)
	}
	return c
}

// printed is the limit that a printed label sets at the moment judged.
func (j *Judge) printed(p *Sticker) shelf.Limit {
	l := shelf.Limit{Name: LimitPrinted, Counts: true, Verdict: shelf.Reject, Source: "the label printed when it was " + p.State.String()}
	hold := func(reason, who, evidence string) shelf.Limit {
		l.Verdict, l.Past, l.Reason, l.Who, l.Evidence = shelf.Hold, true, reason, who, evidence
		return l
	}
	const reader, print = "Whoever uses it must read the label with their own eyes.", "The use-by in large letters on the label settles it: not after it, whatever the batch says."
	switch {
	case p.State == tag.Hold:
		l.Source = "the tag that was put on it"
		return hold(p.named()+" Its tag says DO NOT USE: it was set aside on hold.",
			"Whoever put the tag on it, or the quality office, must say why.", "What the tag gives as its reason, settled, and the tag taken off, settles it.")
	case p.State == tag.Reject:
		l.Source, l.Past, l.Reason = "the tag that was put on it", true, p.named()+" Its tag says DO NOT USE: it was rejected."
		return l
	case p.End.IsZero() && p.State == tag.Opened:
		return hold(p.named()+" Its code carries no day: read the use-by on the label.", reader, print)
	case p.End.IsZero():
		return hold(p.named()+" Its code carries no hour: read the use-by on the label.", reader, print)
	}
	l.Date, l.Dated = p.End.Last(), true
	l.Minute, l.Timed = p.End.Clock()
	past := j.On.After(l.Date)
	switch q := j.question; {
	case l.Timed && j.On == l.Date && !q.Timed:
		l.ByHour = true
		return hold(fmt.Sprintf("%s Its use-by is %s.", p.named(), p.End),
			"Whoever uses it must say at what hour: use it only up to that time, or reject it.", "The hour of use settles it.")
	case l.Timed && j.On == l.Date:
		past = q.At > l.Minute
	case past && p.wholeDays && p.State != tag.Opened && j.On == l.Date.Add(1):
		l.ByHour = true
		return hold(fmt.Sprintf("%s Its code has whole days alone, through %s: read the hour on the label.", p.named(), p.End), reader, print)
	}
	switch {
	case past:
		l.Past, l.Reason = true, fmt.Sprintf("%s Its use-by, %s, is past.", p.named(), p.End)
	case l.Timed:
		l.Reason = fmt.Sprintf("%s Usable until %s.", p.named(), p.End)
	default:
		l.Reason = fmt.Sprintf("%s Usable through %s.", p.named(), p.End)
	}
	return l
}

// named says in a sentence what the label in the hand is of.
func (p *Sticker) named() string {
	of := "batch " + p.Batch
	if p.Batch == "" {
		of = "a batch that the code does not name"
	}
	which, is := "an opened container", "container "+p.Container+", opened,"
	switch p.State {
	case tag.Thawed:
		which, is = "a thawed container", "container "+p.Container+", thawed,"
	case tag.Mixed:
		which, is = "a container mixed", "container "+p.Container+", mixed"
		of = "from " + of
	case tag.Hold, tag.Reject:
		which, is = "a container", "container "+p.Container
	}
	if p.State != tag.Mixed {
		of = "of " + of
	}
	if p.Container != "" {
		which = is
	}
	return "This is the label of " + which + " " + of + "."
}

// placed puts a limit where it belongs among the limits of a judgement, which are in
// order: what rejects, what holds, what is to come, what is for information.
func placed(v shelf.Judgement, l shelf.Limit) shelf.Judgement {
	at := slices.IndexFunc(v.Limits, func(o shelf.Limit) bool { return before(&l, &o) })
	if at < 0 {
		at = len(v.Limits)
	}
	v.Limits = slices.Insert(slices.Clone(v.Limits), at, l)
	return governed(v)
}

// without drops limits by their names.
func without(v shelf.Judgement, names ...shelf.Name) shelf.Judgement {
	v.Limits = slices.DeleteFunc(slices.Clone(v.Limits), func(l shelf.Limit) bool { return slices.Contains(names, l.Name) })
	return governed(v)
}

// governed has the first of the limits decide.
func governed(v shelf.Judgement) shelf.Judgement {
	v.Verdict, v.Governing = shelf.Use, shelf.Limit{}
	if len(v.Limits) > 0 {
		v.Governing = v.Limits[0]
		if l := v.Governing; l.Past && l.Counts {
			v.Verdict = l.Verdict
		}
	}
	return v
}

// before reports whether one limit goes before another, as package shelf orders them: of
// two past ones the undated first, of two to come the dated; of equals a.
func before(a, b *shelf.Limit) bool {
	r := rank(a)
	switch o := rank(b); {
	case r != o:
		return r < o
	case a.Dated != b.Dated:
		return a.Dated == (r == toCome)
	case a.Date != b.Date:
		return a.Date.Before(b.Date)
	}
	return lastMinute(a) <= lastMinute(b)
}

// The ranks of limits.
const (
	rejects = iota
	holds
	toCome
	information
)

func rank(l *shelf.Limit) int {
	switch {
	case !l.Counts:
		return information
	case !l.Past:
		return toCome
	case l.Verdict == shelf.Hold:
		return holds
	}
	return rejects
}

func lastMinute(l *shelf.Limit) int {
	if l.Timed {
		return l.Minute
	}
	return 24*60 - 1
}

// endsBefore reports whether a limit's last moment of use lies before the one that the
// work is done at; of work known by its day alone it must last that day.
func endsBefore(l *shelf.Limit, until label.Date) bool {
	if last := until.Last(); l.Date != last {
		return l.Date.Before(last)
	}
	minute, ok := until.Clock()
	return l.Timed && (!ok || l.Minute < minute)
}
