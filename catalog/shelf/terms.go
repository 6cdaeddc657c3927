package shelf

import (
	"errors"
	"fmt"
	"strings"

	"beadline/catalog/label"
	"beadline/cure/quantity"
)

// terms are what the shelf-life code on an item, or the polymer of a seal, change in
// the rules of its class.
type terms struct {
	coded   coding
	badCode error // why the code cannot be counted with

	seal     *SealRules // nil: not a seal of a known polymer under a known standard
	standard error      // why it is not known which life a seal has
}

// coding is the kind of shelf-life code that an item carries.
type coding uint8

const (
	notCoded coding = iota
	typeI           // its life is never extended
	typeII          // past its date it waits for a test
)

// special reports whether an item changes the rules of its class.
func (it *Item) special() bool { return it.Code != "" || it.Standard != "" || it.Polymer != "" }

// fit changes the rules of a class to those of one item of it.
func (r *Rules) fit(it *Item) {
	if it.Standard != "" || it.Polymer != "" {
		r.fitSeal(it)
	}
	if it.Code != "" {
		r.fitCode(it.Code)
	}
}

// fitCode gives the rules the life of a US DoD shelf-life code and its extendability,
// which win over those of the class. The code X gives no number: then the class's
// stands, if there is one.
func (r *Rules) fitCode(code string) {
	life, extendable, err := label.CodeLife(code)
	from := label.CodeSource + ", code " + strings.TrimSpace(code)
	r.item.coded, r.Convention = typeI, LastOfMonth
	if extendable {
		r.item.coded = typeII
	}
	switch {
	case err == nil:
		r.Unopened = Life{Span: life, From: from}
	case errors.Is(err, label.ErrUnlimited):
		r.Unopened = Life{Unlimited: true, From: from + ": the item does not deteriorate"}
	case errors.Is(err, label.ErrNeedsNumber) && r.Unopened.Known():
		r.Unopened.From += "; code X gives no number of its own"
	case errors.Is(err, label.ErrNeedsNumber):
		r.Unopened, r.item.badCode = Life{}, err
	default: // no such code: neither its life nor its type is known
		r.item.coded, r.item.badCode = notCoded, err
	}
	if r.item.coded == typeI {
		r.Extension = Extension{}
	}
}

// fitSeal gives the rules the life of a seal of the item's polymer by the standard
// that governs it. Where item and class disagree, a person must say which is right.
func (r *Rules) fitSeal(it *Item) {
	standard := it.Standard
	if standard == "" {
		standard = r.Standard
	}
	switch {
	case standard == "":
		r.item.standard = fmt.Errorf("it is a seal of %s, and it is not known by which standard it keeps", it.Polymer)
		return
	case r.Standard != "" && standard != r.Standard:
		r.item.standard = fmt.Errorf("it is recorded under %s, and its class keeps to %s", standard.title(), r.Standard.title())
	case it.Polymer == "" && r.Standard == "":
		r.item.standard = fmt.Errorf("it is recorded under %s, but not of which polymer it is", standard.title())
	}
	if it.Polymer == "" {
		return
	}
	seal, err := Seal(standard, it.Polymer)
	if err != nil {
		r.item.standard = err
		return
	}
	if r.Unopened.Known() && r.item.standard == nil && !sameLife(r.Unopened, seal.Life) {
		r.item.standard = fmt.Errorf("%s by %s keeps %s, and its class says %s", seal.Polymer, standard.title(), lifeWords(seal.Life), lifeWords(r.Unopened))
	}
	r.item.seal = &seal
	r.Unopened, r.Extension, r.Store, r.Convention = seal.Life, seal.Extension, seal.Store, EndOfQuarter
}

func sameLife(a, b Life) bool {
	return a.Unlimited == b.Unlimited && 12*a.Span.Years()+a.Span.Months() == 12*b.Span.Years()+b.Span.Months() && a.Span.Days() == b.Span.Days()
}

func lifeWords(l Life) string {
	if l.Unlimited {
		return "without limit"
	}
	return quantity.FormatLife(l.Span)
}

// pastLife is what a batch past its printed or computed life deserves, which has been
// extended so many times: where a test may still give it more life it waits for that,
// anything else goes.
func (r *Rules) pastLife(steps int) Verdict {
	if r.extendable() && (r.Extension.Max == 0 || steps < r.Extension.Max) {
		return Hold
	}
	return Reject
}

// extendable reports whether the class or its code lets a test give more life.
func (r *Rules) extendable() bool {
	return r.item.coded != typeI && (r.Extension.Kind != NoExtension || r.item.coded == typeII)
}
