// Package catalog knows the sealant classes: the built-in set and what a user adds
// in files of the same format. It reads them strictly, checks them, and keeps where
// every number comes from.
//
// A class is a generic kind of sealant or consumable, never a product. Its physics
// half is cure.Class; this package adds what the store and the paperwork need:
// specification, kind, shelf rules, hardness, kit size, cautions, provenance.
//
// Read on in catalog.go (finding a class), read.go (from bytes to classes), curve.go,
// mass.go, degree.go and decode.go (the format, key by key), lint.go (what a class must
// obey), and in builtin.yaml itself.
package catalog

import (
	"time"

	"github.com/rickb777/date/period"

	"beadline/cure"
	"beadline/cure/quantity"
)

// Class is one class of the catalog: its physics and everything else known of it.
type Class struct {
	cure.Class

	Spec     string // public specification number; "": none known
	Kind     Kind
	Hardness *Hardness // nil: not known
	Shelf    *Shelf    // nil: only the printed dates rule

	KitML      float64       // volume of one kit of both parts, ml; 0: not known
	SealWithin time.Duration // the next coat or the sealant goes on within this; 0: not limited
	From       string        // provenance of spec, density, kit, gap and seal-within

	File string // the file it was read from; "built-in" for the embedded set
	Line int    // line in that file
}

// Kind says what sort of thing a class is.
type Kind string

// The kinds.
const (
	TwoPart         Kind = "two-part"
	PremixedFrozen  Kind = "premixed-frozen"
	OnePartMoisture Kind = "one-part-moisture"
	Anaerobic       Kind = "anaerobic"
	Adhesive        Kind = "adhesive"
	FilmAdhesive    Kind = "film-adhesive"
	Primer          Kind = "primer"
	Promoter        Kind = "promoter"
	Topcoat         Kind = "topcoat"
	Elastomer       Kind = "elastomer"
	Grease          Kind = "grease"
)

// kindRule is what a class of a kind must have.
type kindRule struct {
	kind  Kind
	parts int // as it is usually supplied
	seals bool
	needs []cure.Milestone
}

var kindRules = []kindRule{
	{TwoPart, 2, true, []cure.Milestone{cure.Application, cure.TackFree, cure.Cured}},
	{PremixedFrozen, 1, true, []cure.Milestone{cure.Application, cure.TackFree, cure.Cured}},
	{OnePartMoisture, 1, true, []cure.Milestone{cure.Application, cure.TackFree, cure.Cured}},
	{Anaerobic, 1, false, []cure.Milestone{cure.Cured}},
	{Adhesive, 2, false, []cure.Milestone{cure.Application, cure.Cured}},
	{FilmAdhesive, 1, false, nil},
	{Primer, 2, false, []cure.Milestone{cure.TackFree}},
	{Promoter, 1, false, []cure.Milestone{cure.TackFree}},
	{Topcoat, 2, false, []cure.Milestone{cure.Application, cure.TackFree}},
	{Elastomer, 1, false, nil},
	{Grease, 1, false, nil},
}

// Kinds lists all kinds, sealants first.
func Kinds() []Kind {
	var all []Kind
	for _, r := range kindRules {
		all = append(all, r.kind)
	}
	return all
}

func ruleOf(k Kind) (kindRule, bool) {
	for _, r := range kindRules {
		if r.kind == k {
			return r, true
		}
	}
	return kindRule{}, false
}

// Hardness is what a durometer shows (ASTM D2240), 0 to 100.
type Hardness struct {
	AtCure float64 // at the cure milestone; 0: not given
	Final  float64 // in the end; 0: not given
	Scale  string  // "A" or "D"
	From   string  // provenance
}

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
	Store      Sourced[quantity.Range] // °C, ends included; Lo NoLowerBound where only an upper limit is known
	StoreRH    Sourced[quantity.Range] // % RH
	Bounds     Sourced[quantity.Range] // °C it must never have left: outside, hold
	Hot        Sourced[HotSpell]
	Extension  Sourced[Extension]
	OutTime    Sourced[time.Duration] // sum of all time out of the freezer
	ThawLife   Sourced[time.Duration] // from leaving the freezer, once
	Refreeze   Sourced[bool]          // may go back into the freezer
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

// Convention says when a class life starts if the day of manufacture is not known.
type Convention string

// The conventions.
const (
	FirstOfMonth Convention = "first-of-month" // the safe side; the default
	LastOfMonth  Convention = "last-of-month"  // items coded by the US DoD
	EndOfQuarter Convention = "end-of-quarter" // elastomer seals
)

// Source is one number or group of numbers of a class and where it comes from.
type Source struct {
	What string // "cure", "shelf: opened", "heat", …
	From string // "read: …", "derived: …", "memory: …", "common practice", "assumed: …"
}

// Sources lists the provenance of everything the class knows, curves first.
func (c *Class) Sources() []Source {
	var all []Source
	add := func(what, from string) {
		if from != "" {
			all = append(all, Source{what, from})
		}
	}
	for m, cv := range c.Curves {
		if cv == nil {
			continue
		}
		name := cure.Milestone(m).String()
		add(name, cv.From)
		add(name+": cold extends", cv.ColdExtends)
		if cv.Humidity != nil {
			add(name+": humidity", cv.Humidity.From)
		}
		if cv.Credit != nil {
			add(name+": credit", cv.Credit.From)
		}
		if cv.Mass != nil {
			add(name+": mass", cv.Mass.From)
		}
	}
	if c.Degree != nil {
		add("degree of cure", c.Degree.From)
	}
	add("apply", c.Apply.From)
	if c.Heat != nil {
		add("heat", c.Heat.From)
	}
	if c.Moisture != nil {
		add("moisture", c.Moisture.From)
	}
	if c.Hardness != nil {
		add("hardness", c.Hardness.From)
	}
	if s := c.Shelf; s != nil {
		add("shelf: unopened", s.Unopened.From)
		add("shelf: opened", s.Opened.From)
		add("shelf: store", s.Store.From)
		add("shelf: rh", s.StoreRH.From)
		add("shelf: bounds", s.Bounds.From)
		add("shelf: hot", s.Hot.From)
		add("shelf: extension", s.Extension.From)
		add("shelf: out-time", s.OutTime.From)
		add("shelf: thaw-life", s.ThawLife.From)
		add("shelf: refreeze", s.Refreeze.From)
		add("shelf: convention", s.Convention.From)
	}
	add("class", c.From)
	return all
}
