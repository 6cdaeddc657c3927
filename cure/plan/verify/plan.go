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
// what it serves, every line that is printed.
type Plan struct {
	Job     *job.Job
	Classes map[string]*cure.Class // by id: every class the plan uses
	Chosen  map[string]string      // joint id → class id, where the job leaves the choice or layers name none
	Air     *cure.History          // read by At only

	Tasks []Task
	Lines []Line
	Gates []Gate
	Ready time.Time
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
	ID string
	At time.Time
}

// Fault is one broken rule.
type Fault struct {
	Rule string // short name of the rule
	Text string // what is wrong, in words with times
}
