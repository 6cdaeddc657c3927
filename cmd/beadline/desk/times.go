package desk

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/quantity"
)

// TimesQuestion asks how long the pot of a class lasts and when it has cured.
type TimesQuestion struct {
	Class *catalog.Class

	Air         cure.Air // constant air; not used with Pieces
	RHSaid      bool     // false: Air.RH is assumed, as the class does not look at it
	PotC, PartC float64  // °C; NaN: as the air
	PotG        float64  // g in the pot; 0: not said
	Extrapolate bool     // answer outside a curve's range too, marked

	// Pieces are the air as measured and forecast, in time order; nil: constant Air.
	// With them From must be set.
	Pieces []cure.Piece
	Files  []*Air // the files that the first of the pieces were read from, in their order

	// Part is how the structure follows the air; AtC is what it has at From, or NaN: it
	// followed the air until then. For an air history alone.
	Part cure.Part
	// Warmth is what is done to warm the joint: the structure before sealing and until
	// the last fastener, warm air or a lamp from Warmth.HeatFrom on. For an air history
	// alone; see Times.WarmthOf.
	Warmth cure.Warmth
	// MarginSaid is false where the doubt in what is expected was not said.
	MarginSaid bool
	Taken      []string // what was taken for granted in asking

	Bead cure.Bead
	Seal cure.Seal // "": not said

	From time.Time // start of mixing; zero: spans only
	Laid time.Time // last sealant laid or fastener torqued; zero: as From
}

// Times is the answer.
type Times struct {
	TimesQuestion
	Start cure.Air // the air at From, or the constant air
	// Site is the air history from From, or before it, to past the last milestone, with
	// the bead, pot and part; nil for constant air.
	Site    *cure.Site
	Moments []Moment // the milestones of the class, in their order
	Degree  *Degree  // the degree of cure beside them; nil: no rate law of the class is known
	// Measured is the last reading of a log: what follows is expected. Zero: all of it is.
	Measured time.Time
	// Gaps are the stretches of the logs that nobody measured.
	Gaps []Gap
	// Windows say when the class may be laid in the time after From; nil for constant air.
	Windows []cure.Window
	// Laying is what the windows and stops rest on.
	Laying []catalog.Source
	// Stops say why nothing is to be mixed or laid yet: a part too cold or too hot for
	// the class, or too near to the dew point; in an air history, a start in no window.
	// They are among the Warnings too.
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
	// LikelyOutside says that the plain curve was drawn out of its range of temperature
	// for a part of the way: nothing backs it there.
	LikelyOutside bool
	At            time.Time // zero without TimesQuestion.From
	LikelyAt      time.Time

	Refused      string // why nothing is answered: outside the curve's range
	Final        bool   // Refused holds for an extrapolation too
	ByWitness    bool   // no calculated line: go by the witness cup
	Extrapolated bool
	Why          string // why there is no line, or what stands in for it
	Excursions   []cure.Excursion
	// OnForecast says that the line rests, in part at least, on air that was not
	// measured: a forecast, or the last reading of a log, held.
	OnForecast bool
	RestsOn    []catalog.Source // What is "" for the curve itself
}

// unheeded is the humidity, in %, assumed where the class does not look at it.
const unheeded = 50

