package storage

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/rickb777/date/period"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/cure"
	"beadline/cure/quantity"
)

var t0 = time.Date(2027, 3, 1, 8, 0, 0, 0, time.UTC)

// read is a log of temperatures, °C, so many minutes apart.
func read(minutes int, temps ...float64) (log []cure.Sample) {
	for i, c := range temps {
		log = append(log, cure.Sample{At: t0.Add(time.Duration(i*minutes) * time.Minute), Air: cure.Air{TempC: c, RH: 50}})
	}
	return log
}

// rules are those of a class kept at 4 to 27 °C, to be used within five weeks of the
// first moment above (a light-aircraft manual ch. 20-10).
var rules = shelf.Rules{
	Store: shelf.Store{Range: quantity.Range{Lo: 4, Hi: 27}, From: "test"},
	Hot:   shelf.Hot{AboveC: 27, Within: period.NewYMD(0, 0, 35), From: "test"},
}

func at(day, minute int) label.Date { return label.At(date.New(2027, 3, day), minute) }

func TestALogIsAddedUp(t *testing.T) {
	st, err := FromLog(read(60, 20, 22, 32, 22, 3), rules, nil)
	require.NoError(t, err)
	assert.Equal(t, at(1, 8*60), st.From)
	assert.Equal(t, at(1, 12*60), st.To)
	assert.Equal(t, 3.0, st.MinC)
	assert.Equal(t, 32.0, st.MaxC)
	assert.True(t, st.Measured)
	assert.Equal(t, 5, st.Readings)
	assert.Equal(t, at(1, 9*60+30), st.HotFrom, "27 °C is passed half way from 22 to 32")
	assert.Empty(t, st.Notes)
	// Half an hour up and half an hour down, from rate 1 to 2^0.5: mean (2^0.5 − 1)/ln(2^0.5).
	want := 3600 * ((math.Sqrt2-1)/math.Log(math.Sqrt2) - 1)
	assert.InDelta(t, want, st.Spent.Seconds(), 1e-6)
}

// Limits are inclusive: the limit itself is not above it.
func TestAtTheHotLimitItIsNotYetTooWarm(t *testing.T) {
	st, err := FromLog(read(60, 20, 27, 27, 20), rules, nil)
	require.NoError(t, err)
	assert.True(t, st.HotFrom.IsZero())
	assert.Zero(t, st.Spent)
	st, err = FromLog(read(60, 20, 27, 27, 27.1), rules, nil)
	require.NoError(t, err)
	assert.Equal(t, at(1, 10*60), st.HotFrom, "from the last moment at the limit")
}

func TestFirstHotMomentIsRoundedDownToTheMinute(t *testing.T) {
	st, err := FromLog(read(60, 20, 30), rules, nil) // 27 °C after 42 min
	require.NoError(t, err)
	assert.Equal(t, at(1, 8*60+42), st.HotFrom)
	st, err = FromLog(read(60, 20, 29.99), rules, nil) // after 42 min 3 s
	require.NoError(t, err)
	assert.Equal(t, at(1, 8*60+42), st.HotFrom)
}

func TestDatesAreOnTheClockOfTheZone(t *testing.T) {
	zone, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	st, err := FromLog(read(60, 20, 30), rules, zone)
	require.NoError(t, err)
	assert.Equal(t, at(1, 3*60), st.From)
	assert.Equal(t, at(1, 3*60+42), st.HotFrom)
}

func TestAGapIsTakenAtItsWarmerEnd(t *testing.T) {
	log := read(60, 20, 20)
	log = append(log, cure.Sample{At: t0.Add(6 * time.Hour), Air: cure.Air{TempC: 37, RH: 50}}, cure.Sample{At: t0.Add(7 * time.Hour), Air: cure.Air{TempC: 20, RH: 50}})
	st, err := FromLog(log, rules, nil)
	require.NoError(t, err)
	assert.Equal(t, at(1, 9*60), st.HotFrom, "from the start of the gap")
	assert.Equal(t, []string{"No reading from 1 March 2027 09:00 to 1 March 2027 14:00: the warmer end, 37 °C, is taken for all of it."}, st.Notes)
	assert.Greater(t, st.Spent, 5*time.Hour, "five hours at twice the rate")
}

