package scan

import "fmt"

// spec is what one GS1 application identifier may hold (GS1 General Specifications,
// element string definitions).
type spec struct {
	title    string
	min, max int // characters of the value
	numeric  bool
	role     role
}

// role is what the value of a field is for.
type role uint8

const (
	roleNone role = iota
	roleSSCC
	roleGTIN
	roleContents
	roleLot
	roleSerial
	rolePart
	roleCustomerPart
	roleQuantity
	roleNet
	roleMade
	rolePacked
	roleExpiry
	roleExpiryMinute
	roleTestBy
	roleBestBefore
	roleSellBy
	roleMinC
	roleMaxC
	roleMinF
	roleMaxF
)

// two are the identifiers of two digits.
var two = [100]*spec{
	0:  {"logistic unit (SSCC)", 18, 18, true, roleSSCC},
	1:  {"product (GTIN)", 14, 14, true, roleGTIN},
	2:  {"product inside (GTIN)", 14, 14, true, roleContents},
	10: {"batch or lot", 1, 20, false, roleLot},
	11: {"made", 6, 6, true, roleMade},
	13: {"packed", 6, 6, true, rolePacked},
	15: {"best before", 6, 6, true, roleBestBefore},
	16: {"sell by", 6, 6, true, roleSellBy},
	17: {"expires", 6, 6, true, roleExpiry},
	20: {"variant", 2, 2, true, roleNone},
	21: {"serial number", 1, 20, false, roleSerial},
	22: {"consumer variant", 1, 20, false, roleNone},
	30: {"count", 1, 8, true, roleQuantity},
	37: {"count inside", 1, 8, true, roleQuantity},
	90: {"agreed between partners", 1, 30, false, roleNone},
	91: inHouse, 92: inHouse, 93: inHouse, 94: inHouse, 95: inHouse, 96: inHouse, 97: inHouse, 98: inHouse, 99: inHouse,
}

var (
	inHouse      = &spec{"in-house", 1, 90, false, roleNone}
	part         = &spec{"maker's part number", 1, 30, false, rolePart}
	customerPart = &spec{"customer's part number", 1, 30, false, roleCustomerPart}
	net          = &spec{"net weight", 6, 6, true, roleNet}
	maxF         = &spec{"warmest storage, F", 6, 7, false, roleMaxF}
	maxC         = &spec{"warmest storage, C", 6, 7, false, roleMaxC}
	minF         = &spec{"coldest storage, F", 6, 7, false, roleMinF}
	minC         = &spec{"coldest storage, C", 6, 7, false, roleMinC}
	expiryMinute = &spec{"expires", 10, 10, true, roleExpiryMinute}
	testBy       = &spec{"test by", 6, 10, true, roleTestBy}
)

// specOf is what an identifier may hold, or nil if it is not known here or no
// application identifier at all.
func specOf(id string) *spec {
	switch len(id) {
	case 2:
		if digit(id[0]) && digit(id[1]) {
			return two[10*(id[0]-'0')+id[1]-'0']
		}
	case 3:
		switch id {
		case "240":
			return part
		case "241":
			return customerPart
		}
	case 4:
		switch id {
		case "3100", "3101", "3102", "3103", "3104", "3105":
			return net
		case "4330":
			return maxF
		case "4331":
			return maxC
		case "4332":
			return minF
		case "4333":
			return minC
		case "7003":
			return expiryMinute
		case "7011":
			return testBy
		}
	}
	return nil
}

// lengths are, by the first two digits of an identifier, its own length and that of
// its value where the value is of fixed length and needs no separator (GS1 General
// Specifications, element strings of predefined length; the lengths of identifiers
// are from memory of the same table). Zero: no such identifiers.
var lengths = func() (t [100]struct{ id, value uint8 }) {
	set := func(from, to, id, value int) {
		for i := from; i <= to; i++ {
			t[i].id, t[i].value = uint8(id), uint8(value)
		}
	}
	set(0, 0, 2, 18)
	set(1, 3, 2, 14)
	set(4, 4, 2, 16)
	set(10, 10, 2, 0)
	set(11, 19, 2, 6)
	set(20, 20, 2, 2)
	set(21, 22, 2, 0)
	set(23, 25, 3, 0)
	set(30, 30, 2, 0)
	set(31, 36, 4, 6)
	set(37, 37, 2, 0)
	set(39, 39, 4, 0)
	set(40, 40, 3, 0)
	set(41, 41, 3, 13)
	set(42, 42, 3, 0)
	set(43, 43, 4, 0)
	set(70, 70, 4, 0)
	set(71, 71, 3, 0)
	set(72, 72, 4, 0)
	set(80, 82, 4, 0)
	set(90, 99, 2, 0)
	return t
}()

