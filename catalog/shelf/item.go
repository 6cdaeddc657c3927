package shelf

import (
	"time"

	"github.com/rickb777/date"
	"github.com/rickb777/date/period"

	"beadline/catalog/label"
)

// Item is one batch, or one container of it, as its label and its records say: all
// that the limits are worked out from, and no verdict. A zero label.Date means that
// there is none. Dates known to the minute are on the clock of the place where the
// batch is.
type Item struct {
	Batch     string
	Container string // its number or name within the batch, or ""
	Class     string // class id

	// Code is the US DoD shelf-life code on the label, one letter or digit, or "".
	Code string
	// Standard and Polymer are of elastomer seals: the standard that governs their
	// storage life (StandardISO2230, StandardSAE5316) and the polymer (NBR, FKM); ""
	// where not known.
	Standard Standard
	Polymer  string

	DOM        label.Date // date of manufacture, assembly or cure
	Expiry     label.Date // printed expiry
	Inspect    label.Date // printed inspect/test date
	BestBefore label.Date // printed best-before date

	// Parts are the parts of a kit, where their own lots or dates are known.
	Parts []Part

	Received  Receipt
	Opened    label.Date
	Installed label.Date   // fitted to the aircraft: the earlier of shelf and installed life counts
	Thawed    []label.Date // each time it left the freezer, in any order
	Refrozen  []label.Date // each time it went back, in any order

	// ThawCount is how often it was thawed, where more thaws are known of than
	// have a date in Thawed; otherwise zero.
	ThawCount int

	// OutUsed is the time out of the freezer that is recorded on the container itself.
	// It covers the thaws before OutAsOf, or, with that zero, those before the last of
	// Thawed; with no such thaw on record it tells of one, nobody knows when. With zero,
	// and no return to the freezer recorded, the batch counts as out since the first of
	// Thawed.
	OutUsed time.Duration
	OutAsOf label.Date

	Tests     []Test    // of its condition, passed and failed
	Storage   []Storage // how it was stored: logs, and single spells that were noticed
	Condition Condition // what is wrong with the pack or what is in it
	// ConditionOn is when that was last seen; zero: not said.
	ConditionOn label.Date

	// Held is why a person set the batch aside ("left on the ramp at 41 C"), or "".
	// HeldOn is when, the last time; zero: not said.
	Held   string
	HeldOn label.Date
	// Freed are the holds that a person with authority has lifted.
	Freed []Freed

	// Scrapped is why it was taken out of stock for good, or "".
	Scrapped string
}

// Part is one part of a kit.
type Part struct {
	Name   string // "base", "accelerator"
	Lot    string // as on the part
	Kit    string // the lot or batch that the kit's label names for this part; "": not said
	From   string // the number of the kit that this part came out of; "": not said
	DOM    label.Date
	Expiry label.Date
}

// Receipt is the arrival of a batch in the store.
type Receipt struct {
	On label.Date // zero: not recorded
	// NoPapers: it came without a certificate.
	NoPapers bool
}

// Test is a test of a batch past, or near, its date, by which its life may be
// extended. An extension needs all of By, Authority, Reference and Results.
type Test struct {
	On        label.Date
	Passed    bool
	By        string // who tested
	Authority string // who may extend, such as "quality office"
	Reference string // the report or order
	Results   string // what was measured: "application time 2 h 10, Shore A 48 at 72 h"
	// To is the last day that the authority gives, or zero: then by as much as the
	// class allows. One before every end on the label counts too: past it the batch is
	// held. Span is the span it gives, or zero.
	To   label.Date
	Span period.Period
	// Given is when the authority gave it, where that was later than the test; zero:
	// with the test.
	Given label.Date
}

// Storage is what is known of the temperature of a stretch of storage: a logger's
// record, added up, or a spell that somebody noticed.
type Storage struct {
	Where    string     // "hangar store logger", or ""
	From, To label.Date // the stretch; To is zero where only one moment is known
	// MinC and MaxC are the lowest and highest temperature, °C, meaningful if Measured;
	// recorded the wrong way round they mean the same.
	MinC, MaxC float64
	Measured   bool
	// HotFrom is the first moment above the class's hot limit, zero if it never was.
	HotFrom label.Date
	// Spent is by how much the stretch used up the unopened life faster than the clock,
	// because it was warmer than the class is stored at; never negative.
	Spent time.Duration
	// MeanKineticC is the mean kinetic temperature, °C, meaningful if Measured; it is
	// shown and decides nothing.
	MeanKineticC float64
	// Readings is how many readings of a logger stand behind it; 0: noticed by a person.
	Readings int
	Notes    []string // gaps and what else was assumed
}

// Condition is what a person sees wrong with a pack, a bit each.
type Condition uint16

// The conditions.
const (
	Damaged   Condition = 1 << iota // dented through, leaking, seal broken
	Cloudy                          // a promoter or primer that is cloudy or has a sediment
	Skinned                         // skin, gel, lumps: part-cured, or base that cannot be mixed
	Separated                       // liquid on top that does not stir in
	LabelGone                       // label missing or not readable
)

// Freed is a hold lifted by a person. It counts only with By, Authority and
// Reference all given, from its day on, and for what came up on or before that day;
// and it prints with the verdict ever after. Only a hold that evidence can settle is
// lifted so: held, condition (damaged, separated), storage-bounds, receipt. A reject
// never is, nor a date that has passed: a test extends that, or nothing does.
type Freed struct {
	Limit     Name // the hold that is lifted
	On        label.Date
	By        string
	Authority string
	Reference string
	Why       string
}

// Question is when the batch is to be used.
type Question struct {
	On date.Date
	// At is the minute of that day, 0 to 1439, if Timed; otherwise, and with a minute
	// outside that, the whole day is asked about, and a limit that ends within it is
	// for a person to decide.
	At    int
	Timed bool
	// Until is the moment that the batch must outlast, such as the end of its
	// application: day and minute; zero: nothing said.
	Until label.Date
	// Zone is where the clocks of all dates known to the minute hang; nil: UTC.
	Zone *time.Location
}