func TestWhatWasAssumedIsSaid(t *testing.T) {
	st, err := FromLog(read(60, 30, 20), shelf.Rules{Hot: rules.Hot}, nil)
	require.NoError(t, err)
	assert.Equal(t, []string{
		"The log begins above 27 °C: how long it was so before is not known.",
		"No store range is known for its class: what warmth used up of its life is not counted.",
	}, st.Notes)
	assert.Equal(t, at(1, 8*60), st.HotFrom)
	assert.Zero(t, st.Spent)
	var log []cure.Sample
	for i := range 8 {
		log = append(log, cure.Sample{At: t0.Add(time.Duration(i) * 5 * time.Hour), Air: cure.Air{TempC: 20, RH: 50}})
	}
	st, err = FromLog(log, rules, nil)
	require.NoError(t, err)
	assert.Len(t, st.Notes, 4)
	assert.Equal(t, "So for 4 gaps more.", st.Notes[3])
}

func TestOneReadingIsAMoment(t *testing.T) {
	st, err := FromLog(read(60, 31), rules, nil)
	require.NoError(t, err)
	assert.Equal(t, st.From, st.To)
	assert.Equal(t, 31.0, st.MeanKineticC)
	assert.Equal(t, at(1, 8*60), st.HotFrom)
	assert.Zero(t, st.Spent)
}

func TestALogThatCannotBeIsRefusedInOneLine(t *testing.T) {
	back := read(60, 20, 20)
	back[1].At = back[0].At
	for want, log := range map[string][]cure.Sample{
		"the storage log has no reading":                   nil,
		"storage log: the reading at 2027-03-01T08:00:00Z": back,
		"no such temperature of air: 900C":                 read(60, 20, 900),
		"no such temperature of air: NaNC":                 read(60, 20, math.NaN()),
	} {
		_, err := FromLog(log, rules, nil)
		require.ErrorContains(t, err, want)
		assert.NotContains(t, err.Error(), "\n")
	}
}

// A spell too hot ends a batch five weeks after its first moment, whatever test it
// passes: from the log to the verdict.
func TestALogLeadsToItsLimits(t *testing.T) {
	st, err := FromLog(read(60, 20, 22, 32, 22), rules, nil)
	require.NoError(t, err)
	it := shelf.Item{Expiry: label.DayOf(date.New(2027, 12, 31)), Storage: []shelf.Storage{st}}
	j := shelf.Judge(it, rules, date.New(2027, 4, 5))
	assert.Equal(t, shelf.Use, j.Verdict)
	assert.Equal(t, shelf.LimitHotStorage, j.Governing.Name)
	assert.Equal(t, date.New(2027, 4, 5), j.Governing.Date)
	assert.Equal(t, shelf.Reject, shelf.Judge(it, rules, date.New(2027, 4, 6)).Verdict)
	for _, l := range j.Limits {
		if l.Name == shelf.LimitStorageLife {
			assert.Equal(t, date.New(2027, 12, 30), l.Date, "minutes spent are a day, rounded up")
		}
	}
}

// The integral by adaptive quadrature of the definition, piece by piece.
func TestSpentIsTheIntegral(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		temps := rapid.SliceOfN(rapid.Float64Range(-30, 70), 2, 8).Draw(t, "C")
		if rapid.Bool().Draw(t, "nearly constant") {
			for i := range temps {
				temps[i] = 40 + temps[i]*1e-7
			}
		}
		st, err := FromLog(read(60, temps...), rules, nil)
		require.NoError(t, err)
		want := 0.0
		for i := 1; i < len(temps); i++ {
			a, b := temps[i-1], temps[i]
			// Split where the store's top is passed: there the integrand has a kink.
			cuts := []float64{0, 1}
			if f := (rules.Store.Range.Hi - a) / (b - a); f > 0 && f < 1 {
				cuts = []float64{0, f, 1}
			}
			for k := 1; k < len(cuts); k++ {
				want += quad.Fixed(func(x float64) float64 {
					return 3600 * math.Max(0, math.Pow(2, (a+x*(b-a)-rules.Store.Range.Hi)/10)-1)
				}, cuts[k-1], cuts[k], 40, nil, 0)
			}
		}
		require.InDelta(t, want, st.Spent.Seconds(), 1e-6+1e-9*want)
	})
}

