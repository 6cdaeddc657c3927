package catalog

import (
	"fmt"
	"regexp"
	"strings"

	"github.com/goccy/go-yaml/ast"

	"beadline/cure"
	"beadline/cure/quantity"
)

// Lengths of text, in letters.
const (
	maxName = 120
	maxFrom = 1000
)

var (
	classRequired = []string{"id", "name", "kind"}
	classOptional = []string{"spec", "purpose", "parts", "seals", "apply", "curves", "heat", "moisture", "hardness", "degree", "shelf", "density", "kit", "max-gap", "seal-within", "cautions", "from"}
	classNumbers  = []string{"density", "kit", "max-gap", "seal-within"}
)

// class reads one class. ok is false when there is not even an id to name it by.
func (r *reader) class(n ast.Node) (c Class, ok bool) {
	id := idOf(n)
	what := "class " + id
	if id == "" {
		what = "class without id"
	}
	s := r.section(n, what, classRequired, classOptional)
	if s == nil {
		return Class{}, false
	}
	c.File, c.Line = r.file, s.token.Position.Line+r.skipped
	c.ID = value(s, "id", identifier)
	c.Name = value(s, "name", phrase(maxName))
	c.Spec = value(s, "spec", phrase(maxName))
	c.Kind = Kind(value(s, "kind", oneOf(words(Kinds()))))
	for _, w := range list(s, "seals", oneOf(words(cure.SealTypes))) {
		c.Seals = append(c.Seals, cure.Seal(w))
	}
	c.Cautions = list(s, "cautions", oneOf(CautionWords()))
	c.parts(s)
	c.numbers(s)
	for _, part := range []struct {
		key  string
		read func(ast.Node, string)
	}{
		{"curves", func(n ast.Node, what string) { c.Curves = r.curves(n, what) }},
		{"apply", func(n ast.Node, what string) { c.Apply = r.apply(n, what) }},
		{"heat", func(n ast.Node, what string) { c.Heat = r.heat(n, what) }},
		{"moisture", func(n ast.Node, what string) { c.Moisture = r.moisture(n, what) }},
		{"degree", func(n ast.Node, what string) { c.Degree = r.degree(n, what) }},
		{"hardness", func(n ast.Node, what string) { c.Hardness = r.hardness(n, what) }},
		{"shelf", func(n ast.Node, what string) { c.Shelf = r.shelf(n, what) }},
	} {
		if s.has(part.key) {
			part.read(s.fields[part.key], what)
		}
	}
	if !s.has("cautions") {
		r.warn(c.Line, what+" lists no cautions", "write cautions: [solvent, …], or cautions: [] if there are none")
	}
	return c, c.ID != ""
}

// idOf finds the id of a class before anything is checked, to name it in messages.
func idOf(n ast.Node) string {
	values, _ := pairs(n)
	for _, v := range values {
		if v.Key.GetToken().Value == "id" {
			id, _ := plainText(v.Value)
			if id, err := identifier(id); err == nil {
				return id
			}
		}
	}
	return ""
}

var idPattern = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)

func identifier(text string) (string, error) {
	if len(text) > 64 || !idPattern.MatchString(text) {
		return "", fmt.Errorf("%s: write an id in small letters, digits and hyphens, such as polysulfide-b-2", quoted(text))
	}
	return text, nil
}

func words[T ~string](all []T) []string {
	var w []string
	for _, x := range all {
		w = append(w, string(x))
	}
	return w
}

// parts says whether two parts are mixed: as the kind is usually supplied, unless
// the class says otherwise. With it goes what a joint may need the class for.
func (c *Class) parts(s *section) {
	rule, _ := ruleOf(c.Kind)
	n := rule.parts
	if s.has("parts") {
		n = map[string]int{"1": 1, "2": 2}[value(s, "parts", oneOf([]string{"1", "2"}))]
	}
	c.MixByHand = n == 2
	c.Purpose = value(s, "purpose", identifier)
}

// numbers reads the class's own numbers. Together they need one provenance.
func (c *Class) numbers(s *section) {
	c.Density = value(s, "density", density)
	c.MaxGapMM = value(s, "max-gap", positive(quantity.Length))
	c.SealWithin = value(s, "seal-within", span)
	c.From = value(s, "from", phrase(maxFrom))
	if s.has("kit") {
		text, _ := plainText(s.fields["kit"])
		if ml, err := quantity.Volume(text); err == nil && ml > 0 {
			c.KitML = ml
		} else if g, err := quantity.Mass(text); err == nil && g > 0 && c.Density > 0 {
			c.KitML = g / c.Density
		} else {
			s.fail("kit", quoted(text)+" is not the size of a kit", "write a volume like 130ml, or a mass like 200g beside a density")
		}
	}
	for _, k := range classNumbers {
		if s.has(k) && !s.has("from") {
			s.fail(k, "nothing says where the number comes from", `add from: "…" to the class`)
			return
		}
	}
}

func (r *reader) apply(n ast.Node, what string) (a cure.Apply) {
	if s := r.section(n, what+", apply", []string{"from"}, []string{"part", "rh"}); s != nil {
		a = cure.Apply{Part: value(s, "part", quantity.TempRange), RH: value(s, "rh", humidityRange), From: value(s, "from", phrase(maxFrom))}
	}
	return a
}

func (r *reader) heat(n ast.Node, what string) *cure.Heat {
	s := r.section(n, what+", heat", []string{"max", "from"}, []string{"after", "needs"})
	if s == nil {
		return nil
	}
	return &cure.Heat{MaxC: value(s, "max", quantity.Temp), After: value(s, "after", span), Needs: value(s, "needs", phrase(maxName)), From: value(s, "from", phrase(maxFrom))}
}

func (r *reader) moisture(n ast.Node, what string) *cure.Moisture {
	s := r.section(n, what+", moisture", []string{"min-rh", "closed-film", "from"}, nil)
	if s == nil {
		return nil
	}
	return &cure.Moisture{
		MinRH:         value(s, "min-rh", humidity),
		ClosedWitness: value(s, "closed-film", oneOf([]string{"by-witness", "as-air"})) == "by-witness",
		From:          value(s, "from", phrase(maxFrom)),
	}
}

func (r *reader) hardness(n ast.Node, what string) *Hardness {
	s := r.section(n, what+", hardness", []string{"from"}, []string{"at-cure", "final", "scale"})
	if s == nil {
		return nil
	}
	h := &Hardness{AtCure: value(s, "at-cure", between(0, 100)), Final: value(s, "final", between(0, 100)), Scale: "A", From: value(s, "from", phrase(maxFrom))}
	if s.has("scale") {
		h.Scale = value(s, "scale", oneOf([]string{"A", "D"}))
	}
	if h.Final != 0 && h.Final < h.AtCure {
		s.fail("final", fmt.Sprintf("the final hardness %g is below %g at cure", h.Final, h.AtCure), "hardness only rises")
	}
	return h
}

func density(text string) (float64, error) {
	t := strings.ReplaceAll(strings.TrimSpace(text), " ", "")
	for _, unit := range []string{"g/ml", "g/cm3", "kg/l"} {
		if v, ok := strings.CutSuffix(t, unit); ok {
			return between(0.3, 20)(v)
		}
	}
	return 0, fmt.Errorf("%s: write a density like 1.65g/ml", quoted(text))
}
