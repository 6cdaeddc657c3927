package desk

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/air"
)

// TimesQuestion asks how long the pot of a class lasts and when it has cured.
type TimesQuestion struct {
	Class *catalog.Class

	Air         cure.Air // constant air; not used with a Log
	RHSaid      bool     // false: Air.RH is assumed, as the class does not look at it
	PotC, PartC float64  // °C; NaN: as the air
	Extrapolate bool     // answer outside a curve's range too, marked

	Log *Air // air as measured; From must be set

	Bead cure.Bead
	Seal cure.Seal // "": not said

	From time.Time // start of mixing; zero: spans only
	Laid time.Time // last sealant laid or fastener torqued; zero: as From
}

// Times is the answer.
type Times struct {
	TimesQuestion
	Start   cure.Air // the air at From, or the constant air
	Moments []Moment // the milestones of the class, in their order
	// Stops say why nothing is to be mixed or laid yet: a part too cold or too hot for
	// the class, or too near to the dew point. They are among the Warnings too.
	Stops []string
	// Warnings say what stands against sealing in this air at all.
	Warnings []string
	Assumed  []string
	Cautions []string
}

// Moment is one milestone: the line to work to, and the plain curve beside it.
type Moment struct {
	Milestone cure.Milestone
	Line      cure.Line

	Known  bool          // there is a line
	Span   time.Duration // whole seconds, rounded to the safe side
	Likely time.Duration // whole seconds; meaningful if LikelyKnown
	// LikelyKnown is false where the plain curve never gets there.
	LikelyKnown bool
	At          time.Time // zero without TimesQuestion.From
	LikelyAt    time.Time

	Refused      string // why nothing is answered: outside the curve's range
	Final        bool   // Refused holds for an extrapolation too
	ByWitness    bool   // no calculated line: go by the witness cup
	Extrapolated bool
	Why          string // why there is no line, or what stands in for it
	Excursions   []cure.Excursion
	RestsOn      []catalog.Source // What is "" for the curve itself
}

// unheeded is the humidity, in %, assumed where the class does not look at it.
const unheeded = 50

// hold is how far the air history runs on behind the start of a question: longer
// than any cure.
const hold = 366 * 24 * time.Hour

// AskTimes answers for every milestone that the class has. Errors: the class has no
// curve at all, the air or bead cannot be, the log does not reach the start, or
// every milestone lies outside its curve's range (a *Refusal).
func AskTimes(q TimesQuestion) (*Times, error) {
	t := &Times{TimesQuestion: q, Start: q.Air, Moments: []Moment{}}
	if !q.RHSaid && q.Log == nil {
		t.Start.RH, t.Air.RH = unheeded, unheeded
		t.assume("Humidity is not said: %d %% stands for it. This class does not look at it.", unheeded)
	}
	if t.Laid.IsZero() {
		t.Laid = t.From
	}
	t.Cautions = append(q.Class.CautionSentences(), catalog.GeneralCautions()...)
	if err := t.answer(); err != nil {
		return nil, err
	}
	if len(t.Moments) == 0 {
		return nil, fmt.Errorf("class %s has no times: nothing is known of its pot life or cure", q.Class.ID)
	}
	t.laying()
	t.clocks()
	return t, t.allRefused()
}

func (t *Times) assume(format string, args ...any) {
	t.Assumed = append(t.Assumed, fmt.Sprintf(format, args...))
}

func (t *Times) answer() error {
	ask := t.steady
	if t.Log != nil {
		l, err := t.openLog()
		if err != nil {
			return err
		}
		defer l.notes()
		ask = l.moment
	}
	for m := range cure.NumMilestones {
		if !t.Class.Has(m) {
			continue
		}
		mo, err := ask(m)
		var outside *cure.RangeError
		switch {
		case errors.As(err, &outside):
			mo = Moment{Milestone: m, Line: m.Line(), Refused: outside.Text, Final: outside.Final}
			t.rests(&mo, false)
		case err != nil:
			return err
		}
		t.Moments = append(t.Moments, mo)
	}
	return nil
}

