package plan_test

import (
	"strings"
	"testing"

	"beadline/cure"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Two joints that are alike but for the heat on them cure at different times: the
// warmer one first (Arrhenius' law).
func TestJointsHeatedToDifferentTemperaturesHaveLinesOfTheirOwn(t *testing.T) {
	const air = "air: [{constant: {temp: 77F, rh: 80%}}]\n"
	heated := func(to string) string {
		return aFillet + "    heat: {to: " + to + ", from: after-flash-off, gas-free: recorded}\n"
	}
	door := "  - id: door\n    class: CLASS\n" + heated("30C")
	hatch := "  - id: hatch\n    class: CLASS\n" + heated("35C")
	text := bent(t, theAir, air, "  - id: door\n    class: polysulfide-b-2\n"+aFillet, door+hatch,
		"{close: [door tack-free], fly: [door cure]}", "{close: [door tack-free], fly: [door cure, hatch cure]}")
	p := found(t, strings.ReplaceAll(text, "CLASS", "polysulfide-b-2"))
	require.True(t, p.Joints[0].Heated && p.Joints[1].Heated, "the plan does without heat")
	assert.True(t, line(t, p, 1, cure.Cured).At.Before(line(t, p, 0, cure.Cured).At), "%v %v", line(t, p, 0, cure.Cured), line(t, p, 1, cure.Cured))
}
