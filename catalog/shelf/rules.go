package shelf

import (
	"fmt"
	"math"
	"time"

	"github.com/rickb777/date/period"

	"beadline/cure/quantity"
)

// Rules is what a class says of its shelf life. Every number has its provenance
// beside it, which prints with the limit it leads to.
type Rules struct {
	Unopened  Life      // from the date of manufacture, if no expiry is printed
	Opened    Life      // from opening
	Installed Life      // from fitting to the aircraft
	Store     Store     // where it is to be kept
	Bounds    Store     // what it must never have left: outside, hold
	Hot       Hot       // what a spell too hot leaves of its life
	Extension Extension // whether a test may give it more life
	OutTime   Span      // out of the freezer, all outings added up
	ThawLife  Span      // from first leaving the freezer, whatever comes after
	Thaws     Thaws     // for what is kept frozen
	Receipt   ReceiptRule
	// Convention is how a life is counted from a date of manufacture known only to
	// the month or quarter.
	Convention Convention
	// Standard is the standard that a class of elastomer seals keeps to, or "".
	Standard Standard

	item terms // what the item's own code and polymer change; unset in a class
}

// Life is a span of shelf life: whole years, months and days. The zero Life means
// that the class gives none.
type Life struct {
	Span period.Period
	// Unlimited means that the class says, from the source given, that there is no
	// such limit. It is not the same as saying nothing.
	Unlimited bool
	// From is the provenance. A Life with a provenance and a zero Span is a life of
	// no days: good on the first day only.
	From string
}

// Known reports whether the class gives this life at all.
func (l Life) Known() bool { return l.Unlimited || l.From != "" || !l.Span.IsZero() }

// Store is the temperature range to keep the batch in.
type Store struct {
	Range quantity.Range // °C, both ends included
	From  string         // provenance
}

// Hot is a rule for stock that was once too warm: use within so long of the first
// moment above. The zero Hot is no rule.
type Hot struct {
	AboveC float64 // °C; at this temperature it is not yet too warm
	Within period.Period
	From   string // provenance
}

// set reports whether the class has such a rule.
func (h Hot) set() bool { return !h.Within.IsZero() }

// ReceiptRule is how much of its life must be left when a batch comes in. The zero
// rule asks for nothing: then what is left is shown for information.
type ReceiptRule struct {
	Share  float64       // of the life from manufacture to expiry: 0.85
	From   string        // provenance
	Within period.Period // or: received within so long of manufacture …
	Over   period.Period // … where the whole life is longer than this
}

// ExtensionKind is how much life a passed test gives.
type ExtensionKind uint8

// The kinds of extension.
const (
	NoExtension    ExtensionKind = iota // none
	HalfOriginal                        // half the original life
	FixedExtension                      // a fixed span
)

var extensionNames = [...]string{"none", "half-original", "period"}

// String is the kind's word in class files.
func (k ExtensionKind) String() string {
	if int(k) < len(extensionNames) {
		return extensionNames[k]
	}
	return fmt.Sprintf("extension %d", uint8(k))
}

// Extension says whether a batch past its date may be given more life by a test: then
// past its date it is on hold instead of rejected. Only a test passed under a named
// authority gives the time itself, and only by half the original life at most.
type Extension struct {
	Kind ExtensionKind
	Span period.Period // for FixedExtension
	Max  int           // how often; 0: the source states no maximum
	From string        // provenance
}

// Span is a span of clock time. A zero Max means that the class gives none.
type Span struct {
	Max  time.Duration
	From string // provenance
}

// AnyThaws as Thaws.Max: the number of thaws is not limited; out time alone is.
const AnyThaws = -1

// Thaws is how often a frozen item may be thawed.
type Thaws struct {
	Max  int    // 1: never refreeze; 0: not stated, and then one counts; AnyThaws
	From string // provenance
}

// Convention is how a class life counts from a date of manufacture that is printed
// as a month or a quarter. One printed to the day counts from that day, and one
// to the week from its Monday, under every convention.
type Convention uint8

// The conventions.
const (
	// FirstOfMonth counts a month, or a quarter, from its first day: the safe side
	// where no published rule says otherwise.
	FirstOfMonth Convention = iota
	// LastOfMonth counts a month from its last day, to a last day of a month, as
	// US DoD shelf-life-coded items do: lot 05/79 and 6 years end 05/85.
	LastOfMonth
	// EndOfQuarter counts a quarter from its last day, as elastomer seals with a
	// cure date like 4Q20 do.
	EndOfQuarter
)

var conventionNames = [...]string{"first-of-month", "last-of-month", "end-of-quarter"}

// String is the convention's word in class files.
func (c Convention) String() string {
	if int(c) < len(conventionNames) {
		return conventionNames[c]
	}
	return fmt.Sprintf("convention %d", uint8(c))
}

// ParseConvention finds a convention by its word.
func ParseConvention(s string) (Convention, error) {
	for i, name := range conventionNames {
		if s == name {
			return Convention(i), nil
		}
	}
	return 0, fmt.Errorf("%q is not a convention: first-of-month, last-of-month or end-of-quarter", s)
}

