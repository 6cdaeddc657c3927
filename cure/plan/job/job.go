// Package job is the job file: what is open, who is there, when they work, what
// the air is expected to do, and when the aircraft is wanted. It decodes a job
// from bytes and checks it; it reads no file and knows no clock.
//
// A job that Decode accepts is whole and consistent: ids are unique and resolved,
// seal types and classes fit, amounts are positive, somebody has each skill that
// is asked for, and no task waits for itself.
package job

import (
	"time"

	"beadline/cure"

	"github.com/rickb777/date"
	"github.com/rickb777/date/clock"
)

// Job is one piece of work: joints to close and the way back to flight.
type Job struct {
	ID    string // "job:" the work order or task number
	Title string
	Zone  *time.Location // all local times of the file; required

	Start   time.Time // nobody works before this
	ReadyBy time.Time // zero: as early as can be

	Air       []AirPiece // in time order; at least one
	AirMargin float64    // °C, on forecasts; 2 unless said
	Part      Part       // the structure, where it is not simply at air temperature
	Mixing    Mixing

	Crew   []Person
	Shifts []Shift

	Joints []Joint
	Access []Access // in the order it came off
	Covers []Cover
	Renew  []Item
	Checks []Check
	Gates  []Gate
	Ready  string // the id of the gate that counts as ready

	Assumed []string // what was not said and how it was taken, in plain words
	File    string   // the name the job was read under, for messages
}

// AirPiece is one stretch of the air history. Exactly one of Log, Swing, Constant
// and Forecast is set.
type AirPiece struct {
	Log      string // file name of a measured log, relative to the job file
	Forecast string // file name of a forecast in the same CSV form
	Swing    *Swing
	Constant *cure.Air
	Line     int
}

// Swing is a forecast of night and day, alike on every day. Exactly one of DewC and
// RH is a number; the dew point is never above LowC.
type Swing struct {
	LowC, HighC float64     // °C
	Warmest     clock.Clock // local time of HighC; LowC is twelve hours away
	DewC        float64     // °C, dew point; NaN: RH is given instead
	RH          float64     // % RH, held through the day; NaN: DewC is given
}

// Part is the structure the sealant sits on.
type Part struct {
	Set bool          // the file has a part: section
	AtC float64       // °C at the job's start
	Tau time.Duration // time constant: 63 % of a difference to the air is gone in that time
}

// Mixing is how pots are made.
type Mixing struct {
	RoomC float64       // °C where the pot is mixed and stands; 23 unless said
	AddsC float64       // °C that stirring adds; 0 unless said
	Takes time.Duration // by hand 5 to 10 min; 8 min unless said
	MaxML float64       // largest pot, ml; 0: no limit said
	Waste float64       // fraction of each mix that never reaches the joint; 0.15 unless said
	Can   string        // skill; "seal" unless said
}

// Person is one of the crew.
type Person struct {
	Who  string
	Can  []string
	Away []Window // absent, in local time
	Line int
}

// Has reports whether the person has a skill.
func (p Person) Has(skill string) bool {
	for _, c := range p.Can {
		if c == skill {
			return true
		}
	}
	return false
}

// Window is a stretch of time, From included and To not.
type Window struct{ From, To time.Time }

// Shift is a stretch of working time, on given weekdays or dates.
type Shift struct {
	Days     [7]bool     // by time.Weekday
	Dates    []date.Date // instead of Days
	From, To clock.Clock // local; To ≤ From runs over midnight
	Breaks   [][2]clock.Clock
	Who      []string // empty: everyone
	Overtime bool     // hours that are used only if that makes the job ready sooner
	Line     int
}

// Joint is one joint to seal and close.
type Joint struct {
	ID        string
	Classes   []string // at least one unless every layer names its own; more: the plan chooses
	Layers    []Layer  // in order
	Fasteners *Fasteners
	Prepare   []Prep // in order
	Warm      *Warm
	Heat      *Heat
	Part      *Part    // overrides the job's
	Inspect   Inspect  // the inspection once tack-free, before it is hidden
	After     []Ref    // wet work waits for these
	HiddenBy  []string // access items that hide it, as said here or by their hides
	NearFuel  *bool    // nil: not said, taken as near; heat then needs a recorded gas-free state
	Batch     string   // to be checked against the register; "" not named
	Line      int
}

// Layer is one application of sealant in a joint.
type Layer struct {
	Seal     cure.Seal
	Class    string // "": the joint's
	Mix      string // layers that name the same mix share one pot; "": pots of its own
	Bead     Bead
	Spread   time.Duration  // laying the whole layer
	Each     time.Duration  // laying per fastener; used when Spread is 0
	After    cure.Milestone // of the layer before; AfterSet says whether given
	AfterSet bool
	Within   time.Duration // laid no later than this after that milestone; 0: no limit
	Can      string        // skill; "seal" unless said
	Line     int
}