// AskTimes answers for every milestone that the class has. Errors: the class has no
// curve at all, the air or bead cannot be, the log does not reach the start, or
// every milestone lies outside its curve's range (a *Refusal).
func AskTimes(q TimesQuestion) (*Times, error) {
	t := &Times{TimesQuestion: q, Start: q.Air, Moments: []Moment{}, Assumed: slices.Clone(q.Taken)}
	if !q.RHSaid && q.Pieces == nil {
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
	if len(t.Moments) == 0 && t.Class.Degree == nil {
		return nil, fmt.Errorf("class %s has no times: nothing is known of its pot life or cure", q.Class.ID)
	}
	t.laying()
	t.lateLaid()
	if err := t.sealing(); err != nil {
		return nil, err
	}
	t.clocks()
	var err error
	if t.Degree, err = AskDegree(t); err != nil {
		return nil, err
	}
	return t, t.allRefused()
}

func (t *Times) assume(format string, args ...any) {
	t.Assumed = append(t.Assumed, fmt.Sprintf(format, args...))
}

func (t *Times) answer() error {
	if t.Pieces != nil {
		return t.inAir()
	}
	return t.each(t.steady)
}

// each asks for every milestone that the class has.
func (t *Times) each(ask func(m cure.Milestone) (Moment, error)) error {
	t.Moments = t.Moments[:0]
	for m := range cure.NumMilestones {
		if !t.Class.Has(m) {
			continue
		}
		mo, err := ask(m)
		var outside *cure.RangeError
		switch {
		case errors.As(err, &outside):
			mo = t.refused(m, outside)
		case err != nil:
			return err
		}
		t.Moments = append(t.Moments, mo)
	}
	return nil
}

// refused is a milestone without an answer, and what would be one where it is too cold.
func (t *Times) refused(m cure.Milestone, outside *cure.RangeError) Moment {
	mo := Moment{Milestone: m, Line: m.Line(), Refused: outside.Text, Final: outside.Final}
	if c, _, err := t.Class.Curve(m); err == nil && t.Pieces == nil && m.Line() == cure.NotBefore && t.partC() < c.Temp.Lo {
		if hint := t.wouldTake(m); hint != "" {
			mo.Refused = fmt.Sprintf("%s %.4g C: below the floor of %.4g C nothing counts; %s", neverAt, t.partC(), c.Temp.Lo, hint)
		}
	}
	t.rests(&mo, false)
	return mo
}

// neverAt begins the reason why a line to wait for is not reached in constant cold.
const neverAt = "never, at"

// partC is the temperature of the part in constant air, in °C.
func (t *Times) partC() float64 {
	if math.IsNaN(t.PartC) {
		return t.Air.TempC
	}
	return t.PartC
}

// wouldTake says how long a line to wait for would take at 10 °C, or at the floor of
// the curve where that is warmer, with air and part alike; "" where that is not known.
func (t *Times) wouldTake(m cure.Milestone) string {
	c, _, err := t.Class.Curve(m)
	if err != nil {
		return ""
	}
	s := cure.Steady{Air: cure.Air{TempC: math.Max(10, c.Temp.Lo), RH: t.Start.RH}, Bead: t.Bead}
	for range 2 {
		s.PotC, s.PartC = s.Air.TempC, s.Air.TempC
		a, err := t.Class.Steady(m, m.Line(), s)
		if err == nil && !a.Never {
			return fmt.Sprintf("it would take %s at %.4g C", quantity.FormatSpanUp(a.Time), s.Air.TempC)
		}
		s.Air.RH = c.Form.Reference().RH // in other air
	}
	return ""
}

// steady answers a milestone in constant air.
func (t *Times) steady(m cure.Milestone) (Moment, error) {
	s := cure.Steady{Air: t.Air, PotC: t.PotC, PartC: t.partC(), PotG: t.PotG, Bead: t.Bead, Extrapolate: t.Extrapolate}
	if math.IsNaN(s.PotC) {
		s.PotC = t.Air.TempC
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

// What a milestone rests on besides its curve.
const (
	OnHumidity = "humidity"
	OnCold     = "longer in the cold"
	OnWarmth   = "shorter in the warm"
	OnHeat     = "heat"
	OnWitness  = "by witness reading"
)

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
	if c.Mass != nil && mo.Milestone <= cure.Assembly {
		add("pot mass", c.Mass.From)
	}
	if c.Humidity != nil {
		add(OnHumidity, c.Humidity.From)
	}
	if mo.Line == cure.NotAfter {
		add(OnCold, c.ColdExtends)
	} else if c.Credit != nil && warm {
		add(OnWarmth, c.Credit.From)
	}
	if t.Warmth.Heated && mo.Line == cure.NotBefore {
		add(OnHeat, t.Class.Heat.From)
	}
	if mo.ByWitness && t.Class.Moisture != nil {
		add(OnWitness, t.Class.Moisture.From)
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
	if d := t.Degree; d != nil {
		if d.Refused == "" {
			return nil
		}
		if len(t.Moments) == 0 {
			return &Refusal{fmt.Sprintf("class %s: no degree of cure can be given: %s", t.Class.ID, d.Refused)}
		}
	}
	if t.waterless() {
		return &Refusal{fmt.Sprintf("class %s cures with the water in the air: in air of 0 %% RH it never does", t.Class.ID)}
	}
	m := t.Moments[0]
	// Of lines too cold to reach, the one that puts the part to service says the most.
	for _, o := range t.Moments {
		if o.Milestone <= cure.Cured && strings.HasPrefix(o.Refused, neverAt) {
			m = o
		}
	}
	hint := "; --extrapolate shows the numbers all the same, marked"
	if t.Pieces != nil || m.Final {
		hint = ""
	}
	return &Refusal{fmt.Sprintf("class %s: no time can be given: %s: %s%s", t.Class.ID, m.Milestone, m.Refused, hint)}
}
