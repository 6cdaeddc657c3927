package chance

import (
	"math"
	"slices"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"
)

// dealt plays a source that says what it was dealt.
func dealt(o Options) Result[[4]float64] {
	return Run(o, func() func([]*Stream) [4]float64 {
		return func(src []*Stream) [4]float64 {
			return [4]float64{src[0].Normal(), src[0].Uniform(), src[1].Normal(), src[1].Uniform()}
		}
	})
}

func TestARunIsTheSameWhateverItsWorkers(t *testing.T) {
	o := Options{Plays: 501, Seed: 3, Workers: 1, Sources: 2, Swaps: 100}
	want := dealt(o)
	require.Len(t, want.Plays, 501)
	require.Len(t, want.Swapped, 100)
	for _, o.Workers = range []int{2, 7, 1000} {
		assert.Equal(t, want, dealt(o), "%d workers", o.Workers)
	}
	o.Seed = 4
	assert.NotEqual(t, want.Plays[0], dealt(o).Plays[0], "another seed")
}

// More plays go on where fewer ended.
func TestMorePlaysBeginWithTheSame(t *testing.T) {
	few := dealt(Options{Plays: 100, Seed: 3, Workers: 2, Sources: 2})
	many := dealt(Options{Plays: 300, Seed: 3, Workers: 2, Sources: 2})
	assert.Equal(t, few.Plays, many.Plays[:100])
}

func TestASwapChangesItsSourceAlone(t *testing.T) {
	r := dealt(Options{Plays: 40, Seed: 9, Workers: 2, Sources: 2, Swaps: 20})
	for i, s := range r.Swapped {
		a, b := r.Plays[2*i], r.Plays[2*i+1]
		assert.Equal(t, [4]float64{b[0], b[1], a[2], a[3]}, s[0])
		assert.Equal(t, [4]float64{a[0], a[1], b[2], b[3]}, s[1])
	}
}

func TestAStoppedRunGivesWhatItHasWithoutAHole(t *testing.T) {
	var asked atomic.Int32
	o := Options{Plays: 1000, Seed: 3, Workers: 3, Sources: 2, Stop: func() bool { return asked.Add(1) > 60 }}
	r := dealt(o)
	require.NotEmpty(t, r.Plays)
	require.LessOrEqual(t, len(r.Plays), 120)
	o.Stop = nil
	assert.Equal(t, dealt(o).Plays[:len(r.Plays)], r.Plays)
	o.Stop = func() bool { return true }
	assert.Empty(t, dealt(o).Plays)
}

func TestToldAddsUpToThePlays(t *testing.T) {
	for _, plays := range []int{1, 2, 7, 100} {
		var n atomic.Int64
		dealt(Options{Plays: plays, Workers: 2, Sources: 2, Told: func(k int) { n.Add(int64(k)) }})
		assert.EqualValues(t, plays, n.Load())
	}
}

// What is dealt has the moments of its distribution, and neighbouring plays, hands and
// sources have nothing to do with each other. Tolerance: four standard errors.
func TestStreamsDealWhatTheySay(t *testing.T) {
	const n = 40000
	r := dealt(Options{Plays: n, Seed: 5, Workers: 2, Sources: 2})
	var mean, sq, pair, other float64
	var u []float64
	for i, x := range r.Plays {
		mean, sq, other = mean+x[0], sq+x[0]*x[0], other+x[0]*x[2]
		if i > 0 {
			pair += x[0] * r.Plays[i-1][0]
		}
		u = append(u, x[1])
	}
	se := 1 / math.Sqrt(n)
	assert.InDelta(t, 0, mean/n, 4*se)
	assert.InDelta(t, 1, sq/n, 4*math.Sqrt2*se)
	assert.InDelta(t, 0, pair/n, 4*se, "a play and the next")
	assert.InDelta(t, 0, other/n, 4*se, "a source and the next")
	slices.Sort(u)
	worst := 0.0
	for i, v := range u {
		worst = max(worst, math.Abs(v-(float64(i)+0.5)/n))
	}
	assert.Less(t, worst, 1.95*se, "Kolmogorov's 0.1 % point")
}

// The triangular quantile against Gonum's.
func TestTriangleIsTheTriangularDistribution(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.Float64Range(-2, 2).Draw(t, "lo")
		mode := lo + rapid.Float64Range(0, 3).Draw(t, "to the mode")
		hi := mode + rapid.Float64Range(0.01, 3).Draw(t, "to the top")
		u := rapid.Float64Range(0, 1).Draw(t, "u")
		want := distuv.NewTriangle(lo, hi, mode, nil).Quantile(u)
		if got := Triangle(u, lo, mode, hi); math.Abs(got-want) > 1e-9 {
			t.Fatalf("%v, not %v", got, want)
		}
	})
	assert.Equal(t, 1.0, Triangle(0.7, 1, 1, 1), "nothing varies")
}

// The 95 % range of a quantile holds the true one in about 95 of a hundred samples.
func TestQuantileRangeHoldsTheTrueQuantile(t *testing.T) {
	const times, n = 400, 300
	r := Run(Options{Plays: times, Seed: 2, Workers: 2, Sources: 1}, func() func([]*Stream) bool {
		return func(src []*Stream) bool {
			x := make([]float64, n)
			for i := range x {
				x[i] = src[0].Uniform()
			}
			slices.Sort(x)
			low, high := QuantileRange(x, 0.9)
			return low <= 0.9 && 0.9 <= high
		}
	})
	var c Count
	for _, held := range r.Plays {
		c.Add(held)
	}
	assert.InDelta(t, 0.95, c.Share(), 4*math.Sqrt(0.95*0.05/times))
	assert.Equal(t, 5.0, Quantile([]float64{1, 2, 3, 4, 5, 6, 7, 8, 9, 10}, 0.5), "half of ten reach the fifth")
	assert.Equal(t, 9.0, Quantile([]float64{1, 2, 3, 4, 5, 6, 7, 8, 9, 10}, 0.9))
	assert.Equal(t, 1.0, Quantile([]float64{1}, 0.9))
}

func TestSharesOfWhatDoesNotVaryAreNotSaid(t *testing.T) {
	r := Run(Options{Plays: 100, Workers: 1, Sources: 1, Swaps: 50}, func() func([]*Stream) float64 { return func([]*Stream) float64 { return 4 } })
	_, ok := Shares(r, 1, func(f float64) float64 { return f })
	assert.False(t, ok)
	_, ok = Shares(Result[float64]{}, 1, func(f float64) float64 { return f })
	assert.False(t, ok)
}

func TestACountOfNothingLeavesAllOpen(t *testing.T) {
	low, high := Count{}.Range()
	assert.Equal(t, [2]float64{0, 1}, [2]float64{low, high})
	low, high = Count{7, 7}.Range()
	assert.Equal(t, 1.0, high)
	assert.Greater(t, low, 0.6)
}
