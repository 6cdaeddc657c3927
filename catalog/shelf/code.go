package shelf

import (
	"errors"
	"fmt"
	"strings"

	"beadline/catalog/label"
)

// codeRule: a shelf-life code that is none, which might stand for any life and for one that
// no test extends; and one that cannot be true beside the class or the printed expiry.
type codeRule struct{}

func (codeRule) name() Name { return LimitCodeLife }

// What is wrong with a code.
const (
	codeUnread uint8 = iota
	codeLong
	codeShort
)

func (l codeRule) marks(it *Item, r *Rules, s *sink) {
	if err := r.item.badCode; err != nil && !errors.Is(err, label.ErrNeedsNumber) {
		s.add(doubt(l, codeUnread))
	}
	if r.item.longCode {
		s.add(doubt(l, codeLong))
	}
	if r.item.codeLife && !r.Unopened.Unlimited && !it.DOM.IsZero() && !it.Expiry.IsZero() {
		// A month more is how a label may round.
		if _, end := r.lifeFrom(it.DOM); it.Expiry.First().Sub(end) > 31 {
			s.add(doubt(l, codeShort))
		}
	}
}

func (codeRule) words(m mark, t *telling) (string, string) {
	const source = "own decision: of two lives that cannot both be true neither is believed"
	r := t.rules
	switch m.kind {
	case codeLong:
		return fmt.Sprintf("Which is right? The shelf-life code %s says %s, and %s keeps %s.", said(t.it.Code), lifeWords(r.Unopened), t.class(), lifeWords(r.item.classLife)), source
	case codeShort:
		_, end := r.lifeFrom(t.it.DOM)
		return fmt.Sprintf("Which is right? Made %s with the shelf-life code %s it ends %s, and the expiry on the label is %s.",
			t.it.DOM, said(t.it.Code), label.FormatDay(end), t.it.Expiry), source
	}
	why := said(r.item.badCode.Error())
	if !strings.HasSuffix(why, "?") {
		why += "."
	}
	return "The code on the label cannot be read: " + why, label.CodeSource
}

func (codeRule) decide(mark, *telling) (string, string) {
	return "Read the label again and correct the record; the quality office decides if the label itself is wrong.",
		"The code on the container, or in the supply catalogue, settles it."
}
