package plan

import (
	"math"
	"testing"
	"time"

	"beadline/cure"
	"beadline/cure/plan/chance"
	"beadline/cure/plan/job"
	"beadline/cure/plan/solve"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
)

// Plays of small networks against what the theory of probability says of them. A share
// of n draws is held to four standard errors of the binomial count, √(p(1−p)/n): one run
// in 16,000 lies outside by chance, and with a fixed seed none of these does.

// chain is a network of tasks that follow each other, with the planned starts, in
// minutes, before which none begins; nobody's hours bind them.
func chain(starts, takes []float64) *net {
	j := &job.Job{Start: time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)}
	b := &built{j: j, air: cure.Constant(cure.Air{TempC: 20, RH: 50}, j.Start, j.Start.Add(1000*time.Hour))}
	b.answer.Schedule = &solve.Schedule{}
	n := &net{b: b, until: 900 * 3600}
	for i := range takes {
		x := netTask{start: 60 * starts[i], takes: 60 * takes[i], end: 60 * (starts[i] + takes[i]), held: true, seal: -1}
		if i > 0 {
			x.in = []arc{{from: i - 1, reach: -1, planned: n.tasks[i-1].end}}
		}
		n.tasks, n.order = append(n.tasks, x), append(n.order, i)
		b.tasks = append(b.tasks, Task{Kind: "work"})
	}
	b.m.Ready = len(takes) - 1
	return n
}

// readies are the ready times of n draws of a network, in minutes.
func readies(n *net, draws int, sigma float64) []float64 {
	var out []float64
	for _, o := range n.run(SpreadOptions{Draws: draws, Seed: 1, Workers: 2, Task: math.Expm1(sigma)}).Plays {
		out = append(out, o.ready/60)
	}
	return out
}

// holds wants a share of the values at or under x of p, within four standard errors.
func holds(t *testing.T, p float64, values []float64, x float64, msg string) {
	t.Helper()
	n := 0
	for _, v := range values {
		if v <= x {
			n++
		}
	}
	assert.InDelta(t, p, float64(n)/float64(len(values)), 4*math.Sqrt(p*(1-p)/float64(len(values)))+1e-9, msg)
}

const manyDraws = 20000

// One task: the lognormal distribution with its planned time as the median.
func TestOneTaskIsLognormal(t *testing.T) {
	const sigma = 0.3
	got := readies(chain([]float64{0}, []float64{100}), manyDraws, sigma)
	theory := distuv.LogNormal{Mu: math.Log(100), Sigma: sigma}
	for _, p := range []float64{0.05, 0.1, 0.5, 0.9, 0.99} {
		holds(t, p, got, theory.Quantile(p), "quantile")
	}
}

// A chain without planned starts: mean and variance of a sum of independent lognormals,
// Σ m·e^(σ²/2) and Σ m²·e^(σ²)(e^(σ²) − 1), within four standard errors; and of two, the
// distribution by quadrature.
func TestAChainAddsUp(t *testing.T) {
	const sigma = 0.4
	takes := []float64{10, 20, 40, 80}
	got := readies(chain(make([]float64, 4), takes), manyDraws, sigma)
	mean, variance, fourth := 0.0, 0.0, 0.0
	for _, m := range takes {
		mean += m * math.Exp(sigma*sigma/2)
		variance += m * m * math.Exp(sigma*sigma) * math.Expm1(sigma*sigma)
	}
	sum, sq := 0.0, 0.0
	for _, v := range got {
		sum += v
		sq += (v - mean) * (v - mean)
		fourth += math.Pow(v-mean, 4)
	}
	n := float64(len(got))
	assert.InDelta(t, mean, sum/n, 4*math.Sqrt(variance/n))
	assert.InDelta(t, variance, sq/n, 4*math.Sqrt((fourth/n-variance*variance)/n))

	two := readies(chain(make([]float64, 2), []float64{30, 50}), manyDraws, sigma)
	for _, x := range []float64{60, 75, 80, 90, 110} {
		holds(t, endOf([]float64{0, 0}, []float64{30, 50}, sigma)(x), two, x, "two in a chain")
	}
}

