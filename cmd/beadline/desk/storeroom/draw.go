package storeroom

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/catalog/label/scan"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
	"beadline/catalog/stock/register"
)

// Drawing is what is to be taken out of a batch, and for what. Said.Amount may be nil: one
// pack.
type Drawing struct {
	Act
	Use register.Use // but for Until
	// Until is what it has to outlast, as the room's judge was asked; zero: nothing.
	Until label.Date
	// Although it is reserved for another job; Said.Why says why.
	Although bool
	Scan     *scan.Scan // its label as scanned; nil: it was typed
}

// Drawn is what came of a drawing.
type Drawn struct {
	*Outcome
	// Taken is the part that was drawn from, or that was refused, as it was judged for the
	// drawing: as it is once it is in use.
	Taken Holding
	// Withheld is why nothing was drawn, and nothing recorded; "": it was drawn.
	Withheld string
	// Lift is the command that a person with authority lifts the hold by; "": there is none.
	Lift string
	// Then is the verdict as it was recorded.
	Then string
}

// Draw takes something out of a batch, if it may be used at the moment the judge was asked
// about and lasts as long as asked. What is on hold or rejected, or kept for another job,
// is withheld: Drawn says why, and nothing is recorded. For training anything may be
// drawn. An error is of what cannot be: no such batch, or nothing left of it.
func (r *Room) Draw(ctx context.Context, d *Drawing) (*Drawn, error) {
	key, err := r.Find(ctx, d.Number, d.Maker)
	if err != nil {
		return nil, err
	}
	if err := d.check(); err != nil {
		return nil, err
	}
	if !d.Until.IsZero() {
		if d.Use.Until, err = whenOf(d.Until, r); err != nil {
			return nil, err
		}
	}
	var from pick
	var before *register.State
	done, err := r.Append(ctx, key, func(s *register.State) ([]*register.Event, error) {
		if d.Said.ID != "" {
			if old := s.Event(d.Said.ID); old != nil { // sent again: it is not decided again
				own := *old
				return []*register.Event{&own}, d.sentAgain(old)
			}
		}
		before = r.without(s, d.Said.Corrects)
		if from, err = r.pick(before, d); err != nil {
			return nil, err
		}
		return r.drawing(d, &from), nil
	})
	var w *withheld
	switch {
	case errors.As(err, &w):
		return r.withhold(d, w), nil
	case err != nil:
		return nil, r.refusal(err)
	}
	return r.drawn(ctx, key, d, done, &from, before)
}

// check refuses what no batch could be drawn by.
func (d *Drawing) check() error {
	switch u := &d.Use; {
	case u.Training && (u.Job != "" || u.Mix != "" || len(u.Joints) > 0):
		return errors.New("what is drawn for training goes to no job, mix or joint: leave them out")
	case d.Although && d.Said.Why == "":
		return errors.New("to draw what is reserved for another job needs --why: it is recorded")
	case d.Said.Amount != nil && *d.Said.Amount == 0:
		return errors.New("0 is nothing to draw: say how much")
	}
	return d.mayCorrect()
}

// sentAgain compares a drawing with one that is recorded under its id.
func (d *Drawing) sentAgain(old *register.Event) error {
	if err := d.matches(old, register.KindDrawn); err != nil {
		return err
	}
	was := register.Use{}
	if old.Use != nil {
		was = *old.Use
	}
	if was.Job != d.Use.Job || was.Mix != d.Use.Mix || was.Training != d.Use.Training || !slices.Equal(was.Joints, d.Use.Joints) {
		return fmt.Errorf("--id %s is that of another event, %s %s for other work: leave --id out, or give this one its own", old.ID, old.Title(), old.At)
	}
	return nil
}

// without is a batch as it would be if an event had not happened, so that the event that
// stands in for it is judged by what was there.
func (r *Room) without(s *register.State, id string) *register.State {
	if id == "" || s.Event(id) == nil {
		return s
	}
	struck := &register.Event{ID: "struck " + id, Key: s.Key, Seq: len(s.Events) + 1, Kind: register.KindStruck, Corrects: id, At: register.AtInstant(s.Last())}
	return register.Fold(s.Key, append(slices.Clone(s.Events), struck), r.Zone)
}