// steady answers a milestone in constant air.
func (t *Times) steady(m cure.Milestone) (Moment, error) {
	s := cure.Steady{Air: t.Air, PotC: t.PotC, PartC: t.PartC, Bead: t.Bead, Extrapolate: t.Extrapolate}
	if math.IsNaN(s.PotC) {
		s.PotC = t.Air.TempC
	}
	if math.IsNaN(s.PartC) {
		s.PartC = t.Air.TempC
	}
	a, err := t.Class.Steady(m, m.Line(), s)
	if err != nil {
		return Moment{}, err
	}
	mo := Moment{
		Milestone: m, Line: a.Line, Known: !a.Never, Span: whole(a.Time, a.Line),
		LikelyKnown: !a.LikelyNever, Likely: whole(a.Likely, cure.Likely),
		ByWitness: a.ByWitness, Extrapolated: a.Extrapolated, Why: a.Why,
	}
	if start := t.startOf(m); !start.IsZero() {
		if mo.Known {
			mo.At = start.Add(mo.Span)
		}
		if mo.LikelyKnown {
			mo.LikelyAt = start.Add(mo.Likely)
		}
	}
	t.rests(&mo, s.PartC > a.Curve.Form.Reference().TempC)
	return mo, nil
}

// startOf is when a milestone's clock starts: the pot's with mixing, the others'
// with the last sealant laid or fastener torqued.
func (t *Times) startOf(m cure.Milestone) time.Time {
	if m.Line() == cure.NotAfter {
		return t.From
	}
	return t.Laid
}

// whole rounds a span to whole seconds: down for a line not to work past, up for
// one to wait for. What arithmetic adds or loses below a microsecond is no second.
func whole(d time.Duration, line cure.Line) time.Duration {
	const slack = time.Microsecond
	switch line {
	case cure.NotAfter:
		return (d + slack).Truncate(time.Second)
	case cure.NotBefore:
		return (d - slack + time.Second).Truncate(time.Second)
	}
	return d.Round(time.Second)
}

// rests lists what a moment rests on; warm says that the credit for warmth counts.
func (t *Times) rests(mo *Moment, warm bool) {
	c, _, err := t.Class.Curve(mo.Milestone)
	if err != nil {
		return
	}
	add := func(what, from string) {
		if from != "" {
			mo.RestsOn = append(mo.RestsOn, catalog.Source{What: what, From: from})
		}
	}
	add("", c.From)
	if c.Humidity != nil {
		add("humidity", c.Humidity.From)
	}
	if mo.Line == cure.NotAfter {
		add("longer in the cold", c.ColdExtends)
	} else if c.Credit != nil && warm {
		add("shorter in the warm", c.Credit.From)
	}
	if mo.ByWitness && t.Class.Moisture != nil {
		add("by witness reading", t.Class.Moisture.From)
	}
}

// dewMargin is how far above the dew point, in °C, a surface must be to seal on it
// (the practice of ISO 8502-4).
const dewMargin = 3.0

// laying warns where the class is not to be laid in the air at the start.
func (t *Times) laying() {
	a, part := t.Start, t.Start.TempC
	if !math.IsNaN(t.PartC) {
		part = t.PartC
	}
	warn := func(format string, args ...any) { t.Warnings = append(t.Warnings, fmt.Sprintf(format, args...)) }
	stop := func(format string, args ...any) {
		warn(format, args...)
		t.Stops = append(t.Stops, t.Warnings[len(t.Warnings)-1])
	}
	depth := t.Bead.DepthMM
	if t.Bead.Faces == 2 { // each face cures its half
		depth /= 2
	}
	if c := t.Class.Curves[cure.Cured]; c != nil && c.MaxDepth > 0 && depth > c.MaxDepth {
		stop("A bead %.3g mm deep does not cure through: this class cures %g mm deep from each open face. Lay it thinner, or use another class.", t.Bead.DepthMM, c.MaxDepth)
	}
	r := t.Class.Apply
	switch {
	case r.Part.IsZero():
	case part < r.Part.Lo:
		stop("The part is at %.4g C: this class is laid at %.4g to %.4g C. Warm the part first.", part, r.Part.Lo, r.Part.Hi)
	case part > r.Part.Hi:
		stop("The part is at %.4g C: this class is laid at %.4g to %.4g C. Let it cool first.", part, r.Part.Lo, r.Part.Hi)
	}
	if !t.RHSaid && t.Log == nil {
		return
	}
	if !r.RH.IsZero() && !r.RH.Contains(a.RH) {
		warn("The air has %.3g %% RH: this class is laid at %g to %g %%.", a.RH, r.RH.Lo, r.RH.Hi)
	}
	if dew := air.DewPoint(a.Vapour()); part < dew+dewMargin {
		stop("Do not seal: the part at %.3g C is less than %g degrees C above the dew point, %.1f C.", part, dewMargin, dew)
	}
}

