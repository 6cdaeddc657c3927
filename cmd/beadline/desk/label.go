package desk

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/rickb777/date"

	"beadline/catalog"
	"beadline/catalog/label/tag"
	"beadline/catalog/shelf"
	"beadline/cure"
	"beadline/cure/quantity"
)

// LabelQuestion asks until when a container may be used that is opened, thawed or mixed.
type LabelQuestion struct {
	Class *catalog.Class
	State tag.State // tag.Opened, tag.Thawed or tag.Mixed
	// Item is the container as its own label and records say; the class id, and what
	// State and When add, are filled in.
	Item shelf.Item
	// Row is where it stands on a stock list; nil without a list. From fills it in.
	Row  *Checked
	When time.Time // of the opening, thawing or mixing, in the zone of its clocks
	Now  time.Time
	PotC float64 // °C of what is mixed, or thawed
	// PotSaid is false where PotC is assumed.
	PotSaid bool
	PotG    float64 // g in the pot; 0: not said
}

// Label is the answer: until when, and why; or why not at all.
type Label struct {
	LabelQuestion
	// Verdict is Use where a use-by can be printed.
	Verdict shelf.Verdict
	UseBy   tag.UseBy // meaningful with Use
	// Why is the reason in a sentence, and Source what it rests on.
	Why, Source string
	// Next says who must decide, on what evidence; "" with Use.
	Next string
	// Notes are for the printed label: what ends the use, or why it is forbidden. Their
	// temperatures are in °C, as the physics writes them ("23 C").
	Notes     []string
	Judgement shelf.Judgement
	Assumed   []string
	Cautions  []string
}

// Labelled reports whether a class can be in a state at all. The error is a sentence
// without its subject: "… comes mixed: say thawed".
func Labelled(c *catalog.Class, s tag.State) error {
	switch {
	case s != tag.Mixed || c.MixByHand:
		return nil
	case c.Kind == catalog.PremixedFrozen:
		return fmt.Errorf("class %s comes mixed and frozen: say thawed", c.ID)
	}
	return fmt.Errorf("class %s is used as it comes and not mixed: say opened", c.ID)
}

// AskLabel works out the use-by: the earliest of the expiry on the label, the lives of
// the class, the time out of the freezer, and the application time of what is mixed. It
// is judged at When, or now if that is later: what has ended since gets no label.
//
// Errors: the class cannot be in that state; the pot cannot be.
func AskLabel(q LabelQuestion) (*Label, error) {
	q.When = q.When.Truncate(time.Minute)
	l := &Label{LabelQuestion: q}
	if v, ok := q.Unfit(); ok {
		return l.unjudged(v), nil
	}
	if err := Labelled(q.Class, q.State); err != nil {
		return nil, err
	}
	l.Cautions = append(q.Class.CautionSentences(), catalog.GeneralCautions()...)
	l.happened()
	at := l.judgedAt()
	rules := Rules(q.Class)
	l.Judgement = shelf.JudgeFor(&l.Item, &rules, q.Asked())
	l.Verdict = l.Judgement.Verdict
	if l.Verdict == shelf.Use {
		l.byLimits(&rules)
		if err := l.byApplication(at); err != nil {
			return nil, err
		}
	} else {
		l.forbid(l.Verdict, l.Judgement.Governing)
	}
	l.assume(at)
	return l, nil
}

// Asked is the moment that a container is judged at: its When, or Now if that is later.
func (q *LabelQuestion) Asked() shelf.Question {
	at := q.judgedAt().Truncate(time.Minute)
	return shelf.Question{On: date.NewAt(at), At: 60*at.Hour() + at.Minute(), Timed: true, Zone: at.Location()}
}

// judgedAt is the moment judged, on the clocks of the place.
func (q *LabelQuestion) judgedAt() time.Time {
	if now := q.Now.In(q.When.Location()); now.After(q.When) {
		return now
	}
	return q.When
}

// byLimits takes the earliest limit to come for the use-by.
func (l *Label) byLimits(r *shelf.Rules) {
	for _, x := range l.Judgement.Limits {
		if !x.Counts || !x.Dated {
			continue
		}
		y, m, d := x.Date.Date()
		u := tag.UseBy{At: time.Date(y, m, d, 12, 0, 0, 0, l.When.Location()), Timed: x.Timed}
		if x.Timed {
			u.At = time.Date(y, m, d, x.Minute/60, x.Minute%60, 0, 0, l.When.Location())
		}
		if l.UseBy.At.IsZero() || ends(u).Before(ends(l.UseBy)) {
			l.UseBy, l.Why, l.Source = u, x.Reason, x.Source
			l.Notes = []string{l.note(&x, r)}
		}
	}
	if l.UseBy.At.IsZero() && l.State != tag.Mixed {
		l.forbid(shelf.Hold, shelf.Limit{
			Reason: "Nothing sets a day that it ends: no expiry is known, and " + l.Class.ID + " gives no life that counts from now.",
			Source: l.Judgement.Governing.Source,
			Who:    "The quality office must say until when it may be used.", Evidence: "The maker's data sheet settles it."})
	}
}

