package show

import (
	"bytes"
	"encoding/json"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog"
	"beadline/cmd/beadline/desk"
	"beadline/cure"
	"beadline/cure/quantity"
)

func someDegree() *desk.Degree {
	at := time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)
	return &desk.Degree{
		Rows: []desk.DegreeRow{
			{Degree: 0.5, Known: true, Span: 525 * time.Second, At: at.Add(525 * time.Second)},
			{Degree: 0.95},
			{Milestone: "cure", Degree: 0.99999, Known: true, Span: 2 * time.Hour, At: at.Add(2 * time.Hour)},
		},
		Outside: []cure.Excursion{{What: "below the floor of 130 C", For: 42 * time.Minute}},
		TempC:   quantity.Range{Lo: 130, Hi: 177}, RestsOn: catalog.Source{What: "degree of cure", From: "read: a paper"},
	}
}

func TestDegreeOfCureSaysThatItIsNoLine(t *testing.T) {
	var b bytes.Buffer
	s := sheet{w: &b, z: time.UTC}
	s.degreeOfCure(someDegree(), US)
	require.NoError(t, s.err)
	text := b.String()
	within80(t, text)
	for _, want := range []string{"DEGREE OF CURE (information, not a line to work to)", "  50 %", "8 min", "Mon 8 Mar 07:09 UTC", "not in this air",
		"over 99.9 % at cure", "below the floor of 266 °F for 42 min: nothing is counted there", "Known from 266 to 350.6 °F.", "rests on: read: a paper"} {
		assert.Contains(t, text, want)
	}
	b.Reset()
	s.degreeOfCure(nil, SI)
	assert.Empty(t, b.String())
	s.degreeOfCure(&desk.Degree{Refused: "23 C is outside the range of the degree of cure, 130 to 177 C", TempC: quantity.Range{Lo: 130, Hi: 177}}, SI)
	assert.Contains(t, b.String(), "No answer: 23 °C is outside the range of the degree of cure, 130 to 177 °C.")
}

func TestDegreeOfCureForPrograms(t *testing.T) {
	assert.Nil(t, degreeShape(nil))
	data, err := json.Marshal(degreeShape(someDegree()))
	require.NoError(t, err)
	o := decoded(t, string(data))
	assert.ElementsMatch(t, []string{"range-c", "rows", "outside", "source"}, keys(o))
	row := o["rows"].([]any)[1].(map[string]any)
	assert.Nil(t, row["seconds"])
	assert.Equal(t, 525., o["rows"].([]any)[0].(map[string]any)["seconds"])
}

func TestClassShowHasTheRateLawAndThePotMassWithTheirSources(t *testing.T) {
	resin, paste := class(t, "epoxy-tgddm-amine-heat-cured"), class(t, "epoxy-paste")
	text := written(t, func(w io.Writer) error { return Class(w, resin, SI) })
	within80(t, text)
	for _, want := range []string{"DEGREE OF CURE, information and not a line", "two-branch", "k2                 -3.3567e+07 /s", "130 to 177 °C", "rests on: read: parameters of Lee"} {
		assert.Contains(t, text, want)
	}
	o := decoded(t, written(t, func(w io.Writer) error { return ClassJSON(w, resin) }))["degree-of-cure"].(map[string]any)
	assert.Equal(t, "two-branch", o["law"])
	assert.Len(t, o["constants"], 3)
	assert.Equal(t, 0.47, o["b"])

	text = written(t, func(w io.Writer) error { return Class(w, paste, SI) })
	within80(t, text)
	assert.Contains(t, strings.Join(strings.Fields(text), " "), "pot mass the time is of 193 g; a larger pot is refused, a smaller one lasts no longer rests on: mass of the data: read")
	curve := decoded(t, written(t, func(w io.Writer) error { return ClassJSON(w, paste) }))["curves"].([]any)[0].(map[string]any)
	assert.Equal(t, 193., curve["pot-mass"].(map[string]any)["max-g"])

	paste.Degree = &cure.Degree{Law: cure.Autocatalytic{K1: cure.RateConstant{A: 1e4, Ea: 60e3}, N: 1.5}, From: "a test"}
	assert.Contains(t, written(t, func(w io.Writer) error { return Class(w, paste, US) }), "of order 1.5: k1 (1 − α)^1.5")
	paste.Degree.Law = cure.Autocatalytic{K1: cure.RateConstant{A: 1e4, Ea: 60e3}, K2: cure.RateConstant{A: 5e5, Ea: 57e3}, M: 0.8, N: 1.5}
	assert.Contains(t, written(t, func(w io.Writer) error { return Class(w, paste, SI) }), "autocatalytic: (k1 + k2 α^0.8)(1 − α)^1.5")
	o = decoded(t, written(t, func(w io.Writer) error { return ClassJSON(w, paste) }))["degree-of-cure"].(map[string]any)
	assert.Equal(t, 0.8, o["m"])
	assert.Equal(t, 1.5, o["n"])
	f := &cure.MassFactor{RefG: 200, Power: 0.5, MinG: 50, MaxG: 400}
	assert.Contains(t, US.massWords(f), "goes with (7.1 oz / mass) to the power 0.5")
}