// clocks says from when the milestones are counted.
func (t *Times) clocks() {
	switch {
	case t.From.IsZero():
	case t.Laid.Equal(t.From):
		t.assume("Mixing, the last sealant laid and the last fastener torqued are all taken at one instant. Where the work ends later, so do tack-free and cure: give --laid.")
	}
	if t.Log == nil && math.IsNaN(t.PotC) {
		t.assume("The pot is as warm as the air: give --pot if it stands in a warmer room.")
	}
	if math.IsNaN(t.PartC) {
		t.assume("The part is as warm as the air: a cold-soaked structure lags behind it.")
	}
}

// Refusal is the error when no milestone of a class has an answer. Its quantities are
// those of the physics, in °C and mm.
type Refusal struct{ text string }

// Error implements error.
func (r *Refusal) Error() string { return r.text }

// allRefused is an error when no milestone has an answer.
func (t *Times) allRefused() error {
	for _, m := range t.Moments {
		if m.Refused == "" {
			return nil
		}
	}
	m := t.Moments[0]
	hint := "; --extrapolate shows the numbers all the same, marked"
	if t.Log != nil || m.Final {
		hint = ""
	}
	return &Refusal{fmt.Sprintf("class %s: no time can be given: %s: %s%s", t.Class.ID, m.Milestone, m.Refused, hint)}
}

// airOf is air of a temperature in °C and a vapour pressure in hPa.
func airOf(tempC, pv float64) cure.Air {
	return cure.Air{TempC: tempC, RH: math.Min(100, air.Humidity(tempC, pv))}
}

// NeedsBead says why the times of a class cannot be told without the depth of the
// bead; "" if they can.
func NeedsBead(cl *catalog.Class) string {
	for m, c := range cl.Curves {
		if c == nil {
			continue
		}
		if _, front := c.Form.(cure.Front); front {
			return fmt.Sprintf("this class cures from the face inward, and its %s time grows with the square of the depth", cure.Milestone(m))
		}
	}
	return ""
}

// Clocks says from when the milestones of a class count, by its kind: what is mixed,
// what comes frozen, what cures with the air or without it.
func Clocks(cl *catalog.Class) string {
	var pot, rest []string
	for m := range cure.NumMilestones {
		switch {
		case !cl.Has(m):
		case m.Line() == cure.NotAfter:
			pot = append(pot, m.String())
		default:
			rest = append(rest, m.String())
		}
	}
	potStart, restStart := clockStarts(cl)
	switch {
	case pot == nil:
		return counts(rest) + " from " + restStart + "."
	case rest == nil:
		return counts(pot) + " from " + potStart + "."
	}
	return counts(pot) + " from " + potStart + ", the others from " + restStart + "."
}

// clockStarts are the events that start the clocks of a kind: of the lines not to
// work past, and of those to wait for.
func clockStarts(cl *catalog.Class) (pot, rest string) {
	rest = "the last sealant laid or fastener torqued"
	switch cl.Kind {
	case catalog.PremixedFrozen:
		return "leaving the freezer", rest
	case catalog.OnePartMoisture:
		return "the first sealant laid open to the air", rest
	case catalog.Anaerobic:
		return "the first drop on the thread", "the parts put together and the last fastener torqued: it cures shut off from air"
	case catalog.Promoter:
		return "the first wipe", "the last wipe"
	case catalog.Adhesive, catalog.FilmAdhesive:
		pot, rest = "the first adhesive spread", "the parts put together"
	case catalog.Primer, catalog.Topcoat:
		pot, rest = "opening", "the last coat laid"
	default:
		pot = "the first sealant laid"
	}
	if cl.MixByHand {
		pot = "the first touch of base and accelerator"
	}
	return pot, rest
}

// counts writes "Application and assembly count", with a capital.
func counts(names []string) string {
	verb, last := " count", len(names)-1
	said := names[0]
	if last == 0 {
		verb = " counts"
	} else {
		said = strings.Join(names[:last], ", ") + " and " + names[last]
	}
	return strings.ToUpper(said[:1]) + said[1:] + verb
}

// NeedsHumidity says why the times of a class cannot be told without the humidity
// of the air; "" if it does not look at it.
func NeedsHumidity(cl *catalog.Class) string {
	if m := cl.Moisture; m != nil && m.MinRH > 0 {
		return fmt.Sprintf("in air drier than %g %% this class goes by the witness cup", m.MinRH)
	}
	for m, c := range cl.Curves {
		if c == nil {
			continue
		}
		_, rhs := c.Form.Breaks()
		_, front := c.Form.(cure.Front)
		if front || c.Humidity != nil || len(rhs) > 0 || !c.RH.IsZero() {
			return fmt.Sprintf("the %s time of this class depends on it", cure.Milestone(m))
		}
	}
	return ""
}
