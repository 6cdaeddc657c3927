// Package storage adds up a store's temperature log for package shelf: how cold and how
// warm it was, when it was first too warm, and how much life the warmth used up.
//
//	st, err := storage.FromLog(samples, rules, zone)
//	item.Storage = append(item.Storage, st)
//
// Between two readings the temperature runs straight. Where none came for more than two
// hours nobody knows, and the warmer of the two ends is taken for the whole gap. Cold
// never gives life back, and the mean kinetic temperature is information.
//
// It reads no file and knows no clock.
package storage

import (
	"fmt"
	"math"
	"time"

	"github.com/rickb777/date"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/cure"
)

// Q10 is by how much 10 °C more speed ageing. It is the value that ASTM F1980 takes
// where nothing better is known of a material, and the trade's rule of 10 °C.
const Q10 = 2.0

// Factor is how many times as fast a batch ages at one temperature as at another, in
// °C: Q10^((t−ref)/10), above 0. Source: ASTM F1980, by its published form.
func Factor(t, ref float64) float64 { return math.Pow(Q10, (t-ref)/10) }

// mostSpent bounds what a log can use up: a century, more than any life.
const mostSpent = 100 * 365 * 24 * time.Hour

// FromLog adds a log up: readings in time order, of what is stored under the rules of a
// class, with dates on the clock of a zone (nil: UTC). Give it the readings of the time
// that the batch lay there, and no others.
//
//   - MinC, MaxC: the coldest and the warmest reading, °C.
//   - HotFrom: the first moment strictly above the class's hot limit, on the straight
//     line between readings, rounded down to the minute; none if the class has no such
//     rule.
//   - Spent: ∫ max(0, Factor(T, top) − 1) dt, top being the upper end of the class's
//     store range, exact on straight air; at most a century.
//   - MeanKineticC: of the whole log with the constants of USP <1160>, gaps straight.
//
// Notes say where a gap was, and what else was taken for granted. Errors, of one line:
// no reading; readings out of order, outside −100 to 400 °C or with no such humidity; a
// log longer than 50 years.
func FromLog(samples []cure.Sample, rules shelf.Rules, zone *time.Location) (shelf.Storage, error) {
	if zone == nil {
		zone = time.UTC
	}
	if len(samples) == 0 {
		return shelf.Storage{}, fmt.Errorf("the storage log has no reading")
	}
	for i := 1; i < len(samples); i++ {
		if !samples[i].At.After(samples[i-1].At) {
			return shelf.Storage{}, fmt.Errorf("storage log: the reading at %s does not come after the one before it", samples[i].At.Format(time.RFC3339))
		}
	}
	first, last := samples[0], samples[len(samples)-1]
	st := shelf.Storage{
		From: stamp(first.At, zone), To: stamp(last.At, zone), Measured: true, Readings: len(samples),
		MinC: first.TempC, MaxC: first.TempC, MeanKineticC: first.TempC,
	}
	until := last.At
	if len(samples) == 1 { // a history has some length: one reading is held for an instant
		until = until.Add(time.Second)
	}
	h, err := cure.NewHistory([]cure.Piece{{Name: "storage log", Samples: samples}}, first.At, until)
	if err != nil {
		return shelf.Storage{}, err
	}
	if len(samples) > 1 {
		if st.MeanKineticC, err = h.MeanKinetic(first.At, last.At, cure.KineticEa); err != nil {
			return shelf.Storage{}, fmt.Errorf("storage log: %w", err)
		}
	}
	a := adder{rules: &rules, zone: zone, st: &st}
	a.add(samples)
	return st, nil
}

// stamp is an instant as a moment on the clock of a zone, to the minute it lies in.
func stamp(t time.Time, zone *time.Location) label.Date {
	l := t.In(zone)
	return label.At(date.NewAt(l), l.Hour()*60+l.Minute())
}

// adder goes along a log.
type adder struct {
	rules *shelf.Rules
	zone  *time.Location
	st    *shelf.Storage
	spent float64 // s
	gaps  []gap
}

