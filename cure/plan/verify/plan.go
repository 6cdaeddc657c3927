// Package verify checks a finished plan against the rules of the trade and the
// job file, and believes nothing of how the plan was found: it imports neither the
// search nor the planner's lag code, follows the structure's temperature by small
// steps and adds up cure by plain quadrature.
package verify

import (
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
)

// Plan is a plan laid open for checking: every task with its people, every pot with
// what it serves, every line, gate and row that is printed.
type Plan struct {
	Job     *job.Job
	Classes map[string]*cure.Class // by id: every class the plan uses
	Chosen  map[string]string      // joint id → class id, where the job leaves the choice or layers name none
	Air     *cure.History          // read by At only

	Tasks []Task
	Lines []Line
	Gates []Gate
	Ready time.Time
	Rows  []Row // one for each joint, as the planner always fills it; nil: none is checked
}

// Kind is what a task is.
type Kind string

// The kinds of tasks.
const (
	Prepare Kind = "prepare" // Index: which step of the joint's prepare list
	Warm    Kind = "warm"    // Layer: the first layer laid on the warmed structure
	Mix     Kind = "mix"     // Mix: the pot
	Lay     Kind = "lay"     // Joint, Layer, Mix, Units
	Torque  Kind = "torque"  // Joint, Layer, Mix (the pot its fasteners sit in; "" after cure), Units
	Heat    Kind = "heat"    // set-up of heat at a joint; heat is on from its end until cured
	Inspect Kind = "inspect" // inspection of a joint
	Access  Kind = "access"  // Ref: what goes back on
	Covers  Kind = "covers"  // all covers accounted for
	Check   Kind = "check"   // Ref: the check's id
)

// Task is one piece of work.
type Task struct {
	Kind  Kind
	Joint string
	Layer int // index into the joint's layers
	Index int
	Mix   string  // id of the pot
	Units float64 // fasteners, or for a length or an area its fraction of the layer (0..1)
	Ref   string

	Who        []string
	Start, End time.Time
}

// Line is a milestone that the plan prints for a joint: not before At.
type Line struct {
	Joint     string
	Milestone cure.Milestone
	At        time.Time
	ByWitness bool // only with a witness reading
	Heated    bool // counted with the joint's heat on
}

// Gate is an earliest time that the plan prints.
type Gate struct {
	ID        string
	At        time.Time
	ByWitness bool // it waits for a milestone that only a witness reading tells
}

// Row is what the plan prints for a joint, beside its lines.
type Row struct {
	Joint     string         // the joint's id
	MixBy     time.Time      // start mixing the first pot no later than: its planned start; zero if it is used as it comes
	TorqueTo  time.Time      // last fastener done by; zero: the joint has no fasteners
	CloseFrom time.Time      // may be hidden: not before it is tack-free
	FlyFrom   time.Time      // not before its own line of FlyNeeds
	FlyNeeds  cure.Milestone // the furthest of this joint that the ready gate waits for; tack-free if none
	ByWitness bool           // tack-free or FlyNeeds is told by a witness reading only
	Pots      []PotRow       // one for each pot the joint is laid from
}

// PotRow is what the plan prints for a pot of a joint.
type PotRow struct {
	Mix    string    // id of the pot
	At     time.Time // when it is mixed: its planned start; zero if it is used as it comes
	DoneBy time.Time // all its sealant laid and the last fastener that sits in it in, for every joint it serves
}

// Fault is one broken rule.
type Fault struct {
	Rule string // short name of the rule
	Text string // what is wrong, in words with times
}
