package scan

import (
	"fmt"
	"strconv"
	"strings"

	"beadline/catalog/label"
)

// isEnvelope reports whether a text is an ISO/IEC 15434 envelope, or one that lost
// its header: format 05 or 06 with its separator.
func isEnvelope(s string) bool {
	if strings.HasPrefix(s, "[)>") {
		return true
	}
	s = strings.TrimPrefix(s, string(rs))
	return len(s) > 2 && (s[:2] == "05" || s[:2] == "06") && s[2] == gs
}

// envelope reads [)> RS, then for each format its two digits, GS, fields between GS,
// and RS; and EOT at last. What is missing of the frame is repaired with a warning.
func (p *parser) envelope(s string, at int) error {
	i := 0
	if strings.HasPrefix(s, "[)>") {
		i = 3
	} else {
		p.warn(Repaired, "The header [)> is missing; it is taken as given.")
	}
	switch {
	case i < len(s) && s[i] == rs:
		i++
	case i > 0:
		p.warn(Repaired, "The separator RS behind the header is missing; it is taken as given.")
	}
	for {
		n := strings.IndexAny(s[i:], "\x1e\x04")
		end := len(s)
		if n >= 0 {
			end = i + n
		}
		if err := p.format(s[i:end], at+i); err != nil {
			return err
		}
		switch {
		case end == len(s):
			p.warn(Repaired, "The end of the envelope, RS and EOT, is missing; it is taken as given.")
			return nil
		case s[end] == eot && end == len(s)-1:
			p.warn(Repaired, "The separator RS before the end of the envelope is missing; it is taken as given.")
			return nil
		case s[end] == eot:
			return fmt.Errorf("character %d: the envelope ends and more follows: scan one code at a time", at+end+2)
		case end == len(s)-1:
			p.warn(Repaired, "The end of the envelope, EOT, is missing; it is taken as given.")
			return nil
		case s[end+1] == eot && end == len(s)-2:
			return nil
		case s[end+1] == eot:
			return fmt.Errorf("character %d: the envelope ends and more follows: scan one code at a time", at+end+3)
		}
		i = end + 1
	}
}

// format reads one format of an envelope, from its two digits to before its RS.
func (p *parser) format(s string, at int) error {
	if len(s) < 3 || !isNumber(s[:2]) {
		return fmt.Errorf("character %d: %s is no format of an envelope: 05 or 06, a separator and fields stand there", at+1, quote(s[:min(3, len(s))]))
	}
	if s[:2] != "05" && s[:2] != "06" {
		p.warn(NoMeaning, fmt.Sprintf("Format %s of the envelope is not read here; formats 05 and 06 are.", s[:2]))
		return nil
	}
	if s[2] != gs {
		return fmt.Errorf("character %d: the separators between the fields are missing: set the scanner to send GS (0x1D)", at+3)
	}
	rest, at := strings.TrimSuffix(s[3:], string(gs)), at+3
	if s[:2] == "05" {
		if rest == "" {
			return fmt.Errorf("character %d: nothing between two separators: scan again", at+1)
		}
		return p.elements(rest, at)
	}
	for more := true; more; {
		var one string
		one, rest, more = strings.Cut(rest, string(gs))
		id, ok := dataIdentifierAt(one)
		if !ok {
			return fmt.Errorf("character %d: %s starts with no data identifier: up to three digits and a capital letter, like 1T", at+1, quote(one))
		}
		value := strings.Trim(one[len(id):], " ")
		if value == "" {
			return fault(id, at, "nothing stands behind it")
		}
		if err := p.identifier(id, value, at); err != nil {
			return err
		}
		at += len(one) + 1
	}
	return nil
}

// dataIdentifierAt is the data identifier that s starts with: up to three digits and
// a capital letter (ANSI MH10.8.2). Taking all digits takes the longest, so that 14D
// is never read as D.
func dataIdentifierAt(s string) (id string, ok bool) {
	i := 0
	for i < len(s) && i < 3 && digit(s[i]) {
		i++
	}
	if i == len(s) || s[i] < 'A' || s[i] > 'Z' {
		return "", false
	}
	return s[:i+1], true
}

// dataTitle is what a data identifier stands for, in a few words, or "" if it is not
// known here (ANSI MH10.8.2).
func dataTitle(id string) string {
	switch id {
	case "1T":
		return "supplier's lot"
	case "T":
		return "customer's lot"
	case "1P":
		return "supplier's part number"
	case "P":
		return "customer's part number"
	case "9N":
		return "product number"
	case "S":
		return "serial number"
	case "Q":
		return "quantity"
	case "2E":
		return "warmest storage, C"
	case "3E":
		return "coldest storage, C"
	case "14D", "15D":
		return "expires"
	case "16D", "17D":
		return "made"
	case "D", "3D", "4D", "7D", "10D", "12D":
		return "date"
	case "9D":
		return "date agreed between partners"
	}
	return ""
}

