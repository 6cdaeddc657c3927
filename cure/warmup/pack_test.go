package warmup

import (
	"math"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestSafePackWarmsUpNoSoonerThanTheLikelyOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Pack{Shape: rapid.SampledFrom(Shapes()).Draw(t, "shape")}
		if rapid.Bool().Draw(t, "by mass") {
			p.MassG = rapid.Float64Range(10, 10000).Draw(t, "g")
		} else {
			p.VolumeML = rapid.Float64Range(SmallestML, LargestML).Draw(t, "ml")
		}
		m := rapid.SampledFrom(Media()).Draw(t, "medium")
		if err := p.Check(); err != nil {
			t.Fatal(err)
		}
		likely, ok1, _ := warming(t, p.Likely(m)).Reach(Core, -40, 21, 16)
		safe, ok2, _ := warming(t, p.Safe(m)).Reach(Core, -40, 21, 16)
		if ok2 && (!ok1 || safe < likely) {
			t.Fatalf("safe after %v, likely after %v", safe, likely)
		}
	})
}

var tag = regexp.MustCompile(`\b(read|derived|memory|common practice|assumed)\b`)

func TestEveryFigureOfAPackSaysWhereItComesFrom(t *testing.T) {
	for _, shape := range Shapes() {
		for _, m := range Media() {
			for _, p := range []Pack{{Shape: shape, VolumeML: 50}, {Shape: shape, MassG: 50}} {
				require.NoError(t, p.Check())
				figures := p.Figures(m)
				require.GreaterOrEqual(t, len(figures), 6)
				for _, f := range figures {
					assert.Regexp(t, tag, f.From, f.Name)
					assert.NotEmpty(t, f.Name)
				}
				assert.NoError(t, p.Likely(m).Check())
				assert.NoError(t, p.Safe(m).Check())
			}
		}
	}
}

// freeConvection is Nu of a level cylinder by Churchill and Chu for Ra up to 1e9, as
// W/(m² K): a textbook formula from memory, with properties of air at 20 °C and of
// water at 40 °C from memory too. It holds the films to the right size, no more.
func freeConvection(d, kelvin float64, water bool) float64 {
	beta, nu, a, k := 1/293.0, 1.51e-5, 2.14e-5, 0.0257
	if water {
		beta, nu, a, k = 3.85e-4, 0.658e-6, 1.52e-7, 0.63
	}
	ra := 9.81 * beta * kelvin * d * d * d / (nu * a)
	return k / d * (0.36 + 0.518*math.Pow(ra, 0.25)/math.Pow(1+math.Pow(0.559*a/nu, 9.0/16), 4.0/9))
}

// radiated is that of radiation at 10 °C: 4σT³ times the emissivity.
func radiated(emissivity float64) float64 { return emissivity * 4 * 5.67e-8 * math.Pow(283, 3) }

// The safe film is no more than convection and radiation give at 5 °C of difference, on
// anything from a small cartridge to a gallon can; the likely one is no more than they
// give at 20 °C on a small one.
func TestFilmsAreOfTheSizeThatConvectionAndRadiationGive(t *testing.T) {
	still := func(p Pack) Figure { return p.film(StillAir) }
	for _, d := range []float64{0.025, 0.05, 0.1, 0.15} {
		assert.LessOrEqual(t, still(Pack{Shape: Cartridge}).Safe, freeConvection(d, 5, false)+radiated(0.9), "painted or plastic, %g m", d)
		assert.LessOrEqual(t, still(Pack{Shape: Can}).Safe, freeConvection(d, 5, false)+radiated(0.1), "bright metal, %g m", d)
		assert.LessOrEqual(t, films[Bath].Safe, freeConvection(d, 1, true), "water, %g m", d)
	}
	assert.LessOrEqual(t, still(Pack{Shape: Cartridge}).Likely, freeConvection(0.1, 20, false)+radiated(0.9))
	assert.LessOrEqual(t, still(Pack{Shape: Can}).Likely, freeConvection(0.1, 20, false)+radiated(0.5))
	assert.LessOrEqual(t, films[Bath].Likely, freeConvection(0.05, 5, true))
	// Zukauskas across a cylinder, Re 1e3 to 2e5 (a textbook formula from memory).
	across := func(d float64) float64 {
		return 0.0257 / d * 0.26 * math.Pow(1*d/1.51e-5, 0.6) * math.Pow(0.71, 0.37)
	}
	assert.LessOrEqual(t, films[MovingAir].Safe, across(0.2))
	assert.LessOrEqual(t, films[MovingAir].Likely, across(0.05)+radiated(0.9))
}

// What the figures say is derived is what arithmetic gives: 0.25 mm of steel of
// 3.6 J/(ml K) on a can of 100 ml; plastic around a bore of 25 mm; the shape of least
// surface.
func TestDerivedFiguresAreDerived(t *testing.T) {
	b := Body{VolumeML: 100, Aspect: 1, Capacity: 2, Conductivity: 0.3, Film: 5}
	assert.InDelta(t, 0.05, 3.6*0.25e-3/b.length()/2, 0.015)
	for mm, share := range map[float64]float64{1: 0.17, 2: 0.35} {
		assert.InDelta(t, share, math.Pow((25+2*mm)/25, 2)-1, 0.01)
	}
	best := b.length()
	for _, aspect := range []float64{0.3, 0.8, 0.95, 1.05, 1.3, 4} {
		b.Aspect = aspect
		assert.Less(t, b.length(), best, "aspect %g", aspect)
	}
	assert.InDelta(t, 0.004, 1.5e-3/0.4, 0.0005)
	assert.InDelta(t, 0.007, 2.5e-3/0.33, 0.0007)
	assert.InDelta(t, 0.16, 0.003/0.06+0.11, 1e-9)
}

// The safe size of a small cartridge must hold its wall; by its own arithmetic it does
// down to a bore of 20 mm.
func TestSizeHoldsTheWall(t *testing.T) {
	assert.LessOrEqual(t, math.Pow(24/20.0, 2), sizes[Cartridge].Safe+0.05)
	assert.LessOrEqual(t, math.Pow(29/25.0, 2), sizes[Cartridge].Safe)
}

func TestAPackThatCannotBeIsRefused(t *testing.T) {
	for want, p := range map[string]Pack{
		`"box" is no shape of a pack: say can, cartridge or kit`: {Shape: "box", VolumeML: 50},
		"the contents of a pack are a volume or a mass":          {Shape: Can},
		"are a volume or a mass":                                 {Shape: Can, VolumeML: 1, MassG: 1},
		"a pack of 0.5 ml":                                       {Shape: Can, VolumeML: 0.5},
		"a pack of 3e+04 ml":                                     {Shape: Can, VolumeML: 30000},
		"volume or a mass":                                       {Shape: Can, VolumeML: math.NaN()},
	} {
		assert.ErrorContains(t, p.Check(), want)
	}
	assert.InDelta(t, 130/1.65, Pack{Shape: Can, MassG: 130, Density: 1.65}.Contents(), 1e-9)
	assert.Less(t, Pack{Shape: Can, MassG: 130}.Contents(), Pack{Shape: Can, MassG: 130}.Safe(StillAir).VolumeML)
}