// endOf is the distribution of the end of a chain whose tasks do not start before their
// planned starts: E₁ = p₁ + X₁, Eₖ = max(pₖ, Eₖ₋₁) + Xₖ, so that
//
//	Fₖ(t) = ∫ Hₖ(t − x) fₖ(x) dx,  Hₖ(s) = 0 before pₖ and Fₖ₋₁(s) from there on
//
// by Gauss-Legendre quadrature in the lognormal's own quantiles, task by task.
func endOf(starts, takes []float64, sigma float64) func(float64) float64 {
	work := func(k int) distuv.LogNormal { return distuv.LogNormal{Mu: math.Log(takes[k]), Sigma: sigma} }
	f := func(t float64) float64 { return work(0).CDF(t - starts[0]) }
	for k := 1; k < len(takes); k++ {
		before, from, x := f, starts[k], work(k)
		f = func(t float64) float64 {
			last := x.CDF(t - from) // the part of X for which the start is no earlier than planned
			if last <= 0 {
				return 0
			}
			return quad.Fixed(func(u float64) float64 { return before(t - x.Quantile(u)) }, 0, last, 60, nil, 0)
		}
		if k+1 < len(takes) { // asked for often: on a grid
			f = onGrid(f, from, from+takes[k]*8+100, 3000)
		}
	}
	return f
}

// onGrid is a function read off a grid, straight between.
func onGrid(f func(float64) float64, lo, hi float64, n int) func(float64) float64 {
	y := make([]float64, n+1)
	for i := range y {
		y[i] = f(lo + (hi-lo)*float64(i)/float64(n))
	}
	return func(t float64) float64 {
		u := (t - lo) / (hi - lo) * float64(n)
		switch i := int(u); {
		case u < 0:
			return 0
		case i >= n:
			return 1
		default:
			return y[i] + (u-float64(i))*(y[i+1]-y[i])
		}
	}
}

// People who work to the plan start nothing before its time: early ends are lost.
func TestAChainThatKeepsItsPlannedStarts(t *testing.T) {
	const sigma = 0.25
	starts, takes := []float64{0, 30, 55, 90}, []float64{30, 20, 30, 40}
	got := readies(chain(starts, takes), manyDraws, sigma)
	theory := endOf(starts, takes, sigma)
	assert.Less(t, theory(130), 0.5, "so the median lies after the planned 130 min")
	for _, x := range []float64{120, 130, 140, 150, 170} {
		holds(t, theory(x), got, x, "held to its starts")
	}
}

// A crew of one and two branches: the later of two lognormals, whose distribution is the
// product of theirs.
func TestTheLaterOfTwoIsTheProductOfTheirDistributions(t *testing.T) {
	const sigma = 0.3
	n := chain([]float64{0, 0, 0}, []float64{60, 70, 0})
	n.tasks[1].in = nil
	n.tasks[2].in = []arc{{from: 0, reach: -1}, {from: 1, reach: -1}}
	got := readies(n, manyDraws, sigma)
	a, b := distuv.LogNormal{Mu: math.Log(60), Sigma: sigma}, distuv.LogNormal{Mu: math.Log(70), Sigma: sigma}
	for _, x := range []float64{60, 70, 80, 100} {
		holds(t, a.CDF(x)*b.CDF(x), got, x, "the later of two")
	}
}

// The forecast's path has the standard deviation and the fading that are printed: 1, and
// a correlation of e^(−h/24) at h hours. Tolerance: four standard errors of 4000 paths.
func TestTheForecastsErrorFadesAsSaid(t *testing.T) {
	n := chain([]float64{0}, []float64{1})
	p, err := newPlayer(n, SpreadOptions{Forecast: true})
	require.NoError(t, err)
	const paths = 4000
	r := chance.Run(chance.Options{Plays: paths, Seed: 1, Workers: 1, Sources: numSources}, func() func([]*chance.Stream) [2]float64 {
		return func(src []*chance.Stream) [2]float64 {
			p.deal(src)
			return [2]float64{p.errors[100] * marginSD, p.errors[112] * marginSD}
		}
	})
	var sq, both float64
	for _, z := range r.Plays {
		sq, both = sq+z[0]*z[0]/paths, both+z[0]*z[1]/paths
	}
	rho := math.Exp(-0.5)
	assert.InDelta(t, 1, sq, 4*math.Sqrt(2.0/paths))
	assert.InDelta(t, rho, both, 4*math.Sqrt((1+rho*rho)/paths))
}
