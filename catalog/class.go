// Package catalog knows the sealant classes: the built-in set and what a user adds
// in files of the same format. It reads them strictly, checks them, and keeps where
// every number comes from.
//
// A class is a generic kind of sealant or consumable, never a product. Its physics
// half is cure.Class; this package adds what the store and the paperwork need:
// specification, kind, shelf rules, hardness, kit size, cautions, provenance.
//
// Read on in catalog.go (finding a class), keep.go (the shelf rules of one), read.go
// (from bytes to classes), curve.go, mass.go, degree.go, keepread.go and decode.go (the
// format, key by key), lint.go and keeplint.go (what a class must obey), and in
// builtin.yaml itself.
package catalog

import (
	"time"

	"beadline/cure"
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
	if c.Shelf != nil {
		for _, src := range c.Shelf.sources() {
			add(src.What, src.From)
		}
	}
	add("class", c.From)
	return all
}
