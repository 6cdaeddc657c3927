package plan

import (
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
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
	ProvenGoals []string

	Joints    []Joint
	Gates     []Gate
	Mixes     []Mix
	Tasks     []Task // in order of start
	Renew     []job.Item
	Materials []Material
	Batches   []Batch // filled in by whoever knows the shelf
	HeldBy    []Share

	Assumptions []string
	Classes     []string          // ids used, sorted
	Chosen      map[string]string // joint → class
	Air         *cure.History
	Spread      *Spread // filled in by whoever has it played (Play); nil: it was not

	from *built // what it was read from, to be played; nil: it was not found
}

// Joint is the row of the table that people work to.
type Joint struct {
	ID         string
	Class      string
	MixBy      time.Time // start mixing no later than, in this plan; zero: no mix
	TorqueFrom time.Time // zero: no fasteners
	TorqueTo   time.Time // last fastener done by, as planned: the lines below count from it
	Windows    []Window  // torque, pot by pot
	CloseFrom  time.Time // covers may go near
	FlyFrom    time.Time // earliest flight as far as this joint goes
	FlyNeeds   cure.Milestone
	ByWitness  bool // tack-free and later only with a reading of the witness cup
	Heated     bool
	Lines      []Line
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
	At     time.Time     // planned, as late as the rest of the plan lets it
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
}

// Material is what one class needs in all.
type Material struct {
	Class string
	Pots  int
	ML    float64 // waste included; 0: no amounts stated
	Grams float64
	Part  bool // some beads have no amount stated
}

// Batch is what the shelf says of a batch that the job names for a joint.
type Batch struct {
	Joint, Batch string
	Verdict      string // use, hold or reject
	Reason       string
	On           time.Time // the day that decides: the last it is mixed on, if it is good
}

// Share is a part of the way to the ready time.
type Share struct {
	What string
	For  time.Duration
}

// Infeasible says why a wish cannot be met and what would.
type Infeasible struct {
	Because  []string
	Fixes    []Fix
	Proven   bool
	Earliest time.Time // zero: there is no plan at all
}

// Fix is a change that was planned in full.
type Fix struct {
	What  string
	Ready time.Time
	Meets bool // the wish is met; false: it only helps
}
