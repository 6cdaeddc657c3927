// Package scan reads what a bar code scanner types: GS1 element strings, GS1
// Digital Link addresses and ISO/IEC 15434 envelopes become fields with their dates.
//
// A scan is safer than typing, and has its own ways to go wrong: a separator that
// the scanner swallows makes of a lot and an expiry one long lot, with no expiry at
// all. So nothing is taken without a rule: identifiers, lengths, characters, check
// digits and days are all held to the standards; what can be repaired in one way
// only is repaired with a warning; what may be a swallowed date is read as it stands
// and marked, for a person to look at the label.
//
// No library that is kept up and reads all three was found for Go, so this reader is
// the project's own, written against the standards: GS1 General Specifications, GS1
// Digital Link (URI syntax), ISO/IEC 15434, ANSI MH10.8.2 and ISO/IEC 15424.
//
// Read on in gs1.go (element strings), identifiers.go (what each GS1 identifier
// may hold), take.go (what its value is for), link.go, envelope.go (ISO/IEC 15434),
// faults.go (repairs, swallowed dates) and print.go.
package scan

import (
	"errors"
	"fmt"
	"strings"

	"github.com/rickb777/date"

	"beadline/catalog/label"
)

// Standard is the standard that a scan is written in.
type Standard uint8

// The standards.
const (
	GS1      Standard = iota + 1 // element string: 01…17…10…
	Link                         // GS1 Digital Link: https://…/01/…/10/…?17=…
	ISO15434                     // envelope: [)> RS 06 GS … RS EOT
)

// String is the standard's name for people.
func (s Standard) String() string {
	switch s {
	case GS1:
		return "GS1 element string"
	case Link:
		return "GS1 Digital Link"
	case ISO15434:
		return "ISO/IEC 15434"
	}
	return "no scan"
}

// Scan is what one bar code says. Texts are "" and dates zero where the code does
// not carry them.
type Scan struct {
	Standard  Standard
	Symbology string // symbology identifier of ISO/IEC 15424 in front, like "]d2", or ""
	Stem      string // of a Digital Link: what stands before the path, like "https://id.gs1.org"

	GTIN         string // product number, 14 digits (01)
	Contents     string // product number of what a pack holds, 14 digits (02)
	SSCC         string // number of a logistic unit, 18 digits (00)
	Product      string // product number of another scheme (9N)
	Lot          string // batch or lot (10), of the supplier (1T)
	CustomerLot  string // lot given by the customer (T)
	Serial       string // (21, S)
	Part         string // part number of the maker or supplier (240, 1P)
	CustomerPart string // part number of the customer (241, P)

	// Quantity is a count of pieces (30, 37), or an amount (Q) in the unit agreed with
	// the supplier; zero: not said.
	Quantity float64
	NetKg    float64 // net weight, kg (310n); zero: not said
	MinC     Temperature
	MaxC     Temperature

	DOM        label.Date // made (11, 16D, 17D)
	Packed     label.Date // (13)
	Expiry     label.Date // (17, 7003, 14D, 15D)
	TestBy     label.Date // to be tested by (7011)
	BestBefore label.Date // (15)
	SellBy     label.Date // (16)
	// Unstated is the first date whose meaning the code does not say (D, 3D, 4D, 7D,
	// 10D, 12D). It is never taken for an expiry; a person has to say what it is.
	Unstated label.Date

	// Fields are all that was read, in the order of the code. A field that stands twice
	// with the same value is kept once.
	Fields   []Field
	Warnings []Warning
	// Doubt says that a date may be missing: one of Warnings is Swallowed. Such a scan
	// is for a person to compare with the label before its batch is used.
	Doubt bool
}

// Temperature is a limit of storage, °C.
type Temperature struct {
	C     float64
	Known bool
}

// Field is one field of a scan.
type Field struct {
	ID    string     // application identifier ("17") or data identifier ("1T")
	Title string     // what it is, in a few words; "" for one that is not known here
	Value string     // as in the code
	Date  label.Date // of a date, otherwise zero
}

// Trouble is the kind of a warning.
type Trouble uint8