// Bead is the sealant of a layer as drawn.
type Bead struct {
	AreaMM2       float64 // faying: area
	ThicknessMM   float64 // faying: film; others: depth
	LengthMM      float64 // fillet: length
	LegMM         float64 // fillet: leg; the section is leg²/2
	PerFastenerML float64 // overcoat, wet-install: volume for each fastener
	Faces         int     // faces open to the air; 0: by seal type
}

// Fasteners are what closes the joint.
type Fasteners struct {
	Count        int
	Studs, Bolts int           // of which; 0 when not said
	Each         time.Duration // for one fastener in one pass
	Passes       int           // 1 unless said
	People       int           // how many torque at the same time; 1 unless said
	Torque       Torque
	Value        string // recorded, never calculated
	Reference    string
	Nut          string // self-locking nut that is renewed one for one; "": none
	Can          string // skill; "torque" unless said
}

// Torque says when the fasteners are torqued.
type Torque string

// The torque times.
const (
	TorqueWet      Torque = "wet"             // while the sealant is wet
	TorqueTackFree Torque = "after tack-free" // formed-in-place gaskets only
	TorqueCured    Torque = "after cure"      // formed-in-place gaskets only
)

// PrepKind is a kind of preparation.
type PrepKind string

// The preparation steps.
const (
	Strip    PrepKind = "strip"
	Clean    PrepKind = "clean"
	Examine  PrepKind = "inspect"
	Promoter PrepKind = "promoter"
	Mask     PrepKind = "mask"
)

// Prep is one preparation step.
type Prep struct {
	Kind       PrepKind
	Takes      time.Duration // hands-on
	Dry        time.Duration // promoter: after that, before sealing
	Within     time.Duration // clean: seal within; promoter: seal within; 0: no limit
	Can        string        // skill; "seal", for inspect "inspect", unless said
	Splittable bool
	Line       int
}

// Warm is warming the structure before sealing, a task of its own.
type Warm struct {
	ToC   float64
	Takes time.Duration
	Line  int
}

// Heat is accelerated cure after the wet work.
type Heat struct {
	ToC     float64
	From    HeatFrom
	GasFree bool          // a gas-free state is recorded
	SetUp   time.Duration // hands-on; 15 min unless said
	Can     string        // skill; "seal" unless said
	Line    int
}

// HeatFrom says when heat may start.
type HeatFrom string

// The starts of heat.
const (
	HeatAfterTackFree HeatFrom = "after-tack-free"
	HeatAfterFlashOff HeatFrom = "after-flash-off" // the class's flash-off time
)

// Inspect is a joint's inspection.
type Inspect struct {
	Takes time.Duration // 10 min unless said
	Can   string        // "inspect" unless said
}

// Access is a panel, fairing or plate that came off and goes back.
type Access struct {
	Off        string // its name, as it came off
	Takes      time.Duration
	Crew       int      // technicians at once; 1 unless said
	Hides      []string // joint ids, as said here or by their hidden-by
	After      []Ref    // replaces the reverse order of removal for this item; nil: that order; empty: none (see BackOnFirst)
	StaysOff   bool     // not put back within this job
	Can        string   // skill; "panel" unless said
	Splittable bool
	Line       int
}

// Cover is protection that was fitted and must be accounted for.
type Cover struct {
	What  string
	Takes time.Duration // 2 min unless said
}

// Item is hardware that is renewed.
type Item struct {
	Item  string
	Count int
}

// Check is a task after the joints: a leak check, a function test.
type Check struct {
	ID         string
	After      []Ref
	Takes      time.Duration
	Crew       int    // 1 unless said
	Can        string // "inspect" unless said
	Splittable bool
	Line       int
}

// Gate is an earliest time of its own: close, refuel, pressurise, fly.
type Gate struct {
	ID    string
	Needs []Ref
	Line  int
}

// RefKind says what a reference points at.
type RefKind uint8

// What a reference can point at.
const (
	RefMilestone RefKind = iota // a joint's milestone, not-before
	RefCheck                    // a check is done
	RefAccess                   // an access item is back on
	RefGate                     // another gate
	RefCovers                   // all covers are accounted for ("covers")
)

// Ref is something that must be so first: "fuel-bay door cure", "leak check".
type Ref struct {
	Kind      RefKind
	ID        string         // joint, check, access item or gate
	Milestone cure.Milestone // for RefMilestone
	Text      string         // as written
}