// Cold gives nothing back, and warmth never less than nothing.
func TestWarmerAirNeverSpendsLess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		temps := rapid.SliceOfN(rapid.Float64Range(-30, 70), 1, 8).Draw(t, "C")
		warmer := make([]float64, len(temps))
		for i, c := range temps {
			warmer[i] = c + rapid.Float64Range(0, 10).Draw(t, "by")
		}
		apart := rapid.SampledFrom([]int{1, 60, 300}).Draw(t, "minutes")
		a, err := FromLog(read(apart, temps...), rules, nil)
		require.NoError(t, err)
		b, err := FromLog(read(apart, warmer...), rules, nil)
		require.NoError(t, err)
		require.GreaterOrEqual(t, a.Spent, time.Duration(0))
		require.GreaterOrEqual(t, b.Spent+time.Microsecond, a.Spent)
		require.True(t, a.HotFrom.IsZero() || !b.HotFrom.IsZero() && !b.HotFrom.First().After(a.HotFrom.First()))
		require.GreaterOrEqual(t, a.MeanKineticC, a.MinC-1e-9)
		require.LessOrEqual(t, a.MeanKineticC, a.MaxC+1e-9)
	})
}

func TestALogAsHotAsAnOvenIsACenturyAtMost(t *testing.T) {
	st, err := FromLog(read(60*24, 390, 390, 390), rules, nil)
	require.NoError(t, err)
	assert.Equal(t, mostSpent, st.Spent)
}

// TestPublishedRulesOfStorage holds the rows of shelf-rules.csv that are about logs.
func TestPublishedRulesOfStorage(t *testing.T) {
	f, err := os.Open("../../../testdata/published/shelf-rules.csv")
	require.NoError(t, err)
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	held := map[string]int{}
	for _, row := range records[1:] {
		in := map[string]string{}
		for _, kv := range strings.Fields(row[1]) {
			k, v, _ := strings.Cut(kv, "=")
			in[k] = v
		}
		want, err := strconv.ParseFloat(row[2], 64)
		switch held[row[0]]++; row[0] {
		case "ageing factor":
			require.NoError(t, err)
			assert.InDelta(t, want, Factor(temp(t, in["at"]), temp(t, in["against"])), 1e-12, row[3])
		case "aged log":
			require.NoError(t, err)
			assert.InDelta(t, want, aged(t, in), 1e-6, row[3])
		case "mean kinetic":
			require.NoError(t, err)
			assert.InDelta(t, want, spells(t, in).MeanKineticC, 0.005, row[3])
		}
	}
	for _, rule := range []string{"ageing factor", "aged log", "mean kinetic"} {
		assert.Positive(t, held[rule], rule)
	}
}

func temp(t *testing.T, s string) float64 {
	c, err := quantity.Temp(s)
	require.NoError(t, err)
	return c
}

// aged is how many days a constant log is worth: those of the clock and those spent
// beyond it.
func aged(t *testing.T, in map[string]string) float64 {
	store, err := quantity.TempRange(in["store"])
	require.NoError(t, err)
	days, err := strconv.ParseFloat(strings.TrimSuffix(in["for"], "d"), 64)
	require.NoError(t, err)
	temps := make([]float64, int(days*24)+1)
	for i := range temps {
		temps[i] = temp(t, in["log"])
	}
	st, err := FromLog(read(60, temps...), shelf.Rules{Store: shelf.Store{Range: store, From: "test"}}, nil)
	require.NoError(t, err)
	return days + st.Spent.Hours()/24
}

// spells is a log of steps, a millisecond from one to the next.
func spells(t *testing.T, in map[string]string) shelf.Storage {
	each, err := quantity.Span(in["each"])
	require.NoError(t, err)
	var log []cure.Sample
	for i, s := range strings.Split(in["log"], ";") {
		from := t0.Add(time.Duration(i) * each)
		air := cure.Air{TempC: temp(t, s), RH: 50}
		log = append(log, cure.Sample{At: from, Air: air}, cure.Sample{At: from.Add(each - time.Millisecond), Air: air})
	}
	st, err := FromLog(log, rules, nil)
	require.NoError(t, err)
	return st
}

func BenchmarkYearOfMinutes(b *testing.B) {
	temps := make([]float64, 525600)
	for i := range temps {
		temps[i] = 22 + 7*math.Sin(float64(i)/720*math.Pi)
	}
	log := read(1, temps...)
	for b.Loop() {
		if _, err := FromLog(log, rules, nil); err != nil {
			b.Fatal(err)
		}
	}
}