// identifier adds a field of ANSI MH10.8.2, its value trimmed and not empty. A field
// not known here may stand more than once: what it repeats is not known either.
func (p *parser) identifier(id, value string, at int) error {
	for i := range len(value) {
		if value[i] < ' ' {
			return fault(id, at, fmt.Sprintf("%s holds a control character: scan again", quote(value)))
		}
	}
	f := Field{ID: id, Title: dataTitle(id), Value: value}
	again, err := p.again(id, value, at)
	switch {
	case again:
		return nil
	case f.Title == "" && id[len(id)-1] == 'D': // all dates of ANSI MH10.8.2 end in D
		p.warn(NoMeaning, fmt.Sprintf("(%s) %s: a date in a form that is not read here; it is kept as it stands: look at the label.", id, quote(value)))
	case f.Title == "":
		p.warn(Unknown, fmt.Sprintf("(%s) %s: not an identifier that is read here; it is kept as it stands.", id, quote(value)))
	case err != nil:
		return err
	default:
		if why := p.takeData(&f); why != "" {
			return fault(id, at, why)
		}
	}
	p.s.Fields = append(p.s.Fields, f)
	return nil
}

// takeData puts the value of a data identifier to its use. It answers why it cannot
// be, or "".
func (p *parser) takeData(f *Field) (why string) {
	s := &p.s
	switch f.ID {
	case "1T":
		return text(&s.Lot, f.Value)
	case "T":
		return text(&s.CustomerLot, f.Value)
	case "1P":
		return text(&s.Part, f.Value)
	case "P":
		return text(&s.CustomerPart, f.Value)
	case "9N":
		return text(&s.Product, f.Value)
	case "S":
		return text(&s.Serial, f.Value)
	case "Q":
		if !isDecimal(f.Value, 15) {
			return fmt.Sprintf("%s is not a quantity: digits, and a decimal point at most", quote(f.Value))
		}
		return quantity(&s.Quantity, f.Value, 1)
	case "2E":
		return dataTemperature(&s.MaxC, f.Value)
	case "3E":
		return dataTemperature(&s.MinC, f.Value)
	case "14D":
		return p.date(f, &s.Expiry, label.YYYYMMDD)
	case "15D":
		return p.date(f, &s.Expiry, label.DDMMYYYY)
	case "16D":
		return p.date(f, &s.DOM, label.YYYYMMDD)
	case "17D":
		return p.date(f, &s.DOM, label.DDMMYYYY)
	case "9D":
		p.warn(NoMeaning, fmt.Sprintf("(9D) %s: a date in a form agreed between partners; it is not read: look at the label.", quote(f.Value)))
		return ""
	}
	return p.unstatedDate(f)
}

// unstated are the layouts of the dates whose meaning the identifier does not say.
func unstated(id string) label.Layout {
	switch id {
	case "3D":
		return label.YDDD
	case "4D":
		return label.YYDDD
	case "7D":
		return label.MMYY
	case "10D":
		return label.YYWW
	case "12D":
		return label.YYYYMMDD
	}
	return label.YYMMDD
}

func (p *parser) unstatedDate(f *Field) string {
	l := unstated(f.ID)
	d, err := label.ReadDigits(f.Value, l, p.today)
	if err != nil {
		return err.Error()
	}
	f.Date = d
	if p.s.Unstated.IsZero() {
		p.s.Unstated = d
	}
	p.warn(NoMeaning, fmt.Sprintf("(%s) %s: the code does not say what this date is; it is not taken for an expiry: look at the label.", f.ID, d))
	if l == label.YDDD || l == label.YYWW {
		p.warn(Assumed, fmt.Sprintf("(%s) %s", f.ID, d.Assumed()))
	}
	return ""
}

// dataTemperature reads a limit of storage, °C.
func dataTemperature(to *Temperature, value string) string {
	digits := value
	if digits[0] == '-' || digits[0] == '+' {
		digits = digits[1:]
	}
	c, err := strconv.ParseFloat(value, 64)
	if err != nil || !isDecimal(digits, 6) {
		return fmt.Sprintf("%s is not a temperature: degrees C, like 27 or -18.5", quote(value))
	}
	return temperature(to, c)
}

// isDecimal reports whether s is digits with at most one point between them, of at
// most so many characters.
func isDecimal(s string, most int) bool {
	whole, part, point := strings.Cut(s, ".")
	return len(s) <= most && isNumber(whole) && (!point || isNumber(part))
}
