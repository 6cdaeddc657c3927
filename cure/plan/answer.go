package plan

import (
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
	"beadline/cure/plan/solve"
)

// Plan is the answer. Where the job's wish cannot be met, Infeasible says why, and
// the rest holds the earliest plan without the wish, if there is one.
type Plan struct {
	Job        *job.Job
	Infeasible *Infeasible

	Found       bool      // tasks and times are filled in
	Ready       time.Time // earliest found
	Bound       time.Time // no plan is earlier
	Proven      bool      // Ready is Bound: no plan is earlier
	ProvenGoals []string  // reached as far as can be, in order: see Goals
	Stopped     bool      // the search was stopped by the clock: another run may find another plan
	BeginBy     time.Time // nobody need begin before this to be ready by Until, if all is planned again
	Until       time.Time // what latest times and slack are counted to: ready-by if that can be met, else Ready

	Joints    []Joint
	Gates     []Gate
	Mixes     []Mix
	Tasks     []Task // in order of start
	Renew     []job.Item
	Materials []Material
	HeldBy    []Share

	Assumptions []string
	Classes     []string          // ids used, sorted
	Chosen      map[string]string // joint → class
	Air         *cure.History
	Spread      *Spread // filled in by whoever has it played (Play); nil: it was not

	HeldInWords []string // what holds the ready time, in one or two sentences

	from   *built   // what was found, in the ways that were taken
	made   *built   // the same among all the ways there were
	failed []*built // the ways where nothing was found
}

// Goals name what a plan is to be good at, the first first: ready as early as can be, in
// the fewest mixes, with the least overtime, each pot standing the shortest before it is
// used (or, where asked, made as late as can be), and with the fewest changes of hands.
var Goals = map[solve.Goal]string{solve.ReadyEarly: "ready", solve.LeastCost: "mixes", solve.LeastSpare: "overtime",
	solve.LatestCost: "late-mixes", solve.Fresh: "fresh-mixes", solve.SameHands: "same-hands"}

// Joint is the row of the table that people work to.
type Joint struct {
	ID         string
	Class      string
	MixBy      time.Time // the first mix is started, as planned: the lines below count from there; zero: no mix
	TorqueFrom time.Time // zero: no fasteners
	TorqueTo   time.Time // last fastener done by, as planned: the lines below count from it
	Windows    []Window  // torque, pot by pot
	CloseFrom  time.Time // covers may go near
	FlyFrom    time.Time // earliest flight as far as this joint goes
	FlyNeeds   cure.Milestone
	ByWitness  bool // tack-free and later only with a reading of the witness cup
	Heated     bool
	Lines      []Line
	Sittings   []Sitting // in order
}

// Sitting is a stretch of wet work at a joint: layers laid one after the other while it
// is open before people. A layer that waits for one before it begins the next.
type Sitting struct {
	First, Last int       // the layers, by index
	From        time.Time // its first pot is started, or its first sealant laid where it comes ready to use
	To          time.Time // last sealant laid and last fastener torqued wet
	TackFree    time.Time // all of it, not before; zero: not within the air history
}

// Window is when the fasteners that sit in one pot are torqued.
type Window struct {
	Mix       string    // "" for a gasket, which is torqued when it has cured
	MixAt     time.Time // start mixing no later than; zero for a gasket
	From, To  time.Time // planned: covers and flight count from its end
	Line      time.Time // the pot's line; zero for a gasket. Past To the plan slips, past Line the joint is lost
	Fasteners int
}

// Line is a milestone of a joint on the plan.
type Line struct {
	Milestone cure.Milestone
	At        time.Time
	LikelyAt  time.Time // the plain curve; zero: not within the history
	ByWitness bool
	From      string // what it rests on
}

// Gate is an earliest time of its own.
type Gate struct {
	ID        string
	From      time.Time
	Needs     []string
	ByWitness bool
}

// Mix is one pot.
type Mix struct {
	ID     string
	Class  string
	At     time.Time     // as planned
	By     time.Time     // latest with the rest planned again: ready no later, or by ready-by
	DoneBy time.Time     // last sealant laid and last fastener in by, when mixed at At
	Lasts  time.Duration // from first touch to the pot's line; 0: no line
	Shift  bool          // DoneBy is the end of the shift, sooner than the pot's line
	Serves []string
	Joints []string // ids of the joints it serves
	ML     float64  // to mix, waste included; 0: not stated
	Grams  float64  // 0: not known
}

// TaskKind is what a task is; the names are those of the checker.
type TaskKind string

// Task is one piece of work on the plan.
type Task struct {
	ID         string
	Kind       TaskKind
	Joint      string
	Layer      int
	Index      int
	Mix        string
	Units      float64
	Ref        string
	Who        []string
	Start, End time.Time
	Labour     time.Duration // hands-on time times people
	Overtime   time.Duration // of its time that lies in overtime shifts
	Slack      time.Duration // how much later it may start, people and order as planned, with the job ready by Until
}

// Material is what one class needs in all.
type Material struct {
	Class string
	Pots  int
	ML    float64 // waste included; 0: no amounts stated
	Grams float64
	Part  bool // some beads have no amount stated
}

// Share is a part of the way to the ready time.
type Share struct {
	What string
	For  time.Duration
}

// Infeasible says why a wish cannot be met and what would.
type Infeasible struct {
	Because  []string
	Set      []Demand // that no plan keeps together; nil: not worked out, or an obstacle says it
	Minimal  bool     // any one of Set dropped, a plan keeps the others
	Changes  []Change // the smallest of each kind that will do
	Fixes    []Fix
	Proven   bool      // no plan does as asked
	Earliest time.Time // zero: there is no plan at all

	clash *clash
}

// Fix is a change that was planned in full.
type Fix struct {
	What  string
	Ready time.Time
	Meets bool // the wish is met; false: it only helps
}