// pick is the part that is drawn from.
type pick struct {
	Holding         // as it stands
	used    Holding // as it is once it is drawn
	opens   bool    // this drawing opens it
	amount  register.Amount
	among   int // parts of the batch with something left
	rank    rank
}

// withheld is a part that is not drawn, and why.
type withheld struct {
	pick
	kept bool // it is reserved for others
	why  string
}

func (w *withheld) Error() string { return w.why }

// pick chooses the part to draw from: of those that may be used and have enough, the one
// opened first, then the one that ends first. For training it is the other way round: what
// may not be used goes first.
func (r *Room) pick(s *register.State, d *Drawing) (pick, error) {
	var fit []pick
	all := 0
	for _, p := range s.Parts {
		if !p.Stocked() {
			continue
		}
		if all++; !d.Which.fits(p) {
			continue
		}
		n, err := d.amountOf(p)
		if err != nil {
			return pick{}, err
		}
		fit = append(fit, r.consider(s, p, n, d.Scan))
	}
	if len(fit) == 0 {
		_, err := Choose(s, d.Which)
		return pick{}, err
	}
	slices.SortStableFunc(fit, func(a, b pick) int {
		x, y := a.verdict(), b.verdict()
		if d.Use.Training {
			x, y = y, x
		}
		return cmp.Or(cmp.Compare(x, y), a.rank.compare(b.rank))
	})
	for i := range fit {
		p := &fit[i]
		p.among = all
		if (p.verdict() == shelf.Use || d.Use.Training) && p.enough(d) {
			return *p, nil
		}
	}
	return pick{}, refuse(fit, d)
}

// fits reports whether a part is one that may be meant.
func (w Which) fits(p *register.Part) bool {
	return (w.Container == "" || p.Container == w.Container) && (w.Place == "" || strings.EqualFold(p.Place, w.Place))
}

func (p *pick) verdict() shelf.Verdict { return p.used.Checked.Judgement.Verdict }

// enough reports whether a part has so much that is not kept for another job.
func (p *pick) enough(d *Drawing) bool {
	return !p.Counted || p.amount <= p.Part.Free(d.Use.Job) || d.Although && p.amount <= p.Amount
}

// refuse says why none of the parts can be drawn from, the likeliest first.
func refuse(fit []pick, d *Drawing) error {
	first := &fit[0]
	if first.verdict() != shelf.Use && !d.Use.Training {
		return &withheld{pick: *first, why: first.used.Checked.Judgement.Governing.Reason}
	}
	for i := range fit {
		p := &fit[i]
		if p.amount <= p.Amount && (p.verdict() == shelf.Use || d.Use.Training) {
			return &withheld{pick: *p, kept: true, why: "of " + PartWords(p.Part) + " " + keptWords(p.Part, d.Use.Job)}
		}
	}
	var parts []*register.Part
	for _, p := range fit {
		if p.verdict() == shelf.Use || d.Use.Training {
			parts = append(parts, p.Part)
		}
	}
	return fmt.Errorf("not drawn: no part has %s: there is %s", first.amount.Words(first.Unit), listParts(parts))
}

// keptWords says for which other jobs a part is kept.
func keptWords(p *register.Part, job string) string {
	var all []string
	for _, v := range p.Reserved {
		if v.Job != job {
			all = append(all, fmt.Sprintf("%s %s reserved for job %s, by %s", v.Amount, isAre(v.Amount), v.Job, v.By))
		}
	}
	return joinAnd(all)
}

func isAre(a register.Amount) string {
	if a == 1000 {
		return "is"
	}
	return "are"
}

// amountOf is how much of a part is to be drawn, in its unit.
func (d *Drawing) amountOf(p *register.Part) (register.Amount, error) {
	by, _, _ := stock.ReadUnit(p.Unit)
	switch {
	case d.Said.Amount == nil && by == stock.ByPack:
		return 1000, nil
	case d.Said.Amount == nil:
		return 0, fmt.Errorf("it counts in %s: say how much is drawn, such as --quantity 50", p.Unit)
	}
	n := *d.Said.Amount
	if d.Said.Unit != "" {
		var err error
		if n, err = n.In(d.Said.Unit, p.Unit); err != nil {
			return 0, fmt.Errorf("--unit %s: %w", d.Said.Unit, err)
		}
	}
	if by == stock.ByPack && n%1000 != 0 {
		return 0, fmt.Errorf("--quantity %s: %s are drawn whole: draw one, and scrap what is left of it", n, packsOf(p.Unit))
	}
	return n, nil
}

