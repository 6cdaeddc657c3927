package catalog

import (
	"time"

	"github.com/rickb777/date/period"

	"beadline/cure/quantity"
)

// Sourced is a value of the shelf rules with its provenance.
type Sourced[T any] struct {
	Value T
	Known bool   // false: the class file does not give it
	From  string // provenance
}

// Shelf is how long a class keeps. Every rule carries its own provenance.
type Shelf struct {
	Unopened   Sourced[period.Period]  // from manufacture (or cure date) until it ends
	Unlimited  bool                    // the unopened life has no end; Unopened says where from
	Opened     Sourced[period.Period]  // from first opening
	Installed  Sourced[period.Period]  // from fitting to the aircraft
	Store      Sourced[quantity.Range] // °C, ends included; Lo NoLowerBound where only an upper limit is known
	StoreRH    Sourced[quantity.Range] // % RH
	Bounds     Sourced[quantity.Range] // °C it must never have left: outside, hold
	Hot        Sourced[HotSpell]
	Extension  Sourced[Extension]
	OutTime    Sourced[time.Duration] // sum of all time out of the freezer
	ThawLife   Sourced[time.Duration] // from leaving the freezer, once
	Thaw       Sourced[Thaw]          // how it is thawed
	Thaws      Sourced[int]           // how often it may be thawed, 1 or more
	Refreeze   Sourced[bool]          // may go back into the freezer
	Receipt    Sourced[Receipt]       // what must be left when it comes in
	Convention Sourced[Convention]    // when only month or quarter of manufacture is known
}

// NoLowerBound is the low end, in °C, of a store range that only has an upper one
// (written ..25C): absolute zero.
const NoLowerBound = -273.15

// HotSpell caps the life of stock that was once too warm.
type HotSpell struct {
	AboveC float64       // °C
	Within period.Period // use within this of the first instant above
}

// Extension says whether a test can lengthen the life of unopened stock.
type Extension struct {
	Kind      ExtensionKind
	By        period.Period // for ExtendByPeriod
	Max       int           // how often; 0: the source states no maximum
	Authority string        // the document that allows it; "" with ExtendNone
}

// ExtensionKind is the size of an extension.
type ExtensionKind string

// The extension kinds.
const (
	ExtendNone         ExtensionKind = "none"
	ExtendHalfOriginal ExtensionKind = "half-original" // each passed test adds half the original life
	ExtendByPeriod     ExtensionKind = "period"
)

// Thaw is the maker's way of thawing a frozen pack.
type Thaw struct {
	Takes    time.Duration  // from leaving the freezer until it may be used
	In       quantity.Range // °C of the air or bath that it lies in
	LifeFrom LifeFrom
}

// LifeFrom says from when the application time of a premixed frozen pack counts.
type LifeFrom string

// The starts of an application time.
const (
	FromFreezer LifeFrom = "freezer" // from leaving the freezer: the safe side, and the default
	FromThawed  LifeFrom = "thawed"  // from the end of the thaw
)

// Receipt is how much of its life a batch must have left when it comes in.
type Receipt struct {
	Share    float64       // of the life from manufacture to expiry, above 0 to 1
	OrWithin period.Period // or: it comes in within so long of manufacture …
	Over     period.Period // … where its whole life is longer than this; zero with OrWithin
}

// Convention says when a class life starts if the day of manufacture is not known.
type Convention string

// The conventions.
const (
	FirstOfMonth Convention = "first-of-month" // the safe side; the default
	LastOfMonth  Convention = "last-of-month"  // items coded by the US DoD
	EndOfQuarter Convention = "end-of-quarter" // elastomer seals
)

// sources lists the provenance of the rules, "" where there is none.
func (s *Shelf) sources() []Source {
	return []Source{
		{"shelf: unopened", s.Unopened.From},
		{"shelf: opened", s.Opened.From},
		{"shelf: installed", s.Installed.From},
		{"shelf: store", s.Store.From},
		{"shelf: rh", s.StoreRH.From},
		{"shelf: bounds", s.Bounds.From},
		{"shelf: hot", s.Hot.From},
		{"shelf: extension", s.Extension.From},
		{"shelf: out-time", s.OutTime.From},
		{"shelf: thaw-life", s.ThawLife.From},
		{"shelf: thaw", s.Thaw.From},
		{"shelf: thaws", s.Thaws.From},
		{"shelf: refreeze", s.Refreeze.From},
		{"shelf: receipt", s.Receipt.From},
		{"shelf: convention", s.Convention.From},
	}
}
