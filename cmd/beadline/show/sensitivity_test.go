package show

import (
	"encoding/json"
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/cmd/beadline/desk"
	"beadline/cure"
)

func sensitiveTo(t testing.TB, id string, tempC, rh float64) *desk.Sensitivity {
	t.Helper()
	s, err := desk.AskSensitivity(desk.TimesQuestion{
		Class: class(t, id), Air: cure.Air{TempC: tempC, RH: rh}, RHSaid: true, PotC: math.NaN(), PartC: math.NaN(), Bead: cure.Bead{DepthMM: 0.5},
	})
	require.NoError(t, err)
	return s
}

func TestSensitivityOfEveryClassFitsThePage(t *testing.T) {
	for _, id := range timed() {
		for _, rh := range []float64{45, 90} {
			s := sensitiveTo(t, id, 24, rh)
			for _, u := range []Units{SI, US} {
				text := written(t, func(w io.Writer) error { return Sensitivity(w, s, u) })
				within80(t, text)
				assert.Contains(t, text, "HOW IT WAS TRIED")
				assert.Contains(t, text, "not a release")
			}
		}
	}
}

// By hand, 18 °F rule (common practice, no source): 72 h at 25 °C are 72·2^0.7 h at
// 18 °C, 116 h 58 min; 2 °C colder 72·2^0.9 h, 17 h 23 min more, +14.9 %.
func TestSensitivityNamesWhatMattersMost(t *testing.T) {
	text := written(t, func(w io.Writer) error { return Sensitivity(w, sensitiveTo(t, "polysulfide-b-2", 18, 60), SI) })
	assert.Contains(t, text, "CURE, not before: 4 d 21 h\n  2 °C colder                5 d 15 h          17 h 23 min later      +14.9 %\n")
	assert.Contains(t, text, "  Matters most: 2 °C colder: cure 17 h 23 min later.\n")
	assert.Contains(t, text, "APPLICATION, ASSEMBLY, not after: 2 h\n")
	assert.Contains(t, text, "  Nothing that was tried moves it.\n")
	us := written(t, func(w io.Writer) error { return Sensitivity(w, sensitiveTo(t, "polysulfide-b-2", 18, 60), US) })
	assert.Contains(t, us, "  3.6 °F colder ")
}

func TestALostLineIsAWordNotANumber(t *testing.T) {
	s := sensitiveTo(t, "polysulfide-b-2", 18, 45)
	text := written(t, func(w io.Writer) error { return Sensitivity(w, s, SI) })
	assert.Contains(t, text, "  10 % RH drier              by witness cup    -\n")
	assert.Contains(t, text, "Matters most: 10 % RH drier: cure only by the witness cup.")
	r := rows(t, written(t, func(w io.Writer) error { return SensitivityCSV(w, s) }))
	seen := false
	for _, x := range r {
		if x[1] == "cure" && x[3] == "10 % RH drier" {
			seen = true
			assert.Equal(t, []string{"-10", "1", ""}, x[5:8])
			assert.Equal(t, []string{"", "", "yes"}, x[9:12])
		}
	}
	assert.True(t, seen)
}

func TestSensitivityOutOfRangeSaysSo(t *testing.T) {
	text := written(t, func(w io.Writer) error { return Sensitivity(w, sensitiveTo(t, "polysulfide-b-2", 48, 50), SI) })
	assert.Contains(t, text, "  2 °C warmer                no answer         -\n")
	assert.Contains(t, strings.Join(strings.Fields(text), " "), "Matters most: 2 °C warmer: cure has no answer.")
	assert.Contains(t, strings.Join(strings.Fields(text), " "), "2 °C warmer: 50 °C is outside the curve's range")
}

func TestSensitivityJSONHasTheAgreedKeys(t *testing.T) {
	v := decoded(t, written(t, func(w io.Writer) error { return SensitivityJSON(w, sensitiveTo(t, "polysulfide-b-2", 18, 45)) }))
	assert.Subset(t, keys(v), []string{"class", "temp-c", "rh-pct", "milestones", "notes", "stops", "warnings", "assumptions", "cautions"})
	m := v["milestones"].([]any)[4].(map[string]any)
	assert.Equal(t, "cure", m["name"])
	assert.Equal(t, "10 % RH drier", m["matters-most"])
	first, second := m["changes"].([]any)[0].(map[string]any), m["changes"].([]any)[1].(map[string]any)
	assert.Nil(t, first["diff-seconds"])
	assert.Equal(t, -2., second["step-c"])
	assert.InDelta(t, 14.87, second["diff-pct"], 0.01, "2^0.2 − 1")
	pot := v["milestones"].([]any)[0].(map[string]any)
	assert.Nil(t, pot["matters-most"])
}

func TestLatenessIsSaidInWords(t *testing.T) {
	assert.Equal(t, "10 h 20 min later", lateness(10*time.Hour+20*time.Minute))
	assert.Equal(t, "16 min sooner", lateness(-16*time.Minute))
}

func TestSensitivityHasNoNumberThatIsNone(t *testing.T) {
	for _, id := range timed() {
		for _, rh := range []float64{0, 100} {
			s, err := desk.AskSensitivity(desk.TimesQuestion{
				Class: class(t, id), Air: cure.Air{TempC: 24, RH: rh}, RHSaid: true, PotC: math.NaN(), PartC: math.NaN(), Bead: cure.Bead{DepthMM: 0.5}, Extrapolate: true,
			})
			require.NoError(t, err, id)
			text := written(t, func(w io.Writer) error { return SensitivityJSON(w, s) })
			assert.True(t, json.Valid([]byte(text)), "a NaN or an infinity is no JSON")
			within80(t, written(t, func(w io.Writer) error { return Sensitivity(w, s, SI) }))
		}
	}
}
