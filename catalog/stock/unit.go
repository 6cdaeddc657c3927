package stock

import (
	"slices"
	"strconv"
	"strings"
)

// Measure is what the quantity of a row counts.
type Measure uint8

// The measures.
const (
	ByNothing Measure = iota // not to be told
	ByPack                   // whole packs
	ByML
	ByGram
)

// packWords are the units that count packs (common practice, no source); in the singular.
var packWords = []string{"", "kit", "cartridge", "can", "tin", "tube", "ea", "each", "pack", "set", "bottle", "jar", "pot", "pc", "piece", "roll", "sheet", "container"}

// measures are the units that are measured, with how many ml or g they are.
var measures = map[string]struct {
	by Measure
	in int
}{"ml": {ByML, 1}, "cc": {ByML, 1}, "l": {ByML, 1000}, "liter": {ByML, 1000}, "litre": {ByML, 1000},
	"g": {ByGram, 1}, "gram": {ByGram, 1}, "kg": {ByGram, 1000}}

// ReadUnit says what a unit such as "Kits" or "l" counts: its word in the singular, small;
// and of one that is measured, how many ml or g one of it is, else 1.
func ReadUnit(unit string) (by Measure, in int, word string) {
	u := strings.ToLower(strings.TrimRight(strings.TrimSpace(unit), "."))
	m, known := measures[u]
	if !known {
		u = strings.TrimSuffix(u, "s")
		m, known = measures[u]
	}
	switch {
	case known:
		return m.by, m.in, u
	case slices.Contains(packWords, u):
		return ByPack, 1, u
	}
	return ByNothing, 1, u
}

// Amount writes an amount of what a list counts in: "1 kit", "3 kits", "20 ml".
func Amount(n float64, unit string) string {
	u, say := strings.TrimSpace(unit), strconv.FormatFloat(n, 'f', -1, 64)
	if by, _, word := ReadUnit(u); by == ByML || by == ByGram || u == "" || slices.Contains([]string{"ea", "each", "pc"}, word) {
		return strings.TrimSpace(say + " " + u)
	}
	u = strings.TrimSuffix(u, "s")
	if n != 1 {
		u += "s"
	}
	return say + " " + u
}
