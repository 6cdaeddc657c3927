package plan_test

import (
	"maps"
	"strings"
	"testing"

	"beadline/cure"
	"beadline/cure/plan"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// bulky plans a text with the sealant made a bulk epoxy whose pot life is of 40 g, at
// 2 g/ml: 20 ml.
func bulky(t *testing.T, text string) *plan.Plan {
	t.Helper()
	in := input(t, text)
	in.Classes = maps.Clone(in.Classes)
	cl := *in.Classes["polysulfide-b-2"]
	app := *cl.Curves[cure.Application]
	app.Mass = &cure.MassFactor{RefG: 40, Power: 1, MaxG: 200}
	cl.Curves[cure.Application], cl.Density = &app, 2
	in.Classes["polysulfide-b-2"] = &cl
	in.Steps, in.Brief = 40, true
	p, err := plan.Make(in)
	require.NoError(t, err, text)
	return p
}

// A fillet of 6 mm leg and 1.5 m is 6²/2 mm² × 1.5 m / 0.85 = 31.8 ml, waste included:
// two pots of a class whose pot life is of 20 ml, one of any other. That a larger pot
// of epoxy lasts less: common practice, no source.
func TestABulkEpoxyIsMixedInPotsThatItsPotLifeIsOf(t *testing.T) {
	text := bent(t, aFillet, "    layers: [{seal: fillet, bead: {length: 150cm, leg: 6mm}, spread: 12min}]\n")
	assert.Len(t, found(t, text).Mixes, 1)
	p := bulky(t, text)
	require.True(t, p.Found, "%+v", p.Infeasible)
	require.Len(t, p.Mixes, 2)
	for _, m := range p.Mixes {
		assert.LessOrEqual(t, m.ML*2, 40.0)
		assert.Positive(t, m.ML)
	}
}

func TestAFayingFaceThatNeedsALargerPotThanTheEpoxysIsRefused(t *testing.T) {
	face := strings.Replace(strings.Replace(aFayingDoor, "EACH", "60s", 1), "spread", "bead: {area: 200cm2, thickness: 1mm}, spread", 1)
	p := bulky(t, bent(t, aFillet, face))
	require.False(t, p.Found)
	assert.Contains(t, strings.Join(p.Infeasible.Because, " "), "24 ml in one pot, waste included, and the application time of polysulfide-b-2 is that of a pot of 40 g, which is 20 ml")
}

func TestAPotOfUnknownAmountIsTakenAsItsPotLifes(t *testing.T) {
	p := bulky(t, tradeJob)
	require.True(t, p.Found)
	assert.Contains(t, strings.Join(p.Assumptions, "\n"), "no amount is stated for the fillet; one pot is taken to be large enough, and to hold no more than 40 g, which its application time is of")
}
