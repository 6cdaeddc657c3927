package desk

import (
	"fmt"
	"math"
	"strings"
	"time"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/air"
	"beadline/cure/quantity"
)

// SealAhead is how far behind the start of mixing sealing windows are looked for.
const SealAhead = 48 * time.Hour

// dewMargin is how far above the dew point, in °C, a surface must be to seal on it.
const dewMargin = cure.DewMargin

func (t *Times) warn(format string, args ...any) {
	t.Warnings = append(t.Warnings, fmt.Sprintf(format, args...))
}

// stop warns of what forbids the work.
func (t *Times) stop(format string, args ...any) {
	t.warn(format, args...)
	t.Stops = append(t.Stops, t.Warnings[len(t.Warnings)-1])
}

// laying stops a bead that does not cure through, and in constant air a class that is
// not to be laid in it.
func (t *Times) laying() {
	depth := t.Bead.DepthMM
	if t.Bead.Faces == 2 { // each face cures its half
		depth /= 2
	}
	if c := t.Class.Curves[cure.Cured]; c != nil && c.MaxDepth > 0 && depth > c.MaxDepth {
		t.stop("A bead %.3g mm deep does not cure through: this class cures %g mm deep from each open face. Lay it thinner, or use another class.", t.Bead.DepthMM, c.MaxDepth)
	}
	if t.waterless() {
		t.stop("In air of 0 %% RH this class never cures: it cures with the water in the air.")
	}
	if t.Pieces == nil {
		t.layingSteady()
	}
	if t.Warmth.Heated {
		t.heating()
	}
}

// heating says what the class asks of heat.
func (t *Times) heating() {
	h := t.Class.Heat
	said := fmt.Sprintf("Heat the joint to %g C at most, and not before %s from the last sealant laid or fastener torqued", h.MaxC, quantity.FormatSpan(h.After))
	if h.Needs != "" {
		said += "; it needs: " + h.Needs
	}
	t.warn("%s. Measure it at the joint.", said)
	for m, c := range t.Class.Curves {
		if c != nil && cure.Milestone(m).Line() == cure.NotBefore && c.Credit != nil {
			return
		}
	}
	t.assume("The heat shortens no line of this class: nothing is known by which warmth may shorten its cure.")
}

// layingSteady stops where the class is not to be laid in the constant air.
func (t *Times) layingSteady() {
	a, part, r := t.Air, t.partC(), t.Class.Apply
	said := len(t.Stops)
	switch {
	case r.Part.IsZero():
		t.layingTooCold()
	case part < r.Part.Lo:
		t.stop("The part is at %.4g C: this class is laid at %.4g to %.4g C. Warm the part first.", part, r.Part.Lo, r.Part.Hi)
	case part > r.Part.Hi:
		t.stop("The part is at %.4g C: this class is laid at %.4g to %.4g C. Let it cool first.", part, r.Part.Lo, r.Part.Hi)
	}
	if t.RHSaid {
		if !r.RH.IsZero() && !r.RH.Contains(a.RH) {
			t.stop("Do not seal: the air has %.3g %% RH: this class is laid at %g to %g %%.", a.RH, r.RH.Lo, r.RH.Hi)
		}
		if dew := air.DewPoint(a.Vapour()); part < dew+dewMargin {
			t.stop("Do not seal: the part at %.3g C is less than %g degrees C above the dew point, %.1f C.", part, dewMargin, dew)
		}
	}
	if len(t.Stops) > said {
		t.layingRests()
	}
}

// layingTooCold stops a class that says nothing of where it is laid, where it would
// never cure.
func (t *Times) layingTooCold() {
	for _, mo := range t.Moments {
		if mo.Milestone == cure.Cured && strings.HasPrefix(mo.Refused, neverAt) {
			t.stop("At %.4g C it never cures. Warm the part first.", t.partC())
		}
	}
}

// layingRests lists what the limits to laying rest on.
func (t *Times) layingRests() {
	if r := t.Class.Apply; r.From != "" {
		t.Laying = append(t.Laying, catalog.Source{What: "where it is laid", From: r.From})
	}
	t.Laying = append(t.Laying, catalog.Source{What: "dew point",
		From: fmt.Sprintf("%g degrees C above it: practice of ISO 8502-4 for coating work", dewMargin)})
}

// waterless reports constant air without water around a class that cures with it.
func (t *Times) waterless() bool {
	if t.Pieces != nil || !t.RHSaid || t.Air.RH > 0 {
		return false
	}
	for _, c := range t.Class.Curves {
		if c == nil {
			continue
		}
		if _, front := c.Form.(cure.Front); front {
			return true
		}
	}
	return t.Class.Kind == catalog.OnePartMoisture
}

