package show

import (
	"math"
	"time"

	"beadline/cure/plan"
	"beadline/cure/plan/chance"
)

// spreadJSON is the shape of `spread` in a plan for programs. Shares are 0 to 1.
type spreadJSON struct {
	Draws      int               `json:"draws"`
	Asked      int               `json:"asked"` // more than draws where it was stopped
	Seed       uint64            `json:"seed"`
	TaskSpread float64           `json:"task-spread"`
	ForecastSD float64           `json:"forecast-sd-c"`
	Until      time.Time         `json:"followed-until"`
	Ready      whenJSON          `json:"ready"`
	ReadyBy    *readyByJSON      `json:"ready-by"`
	InLine     chanceJSON        `json:"all-lines-kept"`
	Overtime   chanceJSON        `json:"overtime"`
	Mixes      []mixChanceJSON   `json:"mixes"`
	Limits     []limitChanceJSON `json:"limits"`
	Lines      []cureChanceJSON  `json:"lines"`
	Gates      []gateChanceJSON  `json:"gates"`
	Matters    []mattersJSON     `json:"matters"`
	Late       chanceJSON        `json:"late"`
	LateBy     []driverJSON      `json:"late-by"`
	Rests      []string          `json:"assumptions"`
}

// whenJSON is instants by which a tenth, half and nine tenths of the draws came; null:
// after followed-until. low and high hold the true nine tenths, with 95 % confidence.
type whenJSON struct {
	P10     *time.Time `json:"p10"`
	P50     *time.Time `json:"p50"`
	P90     *time.Time `json:"p90"`
	P90Low  *time.Time `json:"p90-low"`
	P90High *time.Time `json:"p90-high"`
}

// chanceJSON is how often something came true; low and high hold the true share, with
// 95 % confidence.
type chanceJSON struct {
	Kept  int     `json:"kept"`
	Of    int     `json:"of"`
	Share float64 `json:"share"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

type readyByJSON struct {
	At     time.Time  `json:"at"`
	Made   chanceJSON `json:"made"`
	InLine chanceJSON `json:"made-with-all-lines-kept"`
}

type mixChanceJSON struct {
	ID       string     `json:"id"`
	Spare    *int64     `json:"spare-seconds"` // null: the pot has no line
	InLine   chanceJSON `json:"by-its-line"`
	Workable chanceJSON `json:"while-workable"`
}

type limitChanceJSON struct {
	What string     `json:"what"`
	Kept chanceJSON `json:"kept"`
}

type cureChanceJSON struct {
	Joint     string     `json:"joint"`
	Milestone string     `json:"name"`
	Planned   *time.Time `json:"planned"`
	ByThen    chanceJSON `json:"there-by-then"`
	When      whenJSON   `json:"when"`
}

type gateChanceJSON struct {
	ID      string     `json:"id"`
	Planned *time.Time `json:"planned"`
	ByThen  chanceJSON `json:"there-by-then"`
	When    whenJSON   `json:"when"`
}

type mattersJSON struct {
	Source string    `json:"source"`
	Ready  sobolJSON `json:"of-ready"`
	Lost   sobolJSON `json:"of-lines-missed"`
}

// sobolJSON are the first-order and the total index, and their standard error.
type sobolJSON struct {
	First float64 `json:"first-order"`
	Total float64 `json:"total"`
	Error float64 `json:"error"`
}

type driverJSON struct {
	What  string  `json:"what"`
	Share float64 `json:"share"`
}

func spreadShape(p *plan.Plan, z *time.Location) *spreadJSON {
	x := p.Spread
	if x == nil {
		return nil
	}
	at := func(t time.Time) *time.Time {
		if t.IsZero() {
			return nil
		}
		u := t.In(z)
		return &u
	}
	when := func(q plan.Quantiles) whenJSON {
		return whenJSON{at(q.P10), at(q.P50), at(q.P90), at(q.P90Low), at(q.P90High)}
	}
	o := &spreadJSON{Draws: x.Draws, Asked: x.Asked, Seed: x.Seed, TaskSpread: x.Task, ForecastSD: six(x.ForecastSD), Until: x.Until.In(z),
		Ready: when(x.Ready), InLine: chanceShape(x.InLine), Overtime: chanceShape(x.Overtime), Late: chanceShape(x.Late), Rests: list(x.Assumed),
		Mixes: []mixChanceJSON{}, Limits: []limitChanceJSON{}, Lines: []cureChanceJSON{}, Gates: []gateChanceJSON{}, Matters: []mattersJSON{}, LateBy: []driverJSON{}}
	if x.By.Of > 0 {
		o.ReadyBy = &readyByJSON{p.Job.ReadyBy.In(z), chanceShape(x.By), chanceShape(x.ByInLine)}
	}
	for _, m := range x.Mixes {
		o.Mixes = append(o.Mixes, mixChanceJSON{m.Mix, secondsOf(m.Spare, m.HasLine), chanceShape(m.InLine), chanceShape(m.Workable)})
	}
	for _, l := range x.Limits {
		o.Limits = append(o.Limits, limitChanceJSON{l.What, chanceShape(l.Kept)})
	}
	for _, c := range x.Cures {
		o.Lines = append(o.Lines, cureChanceJSON{c.Joint, c.Milestone.String(), at(c.Planned), chanceShape(c.ByThen), when(c.When)})
	}
	for i, g := range x.Gates {
		o.Gates = append(o.Gates, gateChanceJSON{g.ID, at(p.Gates[i].From), chanceShape(g.ByThen), when(g.When)})
	}
	for _, m := range x.Matters {
		o.Matters = append(o.Matters, mattersJSON{m.Name, sobolShape(m.Ready), sobolShape(m.Lost)})
	}
	for _, d := range x.LateBy {
		o.LateBy = append(o.LateBy, driverJSON{d.What, six(d.Share)})
	}
	return o
}

func chanceShape(c chance.Count) chanceJSON {
	low, high := c.Range()
	return chanceJSON{c.Kept, c.Of, six(c.Share()), six(low), six(high)}
}

func sobolShape(s chance.Share) sobolJSON {
	return sobolJSON{six(s.First), six(s.Total), six(s.Error)}
}

// six rounds to six decimals: what stands behind them is arithmetic.
func six(v float64) float64 { return math.Round(v*1e6) / 1e6 }
