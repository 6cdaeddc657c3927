package warmup

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// publishedRow is one line of the table: what it asks, and what it wants.
type publishedRow struct {
	t               *testing.T
	quantity, given string
	inputs          map[string]float64
	want, tolerance float64
	source          string
}

func (r publishedRow) num(key string) float64 {
	v, ok := r.inputs[key]
	require.True(r.t, ok, "%s: %s has no %s", r.quantity, r.given, key)
	return v
}

func publishedRows(t *testing.T) (all []publishedRow) {
	f, err := os.Open("../../testdata/published/warmup.csv")
	require.NoError(t, err)
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	for _, rec := range records[1:] {
		r := publishedRow{t: t, quantity: rec[0], given: rec[1], inputs: map[string]float64{}, source: rec[5] + ": " + rec[6]}
		for _, in := range strings.Fields(rec[1]) {
			key, text, _ := strings.Cut(in, "=")
			r.inputs[key], err = strconv.ParseFloat(text, 64)
			require.NoError(t, err, in)
		}
		r.want, err = strconv.ParseFloat(rec[2], 64)
		require.NoError(t, err)
		r.tolerance, err = strconv.ParseFloat(rec[3], 64)
		require.NoError(t, err)
		all = append(all, r)
	}
	return all
}

// warming is the row's short cylinder.
func (r publishedRow) warming() *Warming {
	w, err := New(Body{VolumeML: r.num("ml"), Aspect: r.num("aspect"), Capacity: r.num("capacity"), Conductivity: r.num("k"), Film: r.num("film"), Wall: r.num("wall")})
	require.NoError(r.t, err)
	return w
}

// brass is the row's cylinder of a diameter and a height in mm.
func (r publishedRow) brass(p Place) float64 {
	d, h := r.num("d"), r.num("h")
	w, err := New(Body{VolumeML: math.Pi / 4 * d * d * h / 1000, Aspect: h / d, Conductivity: r.num("k"), Capacity: r.num("k") / r.num("a") / 1e6, Film: r.num("film")})
	require.NoError(r.t, err)
	return w.Temp(p, r.num("from"), r.num("around"), r.span("s"))
}

func (r publishedRow) span(key string) time.Duration {
	return time.Duration(r.num(key) * float64(time.Second))
}

// lump is a can of the row's V/A and the time until so much is left: 1/3 of the radius
// is the V/A of a cylinder as high as it is wide. Thermocouples are smaller than what
// New takes for a pack.
func (r publishedRow) lump() float64 {
	rad := 3 * r.num("lc")
	b := Body{VolumeML: 2 * math.Pi * rad * rad * rad * 1e6, Aspect: 1, Capacity: r.num("rho") * r.num("c") / 1e6, Conductivity: r.num("k"), Film: r.num("film")}
	require.Less(r.t, b.Biot(), LumpBiot)
	after, ok, err := solve(b).Reach(Core, 0, 1, 1-r.num("left"))
	require.NoError(r.t, err)
	require.True(r.t, ok)
	assert.InEpsilon(r.t, -math.Log(r.num("left"))*b.TimeConstant().Seconds(), after.Seconds(), 0.003, "one lump: %s", r.given)
	return after.Seconds()
}

func TestPublishedValuesOfWarmingUp(t *testing.T) {
	term := func(r publishedRow, of func(float64) series) (root, coef float64) {
		s, n := of(r.num("bi")), int(r.num("n"))
		return s.roots[n-1], s.coefs[n-1]
	}
	checks := map[string]func(publishedRow) float64{
		"slab root":        func(r publishedRow) float64 { z, _ := term(r, slabOf); return z },
		"slab coefficient": func(r publishedRow) float64 { _, c := term(r, slabOf); return c },
		"rod root":         func(r publishedRow) float64 { z, _ := term(r, rodOf); return z },
		"rod coefficient":  func(r publishedRow) float64 { _, c := term(r, rodOf); return c },
		"core left":        func(r publishedRow) float64 { return r.warming().Left(Core, r.span("s")) },
		"surface left":     func(r publishedRow) float64 { return r.warming().Left(Surface, r.span("s")) },
		"core":             func(r publishedRow) float64 { return r.brass(Core) },
		"surface":          func(r publishedRow) float64 { return r.brass(Surface) },
		"lump":             func(r publishedRow) float64 { return r.lump() },
	}
	seen := map[string]int{}
	for _, r := range publishedRows(t) {
		check := checks[r.quantity]
		require.NotNil(t, check, "nothing checks %q", r.quantity)
		assert.InDelta(t, r.want, check(r), r.tolerance, "%s %s: %s", r.quantity, r.given, r.source)
		seen[r.quantity]++
	}
	assert.Len(t, seen, len(checks), "a check without a row")
}