// identifierAt is the application identifier that s starts with, or "".
func identifierAt(s string) string {
	if len(s) < 2 || !digit(s[0]) || !digit(s[1]) {
		return ""
	}
	n := int(lengths[10*(s[0]-'0')+s[1]-'0'].id)
	if n == 0 || len(s) < n || n > 2 && !isNumber(s[2:n]) {
		return ""
	}
	return s[:n]
}

// fixedLength is the length of an identifier's value where it is fixed, else 0.
func fixedLength(id string) int { return int(lengths[10*(id[0]-'0')+id[1]-'0'].value) }

// maxUnknown is the longest value of an identifier that is not known here: the
// longest of any but one.
const maxUnknown = 90

// element adds a GS1 field that starts at a character (from 0), its value cut out.
func (p *parser) element(id, value string, at int) error {
	s := specOf(id)
	why := ""
	switch {
	case s == nil && fixedLength(id) > 0:
		n := fixedLength(id)
		why = badDigits(value, &spec{min: n, max: n})
	case s == nil:
		why = badText(value, 1, maxUnknown)
	case s.numeric:
		why = badDigits(value, s)
	default:
		why = badText(value, s.min, s.max)
	}
	if why != "" {
		return fault(id, at, why+p.tooLong(value, s))
	}
	again, err := p.again(id, value, at)
	if again || err != nil {
		return err
	}
	f := Field{ID: id, Value: value}
	if s == nil {
		p.warn(Unknown, fmt.Sprintf("(%s) %s: not an identifier that is read here; it is kept as it stands.", id, quote(value)))
	} else {
		f.Title = s.title
		if why = p.take(&f, s.role); why != "" {
			return fault(id, at, why)
		}
	}
	p.s.Fields = append(p.s.Fields, f)
	return nil
}

// again reports whether a field stood before with the same value. With another value
// it is an error: which of the two is right is not for a program to say.
func (p *parser) again(id, value string, at int) (bool, error) {
	for i := range p.s.Fields {
		if f := &p.s.Fields[i]; f.ID == id {
			if f.Value == value {
				return true, nil
			}
			return false, fault(id, at, fmt.Sprintf("it stood before as %s, and now as %s: scan one code at a time", quote(f.Value), quote(value)))
		}
	}
	return false, nil
}

// fault is the error of a field that starts at a character, from 0.
func fault(id string, at int, why string) error {
	return fmt.Errorf("(%s) at character %d: %s", id, at+1, why)
}

func badDigits(value string, s *spec) string {
	n := len(value)
	if n >= s.min && n <= s.max && isNumber(value) {
		return ""
	}
	if s.min == s.max {
		return fmt.Sprintf("%s is not %d digits", quote(value), s.min)
	}
	return fmt.Sprintf("%s is not %d to %d digits", quote(value), s.min, s.max)
}

func badText(value string, shortest, longest int) string {
	if n := len(value); n < shortest || n > longest {
		return fmt.Sprintf("%s has %d characters, not %d to %d", quote(value), n, shortest, longest)
	}
	for i := range len(value) {
		if !cset82[value[i]] {
			return fmt.Sprintf("%s is not a character of such a field: if the scanner types it for the separator, set it to send GS (0x1D)", quote(value[i:i+1]))
		}
	}
	return ""
}

// cset82 are the characters of GS1 texts (GS1 General Specifications, the invariant
// set of ISO/IEC 646).
var cset82 = func() (t [256]bool) {
	for c := range t {
		t[c] = digit(byte(c)) || letter(byte(c))
	}
	for _, c := range []byte("!\"%&'()*+,-./:;<=>?_") {
		t[c] = true
	}
	return t
}()
