package desk

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"beadline/cure"
	"beadline/cure/air"
)

// stale is how long after a log's last reading it may still stand for the air of
// now: the longest gap that counts as unbroken.
const stale = cure.MaxGap

// spans are how far an air history runs on behind the last sealant laid: first long
// enough for most cures, then for any.
var spans = [...]time.Duration{45 * 24 * time.Hour, 366 * 24 * time.Hour}

// settled is after how many time constants a part counts as following the air: e^−10
// of what it was off is left, a thousandth of a degree of 20.
const settled = 10

// logged answers milestones in an air history.
type logged struct {
	t    *Times
	site *cure.Site
	last time.Time // the last instant that an answer looked at
	warm float64   // °C, the warmest that the air or the joint gets
}

// inAir answers in the air of pieces.
func (t *Times) inAir() error {
	if err := t.within(); err != nil {
		return err
	}
	t.RHSaid, t.Measured, t.Gaps = true, LastMeasured(t.Pieces), gapsOf(t.Pieces)
	if err := t.startInGap(); err != nil {
		return err
	}
	t.overlaps()
	for _, ahead := range spans {
		l, err := t.openAir(ahead)
		if err != nil {
			return err
		}
		if err := t.each(l.moment); err != nil {
			return err
		}
		if l.last.Before(l.site.Air.Until()) || ahead == spans[len(spans)-1] {
			l.notes()
			break
		}
	}
	return nil
}

// openAir lays the pieces out as the air from the start of mixing on, or from before it
// where the part's temperature at the start is not known.
func (t *Times) openAir(ahead time.Duration) (*logged, error) {
	from, part := t.From, t.Part
	unknown := part.Tau > 0 && math.IsNaN(part.AtC)
	if unknown {
		from = from.Add(-settled * part.Tau)
		if s := t.Pieces[0].Samples; len(s) > 0 && s[0].At.After(from) {
			from = s[0].At
		}
	}
	h, err := cure.NewHistory(t.Pieces, from, t.Laid.Add(ahead))
	if err != nil {
		return nil, err
	}
	if unknown {
		part.AtC, _ = h.At(from, cure.Likely)
	}
	c, pv := h.At(t.From, cure.Likely)
	t.Start = airOf(c, pv)
	t.Site = &cure.Site{Air: h, Bead: t.Bead, PotC: t.PotC, PotSet: true, PotG: t.PotG, Part: part}
	l := &logged{t: t, site: t.Site, last: t.Laid, warm: warmest(t.Pieces)}
	if t.Warmth.Heated {
		l.warm = math.Max(l.warm, t.Warmth.HeatC)
	}
	return l, nil
}

// within refuses a start that readings alone cannot answer for: before the first of
// them, or long after the last.
func (t *Times) within() error {
	first, last := t.Pieces[0], t.Pieces[len(t.Pieces)-1]
	if s := first.Samples; len(s) > 0 && t.From.Before(s[0].At) {
		return fmt.Errorf("--from %s lies before the first reading of %s, %s: start within it",
			sayInstant(t.From), first.Name, sayInstant(s[0].At.In(t.From.Location())))
	}
	if n := len(last.Samples); n > 0 && t.From.Sub(last.Samples[n-1].At) > stale {
		return fmt.Errorf("--from %s lies more than 2 h after the last reading of %s, %s: give a newer log, or what is expected with --forecast, --swing or --then",
			sayInstant(t.From), last.Name, sayInstant(last.Samples[n-1].At.In(t.From.Location())))
	}
	return nil
}

// warmest is the warmest reading of the pieces, in °C.
func warmest(pieces []cure.Piece) float64 {
	w := math.Inf(-1)
	for _, p := range pieces {
		switch {
		case p.Swing != nil:
			w = math.Max(w, p.Swing.HighC)
		case p.Constant != nil:
			w = math.Max(w, p.Constant.TempC)
		}
		for _, s := range p.Samples {
			w = math.Max(w, s.TempC)
		}
	}
	return w
}

