package register

import (
	"fmt"
	"strings"

	"beadline/catalog/stock"
)

// InUnit is an amount of one unit in another: ml and l, g and kg; a kit is a kit only. With
// no unit said it is that of the other.
func InUnit(a Amount, from, to string) (Amount, error) {
	if from == "" {
		return a, nil
	}
	return inUnit(a, from, to)
}

// inUnit is an amount of one unit in another: ml and l, g and kg; a kit is a kit only.
func inUnit(a Amount, from, to string) (Amount, error) {
	fromBy, fromIn, fromWord := stock.ReadUnit(from)
	toBy, toIn, toWord := stock.ReadUnit(to)
	switch {
	case from == to || fromBy == toBy && fromWord == toWord:
		return a, nil
	case fromBy != toBy || fromBy != stock.ByML && fromBy != stock.ByGram:
		return 0, fmt.Errorf("it counts in %s, not in %s", several(to), several(from))
	}
	in := a * Amount(fromIn)
	if in%Amount(toIn) != 0 {
		return 0, fmt.Errorf("%s %s is less than a thousandth of what it is counted in, %s: round it", a, from, orUnits(to))
	}
	return in / Amount(toIn), nil
}

// In is an amount of one unit in another, as events of a part are read: ml and l, g and
// kg; of packs and all else, the same unit only. The error says what the part counts in.
func (a Amount) In(from, to string) (Amount, error) { return inUnit(a, from, to) }

// several is the word for more than one: "kits", "ml".
func several(unit string) string {
	if unit == "" {
		return orUnits(unit)
	}
	return strings.TrimPrefix(stock.Amount(2, unit), "2 ")
}

func orUnits(unit string) string {
	if unit == "" {
		return "pieces without a unit"
	}
	return unit
}

// Words is an amount with its unit for people: "5 kits", "250 ml".
func (a Amount) Words(unit string) string { return stock.Amount(a.Float(), unit) }
