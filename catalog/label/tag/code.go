package tag

import (
	"fmt"
	"strings"
	"time"

	"beadline/catalog/label"
)

// Form is how a symbol's content is written.
type Form uint8

// The forms.
const (
	GS1DataMatrix Form = iota // GS1 element strings in a Data Matrix
	Format06                  // an ISO/IEC 15434 envelope of format 06 in a Data Matrix
	GS1128                    // GS1 element strings in a Code 128
	Code128                   // the batch and the state in a Code 128
)

var formNames = [...]string{"GS1 DataMatrix", "Data Matrix, ISO/IEC 15434 format 06", "GS1-128", "Code 128"}

// String is the form's name.
func (f Form) String() string {
	if int(f) < len(formNames) {
		return formNames[f]
	}
	return fmt.Sprintf("form %d", uint8(f))
}

// identifiers are what a scanner sends before the content if it is set to (ISO/IEC
// 15424 symbology identifiers).
var identifiers = [...]string{"]d2", "]d1", "]C1", "]C0"}

// The separators of element strings and envelopes.
const (
	groupSeparator  = "\x1d"
	recordSeparator = "\x1e"
	endOfMessage    = "\x04"
)

// Code is what one symbol carries.
type Code struct {
	Form Form
	// Text is the content as a scanner sends it, without a symbology identifier: of
	// the GS1 forms the element strings, with the group separator 0x1D where a
	// function character 1 stands between two of them.
	Text string
	// Readable are the parts of the content in readable characters, each with its
	// identifier in brackets; of a plain Code 128 it is the content itself.
	Readable []string
}

// Scanned is the content with its symbology identifier, as a scanner sends it that is
// set to send one: "]d2010952012345678810S-2207".
func (c Code) Scanned() string { return identifiers[c.Form] + c.Text }

// HRI is the human-readable interpretation in one line.
func (c Code) HRI() string { return strings.Join(c.Readable, " ") }

// maxGS1 is how long a batch and a serial number may be in GS1 element strings (AI 10
// and 21: X..20, GS1 General Specifications).
const maxGS1 = 20

// MatrixCode is the content of the tag's Data Matrix.
//
// With a GTIN it is GS1: (01) the item, (10) the batch, then the use-by as (17) for a
// day or (7003) for a minute, and (21) the state with the container. Without one it
// cannot be GS1: 10, 17 and 21 need 01 beside them. Then it is an ISO/IEC 15434 envelope
// of format 06 with the data identifiers 1T (batch), 14D (use-by, YYYYMMDD) and S (state
// and container) of ANSI MH10.8.2. These have no identifier for a minute, and the day of a use-by at 09:32 would
// let a reader pass the container until midnight. So 14D is then the last day that is
// good as a whole, the one before, and within a day of When it is left out. (7003) is a
// time of the clock on the wall without its zone: of an hour that comes twice, as the
// clocks go back, a reader cannot tell the first, so it has the last minute before.
//
// Errors, of type *Error: a character or a length that the form does not take.
func (t *Tag) MatrixCode() (Code, error) {
	if t.GTIN == "" {
		return t.format06()
	}
	if err := t.checkGS1(); err != nil {
		return Code{}, err
	}
	e := []element{{"01", t.GTIN, true}, {"10", t.Batch, false}}
	if !t.State.Forbids() {
		if t.UseBy.Timed {
			e = append(e, element{"7003", ShownOnce(t.UseBy.At).Format("0601021504"), false})
		} else {
			e = append(e, element{"17", t.UseBy.At.Format("060102"), true})
		}
	}
	return gs1(GS1DataMatrix, append(e, element{"21", t.Serial(), false})), nil
}

// barCodes are the contents for the Code 128, the best first: what does not fit the
// label gives way to what does.
func (t *Tag) barCodes() ([]Code, error) {
	if err := plain("batch", t.Batch); err != nil {
		return nil, err
	}
	// Without fields, a hand scanner types it into any list or form. It never is the batch
	// alone, which would pass for an unopened one.
	text := t.plainText()
	codes := []Code{{Form: Code128, Text: text, Readable: []string{text}}}
	if t.GTIN == "" {
		return codes, nil
	}
	if err := t.checkGS1(); err != nil {
		return nil, err
	}
	best := gs1(GS1128, []element{{"01", t.GTIN, true}, {"10", t.Batch, false}, {"21", t.Serial(), false}})
	return append([]Code{best}, codes...), nil
}

// element is one GS1 element string.
type element struct {
	ai, value string
	fixed     bool // of predefined length: no separator follows
}

// gs1 joins element strings: one whose length is not predefined ends at a separator,
// unless it is the last.
func gs1(f Form, es []element) Code {
	c := Code{Form: f}
	for i, e := range es {
		c.Text += e.ai + e.value
		if !e.fixed && i+1 < len(es) {
			c.Text += groupSeparator
		}
		c.Readable = append(c.Readable, "("+e.ai+")"+e.value)
	}
	return c
}

