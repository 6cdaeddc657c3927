package cure

import (
	"fmt"
	"math"
	"sort"
	"time"

	"beadline/cure/air"
)

// MaxGap is how far apart two readings of a log may lie before the stretch between
// them counts as a gap.
const MaxGap = 2 * time.Hour

// SwingStep is the distance of the knots that define a night/day swing; between
// them temperature and vapour pressure run straight.
const SwingStep = 5 * time.Minute

// DefaultMargin is the doubt in a forecast, in °C, where the user states none.
const DefaultMargin = 2.0

// Sample is one reading of the air.
type Sample struct {
	At time.Time
	Air
}

// Piece is one stretch of air: a measured log, a forecast of samples, a swing, or
// constant air. Exactly one of Samples, Swing and Constant is set. A swing or
// constant air goes on for ever, or until the first reading of the piece behind it.
type Piece struct {
	Name     string   // for messages: "log hangar.csv"
	Samples  []Sample // in time order
	Swing    *Swing
	Constant *Air
	Forecast bool // Margin applies; a swing or constant air to come is a forecast
	// Margin is how much warmer or colder it may turn out, °C ≥ 0. For a log it
	// applies only where nothing was measured: in a gap, and where its last reading is
	// held past its end.
	Margin float64
}

// Swing is a night and day that repeats: a cosine between LowC and HighC, warmest
// at one local time of day and coldest twelve hours from it.
type Swing struct {
	LowC, HighC float64
	Warmest     time.Duration // local time of day
	DewC        float64       // °C dew point of the air; NaN: RH holds instead
	RH          float64       // % RH; read only where DewC is NaN
	Zone        *time.Location
}

// At is the swing at an instant.
func (s Swing) At(t time.Time) (tempC, pv float64) {
	l := t.In(s.Zone)
	h, m, sec := l.Clock()
	day := time.Duration(h)*time.Hour + time.Duration(m)*time.Minute + time.Duration(sec)*time.Second + time.Duration(l.Nanosecond())
	phase := 2 * math.Pi * float64(day-s.Warmest) / float64(24*time.Hour)
	tempC = (s.LowC+s.HighC)/2 + (s.HighC-s.LowC)/2*math.Cos(phase)
	if !math.IsNaN(s.DewC) {
		return tempC, math.Min(air.Saturation(s.DewC), air.Saturation(tempC))
	}
	return tempC, air.Vapour(tempC, s.RH)
}

// check refuses a piece that cannot be.
func (p Piece) check() error {
	set := 0
	for _, is := range []bool{p.Swing != nil, p.Constant != nil, len(p.Samples) > 0} {
		if is {
			set++
		}
	}
	var err error
	switch {
	case set == 0:
		return fmt.Errorf("%s: it has no reading", p.Name)
	case set > 1:
		return fmt.Errorf("%s: it is to be one of readings, a swing and constant air, and is %d of them", p.Name, set)
	case !(p.Margin >= 0 && p.Margin <= 50):
		return fmt.Errorf("%s: a margin of %g C: a margin lies between 0 and 50 C", p.Name, p.Margin)
	case p.Constant != nil:
		err = p.Constant.check()
	case p.Swing != nil:
		err = p.Swing.check()
	}
	if err != nil {
		return fmt.Errorf("%s: %w", p.Name, err)
	}
	for i, s := range p.Samples {
		if i > 0 && !s.At.After(p.Samples[i-1].At) {
			return fmt.Errorf("%s: the reading at %s does not come after the one before it", p.Name, s.At.Format(time.RFC3339))
		}
		if err := s.Air.check(); err != nil {
			return fmt.Errorf("%s: the reading at %s: %w", p.Name, s.At.Format(time.RFC3339), err)
		}
	}
	return nil
}

func (s Swing) check() error {
	switch {
	case !breathable(s.LowC) || !breathable(s.HighC):
		return fmt.Errorf("no such swing: %g to %g C", s.LowC, s.HighC)
	case s.LowC > s.HighC:
		return fmt.Errorf("a swing from a low of %g C to a high of %g C runs backwards", s.LowC, s.HighC)
	case s.Warmest < 0 || s.Warmest >= 24*time.Hour:
		return fmt.Errorf("no such time of day: %s", s.Warmest)
	case s.Zone == nil:
		return fmt.Errorf("a swing needs a time zone")
	case math.IsNaN(s.DewC) && !(s.RH >= 0 && s.RH <= 100):
		return fmt.Errorf("a swing needs a dew point or a humidity within 0 and 100 %%")
	case !math.IsNaN(s.DewC) && !breathable(s.DewC):
		return fmt.Errorf("no such dew point: %g C", s.DewC)
	}
	return nil
}

