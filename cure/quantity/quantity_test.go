package quantity

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The conversion factors below are exact by definition: the inch, pound and US
// gallon of the International Yard and Pound Agreement (NIST SP 811, appendix B),
// the thermochemical calorie 4.184 J (NIST SP 811, B.8), °F = 1.8·°C + 32.

type parser func(string) (float64, error)

func TestQuantityIsReadWithItsUnit(t *testing.T) {
	for _, tc := range []struct {
		read parser
		in   string
		want float64
	}{
		{Temp, "18C", 18},
		{Temp, "+5C", 5},
		{Temp, "5 C", 5},
		{Temp, " 5 °C ", 5},
		{Temp, "5°C", 5},
		{Temp, "5\u00a0°C", 5}, // no-break space, as pasted from a data sheet
		{Temp, "-40F", -40},
		{Temp, "77F", 25},
		{Temp, "32 °F", 0},
		{Temp, "-5C", -5},
		{Temp, "−5C", -5}, // true minus sign, U+2212
		{Temp, "-0C", 0},
		{Temp, ".5C", 0.5},
		{Temp, "5.C", 5},
		{Temp, "1000C", 1000},
		{TempStep, "10C", 10},
		{TempStep, "18F", 10},
		{TempStep, "18 °F", 10},
		{TempStep, "10K", 10},
		{TempStep, "0C", 0},
		{Percent, "45%", 45},
		{Percent, "-5 %", -5},
		{Humidity, "45%", 45},
		{Humidity, "45", 45},
		{Humidity, "0%", 0},
		{Humidity, "100%", 100},
		{Length, "3mm", 3},
		{Length, "0.5 mm", 0.5},
		{Length, "2cm", 20},
		{Length, "20mil", 0.508},
		{Length, "0.5in", 12.7},
		{Length, "1ft", 304.8},
		{Length, "1.5m", 1500},
		{Length, "0mm", 0},
		{Area, "600cm2", 60000},
		{Area, "600cm²", 60000},
		{Area, "1m2", 1e6},
		{Area, "2in2", 1290.32},
		{Volume, "75ml", 75},
		{Volume, "75cc", 75},
		{Volume, "1l", 1000},
		{Volume, "128floz", 3785.411784}, // one US gallon
		{Mass, "250g", 250},
		{Mass, "2kg", 2000},
		{Mass, "16oz", 453.59237}, // one pound
		{Mass, "1lb", 453.59237},
		{MolarEnergy, "52.95kJ/mol", 52950},
		{MolarEnergy, "8314J/mol", 8314},
		{MolarEnergy, "10kcal/mol", 41840},
	} {
		got, err := tc.read(tc.in)
		if assert.NoError(t, err, tc.in) {
			assert.InDelta(t, tc.want, got, 1e-9*math.Max(1, math.Abs(tc.want)), tc.in)
			assert.False(t, got == 0 && math.Signbit(got), "%s gave -0", tc.in)
		}
	}
}