// ends is the instant after which a container is not used.
func ends(u tag.UseBy) time.Time {
	if u.Timed {
		return u.At
	}
	y, m, d := u.At.Date()
	return time.Date(y, m, d+1, 0, 0, 0, 0, u.At.Location())
}

// note is a limit in the few words that a label has room for.
func (l *Label) note(x *shelf.Limit, r *shelf.Rules) string {
	switch x.Name {
	case shelf.LimitLabelExpiry:
		if x.Date != l.Item.Expiry.Last() {
			return "expiry as extended after a test"
		}
		return "expiry on the container"
	case shelf.LimitOpenedLife:
		said := "opened life " + quantity.FormatLife(r.Opened.Span)
		if l.Item.Opened.First() != date.NewAt(l.When) {
			said += ", opened " + l.Item.Opened.String()
		}
		return said
	case shelf.LimitHotStorage:
		return "too warm in store: within " + quantity.FormatLife(r.Hot.Within)
	case shelf.LimitClassLife:
		return fmt.Sprintf("life %s, made %s", quantity.FormatLife(r.Unopened.Span), l.Item.DOM)
	case shelf.LimitThawLife:
		return "good for " + outWords(r.ThawLife.Max) + " from leaving the freezer"
	case shelf.LimitOutTime:
		said := "out time " + outWords(r.OutTime.Max)
		if l.Item.OutUsed > 0 {
			said += ", " + outWords(l.Item.OutUsed) + " spent before"
		}
		return said
	case shelf.LimitInspectDate:
		return "then inspect/test"
	}
	return strings.ReplaceAll(string(x.Name), "-", " ")
}

// outWords writes whole days as days.
func outWords(d time.Duration) string {
	const day = 24 * time.Hour
	if d >= 2*day && d%day == 0 {
		return fmt.Sprintf("%d days", d/day)
	}
	return quantity.FormatSpan(d)
}

// byApplication brings the application time in: of what is mixed from mixing, and of
// what comes mixed and frozen from leaving the freezer, where its clock starts.
func (l *Label) byApplication(at time.Time) error {
	premixed := l.State == tag.Thawed && l.Class.Kind == catalog.PremixedFrozen
	if l.State != tag.Mixed && !premixed || l.Verdict != shelf.Use {
		return nil
	}
	m, why, err := l.application()
	switch {
	case err != nil:
		return err
	case why != "":
		l.forbid(shelf.Hold, shelf.Limit{Reason: why, Who: "The maker's data sheet must say how long it may be applied.",
			Evidence: "A pot at a temperature that the class has times for settles it too."})
		return nil
	}
	until := m.At.Truncate(time.Minute)
	if once := tag.ShownOnce(until); !once.Equal(until) && !once.Before(at.Truncate(time.Minute)) {
		l.Assumed = append(l.Assumed, fmt.Sprintf("Its application time ends %s, and the clock shows that hour twice: use it until the minute before the hour, %s.",
			until.Format("15:04 MST"), once.Format("15:04")))
		until = once
	}
	if until.Before(at.Truncate(time.Minute)) {
		l.forbid(shelf.Reject, shelf.Limit{Source: sources(m), Reason: fmt.Sprintf("Its application time ended %s: %s %s, %s at %.4g C.",
			until.Format("Mon 2 Jan 15:04"), l.State, l.When.Format("Mon 2 Jan 15:04"), quantity.FormatSpan(m.Span), l.PotC)})
		return nil
	}
	note := fmt.Sprintf("application until %s at %.4g C", until.Format("15:04"), l.PotC)
	// Of two that end together the measured one, at the temperature of the pot, is named.
	if l.UseBy.At.IsZero() || !ends(l.UseBy).Before(until) {
		l.UseBy, l.Source = tag.UseBy{At: until, Timed: true}, sources(m)
		l.Why = fmt.Sprintf("%s %s; application time %s at %.4g C: use until %s.", capital(l.State.String()), l.When.Format("Mon 2 Jan 15:04"),
			quantity.FormatSpan(m.Span), l.PotC, until.Format("Mon 2 Jan 15:04"))
		l.Notes = nil
	}
	if !until.After(ends(l.UseBy)) { // a later time than the use-by has no place on the label
		l.Notes = append([]string{note}, l.Notes...)
	}
	return nil
}