// Check finds what no class can mean: a negative span (a period of rickb777/date
// turns negative beyond 3276 days), a fixed extension without its span, a number
// without provenance. The error names the field.
func (r *Rules) Check() error {
	for _, l := range []struct {
		name string
		Life
	}{{"unopened", r.Unopened}, {"opened", r.Opened}, {"installed", r.Installed}} {
		switch {
		case l.Span.IsNegative():
			return fmt.Errorf("%s: a shelf life of %s: it cannot be negative", l.name, quantity.FormatLife(l.Span))
		case l.Unlimited && !l.Span.IsZero():
			return fmt.Errorf("%s: unlimited and %s: it can only be one of them", l.name, quantity.FormatLife(l.Span))
		case l.Known() && l.From == "":
			return fmt.Errorf("%s: a shelf life without its source", l.name)
		}
	}
	switch e := r.Extension; {
	case int(e.Kind) >= len(extensionNames):
		return fmt.Errorf("extension: no such kind")
	case e.Kind == FixedExtension && (e.Span.IsZero() || e.Span.IsNegative()):
		return fmt.Errorf("extension: a fixed extension needs its length, like 6 months")
	case e.Kind != FixedExtension && !e.Span.IsZero():
		return fmt.Errorf("extension: a length of %s, but the extension is %s", quantity.FormatLife(e.Span), e.Kind)
	case e.Kind != NoExtension && e.From == "":
		return fmt.Errorf("extension: without its source")
	case e.Max < 0:
		return fmt.Errorf("extension: a maximum of %d: it cannot be negative", e.Max)
	}
	for _, o := range []struct {
		name string
		Span
	}{{"out time", r.OutTime}, {"thaw life", r.ThawLife}} {
		switch {
		case o.Max < 0:
			return fmt.Errorf("%s: it cannot be negative", o.name)
		case o.Max > 0 && o.From == "":
			return fmt.Errorf("%s: without its source", o.name)
		}
	}
	switch {
	case r.Thaws.Max < AnyThaws:
		return fmt.Errorf("thaws: a maximum of %d: it cannot be negative", r.Thaws.Max)
	case r.Thaws.Max != 0 && r.Thaws.From == "":
		return fmt.Errorf("thaws: without its source")
	case int(r.Convention) >= len(conventionNames):
		return fmt.Errorf("convention: no such convention")
	}
	if r.Standard != "" {
		if _, err := ParseStandard(string(r.Standard)); err != nil {
			return fmt.Errorf("standard: %w", err)
		}
	}
	if err := r.checkStorage(); err != nil {
		return err
	}
	return r.Receipt.check()
}

// checkStorage finds what no class can mean of where its stock is kept.
func (r *Rules) checkStorage() error {
	for _, o := range []struct {
		name string
		Store
	}{{"store", r.Store}, {"bounds", r.Bounds}} {
		switch {
		case math.IsNaN(o.Range.Lo) || math.IsNaN(o.Range.Hi) || o.Range.Lo > o.Range.Hi:
			return fmt.Errorf("%s: a temperature range from %g to %g C: it is to run upward", o.name, o.Range.Lo, o.Range.Hi)
		case !o.Range.IsZero() && o.From == "":
			return fmt.Errorf("%s: a temperature range without its source", o.name)
		}
	}
	s, b, h := r.Store.Range, r.Bounds.Range, r.Hot
	switch {
	case !s.IsZero() && !b.IsZero() && (b.Lo > s.Lo || b.Hi < s.Hi):
		return fmt.Errorf("bounds: %g to %g C do not hold the store range of %g to %g C", b.Lo, b.Hi, s.Lo, s.Hi)
	case h.Within.IsNegative():
		return fmt.Errorf("hot: a span of %s: it cannot be negative", quantity.FormatLife(h.Within))
	case !h.set():
		return nil
	case math.IsNaN(h.AboveC) || math.IsInf(h.AboveC, 0):
		return fmt.Errorf("hot: no such temperature: %g C", h.AboveC)
	case h.From == "":
		return fmt.Errorf("hot: without its source")
	}
	return nil
}

// check finds what no rule for arrivals can mean.
func (rr ReceiptRule) check() error {
	switch {
	case !(rr.Share >= 0 && rr.Share <= 1):
		return fmt.Errorf("receipt: a share of %g: it is to lie between 0 and 1", rr.Share)
	case rr.Within.IsNegative() || rr.Over.IsNegative():
		return fmt.Errorf("receipt: a span of life cannot be negative")
	case rr.Share == 0 && !(rr.Within.IsZero() && rr.Over.IsZero()):
		return fmt.Errorf("receipt: an exception without the share that it is an exception to")
	case rr.Within.IsZero() != rr.Over.IsZero():
		return fmt.Errorf("receipt: received within so long, of a life over so long: both are needed, or neither")
	case rr.Share > 0 && rr.From == "":
		return fmt.Errorf("receipt: without its source")
	}
	return nil
}