// sealing finds the windows in which the class may be laid in an air history, and
// stops where the start is in none of them.
func (t *Times) sealing() (err error) {
	if t.Pieces == nil {
		return nil
	}
	if t.Windows, err = t.Site.Windows(&t.Class.Class, t.From, t.From.Add(SealAhead), t.Warmth); err != nil {
		return err
	}
	t.layingRests()
	first := t.Windows[0]
	switch {
	case !first.Open():
		t.stop("Do not seal at %s: %s. %s %s", sayInstant(t.From), strings.Join(first.Bars.Reasons(&t.Class.Class), ", "), t.measures(), t.nextWindow())
	case len(t.Windows) == 1:
	case first.To.Before(t.Laid):
		t.stop("You may seal until %s, and the last sealant is laid or fastener torqued at %s: %s. Lay none after that.",
			sayInstant(first.To.In(t.From.Location())), sayInstant(t.Laid), strings.Join(t.Windows[1].Bars.Reasons(&t.Class.Class), ", "))
	case t.outlives(first.To):
		t.warn("You may seal until %s only, before the pot is spent: then %s. Have all sealant laid by then.",
			sayInstant(first.To.In(t.From.Location())), strings.Join(t.Windows[1].Bars.Reasons(&t.Class.Class), ", "))
	}
	return nil
}

// outlives reports that the pot lasts beyond an instant.
func (t *Times) outlives(at time.Time) bool {
	return len(t.Moments) > 0 && t.Moments[0].Milestone == cure.Application && t.Moments[0].At.After(at)
}

// measures says what part and dew point are at the start, and what doubt makes of them.
func (t *Times) measures() string {
	c, pv := t.Site.Air.At(t.From, cure.Likely)
	_, dry := t.Site.Air.At(t.From, cure.NotBefore)
	_, wet := t.Site.Air.At(t.From, cure.NotAfter)
	part := func(line cure.Line) float64 {
		p := t.Site.PartAt(t.From, line)
		if t.Warmth.Warmed {
			p = math.Max(p, t.Warmth.WarmedC)
		}
		return p
	}
	say := func(what string, likely, lo, hi float64) string {
		text := fmt.Sprintf("%s %.1f C", what, likely)
		if a, b := fmt.Sprintf("%.1f", lo), fmt.Sprintf("%.1f", hi); a != b {
			text += fmt.Sprintf(", in doubt %s to %s C", a, b)
		}
		return text
	}
	said := say("Part", part(cure.Likely), part(cure.NotBefore), part(cure.NotAfter))
	if dry > 0 {
		said += "; " + say("dew point", air.DewPoint(pv), air.DewPoint(dry), air.DewPoint(wet))
	}
	return fmt.Sprintf("%s; air %.3g %% RH.", said, airOf(c, pv).RH)
}

// nextWindow names the first window behind the start, or says that there is none.
func (t *Times) nextWindow() string {
	var bars cure.Bar
	for _, w := range t.Windows {
		if w.Open() {
			from, to := inward(w)
			if !to.After(from) {
				continue
			}
			return fmt.Sprintf("You may from %s.", sayInstant(from.In(t.From.Location())))
		}
		bars |= w.Bars
	}
	if bars == t.Windows[0].Bars {
		return fmt.Sprintf("It stays so for the %g h looked at.", SealAhead.Hours())
	}
	return fmt.Sprintf("Nor within %g h: %s.", SealAhead.Hours(), strings.Join(bars.Reasons(&t.Class.Class), ", or "))
}

// inward is a window cut to whole minutes, for the eye: never longer than it is.
func inward(w cure.Window) (from, to time.Time) {
	return w.From.Add(time.Minute - 1).Truncate(time.Minute), w.To.Truncate(time.Minute)
}

// Sealing is a window in which the class may be laid.
type Sealing struct {
	From, To time.Time // whole minutes, inward, but where From is the start of mixing
	Then     []string  // why it ends; nil: it goes on as far as was looked
	// OnForecast says that it rests, in part at least, on air that was not measured.
	OnForecast bool
}

// MaySeal are the windows in which the class may be laid; what has no whole minute is
// left out.
func (t *Times) MaySeal() []Sealing {
	var open []Sealing
	for i, w := range t.Windows {
		if !w.Open() {
			continue
		}
		s := Sealing{}
		s.From, s.To = inward(w)
		if i == 0 {
			s.From = w.From
		}
		if i+1 < len(t.Windows) {
			s.Then = t.Windows[i+1].Bars.Reasons(&t.Class.Class)
		}
		s.OnForecast = t.Unmeasured(w.From, w.To)
		if s.To.After(s.From) {
			open = append(open, s)
		}
	}
	return open
}
