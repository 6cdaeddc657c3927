package shelf

import (
	"errors"
	"fmt"

	"beadline/catalog/label"
	"beadline/cure/quantity"
)

// terms are what the shelf-life code on an item, or the polymer of a seal, change in
// the rules of its class.
type terms struct {
	coded    coding
	codeLife bool // the unopened life is that of the code
	// classLife is the life that the class gives, where the code's stands in for it.
	classLife Life
	// longCode: the code gives so much more life than the class that one of them is wrong.
	longCode bool
	badCode  error // why the code cannot be counted with

	sealed   bool   // the unopened life is that of a standard for seals
	standard string // why it is not known which life a seal has, a sentence
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
		seal := r.Unopened
		r.fitCode(it.Code)
		if r.item.sealed && r.item.codeLife && r.item.standard == "" && !sameLife(seal, r.Unopened) {
			r.item.standard = fmt.Sprintf("Which is right? A seal of %s keeps %s by its standard, and its shelf-life code says %s", it.Polymer, lifeWords(seal), lifeWords(r.Unopened))
		}
	}
}

// fitCode gives the rules the life of a US DoD shelf-life code and its extendability,
// which win over those of the class. The code X gives no number: then the class's
// stands, if there is one.
func (r *Rules) fitCode(code string) {
	life, extendable, err := label.CodeLife(code)
	number := errors.Is(err, label.ErrNeedsNumber)
	if err != nil && !number && !errors.Is(err, label.ErrUnlimited) {
		r.item.badCode = err // neither its life nor its type is known
		return
	}
	class := r.Unopened
	r.item.coded, r.Convention = typeI, LastOfMonth
	if extendable {
		r.item.coded = typeII
	} else {
		r.Extension = Extension{}
	}
	switch {
	case !number:
		r.Unopened = Life{Span: life, Unlimited: err != nil, From: label.CodeSource}
		r.item.codeLife, r.item.classLife = true, class
		r.item.longCode = muchLonger(r.Unopened, class)
	case !r.Unopened.Known() || r.Unopened.Unlimited: // the code says that there is an end
		r.Unopened, r.item.badCode = Life{}, err
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
		r.item.standard = fmt.Sprintf("Which standard governs? It is a seal of %s, and none is named for it", it.Polymer)
		return
	case r.Standard != "" && standard != r.Standard:
		r.item.standard = fmt.Sprintf("Which standard governs? It is recorded under %s, and its class keeps to %s", standard.title(), r.Standard.title())
	case it.Polymer == "" && r.Standard == "":
		r.item.standard = fmt.Sprintf("Of which polymer is it? It is recorded under %s, and that gives each its own life", standard.title())
	}
	if it.Polymer == "" {
		return
	}
	seal, err := Seal(standard, it.Polymer)
	if err != nil {
		r.item.standard = fmt.Sprintf("How long does it keep? %v", err)
		return
	}
	if r.Unopened.Known() && r.item.standard == "" && !sameLife(r.Unopened, seal.Life) {
		r.item.standard = fmt.Sprintf("Which is right? %s by %s keeps %s, and its class says %s", seal.Polymer, standard.title(), lifeWords(seal.Life), lifeWords(r.Unopened))
	}
	r.item.sealed = true
	r.Unopened, r.Extension, r.Store, r.Convention = seal.Life, seal.Extension, seal.Store, EndOfQuarter
}

// muchLonger reports whether one life is so much longer than another, of which something
// is known, that a digit or a letter was misread: more than three times, and over two
// years; or without limit where the other has one. Own decision, as for dates far off.
func muchLonger(a, b Life) bool {
	if !b.Known() || b.Unlimited {
		return false
	}
	months, other := 12*a.Span.Years()+a.Span.Months(), 12*b.Span.Years()+b.Span.Months()
	return a.Unlimited || months > 24 && months > 3*other
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