func (t *Tag) format06() (Code, error) {
	es := []element{{ai: "1T", value: t.Batch}}
	if err := plain("batch", t.Batch); err != nil {
		return Code{}, err
	}
	if day, ok := t.wholeDay(); ok {
		es = append(es, element{ai: "14D", value: day.Format("20060102")})
	}
	if err := plain("container", t.Container); err != nil {
		return Code{}, err
	}
	es = append(es, element{ai: "S", value: t.Serial()})
	c := Code{Form: Format06, Text: "[)>" + recordSeparator + "06"}
	for _, e := range es {
		c.Text += groupSeparator + e.ai + e.value
		c.Readable = append(c.Readable, "("+e.ai+")"+e.value)
	}
	c.Text += recordSeparator + endOfMessage
	return c, nil
}

// ShownOnce is a moment, or where the clock on the wall will show the same again, as it is
// put back, the last minute before the hour that comes twice.
func ShownOnce(t time.Time) time.Time {
	_, change := t.ZoneBounds()
	if change.IsZero() {
		return t
	}
	_, now := t.Zone()
	_, then := change.Zone()
	twice := change.Add(time.Duration(then-now) * time.Second) // where it goes forward, after the change
	if t.Before(twice) {
		return t
	}
	return twice.Add(-time.Minute)
}

// wholeDay is the last day that the container is good for as a whole, if there is one.
func (t *Tag) wholeDay() (day time.Time, ok bool) {
	switch {
	case t.State.Forbids():
		return day, false
	case !t.UseBy.Timed:
		return t.UseBy.At, true
	}
	return t.UseBy.At.AddDate(0, 0, -1), t.UseBy.At.Sub(t.When) >= 24*time.Hour
}

// maxPlain is how long a batch may be in a plain symbol (own decision: no batch number
// known to us is longer, and a longer one is a slip of the hand).
const maxPlain = 40

// plain refuses what a plain symbol cannot carry: anything but printable ASCII.
func plain(field, s string) error {
	for _, r := range s {
		if r < ' ' || r > '~' {
			return fault(field, "%q: a bar code has no %q: write it in plain letters, digits and signs", s, string(r))
		}
	}
	if len(s) > maxPlain {
		return fault(field, "%q: %d characters are too many for a label: it takes %d", s, len(s), maxPlain)
	}
	return nil
}

// signs82 are the characters of GS1 set 82 that are neither letters nor digits (GS1
// General Specifications, AI encodable character set 82; from memory).
const signs82 = `!"%&'()*+,-./:;<=>?_`

// checkGS1 refuses what GS1 element strings cannot carry.
func (t *Tag) checkGS1() error {
	if _, err := GTIN(t.GTIN); err != nil {
		return err
	}
	for _, x := range []struct{ field, text string }{{"batch", t.Batch}, {"container", t.Container}} {
		for _, r := range x.text {
			switch {
			case r >= '0' && r <= '9', r >= 'A' && r <= 'Z', r >= 'a' && r <= 'z', strings.ContainsRune(signs82, r):
			default:
				return fault(x.field, "%q: a GS1 code has no %q: leave out --gtin, then the batch is written without GS1", x.text, string(r))
			}
		}
		if len(x.text) > maxGS1 {
			return fault(x.field, "%q: it has %d characters, and a GS1 code takes %d: leave out --gtin", x.text, len(x.text), maxGS1)
		}
	}
	if n := maxGS1 - len(t.State.word()+stateSign); len(t.Container) > n {
		return fault("container", "%q: it has %d characters, and beside %s a GS1 code takes %d: leave out --gtin, or number it shorter", t.Container, len(t.Container), t.State.word(), n)
	}
	return t.checkCentury()
}

// checkCentury refuses a use-by whose two-digit year a reader would take for that of
// another century: 49 years back and 50 ahead are understood (GS1 General
// Specifications, determination of century in dates).
func (t *Tag) checkCentury() error {
	ahead := t.UseBy.At.Year() - t.When.Year()
	if !t.State.Forbids() && (ahead > 50 || ahead < -49) {
		return fault("gtin", "a GS1 date has two digits for the year, and %d would be read as another century: leave out --gtin", t.UseBy.At.Year())
	}
	return nil
}

// GTIN reads a trade item number, as label.GTIN does; its error is an *Error.
func GTIN(s string) (string, error) {
	full, err := label.GTIN(s)
	if err != nil {
		return "", fault("gtin", "%s", err)
	}
	return full, nil
}

// stamp is a moment on the label, with weekday and zone.
func stamp(t time.Time) string { return t.Format("Mon 2 Jan 2006 15:04 MST") }