// application is the line of the application time in a pot of one temperature. why says
// in a sentence that none is known there.
func (l *Label) application() (m Moment, why string, err error) {
	if !l.Class.Has(cure.Application) {
		return m, fmt.Sprintf("No application time is known for %s.", l.Class.ID), nil
	}
	// Asked by itself, as the refusal of all times together offers numbers from outside
	// the range, which no label is to have.
	var outside *cure.RangeError
	if _, err := l.Class.Steady(cure.Application, cure.NotAfter, cure.Steady{Air: cure.Air{TempC: l.PotC}, PotC: l.PotC, PartC: l.PotC, PotG: l.PotG}); errors.As(err, &outside) {
		return m, fmt.Sprintf("No application time of %s can be given: %s.", l.Class.ID, strings.TrimSuffix(outside.Text, ".")), nil
	}
	t, err := AskTimes(TimesQuestion{Class: l.Class, Air: cure.Air{TempC: l.PotC}, PotC: l.PotC, PartC: l.PotC, PotG: l.PotG, From: l.When})
	var no *Refusal
	switch {
	case errors.As(err, &no):
		return m, sentence(no.Error()), nil
	case err != nil:
		return m, "", err
	}
	i := slices.IndexFunc(t.Moments, func(m Moment) bool { return m.Milestone == cure.Application })
	if i < 0 || !t.Moments[i].Known {
		why := "the curve gives none"
		if i >= 0 && t.Moments[i].Refused != "" {
			why = t.Moments[i].Refused
		}
		return m, fmt.Sprintf("No application time of %s can be given: %s.", l.Class.ID, strings.TrimSuffix(why, ".")), nil
	}
	return t.Moments[i], "", nil
}

func sources(m Moment) string {
	var all []string
	for _, s := range m.RestsOn {
		all = append(all, s.From)
	}
	return strings.Join(all, "; ")
}

// forbid makes the answer a no: there is no use-by.
func (l *Label) forbid(v shelf.Verdict, x shelf.Limit) {
	l.Verdict, l.UseBy = v, tag.UseBy{}
	l.Why, l.Source = x.Reason, x.Source
	l.Next = strings.TrimSpace(x.Who + " " + x.Evidence)
	l.Notes = []string{x.Reason}
	if v == shelf.Reject {
		l.Next = "Set it aside and tag it: it does not go on an aircraft."
	}
	l.Notes = append(l.Notes, l.Next)
}

// assume lists what was taken for granted.
func (l *Label) assume(at time.Time) {
	say := func(format string, args ...any) { l.Assumed = append(l.Assumed, fmt.Sprintf(format, args...)) }
	if l.When.After(l.Now) {
		say("It is made out for a time to come, %s.", l.When.Format("Mon 2 Jan 2006 15:04 MST"))
	}
	if l.Verdict == shelf.Use && !l.PotSaid && slices.ContainsFunc(l.Notes, func(n string) bool { return strings.HasPrefix(n, "application") }) {
		say("Its temperature is not said: %.4g C stands for it. Warmer is shorter; say --pot if it is.", l.PotC)
	}
	if l.Verdict == shelf.Use && l.PotG > 0 && !l.sized() {
		say("The class says nothing of pot size: a pot of %s may set sooner than a small one; the time is for a pot as the class was tested.", massWords(l.PotG))
	}
	if l.Verdict == shelf.Use && l.Item.Expiry.IsZero() && !l.Item.DOM.IsZero() {
		say("No expiry of the container is said: its life is counted from manufacture.")
	}
	if l.State == tag.Opened && l.Item.Opened.First().Before(date.NewAt(l.When)) {
		say("It was opened before, %s: its opened life counts from then.", l.Item.Opened)
	}
	if l.State == tag.Thawed && l.Item.OutUsed == 0 && len(l.Item.Thawed) == 1 && l.Class.Shelf != nil && l.Class.Shelf.OutTime.Known {
		say("No time out of the freezer before this is said: all of it counts from %s.", l.When.Format("Mon 2 Jan 15:04"))
	}
	if l.State == tag.Mixed && l.Item.Opened.IsZero() && l.Verdict == shelf.Use {
		say("The containers it was mixed from were opened for this pot.")
	}
	l.Assumed = append(l.Assumed, l.Judgement.Assumed...)
}

// sized reports whether the class says how the application time goes with the size of
// the pot.
func (l *Label) sized() bool {
	c, _, err := l.Class.Curve(cure.Application)
	return err == nil && c.Mass != nil
}

// massWords writes how much is in a pot: "150 g", "2 kg".
func massWords(g float64) string {
	if g >= 1000 {
		return fmt.Sprintf("%.3g kg", g/1000)
	}
	return fmt.Sprintf("%.3g g", g)
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// Tags are the labels to print for the answer, one for each container, or a single one
// without a number where no container is named. text puts temperatures into the reader's units.
func (l *Label) Tags(containers []string, by, gtin string, text func(string) string) []tag.Tag {
	t := tag.Tag{
		State: l.State, Class: l.Class.ID, Name: l.Class.Name, Batch: l.Item.Batch, GTIN: gtin,
		When: l.When, By: by, UseBy: l.UseBy,
	}
	switch l.Verdict {
	case shelf.Hold:
		t.State, t.When = tag.Hold, l.judgedAt()
	case shelf.Reject:
		t.State, t.When = tag.Reject, l.judgedAt()
	}
	if t.Class == "" {
		t.Class = "class not known"
	}
	for _, n := range l.Notes {
		t.Notes = append(t.Notes, text(n))
	}
	if len(containers) == 0 {
		return []tag.Tag{t}
	}
	var all []tag.Tag
	for _, c := range containers {
		t.Container = c
		all = append(all, t)
	}
	return all
}