// The kinds of warnings.
const (
	Repaired  Trouble = iota + 1 // a fault of the scanner was set right
	Swallowed                    // a separator may be missing, and a date with it
	Unknown                      // a field that is not known here was kept as it stands
	NoMeaning                    // a date of which the code does not say what it is, or a part that may hold one
	Assumed                      // a date was read with more than its digits say
	Odd                          // fields that do not belong together, or a code of the wrong kind
)

// Warning is something to know about a scan that was read all the same: one line.
type Warning struct {
	Trouble Trouble
	Text    string
}

// String is the text of the warning.
func (w Warning) String() string { return w.Text }

// maxScan is the longest text read as a scan: the most that one symbol in use holds
// is 4296 characters (QR code, ISO/IEC 18004, from memory).
const maxScan = 4296

// Parse reads what a scanner typed. Space, tab and line ends around it do not count.
// It reads
//
//	]d2010543…<GS>17290331         GS1, with or without a symbology identifier
//	(01)05412345000013(17)290331   the same as printed under the bars
//	(1T)ABC123(14D)20290331        data identifiers as printed under the bars
//	https://id.gs1.org/01/…/10/…   GS1 Digital Link, of any domain
//	[)><RS>06<GS>1TABC…<RS><EOT>   ISO/IEC 15434, formats 05 and 06
//
// with the control characters FNC1 or GS (0x1D), RS (0x1E) and EOT (0x04). Years of
// two digits are read against today. Faults that scanners are known for are repaired
// with a warning (see faults.go). Everything else is refused in one line that names
// the identifier and the character it stands at, counted from 1.
func Parse(s string, today date.Date) (Scan, error) {
	t := strings.Trim(s, " \t\r\n")
	switch {
	case t == "":
		return Scan{}, errors.New("nothing scanned: scan the code, or type the batch")
	case len(t) > maxScan:
		return Scan{}, fmt.Errorf("scan of %d characters: a bar code holds %d at most: scan one code at a time", len(t), maxScan)
	}
	spelled, err := characters(t)
	if err != nil {
		return Scan{}, err
	}
	if spelled {
		if plain, names := unspell(t); names != "" {
			return parseSpelled(plain, names, today)
		}
	}
	var p parser
	p.today = today
	if err := p.parse(t); err != nil {
		return repair(t, today, err)
	}
	return p.s, nil
}

// parser is a scan being read.
type parser struct {
	today date.Date
	s     Scan
}

// parse reads t, which is trimmed and of sound characters, as it stands.
func (p *parser) parse(t string) error {
	at := 0
	if t[0] == ']' {
		if err := p.symbology(t); err != nil {
			return err
		}
		at = 3
	}
	p.s.Fields = make([]Field, 0, 8)
	rest := t[at:]
	var err error
	switch {
	case rest == "":
		return errors.New("nothing behind the symbology identifier: scan again")
	case isEnvelope(rest):
		p.s.Standard = ISO15434
		err = p.envelope(rest, at)
	case rest[0] == '(':
		err = p.bracketed(rest, at)
	case isAddress(rest):
		p.s.Standard = Link
		err = p.link(rest, at)
	case strings.HasPrefix(rest, "http://") || strings.HasPrefix(rest, "https://"):
		return errors.New("an address without a product number: one that is read has /01/ and 14 digits in it: scan the other code, or type the batch")
	default:
		p.s.Standard = GS1
		err = p.elements(rest, at)
	}
	if err != nil {
		return err
	}
	return p.whole(at > 0)
}

// whole holds the scan as a whole to what its fields say of each other.
func (p *parser) whole(prefixed bool) error {
	s := &p.s
	if len(s.Fields) == 0 {
		return errors.New("no field in the scan: scan again")
	}
	if has02, has37 := p.has("02"), p.has("37"); has02 != has37 && s.GTIN == "" {
		p.warn(Odd, "(02) and (37) belong together: what a pack holds, and how many; only one of them is here.")
	}
	if s.GTIN != "" && s.Contents != "" {
		return errors.New("(01) and (02) in one scan: a pack has its own number or that of its contents: scan the code of the batch itself")
	}
	if prefixed && s.Standard == GS1 && !isGS1Symbology(s.Symbology) {
		p.warn(Odd, s.Symbology+" is not the mark of a GS1 code; it is read as one because it is written as one.")
	}
	if s.Standard != Link { // each field of an address is written by itself
		p.lookForSwallowed()
	}
	return nil
}

