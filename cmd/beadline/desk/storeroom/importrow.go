package storeroom

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
)

// batch makes what is recorded of the rows of one batch; nil if nothing is, as a row is
// bad or all are there already.
func (im *importing) batch(group []rowAt) (*register.Write, error) {
	b, _ := group[0].key.Batch()
	before := len(im.did.Bad)
	lines := make([]ImportLine, 0, len(group))
	for _, row := range group {
		line, err := im.row(b, row)
		if err != nil {
			return nil, err
		}
		if line.Event == nil {
			im.did.Bad = append(im.did.Bad, line)
			continue
		}
		if twin := sameHold(lines, line.Event); twin > 0 {
			im.bad(line.Line, b, fmt.Sprintf("line %d has the same batch%s: add the two up, or give each a container number", twin, samePart(line.Event)))
			continue
		}
		lines = append(lines, line)
	}
	if len(lines) == 0 {
		return nil, nil
	}
	known, ok, err := im.known(b, lines)
	if err != nil || !ok {
		return nil, err
	}
	if known {
		im.did.Known += len(lines)
		im.keep(lines)
		return nil, nil
	}
	w, err := im.fresh(b, lines)
	if len(im.did.Bad) > before {
		return nil, err
	}
	return w, err
}

// fresh makes the line of a batch that is not there yet.
func (im *importing) fresh(b register.Batch, lines []ImportLine) (*register.Write, error) {
	events := make([]*register.Event, len(lines))
	for i := range lines {
		events[i] = lines[i].Event
	}
	w, err := im.Fresh(b.Key(), events)
	var no *register.Refused
	switch {
	case errors.As(err, &no):
		im.bad(refusedLine(lines, no), b, no.Text+others(lines, no))
		return nil, nil // the others are as good as they were
	case err != nil:
		return nil, err
	}
	im.did.New += len(lines)
	im.did.Batches++
	for i := range lines {
		im.did.Verdicts[lines[i].Answer]++
		im.ofFile(lines[i].Event.Receipt.Label.Class)
	}
	im.keep(lines)
	return w, nil
}

// refusedLine is the line that a refusal is about.
func refusedLine(lines []ImportLine, no *register.Refused) int {
	for _, l := range lines {
		if l.Event.ID == no.Event.ID {
			return l.Line
		}
	}
	return lines[0].Line
}

// others names the other lines of a batch, where it has any.
func others(lines []ImportLine, no *register.Refused) string {
	var names []string
	for _, l := range lines {
		if l.Event.ID != no.Event.ID && len(names) < 5 {
			names = append(names, strconv.Itoa(l.Line))
		}
	}
	if names == nil {
		return ""
	}
	return " (the batch is on line " + joinAnd(names) + " too)"
}

// sameHold is the line of a row with the same container and place, or 0.
func sameHold(lines []ImportLine, e *register.Event) int {
	for _, l := range lines {
		if l.Event.Container == e.Container && l.Event.Place == e.Place {
			return l.Line
		}
	}
	return 0
}

func samePart(e *register.Event) string {
	say := ", container and place"
	if e.Container == "" && e.Place == "" {
		say = ", and neither says a container or place"
	} else if e.Container == "" {
		say = " and place"
	}
	return say
}

// keep keeps lines for the answer.
func (im *importing) keep(lines []ImportLine) {
	for _, l := range lines {
		if im.All || l.Line <= im.upTo {
			l.Why = im.why(&l)
			im.did.Lines = append(im.did.Lines, l)
		}
	}
}

// ofFile notes a class that only a file on the command line has.
func (im *importing) ofFile(class string) {
	if _, seen := im.files[class]; seen {
		return
	}
	im.files[class] = ""
	if c, err := im.Judge.Class(class); err == nil && c.File != catalog.BuiltinFile && !inRegister(c.File) {
		im.files[class] = c.File
	}
}

// unkept says of which classes the register knows nothing, once --catalog is left out.
func (im *importing) unkept() []string {
	byFile := map[string][]string{}
	for class, file := range im.files {
		if file != "" {
			byFile[file] = append(byFile[file], class)
		}
	}
	var notes []string
	for _, file := range slices.Sorted(maps.Keys(byFile)) {
		classes := byFile[file]
		slices.Sort(classes)
		notes = append(notes, fmt.Sprintf("Only %s knows %s: without it all of these are on hold. Keep it in the register: beadline stock classes add %s.", file, joinAnd(classes), file))
	}
	return notes
}

