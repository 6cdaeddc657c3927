package catalog

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/goccy/go-yaml/ast"
	"github.com/rickb777/date/period"

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

var shelfKeys = []string{"unopened", "opened", "store", "rh", "bounds", "hot", "extension", "authority", "out-time", "thaw-life", "refreeze", "convention"}

// shelf reads the shelf rules. Its from is one text for all of them, or a block with
// one text per key.
func (r *reader) shelf(n ast.Node, what string) *Shelf {
	s := r.section(n, what+", shelf", []string{"from"}, shelfKeys)
	if s == nil {
		return nil
	}
	from := s.provenance(shelfKeys, "authority", "convention")
	sh := &Shelf{
		Opened:    sourced(s, "opened", from, life),
		Store:     sourced(s, "store", from, storeRange),
		StoreRH:   sourced(s, "rh", from, humidityRange),
		Bounds:    sourced(s, "bounds", from, storeRange),
		Extension: sourced(s, "extension", from, extension),
		OutTime:   sourced(s, "out-time", from, span),
		ThawLife:  sourced(s, "thaw-life", from, span),
		Refreeze:  sourced(s, "refreeze", from, yesNo),
	}
	if text, _ := plainText(s.fieldOr("unopened")); text == "unlimited" {
		sh.Unlimited, sh.Unopened.From = true, from["unopened"]
	} else {
		sh.Unopened = sourced(s, "unopened", from, life)
	}
	if s.has("hot") {
		sh.Hot = s.hot(from["hot"])
	}
	sh.Convention = sourced(s, "convention", from, func(t string) (Convention, error) {
		w, err := oneOf([]string{string(FirstOfMonth), string(LastOfMonth), string(EndOfQuarter)})(t)
		return Convention(w), err
	})
	if !sh.Convention.Known {
		sh.Convention.Value = FirstOfMonth
	}
	s.authority(sh)
	return sh
}

func (s *section) fieldOr(key string) ast.Node {
	if n := s.fields[key]; n != nil {
		return n
	}
	return &ast.NullNode{}
}

func (s *section) authority(sh *Shelf) {
	e := &sh.Extension.Value
	e.Authority = value(s, "authority", phrase(maxName))
	switch extends := e.Kind == ExtendHalfOriginal || e.Kind == ExtendByPeriod; {
	case extends && e.Authority == "":
		s.fail("extension", "an extension needs the document that allows it", "add authority: \"…\", or write extension: none")
	case !extends && e.Authority != "":
		s.fail("authority", "there is no extension to authorise", "leave authority out, or give the extension")
	}
}

// provenance reads from: one text for every key, or a block of texts by key that
// covers each key present except those named as free.
func (s *section) provenance(keys []string, free ...string) map[string]string {
	from := map[string]string{}
	if !s.has("from") {
		return from
	}
	if _, block := pairs(s.fields["from"]); !block {
		text := value(s, "from", phrase(maxFrom))
		for _, k := range keys {
			from[k] = text
		}
		return from
	}
	p := s.r.section(s.fields["from"], s.what+", from", nil, keys)
	if p == nil {
		return from
	}
	for _, k := range keys {
		from[k] = value(p, k, phrase(maxFrom))
		if s.has(k) && !p.has(k) && !slices.Contains(free, k) {
			s.fail(k, "nothing says where the number comes from", fmt.Sprintf("add %s: \"…\" to the from block", k))
		}
	}
	return from
}

// sourced reads a value and puts its provenance beside it.
func sourced[T any](s *section, key string, from map[string]string, read func(string) (T, error)) Sourced[T] {
	if !s.has(key) {
		return Sourced[T]{}
	}
	before := s.r.errors
	v := value(s, key, read)
	return Sourced[T]{v, s.r.errors == before, from[key]}
}

func (s *section) hot(from string) (h Sourced[HotSpell]) {
	before := s.r.errors
	if p := s.r.section(s.fields["hot"], s.what+", hot", []string{"above", "use-within"}, nil); p != nil {
		h = Sourced[HotSpell]{HotSpell{value(p, "above", quantity.Temp), value(p, "use-within", life)}, true, from}
	}
	h.Known = s.r.errors == before
	return h
}

func extension(text string) (Extension, error) {
	switch ExtensionKind(text) {
	case ExtendNone, ExtendHalfOriginal:
		return Extension{Kind: ExtensionKind(text)}, nil
	}
	by, err := life(text)
	if err != nil {
		return Extension{}, fmt.Errorf("%s: write none, half-original or a span such as 6 months", quoted(text))
	}
	return Extension{Kind: ExtendByPeriod, By: by}, nil
}

// storeRange reads 4..27C, or ..25C where only the upper limit is known.
func storeRange(text string) (quantity.Range, error) {
	t := strings.TrimSpace(text)
	if hi, ok := strings.CutPrefix(t, ".."); ok {
		c, err := quantity.Temp(hi)
		return quantity.Range{Lo: NoLowerBound, Hi: c}, err
	}
	return quantity.TempRange(text)
}

func life(text string) (period.Period, error) {
	p, err := quantity.Life(text)
	if err == nil && p.IsZero() {
		return p, fmt.Errorf("%s: must be more than zero", quoted(text))
	}
	return p, err
}

func span(text string) (time.Duration, error) {
	d, err := quantity.Span(text)
	if err == nil && d <= 0 {
		return 0, fmt.Errorf("%s: must be more than zero", quoted(text))
	}
	return d, err
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