// History is the air at one place over time: temperature and vapour pressure run
// straight between knots. Three readings of it are kept, one for each Line: a
// forecast is taken colder for NotBefore and warmer for NotAfter by its margin, and
// a gap at its slower or faster end.
type History struct {
	zero  time.Time
	lanes [Likely + 1]*lane
	notes []string

	parts map[partKey][]float64 // of drawn air: structures in it, worked out once; else nil
}

// lane is one reading: knots in time order; two knots at one time are a jump.
type lane struct {
	t  []float64 // s since zero
	c  []float64 // °C
	pv []float64 // hPa
	// judge is the temperature that humidity is judged at, °C. nil: that of c.
	judge []float64

	coldest, warmest float64 // °C, of c
	judgedOff        float64 // °C, the most that judge lies away from c
}

// bounds works out what the lane stays within.
func (l *lane) bounds() {
	l.coldest, l.warmest, l.judgedOff = math.Inf(1), math.Inf(-1), 0
	for _, c := range l.c {
		if c < l.coldest {
			l.coldest = c
		}
		if c > l.warmest {
			l.warmest = c
		}
	}
	for i, j := range l.judge {
		l.judgedOff = math.Max(l.judgedOff, math.Abs(j-l.c[i]))
	}
}

// Notes lists what the history assumes: gaps, held values, margins.
func (h *History) Notes() []string { return h.notes }

// From is the beginning of the history.
func (h *History) From() time.Time { return h.zero }

// Until is the end of the history.
func (h *History) Until() time.Time {
	t := h.lanes[Likely].t
	return h.instant(t[len(t)-1])
}

// At reads the air at an instant for a line: temperature in °C, vapour pressure in
// hPa. Outside the history the nearest end stands.
func (h *History) At(t time.Time, line Line) (tempC, pv float64) {
	line.check()
	l := h.lanes[line]
	u := h.seconds(t)
	i := l.find(u)
	return l.temp(i, u), l.vapour(i, u)
}

// JudgedAt is the air temperature, in °C, at which a line judges relative humidity at
// an instant: the humidity that counts is that of At's vapour at this temperature.
func (h *History) JudgedAt(t time.Time, line Line) float64 {
	line.check()
	l, u := h.lanes[line], h.seconds(t)
	if l.judge == nil {
		return l.temp(l.find(u), u)
	}
	return l.between(l.judge, l.find(u), u)
}

func (h *History) seconds(t time.Time) float64 {
	s := float64(t.Unix() - h.zero.Unix())
	if n := t.Nanosecond() - h.zero.Nanosecond(); n != 0 {
		s += float64(n) / 1e9
	}
	return s
}

func (h *History) instant(u float64) time.Time {
	return h.zero.Add(time.Duration(math.Round(u * 1e9)))
}

// find is the segment [t[i], t[i+1]] that holds u; at a jump the later one. Readings
// are evenly spaced more often than not, so that the first guess is right.
func (l *lane) find(u float64) int {
	last := len(l.t) - 2
	if g := (u - l.t[0]) / (l.t[last+1] - l.t[0]) * float64(last+1); g >= 0 && g <= float64(last) {
		i := int(g)
		switch {
		case l.t[i] > u:
			i = max(i-1, 0)
		case l.t[i+1] <= u:
			i = min(i+1, last)
		}
		if l.t[i] <= u && u < l.t[i+1] {
			return i
		}
	}
	i := sort.Search(len(l.t), func(k int) bool { return l.t[k] > u }) - 1
	return min(max(i, 0), last)
}

func (l *lane) temp(i int, u float64) float64   { return l.between(l.c, i, u) }
func (l *lane) vapour(i int, u float64) float64 { return l.between(l.pv, i, u) }

func (l *lane) between(y []float64, i int, u float64) float64 {
	w := l.t[i+1] - l.t[i]
	if w == 0 {
		return y[i+1]
	}
	f := math.Min(1, math.Max(0, (u-l.t[i])/w))
	return y[i] + f*(y[i+1]-y[i])
}

func (l *lane) slope(i int) float64 {
	if w := l.t[i+1] - l.t[i]; w > 0 {
		return (l.c[i+1] - l.c[i]) / w
	}
	return 0
}

// Constant is a history of one air that never changes, over [from, until]. It
// panics where NewHistory would refuse: it is for values that are known to be good.
func Constant(a Air, from, until time.Time) *History {
	h, err := NewHistory([]Piece{{Name: "constant air", Constant: &a}}, from, until)
	if err != nil {
		panic("cure: " + err.Error())
	}
	return h
}
