package catalog

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml/ast"

	"beadline/cure"
	"beadline/cure/quantity"
)

// lawKeys are the laws of a degree of cure with the keys that each needs.
var lawKeys = []struct {
	law  string
	keys []string
}{
	{"nth-order", []string{"k1", "n"}},
	{"autocatalytic", []string{"k1", "k2", "m", "n"}},
	{"two-branch", []string{"k1", "k2", "k3", "b", "branch"}},
}

var allLawKeys = []string{"k1", "k2", "k3", "m", "n", "b", "branch"}

// degree reads the class's degree of cure: {law: nth-order | autocatalytic |
// two-branch, its constants and orders, range: 130..177C, from: …}. The law decides
// which of the other keys it has: all that it needs, and no more.
func (r *reader) degree(n ast.Node, what string) *cure.Degree {
	before := r.errors
	s := r.section(n, what+", degree", []string{"law", "range", "from"}, allLawKeys)
	if s == nil {
		return nil
	}
	d := &cure.Degree{Temp: value(s, "range", quantity.TempRange), From: value(s, "from", phrase(maxFrom))}
	var laws []string
	for _, l := range lawKeys {
		laws = append(laws, l.law)
	}
	law := value(s, "law", oneOf(laws))
	i := slices.Index(laws, law)
	if i < 0 {
		return nil
	}
	needs := lawKeys[i].keys
	for _, k := range allLawKeys {
		switch {
		case s.has(k) && !slices.Contains(needs, k):
			s.fail(k, "the law "+law+" has no such key", "its keys are "+strings.Join(needs, ", "))
		case !s.has(k) && slices.Contains(needs, k):
			r.at(s.token, fmt.Sprintf("%s: the key %q is missing", s.what, k), "the law "+law+" needs "+strings.Join(needs, ", "))
		}
	}
	if d.Law = s.law(law); r.errors > before {
		return nil
	}
	if err := d.Check(); err != nil {
		key, text, named := strings.Cut(err.Error(), ": ")
		if !named || !s.has(key) {
			key, text = "range", err.Error()
		}
		s.fail(key, text, "")
		return nil
	}
	return d
}

func (s *section) law(law string) cure.RateLaw {
	k := func(key string) cure.RateConstant { return s.rateConstant(key) }
	order := func(key string) float64 { return value(s, key, between(0, 5)) }
	part := func(key string) float64 { return value(s, key, between(0, 1)) }
	switch law {
	case "two-branch":
		return cure.TwoBranch{K1: k("k1"), K2: k("k2"), K3: k("k3"), B: part("b"), Branch: part("branch")}
	case "autocatalytic":
		return cure.Autocatalytic{K1: k("k1"), K2: k("k2"), M: order("m"), N: order("n")}
	}
	return cure.Autocatalytic{K1: k("k1"), N: order("n")}
}

// rateConstant reads {a: 2.1e9/min, ea: 80.7kJ/mol}.
func (s *section) rateConstant(key string) (k cure.RateConstant) {
	if !s.has(key) {
		return k
	}
	p := s.r.section(s.fields[key], s.what+", "+key, []string{"a", "ea"}, nil)
	if p == nil {
		return k
	}
	return cure.RateConstant{A: value(p, "a", perTime), Ea: value(p, "ea", quantity.MolarEnergy)}
}

// perTime reads 3.5e7/s, 2.101e9/min or 1.2e5/h, not zero, and gives 1/s.
func perTime(text string) (float64, error) {
	num, unit, ok := strings.Cut(strings.ReplaceAll(text, " ", ""), "/")
	v, err := strconv.ParseFloat(num, 64)
	switch {
	case !ok || err != nil || !number(v):
		return 0, fmt.Errorf("%s: write a rate with its unit, such as 2.1e9/min", quoted(text))
	case v == 0:
		return 0, fmt.Errorf("%s: must not be zero: take a law without this constant", quoted(text))
	}
	for u, s := range map[string]float64{"s": 1, "min": 60, "h": 3600} {
		if unit == u {
			return v / s, nil
		}
	}
	return 0, fmt.Errorf("%s: a rate cannot be per %s: write it like 2.1e9/min", quoted(text), quoted(unit))
}
