package show

import (
	"fmt"
	"time"

	"beadline/catalog"
	"beadline/cure/quantity"
)

// laying writes when the class may be laid, and what heat and moisture do to it.
func (s *classSheet) laying() {
	c, u := s.c, s.u
	if a := c.Apply; !a.Part.IsZero() || !a.RH.IsZero() {
		s.heading("WHEN TO LAY IT")
		if !a.Part.IsZero() {
			s.fact("part", u.Temps(a.Part))
		}
		if !a.RH.IsZero() {
			s.fact("air", percents(a.RH))
		}
		s.from(a.From)
	}
	if h := c.Heat; h != nil {
		s.heading("HEAT")
		s.fact("ceiling", u.Temp(h.MaxC))
		if h.After > 0 {
			s.fact("after", quantity.FormatSpan(h.After)+" from the last sealant laid")
		}
		s.fact("needs", h.Needs)
		s.from(h.From)
	}
	if m := c.Moisture; m != nil {
		s.heading("MOISTURE")
		s.fact("drier than", number(m.MinRH, 1)+" % RH at the part: no calculated cure, by witness cup")
		if m.ClosedWitness {
			s.fact("closed film", "no calculated cure, by witness cup")
		}
		s.from(m.From)
	}
	if h := c.Hardness; h != nil {
		s.heading("HARDNESS, SHORE " + h.Scale)
		if h.AtCure > 0 {
			s.fact("at cure", number(h.AtCure, 1))
		}
		if h.Final > 0 {
			s.fact("in the end", number(h.Final, 1))
		}
		s.from(h.From)
	}
}

// shelf writes how long the class keeps, rule by rule.
func (s *classSheet) shelf() {
	s.heading("SHELF LIFE")
	if s.c.Shelf == nil {
		s.block("  ", "Nothing is known: only the dates printed on the batch rule.")
		return
	}
	for _, r := range shelfRules(s.c.Shelf, s.u) {
		s.fact(r.name, r.words)
		s.from(r.from)
	}
}

// shelfRule is one rule in words.
type shelfRule struct{ name, words, from string }

// shelfRules are the rules that a class gives, in words.
func shelfRules(sh *catalog.Shelf, u Units) []shelfRule {
	var all []shelfRule
	add := func(known bool, name, words, from string) {
		if known {
			all = append(all, shelfRule{name, words, from})
		}
	}
	add(sh.Unlimited, "unopened", "no limit", sh.Unopened.From)
	add(sh.Unopened.Known, "unopened", quantity.FormatLife(sh.Unopened.Value), sh.Unopened.From)
	add(sh.Opened.Known, "opened", quantity.FormatLife(sh.Opened.Value), sh.Opened.From)
	add(sh.Installed.Known, "installed", quantity.FormatLife(sh.Installed.Value)+" from fitting, if that ends before the life on the shelf", sh.Installed.From)
	add(sh.Store.Known, "store at", u.Temps(sh.Store.Value), sh.Store.From)
	add(sh.StoreRH.Known, "store in", percents(sh.StoreRH.Value), sh.StoreRH.From)
	add(sh.Bounds.Known, "never outside", u.Temps(sh.Bounds.Value), sh.Bounds.From)
	add(sh.Hot.Known, hotName(sh.Hot.Value, u), "use within "+quantity.FormatLife(sh.Hot.Value.Within), sh.Hot.From)
	add(sh.OutTime.Known, "out of the freezer", quantity.FormatSpan(sh.OutTime.Value)+" in all", sh.OutTime.From)
	add(sh.ThawLife.Known, "once thawed", quantity.FormatSpan(sh.ThawLife.Value)+" from leaving the freezer", sh.ThawLife.From)
	add(sh.Thaw.Known, "to thaw", thawWords(sh.Thaw.Value, u), sh.Thaw.From)
	add(sh.Thaws.Known, "thaws", timesWord(sh.Thaws.Value)+" at most", sh.Thaws.From)
	add(sh.Refreeze.Known, "refreeze", map[bool]string{true: "allowed", false: "never"}[sh.Refreeze.Value], sh.Refreeze.From)
	add(sh.Extension.Known, "extension", extensionWords(sh.Extension.Value), sh.Extension.From)
	add(sh.Receipt.Known, "on receipt", receiptWords(sh.Receipt.Value), sh.Receipt.From)
	add(sh.Convention.Known, "date of making", conventionWords(sh.Convention.Value), sh.Convention.From)
	return all
}

func hotName(h catalog.HotSpell, u Units) string { return "once above " + u.Temp(h.AboveC) }

func extensionWords(e catalog.Extension) string {
	often := ""
	if e.Max > 0 {
		often = ", " + timesWord(e.Max) + " at most"
	}
	switch e.Kind {
	case catalog.ExtendHalfOriginal:
		return fmt.Sprintf("half the original life for each passed test%s, by %s", often, e.Authority)
	case catalog.ExtendByPeriod:
		return fmt.Sprintf("%s for a passed test%s, by %s", quantity.FormatLife(e.By), often, e.Authority)
	}
	return "none"
}

