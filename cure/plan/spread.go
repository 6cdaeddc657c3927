package plan

import (
	"errors"
	"math"
	"slices"
	"time"

	"beadline/cure"
	"beadline/cure/plan/chance"
)

// A plan is played many times with people keeping its order (spreadplay.go), on the
// network that it was built from (spreadnet.go, spreadpots.go), to say when the job is ready and
// whether the pots hold (spreadsum.go).
//
// What is left to chance, each source with numbers of its own:
//
//   - Task times: each task takes its planned time times a lognormal factor with median
//     1, on its own. Lognormal task times: D. Trietsch, L. Mazmanyan, L. Gevorgyan, K. R.
//     Baker, Eur. J. Oper. Res. 216 (2012) 386 (from memory). How wide: common practice,
//     no source.
//   - The forecast: where the air is not measured it is off by an error that fades within
//     a day (an Ornstein-Uhlenbeck path; the day is assumed), normal at every instant; the
//     job's air-margin is its 5 % point to either side, 1.645 standard deviations.
//   - The batch: a batch of a class takes a factor of the plain curve, the same place in
//     each milestone's own spread; triangular with its peak at the curve.
//
// People work to the plan. Each keeps the order of their tasks and starts none before
// its planned start: what scheduling under uncertainty calls railway scheduling, against
// the roadrunner who starts as soon as he can (S. Van de Vonder, E. Demeulemeester, W.
// Herroelen, J. Scheduling 10 (2007) 195; from memory). It is the honest choice here:
// inspectors and helpers come when the plan calls them, so a task that ends early gains
// nothing, and one that ends late is paid for in full. A task that is late starts as
// soon as its people are free and on shift, what it waits for is done, the sealant it
// waits for has really got there, by touch or witness cup, and the surface may be sealed
// in the air of that play. Nobody mixes a pot while its work is seen to be held up.
//
// A line that is missed is counted, and the play goes on as if it had been kept: what
// people would do then (clean, mix again) is a plan of its own.

// SpreadOptions say what is left to chance, and how much is played.
type SpreadOptions struct {
	Draws   int    // 1 or more
	Seed    uint64 // the same seed, the same answer
	Workers int    // goroutines; the answer does not depend on it. 0: one

	// Task is the standard deviation of the logarithm of a task's time, as a part: about
	// 68 of a hundred lie between 1/(1+Task) and 1+Task times the planned time.
	Task     float64
	Forecast bool // the forecast is left to chance
	Batch    bool // so are the batches

	Stop func() bool    // ends the draws early; nil: never
	Told func(done int) // told of draws that are done, from any goroutine; nil: nobody
}

// DefaultTaskSpread is how far task times spread unless said: a standard deviation of a
// fifth (common practice, no source).
const DefaultTaskSpread = 0.20

// AllSpread are the options that leave everything to chance.
func AllSpread(draws int, seed uint64) SpreadOptions {
	return SpreadOptions{Draws: draws, Seed: seed, Workers: 1, Task: DefaultTaskSpread, Forecast: true, Batch: true}
}

// marginSD is how many standard deviations of the forecast's error the air-margin is.
const marginSD = 1.645

// Spread is what came of playing a plan.
type Spread struct {
	Asked, Draws int
	Seed         uint64
	Task         float64   // as in SpreadOptions
	ForecastSD   float64   // °C; 0: the air holds no forecast, or it is not left to chance
	Batches      int       // batches that have a spread
	Until        time.Time // so far the air is followed

	Ready    Quantiles
	By       chance.Count // ready by the job's ready-by; Of is 0 where it has none
	ByInLine chance.Count // and with every line kept
	InLine   chance.Count // every pot's line and every limit is kept

	Mixes    []MixChance
	Limits   []LimitChance
	Cures    []CureChance
	Gates    []GateChance
	Overtime chance.Count // work runs past the end of a shift by more than five minutes

	Matters []Source // the larger share of the ready time first; nil: nothing varies
	LateBy  []Driver // what most often makes it late, most often first
	Late    chance.Count

	Assumed []string
}

