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
	key, err := r.findLabelled(ctx, &d.Act)
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
		if old := s.Event(d.Said.ID); d.Said.ID != "" && old != nil { // sent again: it is not decided again
			own := *old
			return []*register.Event{&own}, cmp.Or(takenBack(s, old), d.sentAgain(old))
		}
		if before, err = r.then(s, &d.Act, register.KindDrawn); err != nil {
			return nil, err
		}
		if d.Said.Corrects != "" && !d.TimeSaid {
			r.askAt(d.when, d.Until)
		}
		if from, err = r.pick(before, d); err != nil {
			return nil, err
		}
		if from.since = r.since(s, d, &from); from.since != "" && d.Said.Corrects == "" {
			err = d.standsFor(fmt.Sprintf("a drawing entered late, of what may not be used as its record stands now (%s)", strings.TrimSuffix(from.since, ".")), "why")
		}
		return r.drawing(d, &from), err
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

// sentAgain compares a drawing with what is recorded under its id.
func (d *Drawing) sentAgain(old *register.Event) error {
	was := register.Use{}
	if old.Use != nil {
		was = *old.Use
	}
	amount := d.Said.Amount
	if amount != nil && d.Said.Unit != "" {
		if n, err := amount.In(d.Said.Unit, old.Unit); err == nil {
			amount = &n
		}
	}
	same := old.Kind == register.KindDrawn && (d.Which.Container == "" || old.Container == d.Which.Container) &&
		(amount == nil || old.Amount != nil && *old.Amount == *amount) &&
		was.Job == d.Use.Job && was.Mix == d.Use.Mix && was.Training == d.Use.Training && slices.Equal(was.Joints, d.Use.Joints)
	if !same {
		return fmt.Errorf("--id %s is that of another event, %s%s: leave --id out, or give this one its own", old.ID, old.Title(), UseWords(old.Use))
	}
	return nil
}

// askAt has the judge answer for the time of an event.
func (r *Room) askAt(at register.When, until label.Date) {
	l := at.Label(r.Judge.Zone())
	q := shelf.Question{On: l.First(), Zone: r.Judge.Zone(), Until: until}
	q.At, q.Timed = l.Clock()
	r.Judge.Ask(q)
}

// pick is the part that is drawn from.
type pick struct {
	Holding         // as it stands
	used    Holding // as it is once it is drawn
	opens   bool    // this drawing opens it
	amount  register.Amount
	among   int // parts of the batch with something left
	batch   register.Batch
	rank    rank
	since   string // what is on record against it that came after the drawing; "": nothing
	ended   string // why it is too old now, where it was not when it was drawn; "": it is not
}

// since is what is on record against a part that came up after the time of its drawing. A
// drawing may be entered late, but what was held or rejected meanwhile is not to be had by
// saying an earlier time; so somebody must stand for it.
func (r *Room) since(s *register.State, d *Drawing, from *pick) string {
	if from.ended = ""; d.Use.Training {
		return ""
	}
	asked := r.Judge.Question()
	defer r.Judge.Ask(asked)
	r.askAt(register.AtInstant(r.Clock().In(r.Judge.Zone())), label.Date{})
	for _, p := range s.Parts {
		if p.Container != from.Container || p.Place != from.Place && s.Part(from.Container, from.Place) != nil {
			continue
		}
		for _, l := range r.Holding(s, p).Checked.Judgement.Limits {
			switch {
			case !l.Past || !l.Counts || l.Freed || l.Verdict == shelf.Use:
			case !slices.Contains(byAge, l.Name):
				return l.Reason
			case from.ended == "":
				from.ended = l.Reason
			}
		}
	}
	return ""
}

// byAge are the limits that pass as time does: that they have since is no finding.
var byAge = []shelf.Name{shelf.LimitLabelExpiry, shelf.LimitInspectDate, shelf.LimitBestBefore, shelf.LimitClassLife, shelf.LimitCodeLife,
	shelf.LimitOpenedLife, shelf.LimitInstalledLife, shelf.LimitThawLife, shelf.LimitOutTime, shelf.LimitPartExpiry, shelf.LimitOutlast}

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
	w, err := d.which(s)
	if err != nil {
		return pick{}, err
	}
	var fit []pick
	all := 0
	for _, p := range s.Parts {
		if !p.Stocked() {
			continue
		}
		if all++; !w.fits(s, p) {
			continue
		}
		n, err := d.amountOf(p)
		if err != nil {
			return pick{}, err
		}
		fit = append(fit, r.consider(s, p, n, &d.Act))
	}
	if len(fit) == 0 {
		_, err := Choose(s, w)
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
			return &withheld{pick: *p, kept: true, why: "of " + PartWords(p.Part) + ", " + keptWords(p.Part, d.Use.Job)}
		}
	}
	var parts []*register.Part
	for _, p := range fit {
		if p.verdict() == shelf.Use || d.Use.Training {
			parts = append(parts, p.Part)
		}
	}
	return fmt.Errorf("not drawn: no part of it has %s: in stock: %s", first.amount.Words(first.Unit), listParts(parts))
}