// why is the reason of a verdict that is not use.
func (im *importing) why(l *ImportLine) string {
	if l.Known || l.Answer == shelf.Use {
		return ""
	}
	return im.Judge.Full(l.received(im.Judge.Zone())).Governing.Reason
}

// received is what a line was received as: its label, of the day that it came in.
func (l *ImportLine) received(zone *time.Location) shelf.Item {
	it := l.Event.Receipt.Label
	it.Received.On = l.Event.At.Label(zone)
	return it
}

// known finds out whether a batch is in the register already: by this very list, which is
// no fault, or otherwise, which is; ok is false then.
func (im *importing) known(b register.Batch, lines []ImportLine) (known, ok bool, err error) {
	if other := im.alike[strings.ToLower(b.Number)]; len(im.there[b.Number]) == 0 && other != "" {
		im.bad(lines[0].Line, b, fmt.Sprintf("the register has a batch %s: capitals count, so write the number as it is on record there", other))
		return false, false, nil
	}
	for _, have := range im.there[b.Number] {
		if have == b {
			return im.matches(b, lines)
		}
		if have.Maker == "" || b.Maker == "" {
			im.bad(lines[0].Line, b, fmt.Sprintf("the register has a batch %s of %s: say by --maker or a column maker whose this one is", have.Number, orUnnamed(have.Maker)))
			return false, false, nil
		}
	}
	return false, true, nil
}

// matches holds lines against the batch as it is in the register.
func (im *importing) matches(b register.Batch, lines []ImportLine) (known, ok bool, err error) {
	s, err := im.Load(im.ctx, b.Key())
	if err != nil || !s.Exists() {
		return false, err == nil, err
	}
	for i := range lines {
		l := &lines[i]
		old := s.Event(l.Event.ID)
		switch {
		case old == nil:
			first := s.Events[0]
			im.bad(l.Line, b, fmt.Sprintf("the register has this batch already: %s %s by %s. Take the row out, or if more came in: beadline stock receive", first.Kind, first.At.Label(im.Judge.Zone()), first.By))
			return false, false, nil
		case !register.SameReceipt(old, l.Event), l.dated && old.At.String() != l.Event.At.String():
			im.bad(l.Line, b, fmt.Sprintf("this line was imported %s by %s, but read otherwise than now: it stands as it was recorded; mend what is wrong with --corrects", old.Recorded.In(im.Judge.Zone()).Format("2 January 2006 15:04"), old.By))
			return false, false, nil
		}
		l.Known, l.Event = true, old
	}
	return true, true, nil
}

// row reads one row of a batch again, and makes its event.
func (im *importing) row(b register.Batch, from rowAt) (l ImportLine, err error) {
	at := from.at
	if im.parse == nil {
		f, err := im.From.Open(im.How)
		if err != nil {
			return l, err
		}
		im.parse = f.Parser()
	}
	im.raw = slices.Grow(im.raw[:0], int(from.size))[:from.size]
	if _, err := im.From.ReadAt(im.raw, at.Offset); err != nil && err != io.EOF {
		return l, fmt.Errorf("%s:%d: %w", im.From.Name, at.Line, err)
	}
	row, bad, err := im.parse.Parse(im.raw, at.Line)
	switch {
	case err != nil:
		return l, fmt.Errorf("%s:%d: %w", im.From.Name, at.Line, err)
	case bad != nil:
		return l, fmt.Errorf("%s:%d: the list was changed while it was read: run this again", im.From.Name, at.Line)
	}
	l = ImportLine{Line: at.Line, Batch: b}
	e, err := im.event(&row)
	if err != nil {
		l.Wrong = err.Error()
		return l, nil
	}
	l.Event, l.dated = e, !row.Item.Received.On.IsZero()
	it := l.received(im.Judge.Zone())
	l.Answer, _, _ = im.Judge.Glance(&it)
	return l, nil
}

// event is a row as the receipt of what it says.
func (im *importing) event(row *stock.Row) (*register.Event, error) {
	it := row.Item
	it.Class = im.class(it.Class)
	if err := im.Judge.Known(it.Class); err != nil {
		return nil, fmt.Errorf("%w; --classes %s says which of ours it is", err, strconv.Quote(it.Class+"=..."))
	}
	e := &register.Event{ID: im.id(row.Line), Kind: register.KindReceived, At: im.At, By: im.By, Container: it.Container,
		Place: row.Location, Unit: row.Unit, Receipt: &register.Receipt{GTIN: row.GTIN, Source: im.source(row.Line)}}
	if on := it.Received.On; !on.IsZero() {
		at, err := whenOf(on, im.Room)
		if err != nil {
			return nil, fmt.Errorf("received %w", err)
		}
		e.At = at
	} else {
		im.said.undated++
	}
	if e.Place == "" {
		e.Place = im.Place
	}
	if e.Place == "" {
		im.said.noPlace++
	}
	if err := im.count(e, row, it.Class); err != nil {
		return nil, err
	}
	im.papers(e.Receipt, row, &it)
	it.Received.On = shelf.Item{}.Received.On
	e.Receipt.Label = it
	return e, nil
}

