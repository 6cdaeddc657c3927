package plan

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"beadline/cure"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// suiting adds all built-in classes that may be proposed.
func suiting(in Input) Input {
	for _, c := range in.Classes {
		if len(c.Seals) > 0 && c.Seals[0] != "" {
			in.Others = append(in.Others, c)
		}
	}
	return in
}

func compared(t testing.TB, text string, cores int) *Comparison {
	t.Helper()
	c, err := Compare(asked(t, text), cores)
	require.NoError(t, err)
	return c
}

// named is the alternative whose words begin so.
func named(t testing.TB, c *Comparison, what string) *Alternative {
	t.Helper()
	for k := range c.Others {
		if strings.HasPrefix(c.Others[k].What, what) {
			return &c.Others[k]
		}
	}
	require.Failf(t, "no such alternative", "%s of %+v", what, c.Others)
	return nil
}

func TestComparisonIsTheSameOnAnyNumberOfCores(t *testing.T) {
	text := withText(t, itsReady, "ready: fly\nready-by: 2027-03-11T08:00\n")
	one, many := compared(t, text, 1), compared(t, text, 7)
	assert.Equal(t, one, func() *Comparison { many.Job = one.Job; return many }())
}

// TestAlternativesByHand: class B-2 laid by 07:20 is cured 72 h later, at 07:20 on Thu 11
// March (rated times at 77 °F, specification values, from memory).
func TestAlternativesByHand(t *testing.T) {
	c := compared(t, withText(t, itsReady, "ready: fly\nready-by: 2027-03-11T07:00\n"), 2)
	ready := time.Date(2027, 3, 11, 7, 20, 0, 0, time.UTC)
	assert.Equal(t, ready, c.Base.Ready.UTC())
	assert.False(t, c.Base.Meets)
	assert.Equal(t, 1, c.Base.Mixes)
	// 8 min of mixing, 12 of laying, 10 of inspecting, 20 for the fairing.
	assert.Equal(t, 50*time.Minute, c.Base.Labour)

	// Most is gained by the evening before: laid from 18:00 to 18:20, cured 72 h later, and
	// everyone there until 19:00. It is 13 h sooner, which is what the start is.
	tonight := named(t, c, "start tonight: everyone works Sun 7 Mar 18:00-23:00 too")
	assert.Equal(t, 13*time.Hour, tonight.Gain)
	assert.True(t, tonight.Meets && tonight.Best)
	assert.Same(t, tonight, &c.Others[0])
	for _, a := range c.Others[1:] {
		assert.Less(t, a.Gain, tonight.Gain, "%s", a.What)
		assert.False(t, a.Best)
	}
	assert.Equal(t, time.Duration(0), named(t, c, "one more person who can do what Cy does").Gain)
	assert.Contains(t, strings.Join(c.NotTried, " "), "every shift runs on all days already")
}

// TestNoHeatNearFuelWithoutAGasFreeState: heat is an alternative only where the job says
// that no fuel is near; its temperature stays under the class's ceiling.
func TestNoHeatNearFuelWithoutAGasFreeState(t *testing.T) {
	heats := func(extra string) (*Comparison, *Alternative) {
		c := compared(t, withText(t, itsClass, "class: "+heatable(t)+"\n"+extra), 2)
		for k := range c.Others {
			if c.Others[k].Kind == "heat" {
				return c, &c.Others[k]
			}
		}
		return c, nil
	}
	for extra, why := range map[string]string{"": "does not say that there is no fuel near", "    near-fuel: true\n": "it is near fuel"} {
		c, a := heats(extra)
		assert.Nil(t, a, "%q", extra)
		assert.Contains(t, strings.Join(c.NotTried, " "), why)
		assert.Contains(t, strings.Join(c.NotTried, " "), "no gas-free state is recorded")
	}
	c, a := heats("    near-fuel: false\n")
	require.NotNil(t, a, "%v", c.NotTried)
	assert.True(t, a.Found)
	ceiling := asked(t, doorJob).Classes[heatable(t)].Heat.MaxC
	assert.Contains(t, a.What, fmt.Sprintf("to %g C", math.Floor(ceiling-heatMargin)))
}

// heatable is a built-in class that takes fillets and gains by heat.
func heatable(t testing.TB) string {
	in := asked(t, doorJob)
	for _, id := range []string{"polysulfide-b-2", "polysulfide-b-half", "polythioether-rapid-2"} {
		c := in.Classes[id]
		if c.Heat != nil && c.Curves[cure.Cured] != nil && c.Curves[cure.Cured].Credit != nil {
			return id
		}
	}
	t.Fatal("no built-in class gains by heat: the test has nothing to hold")
	return ""
}

// TestEveryAlternativeIsFoundOrSaysWhy compares generated jobs' worth of the demo: each line
// has a plan or a reason, the lines are in order, and just one is the best.
func TestEveryAlternativeIsFoundOrSaysWhy(t *testing.T) {
	in := suiting(asked(t, withText(t, itsClass, "class: polysulfide-b-half\n", itsLayer, "    layers: [{seal: faying, spread: 12min}]\n    fasteners: {count: 40, each: 60s, torque: wet}\n")))
	c, err := Compare(in, 2)
	require.NoError(t, err)
	assert.False(t, c.Base.Found)
	assert.Contains(t, c.Base.Because, "lasts 30 min at most")
	best := 0
	for k, a := range c.Others {
		if !a.Found {
			assert.NotEmpty(t, a.Because, "%s", a.What)
		}
		if a.Best {
			best++
		}
		if k > 0 {
			assert.LessOrEqual(t, better(c.Others[k-1], a), 0, "%s before %s", c.Others[k-1].What, a.What)
		}
	}
	assert.Equal(t, 1, best)
	assert.True(t, named(t, c, "seal the door with polysulfide-b-2").Found)
}

func TestComparisonEndsWhenItIsStopped(t *testing.T) {
	in := suiting(asked(t, doorJob))
	asks := 0
	in.Stop = func() bool { asks++; return asks > 3 }
	c, err := Compare(in, 1)
	require.NoError(t, err)
	assert.True(t, c.Cut)
	last := c.Others[len(c.Others)-1]
	assert.False(t, last.Found)
	assert.Equal(t, stopped, last.Because)
}

// TestHeldInWordsAddsUp: what is said of the critical chain is what HeldBy holds.
func TestHeldInWordsAddsUp(t *testing.T) {
	p, err := Make(asked(t, doorJob))
	require.NoError(t, err)
	assert.Equal(t, []string{"72 h of the 72 h 20 min is the door curing in air of 25 C.", "Work takes the other 20 min."}, p.HeldInWords)

	// Tack-free in the night: 40 h after Mon 07:20 is Tue 23:20, and 7 h 40 min later the
	// shift begins.
	p, err = Make(asked(t, withText(t, itsFlying, "fly: [close]")))
	require.NoError(t, err)
	require.NotEmpty(t, p.HeldInWords)
	assert.Equal(t, "40 h of the 48 h 30 min is the door getting tack-free in air of 25 C; the shift gap adds 7 h 40 min.", p.HeldInWords[0])
	assert.Equal(t, "Work takes the other 50 min.", p.HeldInWords[1])
}