// keptWords says for which other jobs a part is kept.
func keptWords(p *register.Part, job string) string {
	var all []string
	for _, v := range p.Reserved {
		if v.Job != job {
			all = append(all, fmt.Sprintf("%s reserved for job %s, by %s", isAre(v.Amount, p.Unit), v.Job, v.By))
		}
	}
	return joinAnd(all)
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
func (r *Room) consider(s *register.State, p *register.Part, n register.Amount, a *Act) pick {
	out := pick{Holding: r.Holding(s, p), amount: n, batch: s.Batch}
	it, opens, changed := r.inUse(&p.Item, p.Unit, a.when)
	out.opens, out.used = opens, out.Holding
	if changed {
		out.used = r.holdingAs(s, p, it)
	}
	if a.Scan != nil {
		out.used.Checked = r.Judge.Against(out.used.Checked, a.Scan)
	}
	out.rank = rankOf(&p.Item, out.Checked.Judgement.Governing)
	return out
}

// inUse is an item as it is once it is drawn: a frozen pack has left the freezer, and what
// is measured out of a container has been opened. changed is false where it is as it
// stands. Where only the day of the drawing is known, so is not since which hour a pack is
// out; that counts where it has to outlast something.
func (r *Room) inUse(it *shelf.Item, unit string, when register.When) (used shelf.Item, opens, changed bool) {
	used = *it
	if when.IsZero() {
		when = r.At
	}
	at := when.Label(r.Judge.Zone())
	if by, _, _ := stock.ReadUnit(unit); (by == stock.ByML || by == stock.ByGram) && it.Opened.IsZero() {
		used.Opened, opens, changed = at, true, true
	}
	if when.IsDay() && r.Judge.Until().IsZero() || len(it.Refrozen) < len(it.Thawed) {
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
	opened := &register.Event{Kind: register.KindOpened, At: e.At, By: d.Said.By, Container: from.Container, Place: from.Place, Why: "drawn from"}
	return []*register.Event{opened, e}
}

// withhold is the answer for what is not drawn.
func (r *Room) withhold(d *Drawing, w *withheld) *Drawn {
	j := w.used.Checked.Judgement
	o := &Drawn{Outcome: &Outcome{Register: r.Store.Name(), Batch: w.batch, Zone: r.Judge.Zone(), Notes: d.notes, Answer: max(j.Verdict, shelf.Hold), Holdings: []Holding{w.Holding}},
		Taken: w.used, Withheld: w.why, Then: verdictWords(j)}
	o.Did = "Nothing was drawn, and nothing is recorded."
	g := j.Governing
	switch {
	case w.kept:
		o.Lift = "the same command again, with --although-reserved --why REASON"
		o.ToDo = append(o.ToDo, "Whoever plans that job must agree; it is recorded with the reason.")
	case j.Verdict == shelf.Reject:
		o.ToDo = append(o.ToDo, "Set it aside and tag it: it does not go on an aircraft, and nobody lifts that. For training: --for training.")
	case g.Name == shelf.LimitOutlast:
		o.ToDo = append(o.ToDo, strings.TrimSpace(g.Who+" "+g.Evidence))
	default:
		o.ToDo = append(o.ToDo, strings.TrimSpace(g.Who+" "+g.Evidence))
		if !slices.Contains(shelf.Freeable(), g.Name) { // it takes a test, or a corrected record
			break
		}
		whose := ""
		if w.batch.Maker != "" {
			whose = " --maker " + inShell(w.batch.Maker)
		}
		o.Lift = fmt.Sprintf("beadline stock free %s%s --limit %s --by NAME --authority OFFICE --reference REPORT --why REASON", inShell(w.batch.Number), whose, g.Name)
	}
	return o
}

// inShell is a word as a shell takes it.
func inShell(s string) string {
	if strings.ContainsAny(s, " \t'\"\\$`&|;<>()*?[]#~!{}") {
		return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'"
	}
	return s
}
