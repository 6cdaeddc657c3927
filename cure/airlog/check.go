package airlog

import (
	"fmt"
	"math"
	"time"

	"beadline/cure/quantity"
)

// What is noted as odd (common practice, no source).
const (
	stuckWet  = 6 * time.Hour  // humidity at 100 % for longer
	stuckAny  = 48 * time.Hour // any reading exactly the same for longer
	medianC   = 45             // a temp_c log with a median above this is more likely °F
	mostNotes = 8              // notes of one kind before they are summed up

	// A jump of more than scaleJump °C that °F read as °C, or the other way round,
	// would make, to scaleSlack °C, looks like a change of unit.
	scaleJump, scaleSlack = 15, 1.5
)

// checkOrder refuses a row whose time is not after that of the row before.
func checkOrder(samples []Sample, lineOf func(row int) int) *Error {
	for i := 1; i < len(samples); i++ {
		at, before := samples[i].At, samples[i-1].At
		if at.After(before) {
			continue
		}
		if at.Equal(before) {
			return &Error{Line: lineOf(i), What: fmt.Sprintf("the same time as line %d, %s", lineOf(i-1), clockTime(at)), Remedy: "delete one of the two rows"}
		}
		return &Error{
			Line:   lineOf(i),
			What:   fmt.Sprintf("the time goes backwards: %s after %s on line %d", clockTime(at), clockTime(before), lineOf(i-1)),
			Remedy: "put the rows in order of time, and check --zone if the times are local",
		}
	}
	return nil
}

// checkScale asks about a temp_c log that is warm as a whole.
func checkScale(rowCount int, seen tally, cols columns) *Error {
	if cols.fahrenheit || 2*seen.warm <= rowCount {
		return nil
	}
	return &Error{
		Line:   cols.line,
		What:   fmt.Sprintf("temp_c is above %d in %d of %s: a hangar at %s C?", medianC, seen.warm, rows(rowCount), decimal(seen.hottest)),
		Remedy: "If the logger writes °F, name the column temp_f",
	}
}

// oddities notes gaps, and as suspect sensors that seem stuck and a change of unit.
func oddities(samples []Sample) (notes, suspect []string) {
	if len(samples) == 1 {
		return []string{"one reading only, " + clockTime(samples[0].At)}, nil
	}
	var gaps, stuck, units list
	temp := run{what: "temperature", unit: "C"}
	rh := run{what: "humidity", unit: "%"}
	temp.start(0, samples[0].TempC)
	rh.start(0, samples[0].RH)
	before := samples[0].At.Unix()
	for i := 1; i < len(samples); i++ {
		s := &samples[i]
		now := s.At.Unix() // whole seconds: a year of minutes is half a million turns
		gap := false
		if now-before >= int64(MaxGap/time.Second) {
			if d := s.At.Sub(samples[i-1].At); d > MaxGap {
				gap = true
				gaps.add("no reading from "+fromTo(samples[i-1].At, s.At), d)
			}
		}
		before = now
		if d := s.TempC - temp.value; (d > scaleJump || d < -scaleJump) && !gap {
			units.addScale(samples[i-1], *s)
		}
		if s.TempC != temp.value || gap {
			temp.end(samples, i-1, &stuck)
			temp.start(i, s.TempC)
		}
		if s.RH != rh.value || gap {
			rh.end(samples, i-1, &stuck)
			rh.start(i, s.RH)
		}
	}
	temp.end(samples, len(samples)-1, &stuck)
	rh.end(samples, len(samples)-1, &stuck)
	return gaps.notes("gaps"), append(stuck.notes("stretches without change"), units.notes("jumps")...)
}

// addScale notes a jump from one reading to the next that is what a change of unit in
// the logger makes.
func (l *list) addScale(a, b Sample) {
	fahrenheit := func(c float64) float64 { return c*9/5 + 32 }
	up, down := math.Abs(b.TempC-fahrenheit(a.TempC)), math.Abs(a.TempC-fahrenheit(b.TempC))
	if min(up, down) > scaleSlack {
		return
	}
	l.add(fmt.Sprintf("temperature from %.4g to %.4g C within %s at %s, as from one unit to the other: if the logger changed between °C and °F, split the log there",
		a.TempC, b.TempC, quantity.FormatSpan(b.At.Sub(a.At)), clockTime(b.At)), b.At.Sub(a.At))
}

// run is a stretch of readings that are exactly the same, without a gap.
type run struct {
	what, unit string
	first      int
	value      float64
}

func (r *run) start(row int, value float64) { r.first, r.value = row, value }

// end closes the run at row last and notes it if it was long.
func (r *run) end(samples []Sample, last int, into *list) {
	if last == r.first {
		return
	}
	from, to := samples[r.first].At, samples[last].At
	if to.Unix()-from.Unix() < int64(min(stuckWet, stuckAny)/time.Second) {
		return
	}
	d := to.Sub(from)
	switch {
	case r.unit == "%" && r.value == maxRH && d > stuckWet:
		into.add("humidity at 100 % from "+fromTo(from, to)+": wet air, or a wet or stuck sensor", d)
	case d > stuckAny && float64(last-r.first) >= d.Hours(): // hourly or oftener, or chance could do it
		into.add(fmt.Sprintf("%s exactly %.4g %s from %s: the sensor may be stuck", r.what, r.value, r.unit, fromTo(from, to)), d)
	}
}

// list collects notes of one kind: the first few in full, the rest summed up, so
// that a log of one reading a day stays readable.
type list struct {
	first   []string
	more    int
	longest time.Duration
}

func (l *list) add(note string, d time.Duration) {
	if len(l.first) < mostNotes {
		l.first = append(l.first, note)
		return
	}
	l.more++
	l.longest = max(l.longest, d)
}

func (l *list) notes(what string) []string {
	if l.more == 0 {
		return l.first
	}
	return append(l.first, fmt.Sprintf("%d more such %s, the longest %s", l.more, what, quantity.FormatSpan(l.longest)))
}

// fromTo writes "… to … (3 h 10 min)".
func fromTo(from, to time.Time) string {
	return fmt.Sprintf("%s to %s (%s)", clockTime(from), clockTime(to), quantity.FormatSpan(to.Sub(from)))
}

// clockTime writes an instant with weekday and zone, and seconds if it has any.
func clockTime(t time.Time) string {
	if t.Second() != 0 {
		return t.Format("Mon 2 Jan 2006 15:04:05 MST")
	}
	return t.Format("Mon 2 Jan 2006 15:04 MST")
}