func TestBadQuantityIsRefusedInOneLineWithARemedy(t *testing.T) {
	for _, tc := range []struct {
		read parser
		in   string
		say  string // what the line must contain
	}{
		{Temp, "", "write it like 18C or 65F"},
		{Temp, "18", "needs its unit"},
		{Temp, "C", "write it like 18C"},
		{Temp, "1e5C", `cannot be in "e5C"`},
		{Temp, "--5C", "write it like 18C"},
		{Temp, "-−5C", "write it like 18C"},
		{Temp, "- 5C", "write it like 18C"},
		{Temp, "1,5C", "write it like 18C"},
		{Temp, "½C", "write it like 18C"},
		{Temp, "1½C", `cannot be in "½C"`},
		{Temp, "18c", `cannot be in "c"`},
		{Temp, "18mm", `cannot be in "mm"`},
		{Temp, "291K", `cannot be in "K"`}, // a step may be in K, a reading is not
		{Temp, "18CC", `cannot be in "CC"`},
		{Temp, "NaN", "write it like 18C"},
		{Temp, "InfC", "write it like 18C"},
		{Temp, "0x10C", `cannot be in "x10C"`},
		{Temp, "1_0C", `cannot be in "_0C"`},
		{Temp, "-273.15C", "between -273.15C and 1000C"},
		{Temp, "-460F", "between -273.15C and 1000C"},
		{Temp, "1000.1C", "between -273.15C and 1000C"},
		{Temp, "18C\n19C", "cannot be in"},
		{TempStep, "10", "needs its unit"},
		{TempStep, "-10C", "cannot be negative"},
		{TempStep, "1001C", "more than 1000 C"},
		{Percent, "45", "write a percentage like 45%"},
		{Percent, "%", "write a percentage like 45%"},
		{Humidity, "101%", "between 0% and 100%"},
		{Humidity, "-1%", "between 0% and 100%"},
		{Humidity, "45C", "write a relative humidity like 45%"},
		{Humidity, "45°%", "write a relative humidity like 45%"},
		{Length, "1.2.3mm", "write it like 3mm or 20mil"},
		{Length, "1,5mm", "write it like 3mm or 20mil"},
		{Length, "1 000mm", "write it like 3mm or 20mil"},
		{Length, "-1mm", "a length cannot be negative"},
		{Length, "3", "needs its unit"},
		{Length, "3°mm", `cannot be in "°mm"`},
		{Length, "3e4mm", `cannot be in "e4mm"`},
		{Area, "3mm", `an area cannot be in "mm"`},
		{Volume, "3g", `a volume cannot be in "g"`},
		{Mass, "3ml", `a mass cannot be in "ml"`},
		{MolarEnergy, "36kJ", `cannot be in "kJ"`},
		{Length, strings.Repeat("9", 65) + "mm", "write it like 3mm"},
	} {
		_, err := tc.read(tc.in)
		if assert.Error(t, err, "%q", tc.in) {
			assert.Contains(t, err.Error(), tc.say, "%q", tc.in)
			assertOneLine(t, err)
		}
	}
}

func TestRangeHasItsSmallerEndFirst(t *testing.T) {
	for _, tc := range []struct {
		read func(string) (Range, error)
		in   string
		want Range
	}{
		{TempRange, "16..32C", Range{16, 32}},
		{TempRange, "16 .. 32 °C", Range{16, 32}},
		{TempRange, "16C..32C", Range{16, 32}},
		{TempRange, "-1..49C", Range{-1, 49}},
		{TempRange, "−10..−1C", Range{-10, -1}},
		{TempRange, "50..68F", Range{10, 20}},
		{TempRange, "16.5..32.5C", Range{16.5, 32.5}},
		{PercentRange, "40..85%", Range{40, 85}},
		{PercentRange, "0..0%", Range{0, 0}},
		{PercentRange, "-10%..10%", Range{-10, 10}},
	} {
		got, err := tc.read(tc.in)
		if assert.NoError(t, err, tc.in) {
			assert.InDelta(t, tc.want.Lo, got.Lo, 1e-12, tc.in)
			assert.InDelta(t, tc.want.Hi, got.Hi, 1e-12, tc.in)
		}
	}
	for _, tc := range []struct {
		read func(string) (Range, error)
		in   string
		say  string
	}{
		{TempRange, "16C", "write it like 16..32C"},
		{TempRange, "16-32C", "write it like 16..32C"},
		{TempRange, "16...32C", "write it like 16..32C"},
		{TempRange, "0...5C", "write it like 16..32C"}, // not 0 to half a degree
		{TempRange, "16..32", "needs its unit"},
		{TempRange, "16C..32", "write it like 16..32C"},
		{TempRange, "16C..90F", "write it like 16..32C"},
		{TempRange, "32..16C", "runs backwards"},
		{TempRange, "0..0C", "has no width"},
		{TempRange, "-300..5C", "no such temperature"},
		{TempRange, "5..3000C", "no such temperature"},
		{TempRange, "1..2..3C", "write it like 16..32C"},
		{TempRange, "..5C", "write it like 16..32C"},
		{PercentRange, "40..85", "write a range of percentages"},
		{PercentRange, "85..40%", "runs backwards"},
	} {
		_, err := tc.read(tc.in)
		if assert.Error(t, err, "%q", tc.in) {
			assert.Contains(t, err.Error(), tc.say, tc.in)
			assertOneLine(t, err)
		}
	}
}

