package shelf

import (
	"fmt"
	"math"
	"strings"

	"github.com/rickb777/date/period"

	"beadline/cure/quantity"
)

// Standard is a standard for the storage life of elastomer seals.
type Standard string

// The standards. They differ on purpose: which one governs a seal is a field of its
// record, and never guessed.
const (
	StandardISO2230 Standard = "iso-2230"
	StandardSAE5316 Standard = "sae-arp5316"
)

var standardTitles = map[Standard]string{StandardISO2230: "ISO 2230", StandardSAE5316: "SAE ARP5316"}

func (s Standard) title() string {
	if t, ok := standardTitles[s]; ok {
		return t
	}
	return fmt.Sprintf("%q", string(s))
}

// ParseStandard finds a standard by its word: iso-2230 or sae-arp5316.
func ParseStandard(s string) (Standard, error) {
	if _, ok := standardTitles[Standard(s)]; ok {
		return Standard(s), nil
	}
	return "", fmt.Errorf("%q is not a standard for seals: iso-2230 or sae-arp5316", s)
}

// SealRules is how long a seal of one polymer keeps, unfitted, by one standard. Its
// life counts from the cure date; a quarter of cure counts from its end.
type SealRules struct {
	Standard  Standard
	Polymer   string // as in the standard: NBR, FKM
	Group     string // of ISO 2230: A, B or C; "" by SAE
	Life      Life
	Extension Extension
	Store     Store   // °C
	MaxRH     float64 // % RH that the store must stay under; 0: not read
}

// Where the tables come from. Neither standard was seen itself.
const (
	isoSource = "ISO 2230:2002 (read in two copies; a new edition was in ballot in 2026)"
	saeSource = "SAE ARP5316/AS5316 (read in copies)"
)

// isoGroups are the groups of ISO 2230:2002, with the first life and what one
// inspection adds, in years.
var isoGroups = []struct {
	name             string
	polymers         []string
	initial, further int
}{
	{"A", []string{"NR", "IR", "BR", "SBR", "AU", "EU"}, 5, 2},
	{"B", []string{"NBR", "HNBR", "CR", "IIR", "ACM", "ECO"}, 7, 3},
	{"C", []string{"FKM", "FFKM", "VMQ", "FVMQ", "EPDM", "CSM"}, 10, 5},
}

// saeYears are the lives by SAE ARP5316/AS5316, in years; 0 is without limit. Sources
// give SBR 3 or 15: the shorter is taken.
var saeYears = []struct {
	polymers []string
	years    int
}{
	{[]string{"AU", "EU"}, 5},
	{[]string{"NBR", "HNBR", "CR", "ACM"}, 15},
	{[]string{"SBR"}, 3},
	{[]string{"IIR", "EPDM", "FKM", "FFKM", "FVMQ", "VMQ", "PTFE"}, 0},
}

// noColdLimit is the low end of a store range that has none, °C: absolute zero.
const noColdLimit = -273.15

// under38 is the high end of the store range by SAE, °C: it is to stay below 38, and the
// ends of a range belong to it.
var under38 = math.Nextafter(38, 0)

// Seal is how long a seal of a polymer keeps by a standard. Errors, of one line: a
// standard that is not known; a polymer that is not in its table.
//
// Sources: ISO 2230:2002 and SAE ARP5316/AS5316, each read in copies. By ISO 2230 one
// inspection extends the first life once; for SAE no extension was read, so none is
// given.
func Seal(standard Standard, polymer string) (SealRules, error) {
	if s, ok := seals[sealKey{standard, strings.ToUpper(strings.TrimSpace(polymer))}]; ok {
		return s, nil
	}
	if _, err := ParseStandard(string(standard)); err != nil {
		return SealRules{}, err
	}
	return SealRules{}, fmt.Errorf("%q is not a polymer in the table of %s: it has %s", polymer, standard.title(), strings.Join(SealPolymers(standard), ", "))
}

// sealKey is a row of the tables.
type sealKey struct {
	standard Standard
	polymer  string
}

// seals are the tables, made once: a whole store of seals is gone through by them.
var seals = func() map[sealKey]SealRules {
	all := map[sealKey]SealRules{}
	years := func(n int) period.Period { return period.NewYMD(n, 0, 0) }
	for _, g := range isoGroups {
		from := isoSource + ", group " + g.name
		for _, name := range g.polymers {
			all[sealKey{StandardISO2230, name}] = SealRules{
				Standard: StandardISO2230, Polymer: name, Group: g.name, MaxRH: 65,
				Life:      Life{Span: years(g.initial), From: from},
				Extension: Extension{Kind: FixedExtension, Span: years(g.further), Max: 1, From: from},
				Store:     Store{Range: quantity.Range{Lo: noColdLimit, Hi: 25}, From: isoSource},
			}
		}
	}
	for _, g := range saeYears {
		for _, name := range g.polymers {
			from := saeSource + ", " + name
			if name == "SBR" {
				from += ": sources differ, 3 or 15 years: the shorter taken"
			}
			all[sealKey{StandardSAE5316, name}] = SealRules{
				Standard: StandardSAE5316, Polymer: name,
				Life:  Life{Span: years(g.years), Unlimited: g.years == 0, From: from},
				Store: Store{Range: quantity.Range{Lo: noColdLimit, Hi: under38}, From: saeSource},
			}
		}
	}
	return all
}()

// SealPolymers are the polymers in the table of a standard, in its order; none for a
// standard that is not known.
func SealPolymers(standard Standard) (all []string) {
	switch standard {
	case StandardISO2230:
		for _, g := range isoGroups {
			all = append(all, g.polymers...)
		}
	case StandardSAE5316:
		for _, g := range saeYears {
			all = append(all, g.polymers...)
		}
	}
	return all
}
