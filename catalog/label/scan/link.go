package scan

import (
	"fmt"
	"strings"

	"beadline/catalog/label"
)

// isAddress reports whether a text is a web address with a GS1 key in its path.
func isAddress(s string) bool {
	_, path, _ := address(s)
	return path != ""
}

// address parts an address into stem (scheme, host and what stands before the key),
// path from the key on without its slash, and query; path is "" if there is no key.
func address(s string) (stem, path, query string) {
	n := len("https://")
	if len(s) < n {
		return "", "", ""
	}
	if !strings.EqualFold(s[:n], "https://") {
		if n--; !strings.EqualFold(s[:n], "http://") {
			return "", "", ""
		}
	}
	rest := s
	if i := strings.IndexByte(rest, '#'); i >= 0 {
		rest = rest[:i]
	}
	if i := strings.IndexByte(rest, '?'); i >= 0 {
		rest, query = rest[:i], rest[i+1:]
	}
	for i := n; i < len(rest); i++ {
		if rest[i] != '/' || i == n {
			continue
		}
		for _, key := range [...]string{"01", "00"} {
			if r := rest[i+1:]; len(r) > 3 && r[:2] == key && r[2] == '/' && digit(r[3]) {
				return s[:i], r, query
			}
		}
	}
	return "", "", ""
}

// qualifier is the place of an identifier behind a product number in the path: 22, 10
// and 21 stand there in this order (GS1 Digital Link, URI syntax); zero for others.
func qualifier(id string) int {
	switch id {
	case "22":
		return 1
	case "10":
		return 2
	case "21":
		return 3
	}
	return 0
}

// link reads a GS1 Digital Link of any domain: the key and its qualifiers from the
// path, attributes from the query. Parameters that are no numbers are not GS1's and
// do not count; one that holds a date is warned of.
func (p *parser) link(s string, at int) error {
	for i := range len(s) {
		if s[i] <= ' ' {
			return fmt.Errorf("character %d: an address holds no spaces and no separators: scan again", at+i+1)
		}
	}
	stem, path, query := address(s)
	p.s.Stem = stem
	pos := at + len(stem) + 1
	path = strings.TrimSuffix(path, "/")
	key, place := "", 0
	for path != "" {
		id, rest, ok := strings.Cut(path, "/")
		value, more, _ := strings.Cut(rest, "/")
		switch {
		case !ok:
			return fmt.Errorf("character %d: %s: an identifier without its value: an address ends like /10/ABC123", pos+1, quote(path))
		case key == "":
			key = id
		case key == "01" && qualifier(id) > place:
			place = qualifier(id)
		case key == "01" && qualifier(id) > 0:
			return fault(id, pos, "out of order: behind the product number stand 22, 10 and 21, in this order, once each")
		default:
			return fmt.Errorf("character %d: %s does not belong in the path of an address: only 22, 10 and 21 stand behind the product number", pos+1, quote(id))
		}
		if err := p.parameter(id, value, pos); err != nil {
			return err
		}
		pos += len(path) - len(more)
		path = more
	}
	for pos++; query != ""; {
		one := query
		if i := strings.IndexAny(query, "&;"); i >= 0 {
			one, query = query[:i], query[i+1:]
		} else {
			query = ""
		}
		name, value, _ := strings.Cut(one, "=")
		if err := p.attribute(name, value, pos); err != nil {
			return err
		}
		pos += len(one) + 1
	}
	return nil
}

// attribute adds a parameter of the query, whose name may be percent-encoded too.
func (p *parser) attribute(name, value string, at int) error {
	id, ok := decode(name)
	switch {
	case !ok:
		return fmt.Errorf("character %d: %s: a %% without two hexadecimal digits: scan again", at+1, quote(name))
	case isNumber(id) && identifierAt(id) != id:
		return fmt.Errorf("character %d: %s is no GS1 identifier", at+1, quote(id))
	case isNumber(id):
		return p.parameter(id, value, at)
	}
	text, _ := decode(value)
	if d, err := label.Read(text, label.How{Today: p.today, Order: label.YMD, Clock: true}); err == nil {
		p.warn(NoMeaning, fmt.Sprintf("%s=%s: a date, %s, under a name that is not GS1's; it is not read: look at the label.", printable(id), printable(text), d))
	}
	return nil
}

// parameter adds one field of an address. Product numbers of 8, 12 and 13 digits, as
// older addresses have them, get their zeros in front.
func (p *parser) parameter(id, value string, at int) error {
	v, ok := decode(value)
	if !ok {
		return fault(id, at, fmt.Sprintf("%s: a %% without two hexadecimal digits: scan again", quote(value)))
	}
	if n := len(v); id == "01" && isNumber(v) && (n == 8 || n == 12 || n == 13) {
		v = "00000000000000"[n:] + v
		p.warn(Repaired, fmt.Sprintf("(01) The product number has %d digits; zeros are put in front.", n))
	}
	return p.element(id, v, at)
}

// decode undoes percent encoding (RFC 3986 section 2.1).
func decode(s string) (string, bool) {
	if strings.IndexByte(s, '%') < 0 {
		return s, true
	}
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		if s[i] != '%' {
			b.WriteByte(s[i])
			continue
		}
		if i+2 >= len(s) {
			return "", false
		}
		hi, lo := strings.IndexByte(hexDigits, upper(s[i+1])), strings.IndexByte(hexDigits, upper(s[i+2]))
		if hi < 0 || lo < 0 {
			return "", false
		}
		b.WriteByte(byte(hi<<4 | lo))
		i += 2
	}
	return b.String(), true
}

const hexDigits = "0123456789ABCDEF"

func upper(c byte) byte {
	if c >= 'a' && c <= 'z' {
		return c - 'a' + 'A'
	}
	return c
}

// encode writes all but the unreserved characters of RFC 3986 section 2.3 with
// percent signs.
func encode(b *strings.Builder, s string) {
	for i := range len(s) {
		if c := s[i]; digit(c) || letter(c) || strings.IndexByte("-._~", c) >= 0 {
			b.WriteByte(c)
		} else {
			b.WriteByte('%')
			b.WriteByte(hexDigits[c>>4])
			b.WriteByte(hexDigits[c&15])
		}
	}
}