// Quantiles are instants by which so many of the draws come; zero: later than the air
// was followed.
type Quantiles struct {
	P10, P50, P90   time.Time
	P90Low, P90High time.Time // where the true 90 % lies, with about 95 % confidence
}

// MixChance is how a pot fares.
type MixChance struct {
	Mix      string
	Spare    time.Duration // between its planned end and its line; 0 where it has no line
	HasLine  bool
	InLine   chance.Count // all its work is in by its line, counted from when it is mixed
	Workable chance.Count // all its work is in while the sealant really may be worked
}

// LimitChance is how often a limit other than a pot's is kept.
type LimitChance struct {
	What string
	Kept chance.Count
}

// CureChance is how a milestone of a joint comes.
type CureChance struct {
	Joint     string
	Milestone cure.Milestone
	Planned   time.Time // the line in the plan's table
	ByThen    chance.Count
	When      Quantiles
}

// GateChance is when a gate opens.
type GateChance struct {
	ID     string
	ByThen chance.Count // by its time in the plan
	When   Quantiles
}

// Source is one source of chance and what it has to do with the outcome.
type Source struct {
	Name  string       // "task times", "the forecast", "the batches"
	Ready chance.Share // of the variance of the ready time
	Lost  chance.Share // of the variance of the number of lines missed
}

// Driver is a task or a cure that made draws late.
type Driver struct {
	What  string
	Share float64 // of the late draws
}

// The sources of chance, in the order of their streams.
const (
	srcTasks = iota
	srcForecast
	srcBatches
	numSources
)

var sourceNames = [numSources]string{"task times", "the forecast", "the batches"}

// maxSwaps bounds how many pairs of draws are played again for the sources: their
// shares are told in whole per cent.
const maxSwaps = 1000

// errNoPlan says that there is nothing to play.
var errNoPlan = errors.New("there is no plan to play against chance")

// Play plays the plan against chance. Errors: there is no plan, or it holds something
// that cannot be played; no draw was made before it was stopped.
func (p *Plan) Play(o SpreadOptions) (*Spread, error) {
	if !p.Found || p.from == nil {
		return nil, errNoPlan
	}
	n, err := newNet(p.from)
	if err != nil {
		return nil, err
	}
	if _, err := newPlayer(n, o); err != nil {
		return nil, err
	}
	r := n.run(o)
	if len(r.Plays) == 0 {
		return nil, errors.New("it was stopped before a draw was made")
	}
	return n.sum(o, r), nil
}

// run makes the draws, with players that are known to be possible.
func (n *net) run(o SpreadOptions) chance.Result[outcome] {
	return chance.Run(chance.Options{Plays: o.Draws, Seed: o.Seed, Workers: max(1, o.Workers), Sources: numSources,
		Swaps: maxSwaps, Stop: o.Stop, Told: o.Told}, func() func([]*chance.Stream) outcome {
		w, err := newPlayer(n, o)
		if err != nil {
			panic("plan: " + err.Error())
		}
		return w.play
	})
}

// seconds is an instant of the plan's grid in seconds since the job's start.
func seconds(t int) float64 { return float64(t) * tick.Seconds() }

// instant is the reverse; what never comes is the zero time.
func (n *net) instant(u float64) time.Time {
	if math.IsInf(u, 1) {
		return time.Time{}
	}
	return n.b.j.Start.Add(time.Duration(math.Round(u)) * time.Second)
}

// quantiles are those of instants in seconds, in any order.
func (n *net) quantiles(u []float64) Quantiles {
	slices.Sort(u)
	low, high := chance.QuantileRange(u, 0.9)
	return Quantiles{n.instant(chance.Quantile(u, 0.1)), n.instant(chance.Quantile(u, 0.5)), n.instant(chance.Quantile(u, 0.9)),
		n.instant(low), n.instant(high)}
}