func TestRangeContainsItsEnds(t *testing.T) {
	r := Range{16, 32}
	assert.True(t, r.Contains(16))
	assert.True(t, r.Contains(32))
	assert.False(t, r.Contains(math.Nextafter(32, 33)))
	assert.False(t, r.Contains(math.NaN()))
	assert.False(t, r.IsZero())
	assert.True(t, Range{}.IsZero())
}

func TestCelsiusAndFahrenheitNameTheSameReading(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := float64(rapid.IntRange(-27000, 99000).Draw(t, "hundredths")) / 100
		fromC, err := Temp(strconv.FormatFloat(c, 'f', -1, 64) + "C")
		require.NoError(t, err)
		require.Equal(t, c, fromC)
		fromF, err := Temp(strconv.FormatFloat(c*9/5+32, 'f', -1, 64) + "F")
		require.NoError(t, err)
		require.InDelta(t, c, fromF, 1e-9)
	})
}

func TestDifferenceOfReadingsIsTheStep(t *testing.T) {
	// 68F - 50F and a step of 18F are the same interval: no 32 in a step.
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.IntRange(-400, 1000).Draw(t, "lo")
		step := rapid.IntRange(0, 500).Draw(t, "step")
		a, err := Temp(strconv.Itoa(lo) + "F")
		require.NoError(t, err)
		b, err := Temp(strconv.Itoa(lo+step) + "F")
		require.NoError(t, err)
		d, err := TempStep(strconv.Itoa(step) + "F")
		require.NoError(t, err)
		require.InDelta(t, b-a, d, 1e-9)
	})
}

func TestErrorShowsWhatWasWrittenSafely(t *testing.T) {
	for _, in := range []string{"\x1b[31m5C", "5C\u202e", "5\xffC", strings.Repeat("é", 200), "a\nb"} {
		_, err := Temp(in)
		require.Error(t, err)
		assertOneLine(t, err)
		assert.Less(t, len(err.Error()), 400)
	}
}

// assertOneLine checks that an error is one printable line.
func assertOneLine(t testing.TB, err error) {
	t.Helper()
	for _, r := range err.Error() {
		if r < ' ' || r == 0x7f || r == '\uFFFD' || r == '\u202e' {
			t.Errorf("control or broken character in %q", err.Error())
			return
		}
	}
}

func FuzzQuantity(f *testing.F) {
	for _, s := range []string{"18C", "65F", "-4 °C", "−5C", "45%", "0.5mm", "20mil", "600cm2", "75ml", "8oz", "52.95kJ/mol", "1e5C", "--5C", "1.2.3mm", "½", "°", "\xff", "5 \u00a0C"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, tc := range []struct {
			read   parser
			lo, hi float64
		}{
			{Temp, -273.15, 1000}, {TempStep, 0, 1000}, {Percent, math.Inf(-1), math.Inf(1)}, {Humidity, 0, 100},
			{Length, 0, math.Inf(1)}, {Area, 0, math.Inf(1)}, {Volume, 0, math.Inf(1)}, {Mass, 0, math.Inf(1)}, {MolarEnergy, 0, math.Inf(1)},
		} {
			v, err := tc.read(s)
			if err != nil {
				assertOneLine(t, err)
				continue
			}
			if math.IsNaN(v) || math.IsInf(v, 0) || v < tc.lo || v > tc.hi {
				t.Errorf("%q gave %v", s, v)
			}
		}
	})
}

func FuzzRange(f *testing.F) {
	for _, s := range []string{"16..32C", "-1..49C", "60..90F", "40..85%", "0...5C", "..", "16C..90F", "−3..−1C"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		r, err := TempRange(s)
		if err != nil {
			assertOneLine(t, err)
		} else if !(r.Lo < r.Hi) || r.Lo <= -273.15 || r.Hi > 1000 {
			t.Errorf("%q gave %v", s, r)
		}
		r, err = PercentRange(s)
		if err != nil {
			assertOneLine(t, err)
		} else if !(r.Lo <= r.Hi) {
			t.Errorf("%q gave %v", s, r)
		}
	})
}