// gap is a stretch without a reading, and what it was taken at.
type gap struct {
	from, to time.Time
	warmC    float64
}

func (a *adder) add(samples []cure.Sample) {
	hot := !a.rules.Hot.Within.IsZero()
	if hot && samples[0].TempC > a.rules.Hot.AboveC {
		a.st.HotFrom = stamp(samples[0].At, a.zone)
		a.note("The log begins above %s: how long it was so before is not known.", celsius(a.rules.Hot.AboveC))
	}
	for i, s := range samples {
		a.st.MinC, a.st.MaxC = min(a.st.MinC, s.TempC), max(a.st.MaxC, s.TempC)
		if i == 0 {
			continue
		}
		from, c0, c1 := samples[i-1].At, samples[i-1].TempC, s.TempC
		length := s.At.Sub(from)
		if length > cure.MaxGap {
			c0, c1 = max(c0, c1), max(c0, c1)
			a.gaps = append(a.gaps, gap{from, s.At, c0})
		}
		if hot && a.st.HotFrom.IsZero() && max(c0, c1) > a.rules.Hot.AboveC {
			a.st.HotFrom = stamp(from.Add(crossing(c0, c1, a.rules.Hot.AboveC, length)), a.zone)
		}
		a.spend(c0, c1, length.Seconds())
	}
	a.finish()
}

// crossing is how long after its start a straight stretch that ends above a limit
// passes it; 0 where it begins above it.
func crossing(c0, c1, limit float64, length time.Duration) time.Duration {
	if c0 >= limit || c1 <= c0 {
		return 0
	}
	return time.Duration((limit - c0) / (c1 - c0) * float64(length))
}

// spend adds the life that a straight stretch uses up beyond the clock, seconds long.
func (a *adder) spend(c0, c1, seconds float64) {
	store := a.rules.Store.Range
	if store.IsZero() {
		return
	}
	lo, hi := min(c0, c1)-store.Hi, max(c0, c1)-store.Hi
	if hi <= 0 {
		return
	}
	if lo < 0 { // only the part above counts
		seconds *= hi / (hi - lo)
		lo = 0
	}
	a.spent += seconds * meanExcess(lo, hi)
}

// meanExcess is the mean of Q10^(x/10) − 1 for x running straight from lo to hi, °C:
//
//	[e^(k·hi) − e^(k·lo)] / [k·(hi − lo)] − 1,  k = ln(Q10)/10
//
// written with expm1 so that nearly constant air cancels nothing.
func meanExcess(lo, hi float64) float64 {
	const tiny = 1e-9
	k := math.Log(Q10) / 10
	d := k * (hi - lo)
	if d < tiny { // d/2, the next term of the series, is half a second in thirty years
		return math.Expm1(k * lo)
	}
	// e^(k·lo) · expm1(d)/d − 1
	return math.Expm1(k*lo)*(math.Expm1(d)/d) + (math.Expm1(d)-d)/d
}

// finish rounds up and says what was assumed.
func (a *adder) finish() {
	a.st.Spent = mostSpent
	if a.spent < mostSpent.Seconds() {
		a.st.Spent = time.Duration(math.Ceil(a.spent * 1e9))
	}
	if a.rules.Store.Range.IsZero() {
		a.note("No store range is known for its class: what warmth used up of its life is not counted.")
	}
	const named = 3
	for i, g := range a.gaps {
		if i == named {
			a.note("So for %d gaps more.", len(a.gaps)-named)
			break
		}
		a.note("No reading from %s to %s: the warmer end, %s, is taken for all of it.", stamp(g.from, a.zone), stamp(g.to, a.zone), celsius(g.warmC))
	}
}

func (a *adder) note(format string, args ...any) {
	a.st.Notes = append(a.st.Notes, fmt.Sprintf(format, args...))
}

// celsius writes a temperature for people: "26.67 °C".
func celsius(c float64) string { return fmt.Sprintf("%g °C", math.Round(c*100)/100) }