func (p *parser) warn(kind Trouble, text string) {
	p.s.Warnings = append(p.s.Warnings, Warning{kind, text})
	p.s.Doubt = p.s.Doubt || kind == Swallowed
}

// symbology reads the identifier of ISO/IEC 15424 that scanners send in front.
func (p *parser) symbology(t string) error {
	if len(t) < 3 || strings.IndexByte("ACEFIJLQdez", t[1]) < 0 || !digit(t[2]) {
		return fmt.Errorf("character 1: %s is no symbology identifier that is read: a GS1 code sends ]d2, ]C1, ]e0, ]Q3 or ]J1", quote(t[:min(3, len(t))]))
	}
	if t[1] == 'E' {
		return fmt.Errorf("%s is a plain product bar code: it holds a product number and no batch: scan the other code, or type the batch", quote(t[:3]))
	}
	p.s.Symbology = t[:3]
	return nil
}

// Plain is what stands in a symbol that is marked as none of GS1's, such as the batch in
// the plain Code 128 of a label (]C0); ok is false for any other text. Ask Parse first:
// envelopes and addresses stand in such symbols too.
func Plain(s string) (content string, ok bool) {
	t := strings.Trim(s, " \t\r\n")
	var p parser
	if len(t) < 4 || t[0] != ']' || p.symbology(t) != nil || isGS1Symbology(p.s.Symbology) {
		return "", false
	}
	content = strings.TrimSpace(t[3:])
	for i := range len(content) {
		if content[i] < ' ' || content[i] > '~' {
			return "", false
		}
	}
	return content, content != ""
}

// isGS1Symbology reports whether an identifier says that the code begins with FNC1,
// or is one of GS1 only (GS1 General Specifications, symbology identifiers).
func isGS1Symbology(id string) bool {
	switch id {
	case "]C1", "]e0", "]e1", "]e2", "]d2", "]Q3", "]J1":
		return true
	}
	return false
}

// Looks reports whether a text is a scan rather than a batch number somebody typed:
// it has a symbology identifier, a control character, an envelope's header, a
// bracketed identifier or a Digital Link; or it is 01 and a product number with a
// right check digit, or 01, 14 digits and another identifier of this package; or 00
// and a number of 18 digits with a right check digit. It says nothing of whether Parse
// will read it.
func Looks(s string) bool {
	t := strings.Trim(s, " \t\r\n")
	if t == "" {
		return false
	}
	if t[0] == ']' && len(t) > 3 && letter(t[1]) && digit(t[2]) || strings.HasPrefix(t, "[)>") || isAddress(t) ||
		strings.ContainsAny(t, "\x1d\x1e\x04␝␞␄") {
		return true
	}
	if t[0] == '(' {
		id, _, ok := bracketedID(t, true)
		return ok && (identifierAt(id) == id || dataTitle(id) != "")
	}
	if plain, names := unspell(t); names != "" {
		return Looks(plain)
	}
	if len(t) == 20 && t[:2] == "00" && isNumber(t) {
		return label.CheckDigit(t[2:19]) == t[19]
	}
	if len(t) < 16 || t[:2] != "01" || !isNumber(t[:16]) {
		return false
	}
	if len(t) == 16 {
		return label.CheckDigit(t[2:15]) == t[15]
	}
	id := identifierAt(t[16:])
	return id != "" && specOf(id) != nil
}

func digit(c byte) bool  { return c >= '0' && c <= '9' }
func letter(c byte) bool { return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' }

func isNumber(s string) bool {
	for i := range len(s) {
		if !digit(s[i]) {
			return false
		}
	}
	return s != ""
}

// quote shows what was scanned: shortened, control characters made visible.
func quote(s string) string {
	const most = 40
	if len(s) > most {
		s = strings.ToValidUTF8(s[:most], "") + "…"
	}
	return fmt.Sprintf("%+q", s)
}