// packsOf is the unit of packs in the plural.
func packsOf(unit string) string {
	if unit == "" {
		return "pieces"
	}
	_, words, _ := strings.Cut(register.Amount(2000).Words(unit), " ")
	return words
}

// consider judges a part for being drawn.
func (r *Room) consider(s *register.State, p *register.Part, n register.Amount, code *scan.Scan) pick {
	out := pick{Holding: r.Holding(s, p), amount: n}
	it, opens, changed := r.inUse(&p.Item, p.Unit)
	out.opens, out.used = opens, out.Holding
	if changed {
		out.used = r.holdingAs(s, p, it)
	}
	if code != nil {
		out.used.Checked = r.Judge.Against(out.used.Checked, code)
	}
	out.rank = rankOf(&p.Item, out.Checked.Judgement.Governing)
	return out
}

// inUse is an item as it is once it is drawn: a frozen pack has left the freezer, and what
// is measured out of a container has been opened. changed is false where it is as it
// stands. Where only the day of the drawing is known, so is not since which hour a pack is
// out.
func (r *Room) inUse(it *shelf.Item, unit string) (used shelf.Item, opens, changed bool) {
	used = *it
	at := r.At.Label(r.Judge.Zone())
	if by, _, _ := stock.ReadUnit(unit); (by == stock.ByML || by == stock.ByGram) && it.Opened.IsZero() {
		used.Opened, opens, changed = at, true, true
	}
	if r.At.IsDay() || len(it.Refrozen) < len(it.Thawed) {
		return used, opens, changed
	}
	if cl, err := r.Judge.Class(it.Class); err == nil && cl.Kind == catalog.PremixedFrozen {
		used.Thawed, changed = append(slices.Clone(it.Thawed), at), true
	}
	return used, opens, changed
}

// drawing makes the events: where it opens the container, that first.
func (r *Room) drawing(d *Drawing, from *pick) []*register.Event {
	e := r.event(&d.Act, register.KindDrawn)
	e.Container, e.Place, e.Amount, e.Unit = from.Container, from.Place, &from.amount, from.Unit
	use := d.Use
	e.Use, e.Verdict = &use, verdictWords(from.used.Checked.Judgement)
	e.Although = from.Counted && from.amount > from.Part.Free(d.Use.Job)
	if !from.opens {
		return []*register.Event{e}
	}
	opened := &register.Event{Kind: register.KindOpened, At: r.At, By: d.Said.By, Container: from.Container, Place: from.Place, Why: "drawn from"}
	return []*register.Event{opened, e}
}

// withhold is the answer for what is not drawn.
func (r *Room) withhold(d *Drawing, w *withheld) *Drawn {
	j := w.used.Checked.Judgement
	b, _ := register.MakeBatch(d.Number, d.Maker)
	o := &Drawn{Outcome: &Outcome{Register: r.Store.Name(), Batch: b, Answer: max(j.Verdict, shelf.Hold), Holdings: []Holding{w.Holding}},
		Taken: w.used, Withheld: w.why, Then: verdictWords(j)}
	o.Did = "Nothing was drawn, and nothing is recorded."
	g := j.Governing
	switch {
	case w.kept:
		o.Lift = "beadline stock draw ... --although-reserved --why REASON"
		o.ToDo = append(o.ToDo, "Whoever plans that job must agree; it is recorded with the reason.")
	case j.Verdict == shelf.Reject:
		o.ToDo = append(o.ToDo, "Set it aside and tag it: it does not go on an aircraft, and nobody lifts that. For training: --for training.")
	case g.Name == shelf.LimitOutlast:
		o.ToDo = append(o.ToDo, strings.TrimSpace(g.Who+" "+g.Evidence))
	default:
		o.ToDo = append(o.ToDo, strings.TrimSpace(g.Who+" "+g.Evidence))
		o.Lift = fmt.Sprintf("beadline stock free %s --limit %s --by NAME --authority OFFICE --reference REPORT --why REASON", quoted(d.Number), g.Name)
	}
	return o
}

// quoted is a word as a shell takes it.
func quoted(s string) string {
	if strings.ContainsAny(s, " \t'\"\\$`&|;<>()*?[]#~!{}") {
		return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'"
	}
	return s
}
