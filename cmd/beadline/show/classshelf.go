package show

import (
	"fmt"

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
	add(sh.Store.Known, "store at", u.Temps(sh.Store.Value), sh.Store.From)
	add(sh.StoreRH.Known, "store in", percents(sh.StoreRH.Value), sh.StoreRH.From)
	add(sh.Bounds.Known, "never outside", u.Temps(sh.Bounds.Value), sh.Bounds.From)
	hot := sh.Hot.Value
	add(sh.Hot.Known, "once above "+u.Temp(hot.AboveC), "use within "+quantity.FormatLife(hot.Within), sh.Hot.From)
	add(sh.OutTime.Known, "out of the freezer", quantity.FormatSpan(sh.OutTime.Value)+" in all", sh.OutTime.From)
	add(sh.ThawLife.Known, "once thawed", quantity.FormatSpan(sh.ThawLife.Value)+" from leaving the freezer", sh.ThawLife.From)
	add(sh.Refreeze.Known, "refreeze", map[bool]string{true: "allowed", false: "never"}[sh.Refreeze.Value], sh.Refreeze.From)
	add(sh.Extension.Known, "extension", extensionWords(sh.Extension.Value), sh.Extension.From)
	add(sh.Convention.Known, "date of making", conventionWords(sh.Convention.Value), sh.Convention.From)
	return all
}

func extensionWords(e catalog.Extension) string {
	switch e.Kind {
	case catalog.ExtendHalfOriginal:
		return "half the original life for each passed test, by " + e.Authority
	case catalog.ExtendByPeriod:
		return fmt.Sprintf("%s for a passed test, by %s", quantity.FormatLife(e.By), e.Authority)
	}
	return "none"
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