func (l *logged) moment(m cure.Milestone) (Moment, error) {
	cl, start := &l.t.Class.Class, l.t.startOf(m)
	curve, note, err := cl.Curve(m)
	if err != nil {
		return Moment{}, err
	}
	safe, err := l.reach(m, m.Line(), start)
	if err != nil {
		return Moment{}, err
	}
	likely, known, err := l.likely(m, start)
	if err != nil {
		return Moment{}, err
	}
	mo := Moment{Milestone: m, Line: m.Line(), Known: !safe.Never, LikelyKnown: known, Excursions: safe.Excursions}
	mo.Why = strings.Join(slices.DeleteFunc([]string{note, cl.GapNote(l.t.Bead), cl.PotNote(m, l.t.PotG)}, func(s string) bool { return s == "" }), "; ")
	l.seen(safe.At, !safe.Never)
	l.seen(likely, known)
	switch {
	case l.site.ByWitness(cl, m):
		mo.Known, mo.ByWitness = false, true
		mo.Why = "a closed film sees no moisture: go by the witness cup"
	case safe.Never:
		var dry bool
		mo.Why, dry = l.never(m, safe, l.site.Air.Until().Sub(start))
		mo.ByWitness = dry && mo.Line == cure.NotBefore && cl.Moisture != nil
	}
	mo.LikelyOutside = slices.ContainsFunc(safe.Excursions, func(e cure.Excursion) bool {
		return strings.HasPrefix(e.What, "below the floor") || strings.HasPrefix(e.What, "above the ceiling")
	})
	mo.OnForecast = !mo.ByWitness && (safe.Never || l.t.Unmeasured(start, safe.At))
	if mo.Known {
		mo.Span = whole(safe.At.Sub(start), mo.Line)
		mo.At = start.Add(mo.Span)
	}
	if mo.LikelyKnown {
		mo.Likely = whole(likely.Sub(start), cure.Likely)
		mo.LikelyAt = start.Add(mo.Likely)
	}
	l.t.rests(&mo, l.warm > curve.Form.Reference().TempC)
	return mo, nil
}

// likely is when the plain curve gets there; ok is false where it does not.
func (l *logged) likely(m cure.Milestone, start time.Time) (at time.Time, ok bool, err error) {
	if m == cure.Assembly && l.t.Warmth.Warmed {
		r, err := l.reach(m, cure.Likely, start)
		return r.At, !r.Never, err
	}
	c, err := l.site.Course(&l.t.Class.Class, m, cure.Likely)
	if err != nil {
		return at, false, err
	}
	at, ok = c.At(start, l.t.WarmthOf(m))
	return at, ok, nil
}

// seen keeps the last instant that an answer looked at: all of the history for one
// that was never reached.
func (l *logged) seen(at time.Time, reached bool) {
	if !reached {
		at = l.site.Air.Until()
	}
	if at.After(l.last) {
		l.last = at
	}
}

// WarmthOf is what warms the joint while a milestone runs. The pot stands apart from
// the joint. A structure warmed before sealing is kept warm until the last fastener is
// in, and cools from then on.
func (t *Times) WarmthOf(m cure.Milestone) cure.Warmth {
	w := t.Warmth
	switch {
	case m == cure.Application:
		return cure.Warmth{}
	case m == cure.Assembly && w.Warmed:
		w.Heated, w.HeatFrom, w.HeatC = true, t.From, w.WarmedC
	}
	return w
}

// reach is a milestone with what warms the joint. Where the joint is kept warm first
// and heated then, assembly that lasts until the heat comes on is counted with the heat
// from the start, but not as ending before it.
func (l *logged) reach(m cure.Milestone, line cure.Line, start time.Time) (cure.Reached, error) {
	cl, w, asked := &l.t.Class.Class, l.t.WarmthOf(m), l.t.Warmth
	r, err := l.site.ReachWarmed(cl, m, line, start, w)
	if err != nil || m != cure.Assembly || !asked.Warmed || !asked.Heated || !r.Never && !r.At.After(asked.HeatFrom) {
		return r, err
	}
	w.HeatC = math.Max(w.HeatC, asked.HeatC)
	hot, err := l.site.ReachWarmed(cl, m, line, start, w)
	if err == nil && !hot.Never && hot.At.Before(asked.HeatFrom) {
		hot.At = asked.HeatFrom
	}
	return hot, err
}

