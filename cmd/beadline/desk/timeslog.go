package desk

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"beadline/cure"
)

// stale is how long after a log's last reading it may still stand for the air of
// now: the longest gap that counts as unbroken.
const stale = cure.MaxGap

// logged answers milestones in the air of a log.
type logged struct {
	t    *Times
	site cure.Site
	last time.Time // the last instant that an answer looked at
	warm float64   // °C, the warmest reading of the log
}

// openLog lays the log out as the air from the start of mixing on. Behind its last
// reading that reading is held.
func (t *Times) openLog() (*logged, error) {
	log := t.Log
	switch first, last := log.First(), log.Last(); {
	case t.From.Before(first):
		return nil, fmt.Errorf("--from %s lies before the first reading of %s, %s: start within the log",
			sayInstant(t.From), log.Name, sayInstant(first.In(t.From.Location())))
	case t.From.Sub(last) > stale:
		return nil, fmt.Errorf("--from %s lies more than 2 h after the last reading of %s, %s: give the air with --temp and --rh instead",
			sayInstant(t.From), log.Name, sayInstant(last.In(t.From.Location())))
	}
	h, err := cure.NewHistory([]cure.Piece{log.Piece()}, t.From, t.Laid.Add(hold))
	if err != nil {
		return nil, err
	}
	c, pv := h.At(t.From, cure.Likely)
	t.Start = airOf(c, pv)
	t.RHSaid = true
	l := &logged{t: t, site: cure.Site{Air: h, Bead: t.Bead, PotC: t.PotC, PotSet: true}, last: t.Laid, warm: math.Inf(-1)}
	for _, s := range log.Samples {
		l.warm = math.Max(l.warm, s.TempC)
	}
	return l, nil
}

func (l *logged) moment(m cure.Milestone) (Moment, error) {
	cl, start := &l.t.Class.Class, l.t.startOf(m)
	curve, note, err := cl.Curve(m)
	if err != nil {
		return Moment{}, err
	}
	safe, err := l.site.Reach(cl, m, m.Line(), start)
	if err != nil {
		return Moment{}, err
	}
	likely, err := l.site.Reach(cl, m, cure.Likely, start)
	if err != nil {
		return Moment{}, err
	}
	mo := Moment{Milestone: m, Line: m.Line(), Known: !safe.Never, LikelyKnown: !likely.Never, Excursions: safe.Excursions}
	mo.Why = strings.Join(slices.DeleteFunc([]string{note, cl.GapNote(l.t.Bead)}, func(s string) bool { return s == "" }), "; ")
	for _, r := range []cure.Reached{safe, likely} {
		if at := r.At; at.After(l.last) {
			l.last = at
		}
		if r.Never {
			l.last = l.site.Air.Until()
		}
	}
	switch {
	case l.site.ByWitness(cl, m):
		mo.Known, mo.ByWitness = false, true
		mo.Why = "a closed film sees no moisture: go by the witness cup"
	case safe.Never:
		mo.ByWitness = mo.Line == cure.NotBefore && cl.Moisture != nil
		mo.Why = fmt.Sprintf("not reached within a year of this air (%.0f %% of the way)", 100*safe.Progress)
	}
	if mo.Known {
		mo.Span = whole(safe.At.Sub(start), mo.Line)
		mo.At = start.Add(mo.Span)
	}
	if mo.LikelyKnown {
		mo.Likely = whole(likely.At.Sub(start), cure.Likely)
		mo.LikelyAt = start.Add(mo.Likely)
	}
	l.t.rests(&mo, l.warm > curve.Form.Reference().TempC)
	return mo, nil
}

// notes reports what was assumed of the air up to the last instant that an answer
// looked at: a gap next month is no matter for a pot of today.
func (l *logged) notes() {
	t := l.t
	var said []string
	if len(l.site.Air.Notes()) > 0 {
		h, err := cure.NewHistory([]cure.Piece{t.Log.Piece()}, t.From, l.last.Add(time.Second))
		if err == nil {
			said = h.Notes()
		}
	}
	// The log's own notes list every gap of the file; those that matter are in said.
	odd := slices.DeleteFunc(slices.Clone(t.Log.Notes), func(n string) bool {
		return strings.HasPrefix(n, "no reading from") || strings.Contains(n, "more such gaps")
	})
	for _, n := range odd {
		said = append(said, t.Log.Name+": "+n+".")
	}
	t.Assumed = append(said, t.Assumed...)
}

// sayInstant is an instant in a line of text: weekday, day, time and zone.
func sayInstant(t time.Time) string { return t.Format("Mon 2 Jan 2006 15:04 MST") }
