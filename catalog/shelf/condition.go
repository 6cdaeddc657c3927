package shelf

import "strings"

// The limits of what a person sees or has decided: held, scrapped, and what is wrong
// with the pack or what is in it.

// heldRule: a person set it aside.
type heldRule struct{}

func (heldRule) name() Name { return LimitHeld }

func (l heldRule) marks(it *Item, s *sink) {
	if it.Held != "" {
		s.add(doubt(l, 0))
	}
}

func (heldRule) words(_ mark, t *telling) (string, string) {
	when := ""
	if !t.it.HeldOn.IsZero() {
		when = " " + t.it.HeldOn.String()
	}
	return "Set aside" + when + ": " + said(t.it.Held) + ".", "records of the batch; a person's doubt holds it until it is freed: common practice, no source"
}

func (heldRule) decide(mark, *telling) (string, string) {
	return "Whoever set it aside, or the quality office, must free it first.",
		"What was found since, who frees it, the authority and a reference settle it."
}

// scrappedRule: taken out of stock for good. Nothing brings it back.
type scrappedRule struct{}

func (scrappedRule) name() Name { return LimitScrapped }

func (l scrappedRule) marks(it *Item, s *sink) {
	if it.Scrapped != "" {
		s.add(mark{rule: l, verdict: Reject, past: true, counts: true})
	}
}

func (scrappedRule) words(_ mark, t *telling) (string, string) {
	return "Scrapped: " + said(t.it.Scrapped) + ".", "records of the batch; what is scrapped stays so: common practice, no source"
}

func (scrappedRule) decide(mark, *telling) (string, string) { return "", "" }

// conditionRule: what is wrong with the pack or what is in it, a limit for each.
type conditionRule struct{}

func (conditionRule) name() Name { return LimitCondition }

// conditionWords are a condition's word in files, its verdict, whether evidence may lift
// its hold, and what a person is told.
var conditionWords = []struct {
	bit      Condition
	word     string
	verdict  Verdict
	liftable bool
	reason   string
	source   string
	evidence string
}{
	{Damaged, "damaged", Hold, true, "The pack is damaged.", "common practice, no source",
		"An inspection that finds its seal whole, with a reference, settles it."},
	{Cloudy, "cloudy", Reject, false, "It is cloudy or has a sediment: it has taken up moisture.",
		"promoter: discard if cloudy (USAF T.O. 1-1-700 §12.3.4); primer: common practice, no source", ""},
	{Skinned, "skinned", Reject, false, "It is part-cured or cannot be mixed (skin, gel, lumps): the whole batch goes, not this container alone.",
		"USAF T.O. 1-1-700 §12.8", ""},
	{Separated, "separated", Hold, true, "It has separated and does not stir in.", "common practice, no source",
		"A passed test of a stirred sample, with a reference, settles it."},
	{LabelGone, "label-gone", Hold, false, "The label is missing or cannot be read: nothing says what this is.", "common practice, no source",
		"Papers that prove which batch this container is of, and a new label, settle it."},
}

// allConditions are the conditions that have a meaning.
const allConditions = Damaged | Cloudy | Skinned | Separated | LabelGone

func (l conditionRule) marks(it *Item, s *sink) {
	if it.Condition == 0 {
		return
	}
	for i := range conditionWords {
		if c := &conditionWords[i]; it.Condition&c.bit != 0 {
			s.add(mark{rule: l, verdict: c.verdict, past: true, counts: true, kind: uint8(i)})
		}
	}
	if it.Condition&^allConditions != 0 { // something is wrong that has no name here
		s.add(doubt(l, uint8(len(conditionWords))))
	}
}

func (conditionRule) words(m mark, _ *telling) (string, string) {
	if int(m.kind) >= len(conditionWords) {
		return "Something is wrong with it that the record does not name.", "records of the batch"
	}
	c := conditionWords[m.kind]
	return c.reason, c.source
}

func (conditionRule) decide(m mark, _ *telling) (string, string) {
	if int(m.kind) >= len(conditionWords) {
		return "Whoever saw it must say what is wrong.", "A record that names it settles it."
	}
	return "The quality office must decide on it, or reject it.", conditionWords[m.kind].evidence
}

// String is the conditions' words: "damaged", "cloudy, label-gone"; "" for none.
func (c Condition) String() string {
	var words []string
	for _, w := range conditionWords {
		if c&w.bit != 0 {
			words = append(words, w.word)
		}
	}
	return strings.Join(words, ", ")
}

// ParseCondition finds one condition by its word: damaged, cloudy, skinned, separated or
// label-gone.
func ParseCondition(word string) (Condition, error) {
	var known []string
	for _, w := range conditionWords {
		if w.word == word {
			return w.bit, nil
		}
		known = append(known, w.word)
	}
	return 0, unknownWord(word, "a condition", known)
}