// never says why a milestone is not reached: in air that is too cold, or too dry, for
// most of the time, that is why; else it is slow. dry tells air that was too dry.
func (l *logged) never(m cure.Milestone, r cure.Reached, looked time.Duration) (why string, dry bool) {
	for _, e := range r.Excursions {
		if m.Line() == cure.NotAfter || 2*e.For < looked {
			continue
		}
		share := fmt.Sprintf("%.0f %% of the year looked at", 100*e.For.Seconds()/looked.Seconds())
		switch {
		case e.For >= looked-time.Minute:
			share = "all of the year looked at"
		case e.For.Seconds() > 0.99*looked.Seconds():
			share = "nearly all of the year looked at"
		}
		switch {
		case strings.HasPrefix(e.What, "below the floor"):
			text := fmt.Sprintf("never, in this air: %s nothing counts, and so it is for %s", e.What, share)
			if hint := l.t.wouldTake(m); hint != "" {
				text += "; " + hint
			}
			return text, false
		case strings.HasPrefix(e.What, "under"):
			text := fmt.Sprintf("never, in this air: %s nothing counts, and so it is for %s", e.What, share)
			if l.t.Warmth.Heated {
				text += "; the heat dries the air there: damp it"
			}
			return text, true
		}
	}
	return fmt.Sprintf("not reached within a year of this air (%.0f %% of the way)", 100*r.Progress), false
}

// notes reports what was assumed of the air up to the last instant that an answer
// looked at: a gap next month is no matter for a pot of today.
func (l *logged) notes() {
	t := l.t
	var said []string
	if len(l.site.Air.Notes()) > 0 {
		h, err := cure.NewHistory(t.Pieces, l.site.Air.From(), l.last.Add(time.Second))
		if err == nil {
			for _, n := range h.Notes() {
				if strings.HasPrefix(n, "the ") || strings.HasPrefix(n, "constant ") { // not the name of a file
					n = strings.ToUpper(n[:1]) + n[1:]
				}
				said = append(said, n)
			}
		}
	}
	// A log's own notes list every gap of the file; those that matter are in said. What
	// is suspect in a log that was measured is more than an assumption.
	for i, f := range t.Files { // each is the piece of its number
		for _, n := range f.Notes {
			switch {
			case slices.Contains(f.Suspect, n) && !t.Pieces[i].Forecast:
				t.warn("%s: %s. Check the sensor before you trust these times.", f.Name, n)
			case !strings.HasPrefix(n, "no reading from") && !strings.Contains(n, "more such gaps"):
				said = append(said, f.Name+": "+n+".")
			}
		}
	}
	if !t.MarginSaid && l.last.After(t.Measured) && t.Pieces[len(t.Pieces)-1].Margin > 0 {
		said = append(said, fmt.Sprintf("The doubt in air that is expected and not measured is taken as %g degrees C: --margin says another.", cure.DefaultMargin))
	}
	if t.Part.Tau > 0 && math.IsNaN(t.Part.AtC) {
		from := l.site.Air.From()
		said = append(said, fmt.Sprintf("What the part had at the start is not said: it is taken as warm as the air at %s, %.1f C, and to follow the air from there. Measure it and give --part.",
			sayInstant(from.In(t.From.Location())), l.site.Part.AtC))
	}
	if t.Warmth.Warmed {
		said = append(said, fmt.Sprintf("The structure has %g C already at the start, and is kept there until the last sealant or fastener is in: measure it before you mix.", t.Warmth.WarmedC))
		if t.Part.Tau == 0 {
			said = append(said, "Without --warms-in the structure is at air temperature again at once after that.")
		}
	}
	if w := t.Warmth; w.Heated {
		said = append(said, fmt.Sprintf("The heat holds the joint at %g C from %s on without a break, until each milestone is reached: measure it at the joint, and where it stops or falls short, ask again without it.",
			w.HeatC, sayInstant(w.HeatFrom.In(t.From.Location()))))
	}
	t.Assumed = append(said, t.Assumed...)
}

// sayInstant is an instant in a line of text: weekday, day, time and zone.
func sayInstant(t time.Time) string { return t.Format("Mon 2 Jan 2006 15:04 MST") }

// airOf is air of a temperature in °C and a vapour pressure in hPa.
func airOf(tempC, pv float64) cure.Air {
	return cure.Air{TempC: tempC, RH: math.Min(100, air.Humidity(tempC, pv))}
}
