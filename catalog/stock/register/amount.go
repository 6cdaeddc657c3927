package register

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
)

// Amount is a quantity in thousandths of its unit, so that what is drawn adds up to what
// was there to the last drop. It is exact up to MaxAmount.
type Amount int64

// MaxAmount is the most that one amount may be: 1e9 of its unit.
const MaxAmount Amount = 1e12

// ParseAmount reads a quantity such as 5, 0.25 or 12.125: not negative, at most three
// places after the point, at most MaxAmount.
func ParseAmount(s string) (Amount, error) {
	whole, frac, point := strings.Cut(strings.TrimSpace(s), ".")
	if len(frac) > 3 || point && frac == "" || len(whole) > 10 || !digits(whole) || point && !digits(frac) {
		return 0, fmt.Errorf("%q is not a quantity: write a number such as 5 or 0.25, with at most three places after the point", s)
	}
	n, err := strconv.ParseInt(whole+frac+"000"[len(frac):], 10, 64)
	if err != nil || Amount(n) > MaxAmount {
		return 0, fmt.Errorf("%q is more than %s, the most that can be recorded", s, MaxAmount)
	}
	return Amount(n), nil
}

func digits(s string) bool {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return s != ""
}

// String is the amount as a plain decimal: "5", "0.25".
func (a Amount) String() string {
	sign := ""
	if a < 0 {
		sign, a = "-", -a
	}
	s := fmt.Sprintf("%s%d.%03d", sign, a/1000, a%1000)
	return strings.TrimRight(strings.TrimRight(s, "0"), ".")
}

// Float is the amount as a number of its unit.
func (a Amount) Float() float64 { return float64(a) / 1000 }

// MarshalJSON writes the amount as a number.
func (a Amount) MarshalJSON() ([]byte, error) { return []byte(a.String()), nil }

// UnmarshalJSON reads a number as ParseAmount does.
func (a *Amount) UnmarshalJSON(b []byte) error {
	var n json.Number
	if err := json.Unmarshal(b, &n); err != nil {
		return err
	}
	v, err := ParseAmount(n.String())
	*a = v
	return err
}
