package cure

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// zigzag is a world whose air alternates between two readings every step hours.
func zigzag(step float64, a, b Air) *world {
	w := &world{until: 60, tail: "held"}
	for i := range int(60 / step) {
		w.log = append(w.log, Sample{at(float64(i) * step), []Air{a, b}[i%2]})
	}
	return w
}

func bookNamed(t *testing.T, name string) book {
	for _, b := range books() {
		if b.name == name {
			return b
		}
	}
	require.Fail(t, name)
	return book{}
}

// agree holds one question against the quadrature of reference_test.go.
func agree(t *testing.T, w *world, b book, l Line) {
	t.Helper()
	want := w.reference(l, 0.3, b.rate(l))
	require.False(t, math.IsInf(want, 1))
	assert.InDelta(t, want, reach(t, w.site(t), b.class(), Cured, l, 0.3), 1.0/3600, "%s %s", b.name, l)
}

func TestCreditThatDryAirLengthensTurnsAtItsReferenceHumidity(t *testing.T) {
	for _, name := range []string{"front, credit", "driven by vapour, credit"} {
		agree(t, zigzag(1, Air{32, 45.5}, Air{32, 54.05}), bookNamed(t, name), NotBefore)
		agree(t, zigzag(1, Air{32, 47}, Air{32, 52.7}), bookNamed(t, name), NotBefore)
	}
}

func TestCurveThatTouchesTheRatedTimeBetweenReadingsIsSeen(t *testing.T) {
	for _, name := range []string{"front", "driven by vapour"} {
		b := bookNamed(t, name)
		for _, off := range []float64{1e-5, 1e-4, 3e-4, 1e-3} {
			at := func(c float64) Air { // a hair from the rated time
				return Air{c, 100 * b.plain(c, 50, 1) / (b.rated * (1 + off)) / pSat(c)}
			}
			w := zigzag(1, at(30.3), at(31.7))
			agree(t, w, b, NotAfter)
			agree(t, w, b, NotBefore)
		}
	}
}

func TestSteepTableThatCrossesItsCreditIsSeen(t *testing.T) {
	b := bookNamed(t, "table, credit")
	agree(t, zigzag(1./60, Air{29.9, 50}, Air{30.3, 50}), b, NotBefore)
	agree(t, zigzag(1./60, Air{30.1, 50}, Air{30.6, 50}), b, NotBefore)
	agree(t, zigzag(1, Air{24, 50}, Air{36, 50}), b, NotBefore)
}

// Air that stands on the limit of dryness is one case, whether it is said once or read
// every hour, and a part that was warm and has cooled to it is the same as one that never
// was.
func TestAirThatStandsOnTheLimitOfDrynessIsOneCase(t *testing.T) {
	cl := only(&Curve{Form: Doubling{25, 48 * hour, 10}, Temp: wide})
	cl.Moisture = &Moisture{MinRH: 40}
	var hourly []Sample
	for i := range 200 {
		hourly = append(hourly, Sample{at(float64(i)), Air{23, 40}})
	}
	reach := func(h *History) float64 {
		s := &Site{Air: h, Part: Part{Tau: 3 * time.Hour, AtC: 23}}
		r, err := s.ReachWarmed(cl, Cured, NotBefore, at(0), Warmth{Warmed: true, WarmedC: 35})
		require.NoError(t, err)
		require.False(t, r.Never)
		return hours(r.At)
	}
	once := reach(constant(23, 40, 190))
	assert.InDelta(t, once, reach(history(t, 190, Piece{Name: "log", Samples: hourly})), 1.0/3600)
	// The part is drier than the air until it is within 0.0004 °C of it, which takes ten
	// time constants: 30 h that earn nothing.
	assert.InDelta(t, 30, once-48*math.Exp2(0.2), 2)
}

func TestAirThatStandsOnALayingLimitIsOneWindow(t *testing.T) {
	for _, rh := range []float64{40, 85} {
		var s []Sample
		for i := range 300 {
			s = append(s, Sample{at(float64(i) / 12), Air{20 + float64(i%2), rh}})
		}
		site := &Site{Air: history(t, 24, Piece{Name: "log", Samples: s})}
		got := windows(t, site, laid(16, 32, 40, 85), 0, 24, Warmth{})
		if rh == 40 { // at 85 % the part is too near to its dew point
			assert.Len(t, got, 1)
			assert.True(t, got[0].Open())
		}
		assert.Less(t, len(got), 3)
	}
}

func TestAbsurdCurvesAndMilestonesAreAnsweredWithoutPanic(t *testing.T) {
	s := &Site{Air: constant(350, 10, 30)}
	steep := must(NewTable([]TablePoint{{20, 0, 360000}, {20.5, 0, 72}, {21, 0, 0.001}}, Air{TempC: 20}))
	for _, f := range []Form{Doubling{25, 1e-305, 10}, steep} {
		p, err := s.Progress(only(&Curve{Form: f, Temp: wide}), Cured, Likely)
		require.NoError(t, err)
		at, ok := p.Reach(at(1))
		assert.True(t, ok)
		assert.Less(t, hours(at), 1.001)
	}
	_, err := s.Reach(only(rule(2)), NumMilestones+3, NotAfter, at(0))
	assert.ErrorContains(t, err, "there is no milestone 9")
	_, err = (&Site{}).Reach(only(rule(2)), Cured, NotBefore, at(0))
	assert.EqualError(t, err, "the site has no air")
}

// A part that lags the air by weeks is where it should be, however close the readings
// lie: in air of 22.5 °C on the whole, one of 16 °C gains a thousandth of the difference
// in a thousandth of its time constant.
func TestReadingsAMillisecondApartLoseNothing(t *testing.T) {
	var s []Sample
	for i := range 3000 {
		s = append(s, Sample{t0.Add(time.Duration(i) * time.Millisecond), Air{20 + 5*float64(i%2), 50}})
	}
	s = append(s, Sample{at(1), Air{20, 50}})
	site := &Site{Air: history(t, 1, Piece{Name: "log", Samples: s}), Part: Part{Tau: 1000 * time.Hour, AtC: 16}}
	// From the last of the close readings on, the air falls from 25 to 20 °C.
	want := 16 + (22.5-16)/1000
	assert.InDelta(t, want, site.PartAt(at(1), Likely), 1e-5)
}