// timesWord is "once", "twice", "3 times".
func timesWord(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}

func thawWords(t catalog.Thaw, u Units) string {
	words := fmt.Sprintf("%s in %s; application time counts from ", quantity.FormatSpanUp(t.Takes), u.Temps(t.In))
	if t.LifeFrom == catalog.FromThawed {
		return words + "the end of it"
	}
	return words + "leaving the freezer"
}

func receiptWords(r catalog.Receipt) string {
	words := number(100*r.Share, 1) + " % of its life left"
	if !r.OrWithin.IsZero() {
		words += fmt.Sprintf(", or within %s of manufacture where the life is over %s", quantity.FormatLife(r.OrWithin), quantity.FormatLife(r.Over))
	}
	return words
}

func conventionWords(c catalog.Convention) string {
	switch c {
	case catalog.LastOfMonth:
		return "a month counts from its last day"
	case catalog.EndOfQuarter:
		return "a quarter counts from its last day"
	}
	return "a month or quarter counts from its first day"
}

// shelfRuleJSON is one shelf rule: its words, and what they say as numbers: a life in
// ISO 8601, a span in seconds, a range, a count. What a rule does not have is left out.
type shelfRuleJSON struct {
	Name     string      `json:"name"`
	Words    string      `json:"words"`
	Life     string      `json:"life,omitempty"`
	Seconds  int64       `json:"seconds,omitempty"`
	RangeC   *rangeJSON  `json:"range-c,omitempty"`
	RangeRH  *[2]float64 `json:"range-rh-pct,omitempty"`
	AboveC   *float64    `json:"above-c,omitempty"`
	Kind     string      `json:"kind,omitempty"` // of an extension
	Max      int         `json:"max,omitempty"`  // how often; left out: no maximum is stated
	By       string      `json:"authority,omitempty"`
	Allowed  *bool       `json:"allowed,omitempty"`
	SharePct float64     `json:"share-pct,omitempty"`
	OrWithin string      `json:"or-within,omitempty"`
	Over     string      `json:"over,omitempty"`
	LifeFrom string      `json:"life-from,omitempty"`
	From     string      `json:"from"`
}

// rangeJSON is a range whose lower end may be open, and then null.
type rangeJSON [2]*float64

// shelfShape is the shelf rules, each with its words in SI units.
func shelfShape(sh *catalog.Shelf) []shelfRuleJSON {
	all := []shelfRuleJSON{}
	for _, r := range shelfRules(sh, SI) {
		o := shelfRuleJSON{Name: r.name, Words: r.words, From: r.from}
		o.numbers(sh)
		all = append(all, o)
	}
	return all
}

// numbers adds what the words of the rule say as numbers.
func (o *shelfRuleJSON) numbers(sh *catalog.Shelf) {
	switch o.Name {
	case "unopened":
		if !sh.Unlimited {
			o.Life = isoLife(sh.Unopened.Value)
		}
	case "opened":
		o.Life = isoLife(sh.Opened.Value)
	case "installed":
		o.Life = isoLife(sh.Installed.Value)
	case "store at":
		o.RangeC = rangeShape(sh.Store.Value)
	case "store in":
		o.RangeRH = &[2]float64{sh.StoreRH.Value.Lo, sh.StoreRH.Value.Hi}
	case "never outside":
		o.RangeC = rangeShape(sh.Bounds.Value)
	case "out of the freezer":
		o.Seconds = int64(sh.OutTime.Value / time.Second)
	case "once thawed":
		o.Seconds = int64(sh.ThawLife.Value / time.Second)
	case "to thaw":
		t := sh.Thaw.Value
		o.Seconds, o.RangeC, o.LifeFrom = int64(t.Takes/time.Second), rangeShape(t.In), string(t.LifeFrom)
	case "thaws":
		o.Max = sh.Thaws.Value
	case "refreeze":
		o.Allowed = &sh.Refreeze.Value
	case "extension":
		o.extension(sh.Extension.Value)
	case "on receipt":
		v := sh.Receipt.Value
		o.SharePct = 100 * v.Share
		if !v.OrWithin.IsZero() {
			o.OrWithin, o.Over = isoLife(v.OrWithin), isoLife(v.Over)
		}
	default:
		if h := sh.Hot; h.Known && o.Name == hotName(h.Value, SI) {
			o.AboveC, o.Life = &h.Value.AboveC, isoLife(h.Value.Within)
		}
	}
}

func (o *shelfRuleJSON) extension(e catalog.Extension) {
	o.Kind, o.Max, o.By = string(e.Kind), e.Max, e.Authority
	if e.Kind == catalog.ExtendByPeriod {
		o.Life = isoLife(e.By)
	}
}

func rangeShape(r quantity.Range) *rangeJSON {
	out := rangeJSON{nil, &r.Hi}
	if r.Lo > catalog.NoLowerBound {
		out[0] = &r.Lo
	}
	return &out
}
