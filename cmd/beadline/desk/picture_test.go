package desk

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog"
	"beadline/cure"
)

// curvesOf is a built-in class, drawn.
func curvesOf(t *testing.T, id string, b cure.Bead) *ClassCurves {
	t.Helper()
	cl, err := catalog.Builtin().Find(id)
	require.NoError(t, err)
	d, err := CurvesOf(&cl, b)
	require.NoError(t, err)
	return d
}

// curveOf is the curve of a milestone in a panel.
func curveOf(t *testing.T, d *ClassCurves, panel int, m cure.Milestone) MilestoneCurve {
	t.Helper()
	for _, c := range d.Panels[panel].Curves {
		if c.Milestone == m {
			return c
		}
	}
	t.Fatalf("no %s curve", m)
	return MilestoneCurve{}
}

// spanAt is a time of a curve at a temperature that it was computed at.
func spanAt(t *testing.T, pts []SpanAt, tempC float64) float64 {
	t.Helper()
	for _, p := range pts {
		if p.TempC == tempC {
			return p.Seconds
		}
	}
	t.Fatalf("no point at %g °C", tempC)
	return 0
}

// The trade's rule, common practice: half the time for each 10 °C. 24 °C is one of the
// even steps between the ends of the range, -1 and 49 °C.
func TestDrawnCurveHalvesInTenDegrees(t *testing.T) {
	d := curvesOf(t, "polysulfide-b-2", cure.Bead{})
	require.Len(t, d.Panels, 1)
	assert.False(t, d.Humid)
	assert.GreaterOrEqual(t, d.Panels[0].RH, 40.0, "no line in air under 40 % RH")
	pot := curveOf(t, d, 0, cure.Application)
	assert.InDelta(t, 7200, spanAt(t, pot.Likely, 25), 1e-6)
	assert.InDelta(t, 2, spanAt(t, pot.Likely, 14)/spanAt(t, pot.Likely, 24), 1e-9)
	assert.InDelta(t, 7200, spanAt(t, pot.WorkTo, 14), 1e-6, "cold does not lengthen the line")
	assert.InDelta(t, spanAt(t, pot.Likely, 49), spanAt(t, pot.WorkTo, 49), 1e-6)
	assert.Equal(t, &SpanAt{25, 7200}, pot.Rated)
	assert.Equal(t, "assembly", pot.Also)
}

func TestDrawnCurveStopsAtItsRange(t *testing.T) {
	for _, c := range curvesOf(t, "polysulfide-b-2", cure.Bead{}).Panels[0].Curves {
		for _, pts := range [][]SpanAt{c.WorkTo, c.Likely} {
			assert.Equal(t, -1.0, pts[0].TempC, c.Milestone)
			assert.Equal(t, 49.0, pts[len(pts)-1].TempC, c.Milestone)
		}
	}
}

// The points are those of US Army TM 10-8110-201-14&P §5-14, as the catalog has them.
func TestDrawnTableHasItsPoints(t *testing.T) {
	pot := curveOf(t, curvesOf(t, "elastomer-patch-compound", cure.Bead{}), 0, cure.Application)
	require.Len(t, pot.Points, 3)
	for i, want := range []SpanAt{{5, 1200}, {15, 900}, {25, 600}} {
		assert.Equal(t, want.TempC, pot.Points[i].TempC)
		assert.InDelta(t, want.Seconds, pot.Points[i].Seconds, 1e-6)
		assert.InDelta(t, want.Seconds, spanAt(t, pot.WorkTo, want.TempC), 1e-6)
	}
}

func TestHumidClassHasAPanelForEachHumidity(t *testing.T) {
	d := curvesOf(t, "silicone-acetoxy", cure.Bead{})
	assert.True(t, d.Humid)
	require.Len(t, d.Panels, 3)
	for i, rh := range []float64{30, 50, 80} {
		assert.Equal(t, rh, d.Panels[i].RH)
	}
	// The rated time holds at 50 % RH: 2 mm in 24 h, a generic data sheet.
	assert.Nil(t, curveOf(t, d, 0, cure.Cured).Rated)
	assert.Equal(t, 2.0, curveOf(t, d, 1, cure.Cured).DepthMM)
	assert.InDelta(t, 86400, curveOf(t, d, 1, cure.Cured).Rated.Seconds, 1e-6)
	// The time goes with 1/p_v (J. Comyn, Int. J. Adhesion & Adhesives 18 (1998) 247;
	// the equation from memory), and p_v with the humidity.
	dry, damp := curveOf(t, d, 0, cure.Cured), curveOf(t, d, 2, cure.Cured)
	assert.InDelta(t, 80.0/30, spanAt(t, dry.Likely, 25)/spanAt(t, damp.Likely, 25), 1e-9)
}

// The front law again: the time goes with the square of the depth.
func TestBeadDrawnIsTheOneAskedFor(t *testing.T) {
	thin, thick := curvesOf(t, "silicone-acetoxy", cure.Bead{DepthMM: 1.5}), curvesOf(t, "silicone-acetoxy", cure.Bead{DepthMM: 3})
	a, b := curveOf(t, thin, 1, cure.Cured), curveOf(t, thick, 1, cure.Cured)
	assert.Equal(t, 3.0, b.DepthMM)
	assert.InDelta(t, 4, spanAt(t, b.Likely, 5)/spanAt(t, a.Likely, 5), 1e-9)
}

func TestBeadDrawnIsNoDeeperThanTheClassCures(t *testing.T) {
	// Its front is rated at 7.5 mm, and it cures 6 mm deep.
	assert.Equal(t, 6.0, curveOf(t, curvesOf(t, "silicone-neutral", cure.Bead{}), 1, cure.Cured).DepthMM)
}

func TestWhatCannotBeDrawnIsSaid(t *testing.T) {
	deep := curvesOf(t, "silicone-neutral", cure.Bead{DepthMM: 20})
	require.Len(t, deep.Missing, 1)
	assert.Contains(t, deep.Missing[0], "cure is not drawn: a bead 20 mm deep")
	for id, b := range map[string]cure.Bead{"grease-general": {}, "anaerobic-threadlocker": {DepthMM: 20}} {
		cl, err := catalog.Builtin().Find(id)
		require.NoError(t, err)
		_, err = CurvesOf(&cl, b)
		assert.ErrorContains(t, err, id)
	}
}

// Every class of the catalog can be drawn, or has no curve at all; and no line to work
// to is on the unsafe side of the plain curve.
func TestDrawnLinesAreOnTheSafeSide(t *testing.T) {
	n := 0
	for _, cl := range catalog.Builtin().All() {
		d, err := CurvesOf(&cl, cure.Bead{})
		if err != nil {
			assert.Equal(t, [cure.NumMilestones]*cure.Curve{}, cl.Curves, cl.ID)
			continue
		}
		n++
		for _, p := range d.Panels {
			for _, c := range p.Curves {
				require.Len(t, c.WorkTo, len(c.Likely), "%s %s", cl.ID, c.Milestone)
				for i, l := range c.Likely {
					if c.Milestone.Line() == cure.NotAfter {
						assert.LessOrEqual(t, c.WorkTo[i].Seconds, l.Seconds+1e-6, "%s %s", cl.ID, c.Milestone)
					} else {
						assert.GreaterOrEqual(t, c.WorkTo[i].Seconds, l.Seconds-1e-6, "%s %s", cl.ID, c.Milestone)
					}
				}
			}
		}
	}
	assert.Greater(t, n, 24)
}
