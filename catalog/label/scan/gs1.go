package scan

import (
	"errors"
	"fmt"
	"strings"
)

// The control characters of bar codes: GS is also what scanners send for FNC1.
const (
	eot = '\x04'
	gs  = '\x1d'
	rs  = '\x1e'
)

// elements reads a GS1 element string as the bars carry it: fields of fixed length
// one behind the other, any other ended by a separator or the end. at is where s
// stands in the scan.
func (p *parser) elements(s string, at int) error {
	i := 0
	if s != "" && s[0] == gs {
		p.warn(Repaired, "The separator in front of the first field is dropped.")
		i = 1
	}
	for i < len(s) {
		id := identifierAt(s[i:])
		if id == "" {
			return notIdentifier(s, i, at)
		}
		from := i + len(id)
		end := from + fixedLength(id)
		switch {
		case end == from:
			if n := strings.IndexByte(s[from:], gs); n >= 0 {
				end = from + n
			} else {
				end = len(s)
			}
		case end > len(s):
			end = len(s)
		}
		if err := p.element(id, s[from:end], at+i); err != nil {
			return err
		}
		if i = end; i < len(s) && s[i] == gs {
			i++
		}
	}
	return nil
}

func notIdentifier(s string, i, at int) error {
	if s[i] == gs {
		return fmt.Errorf("character %d: two separators with nothing between them: scan again", at+i+1)
	}
	end := min(i+4, len(s))
	if at+i == 0 {
		return fmt.Errorf("character 1: %s starts no GS1 identifier: scan the code again, or type the batch alone", quote(s[:end]))
	}
	return fmt.Errorf("character %d: %s starts no GS1 identifier: is a character missing before it?", at+i+1, quote(s[i:end]))
}

// bracketed reads identifiers in brackets, as printed under the bars: GS1 ones, and
// the data identifiers of ANSI MH10.8.2 too if the first one is of these. A bracket
// within a value is written \(, where what it holds would read as an identifier.
func (p *parser) bracketed(s string, at int) error {
	first, _, ok := bracketedID(s, true)
	if !ok {
		return fmt.Errorf("character %d: %s is no identifier in brackets: write it like (01), (17) or (1T)", at+1, quote(s[:min(6, len(s))]))
	}
	p.s.Standard = GS1
	data := !isNumber(first)
	if data {
		p.s.Standard = ISO15434
	}
	for i := 0; i < len(s); {
		id, n, _ := bracketedID(s[i:], data)
		number := isNumber(id)
		if number && identifierAt(id) != id {
			return fmt.Errorf("character %d: (%s) is no GS1 identifier", at+i+1, id)
		}
		from := i + n
		end := from
		for end < len(s) && s[end] != gs {
			if s[end] == '\\' && end+1 < len(s) {
				end += 2
				continue
			}
			if s[end] == '(' {
				if _, _, ok := bracketedID(s[end:], data); ok {
					break
				}
			}
			end++
		}
		if end < len(s) && s[end] == gs {
			return fmt.Errorf("character %d: a separator among identifiers in brackets: scan the code again", at+end+1)
		}
		value := unescape(strings.Trim(s[from:end], " "))
		var err error
		switch {
		case value == "":
			err = fault(id, at+i, "nothing stands behind it")
		case number:
			err = p.element(id, value, at+i)
		default:
			err = p.identifier(id, value, at+i)
		}
		if err != nil {
			return err
		}
		i = end
	}
	return nil
}

// bracketedID is the identifier in the bracket that s starts with, and the length of
// both: a GS1 one of two to four digits or, if data, up to three digits and a capital
// letter.
func bracketedID(s string, data bool) (id string, n int, ok bool) {
	end := strings.IndexByte(s[:min(6, len(s))], ')')
	if end < 2 || s[0] != '(' {
		return "", 0, false
	}
	id = s[1:end]
	if data {
		if d, ok := dataIdentifierAt(id); ok && d == id {
			return id, end + 1, true
		}
	}
	return id, end + 1, len(id) >= 2 && isNumber(id)
}

func unescape(s string) string {
	if strings.IndexByte(s, '\\') < 0 {
		return s
	}
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		if s[i] == '\\' && i+1 < len(s) && (s[i+1] == '(' || s[i+1] == '\\') {
			i++
		}
		b.WriteByte(s[i])
	}
	return b.String()
}

// characters holds a text to what a scanner can send: printable ASCII and the control
// characters of bar codes, or their pictures in Unicode. spelled says that a
// separator may be written out in words.
func characters(t string) (spelled bool, err error) {
	for i := 0; i < len(t); i++ {
		switch c := t[i]; {
		case c >= ' ' && c <= '~':
			spelled = spelled || c == '<' || c == '{' || c == '[' || c == '\\' || c == '^'
		case c == gs, c == rs, c == eot:
		case c == 0xE2 && picture(t[i:]) != 0:
			spelled, i = true, i+2
		case c < ' ' || c == 0x7F:
			return false, fmt.Errorf("character %d: control character 0x%02X: no bar code read here has it: scan again", i+1, c)
		default:
			return false, errors.New(badLetter(t, i))
		}
	}
	return spelled, nil
}

func badLetter(t string, i int) string {
	r := []rune(strings.ToValidUTF8(t[i:min(i+4, len(t))], "?"))
	return fmt.Sprintf("character %d: %+q: bar codes hold plain ASCII: is the keyboard layout of the scanner right?", i+1, r[0])
}
