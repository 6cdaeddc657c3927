package show

import (
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog"
	"beadline/cmd/beadline/desk"
	"beadline/cure"
	"beadline/cure/quantity"
)

// swinging asks a class in nights and days from Monday noon on.
func swinging(t testing.TB, id string, change func(q *desk.TimesQuestion)) *desk.Times {
	t.Helper()
	z, err := time.LoadLocation("Atlantic/Faroe")
	require.NoError(t, err)
	q := desk.TimesQuestion{
		Class: class(t, id), PotC: math.NaN(), PartC: math.NaN(), From: time.Date(2027, 3, 8, 12, 0, 0, 0, z), Bead: cure.Bead{DepthMM: 0.5},
		Pieces: []cure.Piece{{Name: "the swing 9 to 22 C", Forecast: true, Margin: 2,
			Swing: &cure.Swing{LowC: 9, HighC: 22, Warmest: 15 * time.Hour, DewC: 8, Zone: z}}},
	}
	if change != nil {
		change(&q)
	}
	a, err := desk.AskTimes(q)
	require.NoError(t, err)
	return a
}

func TestEveryCurveIsSaidInWordsInBothUnits(t *testing.T) {
	n := 0
	for _, cl := range catalog.Builtin().All() {
		for m := range cure.NumMilestones {
			c, _, err := cl.Curve(m)
			if err != nil {
				continue
			}
			n++
			for u, unit := range map[Units]string{SI: "°C", US: "°F"} {
				words := restWords(&cl, m, "", u)
				assert.Contains(t, words, quantity.FormatSpan(seconds(c.Rated(cure.Bead{}))), "%s %s", cl.ID, m)
				assert.Contains(t, words, unit, "%s %s", cl.ID, m)
				assert.Contains(t, words, u.Temp(c.Form.Reference().TempC), "%s %s", cl.ID, m)
				if c.Credit != nil {
					assert.Contains(t, restWords(&cl, m, desk.OnWarmth, u), u.Temp(c.Credit.MaxC), "%s %s", cl.ID, m)
				}
				if c.Humidity != nil {
					assert.NotEmpty(t, restWords(&cl, m, desk.OnHumidity, u), "%s %s", cl.ID, m)
				}
			}
		}
	}
	assert.Greater(t, n, 80)
}

// Near its reference an Arrhenius time is half for each so many degrees: exactly so in
// the limit of a small step.
func TestArrheniusInWordsIsTheSlopeAtItsReference(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := cure.Arrhenius{RefC: rapid.Float64Range(0, 60).Draw(t, "ref"), Time: 3600, Ea: rapid.Float64Range(20e3, 150e3).Draw(t, "ea")}
		const d = 1e-4
		fall := math.Log2(a.Seconds(a.RefC-d, 0, 0, cure.Bead{})/a.Seconds(a.RefC+d, 0, 0, cure.Bead{})) / (2 * d) // halvings for 1 °C
		require.InEpsilon(t, 1/fall, halving(a), 1e-4)
	})
}

func TestWindowsAreSaidInTheReadersUnits(t *testing.T) {
	a := swinging(t, "polysulfide-b-2", nil)
	for u, want := range map[Units]string{SI: "then the part is under 16 °C", US: "then the part is under 60.8 °F"} {
		text := written(t, func(w io.Writer) error { return Times(w, a, u) })
		within80(t, text)
		assert.Contains(t, strings.Join(strings.Fields(text), " "), want)
		assert.Contains(t, text, "WHEN TO SEAL\n  - You may seal from Mon 8 Mar")
		assert.Contains(t, text, "+ Rests on air that is expected, not measured: the swing "+map[Units]string{SI: "9 to 22 °C", US: "48.2 to 71.6 °F"}[u])
		assert.Contains(t, text, "when to seal (dew point)")
		assert.NotContains(t, text, " C.", "a bare C is not a unit")
	}
}

func TestHistoryJSONHasItsKeys(t *testing.T) {
	a := swinging(t, "polysulfide-b-2", func(q *desk.TimesQuestion) {
		q.Part = cure.Part{Tau: 3 * time.Hour, AtC: -4}
		q.Warmth = cure.Warmth{Warmed: true, WarmedC: 20, Heated: true, HeatFrom: q.From.Add(time.Hour), HeatC: 40}
	})
	v := decoded(t, written(t, func(w io.Writer) error { return TimesJSON(w, a) }))
	assert.Equal(t, map[string]any{"at-c": -4., "warms-in-seconds": 10800.}, v["part"])
	assert.Equal(t, map[string]any{"to-c": 40., "from": "2027-03-08T13:00:00Z"}, v["heat"])
	assert.Equal(t, 20., v["warm-to-c"])
	assert.Equal(t, []any{map[string]any{"kind": "swing", "name": "the swing 9 to 22 C", "margin-c": 2.}}, v["air"].(map[string]any)["pieces"])
	var open, closed int
	for _, w := range a.Windows {
		if w.Open() {
			open++
		} else {
			closed++
		}
	}
	assert.Len(t, v["seal-windows"], open)
	assert.Len(t, v["seal-closed"], closed)
	first := v["milestones"].([]any)[0].(map[string]any)
	assert.Equal(t, true, first["on-forecast"])
	assert.Contains(t, first["curve"], "2 h at least at 25 °C")

	v = decoded(t, written(t, func(w io.Writer) error { return TimesJSON(w, times(t, "polysulfide-b-2", 18, 45)) }))
	for _, k := range []string{"part", "heat", "warm-to-c", "seal-windows", "seal-closed"} {
		assert.Contains(t, v, k)
		assert.Nil(t, v[k], "constant air has no %s", k)
	}
}

func TestEveryClassInAHistoryFits80Columns(t *testing.T) {
	for _, id := range []string{"polysulfide-a-half", "silicone-firewall", "silicone-neutral", "epoxy-adhesive-heat-resistant", "corrosion-inhibiting-faying-12"} {
		a := swinging(t, id, func(q *desk.TimesQuestion) { q.Part = cure.Part{Tau: 3 * time.Hour, AtC: math.NaN()} })
		within80(t, written(t, func(w io.Writer) error { return Times(w, a, US) }))
	}
}