// class is a class of ours for a word of the list.
func (im *importing) class(word string) string {
	for from, to := range im.Classes {
		if strings.EqualFold(from, word) {
			return to
		}
	}
	return word
}

// count says how much a row is.
func (im *importing) count(e *register.Event, row *stock.Row, class string) error {
	if e.Unit == "" {
		e.Unit = im.Unit
	}
	if e.Unit == "" {
		e.Unit = im.packWord(class)
		im.said.unit(e.Unit)
	}
	if !row.Counted {
		im.said.notCounted++
		return nil
	}
	a, err := register.ParseAmount(strconv.FormatFloat(row.Quantity, 'f', -1, 64))
	if err != nil {
		return fmt.Errorf("quantity %w", err)
	}
	e.Amount = &a
	return nil
}

// papers are the papers of a row. Where the list has a column for certificates, a row
// without one came without; where it has none, existing stock is taken as received with
// its papers, and that is said.
func (im *importing) papers(to *register.Receipt, row *stock.Row, it *shelf.Item) {
	for _, p := range []struct {
		name string
		to   *string
	}{{colCertificate, &to.Certificate}, {colSupplier, &to.Supplier}, {colOrder, &to.Order}, {colMakerBatch, &to.MakerBatch}, {colPack, &to.Pack}} {
		*p.to, _ = im.paper(row, p.name)
	}
	switch _, listed := im.extra[colCertificate]; {
	case listed && to.Certificate == "":
		it.Received.NoPapers = true
		im.said.noPapers++
	case !listed && !it.Received.NoPapers:
		im.said.papers++
	}
}

// id is that of the event of a line: of the list's bytes and the line, so that the same
// list is not recorded twice.
func (im *importing) id(line int) string {
	return fmt.Sprintf("import-%s-%d", im.sum.String()[:32], line)
}

// source is the list and line, short enough to be recorded.
func (im *importing) source(line int) string {
	name := filepath.Base(im.From.Name)
	if len(name) > 150 {
		name = strings.ToValidUTF8(name[:150], "")
	}
	return fmt.Sprintf("%s:%d", name, line)
}

// assumptions counts what was assumed.
type assumptions struct {
	undated, noPlace, notCounted, noPapers, papers int
	units                                          []string
	perUnit                                        map[string]int
}

func (s *assumptions) unit(word string) {
	if s.perUnit == nil {
		s.perUnit = map[string]int{}
	}
	if s.perUnit[word]++; s.perUnit[word] == 1 {
		s.units = append(s.units, word)
	}
}

// words are what was assumed, a sentence each.
func (s *assumptions) words(im *importing) (all []string) {
	say := func(n int, one, many string) {
		switch {
		case n == 1:
			all = append(all, "1 row "+one)
		case n > 1:
			all = append(all, fmt.Sprintf("%d rows ", n)+many)
		}
	}
	now := im.At.Label(im.Judge.Zone()).String()
	if s.papers > 0 {
		all = append(all, "No column is called certificate, so what is there counts as received with its papers.")
	}
	say(s.noPapers, "has no certificate: it counts as come without papers, and is held.", "have no certificate: they count as come without papers, and are held.")
	say(s.undated, "does not say when it was received: it counts as received now, "+now+".", "do not say when they were received: they count as received now, "+now+".")
	for _, u := range s.units {
		say(s.perUnit[u], "does not say its unit: it counts in "+u+"s, as its class comes.", "do not say their unit: they count in "+u+"s, as their class comes.")
	}
	say(s.notCounted, "does not say how much there is: count it, with beadline stock count.", "do not say how much there is: count them, with beadline stock count.")
	say(s.noPlace, "does not say where it is, nor does --place.", "do not say where they are, nor does --place.")
	return all
}

// whenOf is a date of a list as the time of an event.
func whenOf(d label.Date, r *Room) (register.When, error) {
	switch d.Precision() {
	case label.Minute:
		at, err := desk.Instant(d.Canonical(), r.Judge.Zone())
		return register.AtInstant(at), err
	case label.Day:
		return register.OnDay(d.First()), nil
	}
	return register.When{}, fmt.Errorf("%s: say the day", d)
}
