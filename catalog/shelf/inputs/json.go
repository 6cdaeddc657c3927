package inputs

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"

	"beadline/catalog/label"
	"beadline/cure/nearest"
)

// JSON (RFC 8259) into values and back. It is ours, not encoding/json's, because that
// takes a key twice, keys in another case and broken UTF-8 without a word, and is held
// to it by the tests.

// fault is what is wrong, and where.
type fault struct {
	path string
	why  string
}

func faultf(format string, args ...any) *fault {
	return &fault{why: fmt.Errorf(format, args...).Error()}
}

// Error is the path of the key and what is wrong, in one line.
func (f *fault) Error() string {
	if f.path == "" {
		return f.why
	}
	return f.path + ": " + f.why
}

// at and under put the place in front of the path.
func (f *fault) at(i int) *fault {
	f.path = "[" + strconv.Itoa(i) + "]" + f.dotted()
	return f
}

func (f *fault) under(key string) *fault {
	f.path = key + f.dotted()
	return f
}

func (f *fault) dotted() string {
	if f.path == "" || f.path[0] == '[' {
		return f.path
	}
	return "." + f.path
}

// writer makes the bytes. Once something is wrong what it makes is of no use.
type writer struct {
	b     []byte
	wrong *fault
}

func (w *writer) fail(why string) {
	if w.wrong == nil {
		w.wrong = &fault{why: why}
	}
}

// within says under which key something went wrong.
func (w *writer) within(key string) {
	if w.wrong != nil {
		w.wrong.under(key)
	}
}

func (w *writer) open(c byte) { w.b = append(w.b, c) }

// comma parts a value from the one before it, unless the list or object has just begun.
func (w *writer) comma(opened byte) {
	if w.b[len(w.b)-1] != opened {
		w.b = append(w.b, ',')
	}
}

func (w *writer) key(key string) {
	w.comma('{')
	w.b = append(w.b, '"')
	w.b = append(w.b, key...)
	w.b = append(w.b, '"', ':')
}

func (w *writer) text(s string) {
	if why := unfit(s); why != "" {
		w.fail(why)
		return
	}
	w.b = append(w.b, '"')
	for {
		i := strings.IndexAny(s, `"\`)
		if i < 0 {
			break
		}
		w.b = append(w.b, s[:i]...)
		w.b = append(w.b, '\\', s[i])
		s = s[i+1:]
	}
	w.b = append(w.b, s...)
	w.b = append(w.b, '"')
}

// date writes label.Date.Canonical; days and minutes, of which there are most, without a
// string.
func (w *writer) date(d label.Date) {
	w.b = append(w.b, '"')
	switch p := d.Precision(); p {
	case label.Day, label.Minute:
		y, m, day := d.First().Date()
		w.two(y / 100)
		w.two(y % 100)
		w.b = append(w.b, '-')
		w.two(int(m))
		w.b = append(w.b, '-')
		w.two(day)
		if p == label.Minute {
			minute, _ := d.Clock()
			w.b = append(w.b, 'T')
			w.two(minute / 60)
			w.b = append(w.b, ':')
			w.two(minute % 60)
		}
	default:
		w.b = append(w.b, d.Canonical()...)
	}
	w.b = append(w.b, '"')
}

func (w *writer) two(n int) { w.b = append(w.b, byte('0'+n/10), byte('0'+n%10)) }

func putObject[T any](w *writer, fields []field[T], from *T) {
	w.open('{')
	for i := range fields {
		if fields[i].put(w, from); w.wrong != nil {
			return
		}
	}
	w.b = append(w.b, '}')
}

// unfit says why a text cannot be kept, or "".
func unfit(s string) string {
	if len(s) > MaxText {
		return fmt.Sprintf("longer than %d bytes", MaxText)
	}
	for i := range len(s) {
		if s[i] >= ' ' && s[i] <= '~' {
			continue
		}
		switch {
		case !utf8.ValidString(s):
			return "not UTF-8 text: " + quote(s)
		case strings.ContainsFunc(s, unicode.IsControl):
			return "a control character in " + quote(s) + ": take it out"
		}
		return ""
	}
	return ""
}

// reader goes through a text of JSON.
type reader struct {
	s  string
	at int
}

func (r *reader) space() {
	for r.at < len(r.s) && (r.s[r.at] == ' ' || r.s[r.at] == '\n' || r.s[r.at] == '\t' || r.s[r.at] == '\r') {
		r.at++
	}
}

// next is the first byte of what stands next, 0 at the end.
func (r *reader) next() byte {
	if r.space(); r.at < len(r.s) {
		return r.s[r.at]
	}
	return 0
}

// found names the kind of value that stands next.
func (r *reader) found() string {
	switch c := r.next(); {
	case c == 0 && r.at >= len(r.s):
		return "the text ends"
	case c == '"':
		return "a text"
	case c == '{':
		return "an object"
	case c == '[':
		return "a list"
	case c == '-' || c >= '0' && c <= '9':
		return "a number"
	}
	for _, word := range []string{"null", "true", "false"} {
		if strings.HasPrefix(r.s[r.at:], word) {
			return word
		}
	}
	return quote(r.s[r.at:])
}

func (r *reader) wanted(what string) *fault {
	return faultf("%s is wanted here, not: %s", what, r.found())
}

// begin goes past an opening brace or bracket.
func (r *reader) begin(open byte) *fault {
	if r.next() != open {
		return r.wanted(map[byte]string{'{': "an object {…}", '[': "a list […]"}[open])
	}
	r.at++
	return nil
}

// ends goes past a closing brace or bracket, if one stands next.
func (r *reader) ends(shut byte) bool {
	if r.next() != shut {
		return false
	}
	r.at++
	return true
}

// goesOn goes past a comma or the end, and says which it was.
func (r *reader) goesOn(shut byte) (bool, *fault) {
	switch r.next() {
	case ',':
		r.at++
		return true, nil
	case shut:
		r.at++
		return false, nil
	}
	return false, r.wanted("a comma or " + string(shut))
}

func (r *reader) truth() (bool, *fault) {
	c := r.next()
	for _, v := range [...]bool{true, false} {
		if word := strconv.FormatBool(v); c == word[0] && strings.HasPrefix(r.s[r.at:], word) {
			r.at += len(word)
			return v, nil
		}
	}
	return false, r.wanted("true or false")
}

// number is a number as it is written.
func (r *reader) number() (string, *fault) {
	c := r.next()
	if c != '-' && (c < '0' || c > '9') {
		return "", r.wanted("a number")
	}
	from := r.at
	digits := func() int {
		start := r.at
		for r.at < len(r.s) && r.s[r.at] >= '0' && r.s[r.at] <= '9' {
			r.at++
		}
		return r.at - start
	}
	is := func(any string) bool {
		ok := r.at < len(r.s) && strings.IndexByte(any, r.s[r.at]) >= 0
		if ok {
			r.at++
		}
		return ok
	}
	is("-")
	lead := r.at
	n := digits()
	ok := n > 0 && (n == 1 || r.s[lead] != '0')
	if is(".") {
		ok = digits() > 0 && ok
	}
	if is("eE") {
		is("+-")
		ok = digits() > 0 && ok
	}
	if !ok || r.at-from > MaxText {
		return "", faultf("%s is not a number", quote(r.s[from:r.at]))
	}
	return r.s[from:r.at], nil
}

// text is a text, without its quotes and escapes.
func (r *reader) text() (string, *fault) {
	if r.next() != '"' {
		return "", r.wanted(`a text in quotes`)
	}
	r.at++
	from := r.at
	for ; r.at < len(r.s); r.at++ {
		switch r.s[r.at] {
		case '"':
			s := r.s[from:r.at]
			r.at++
			return fit(s)
		case '\\':
			return r.escaped(from)
		}
	}
	return "", faultf("the quotes do not close: %s", quote(r.s[from:]))
}

func fit(s string) (string, *fault) {
	if why := unfit(s); why != "" {
		return "", &fault{why: why}
	}
	return s, nil
}

// escaped reads a text with escapes in it, from the first of them on.
func (r *reader) escaped(from int) (string, *fault) {
	text := []byte(r.s[from:r.at])
	for r.at < len(r.s) {
		c := r.s[r.at]
		switch {
		case c == '"':
			r.at++
			return fit(string(text))
		case c != '\\':
			text, r.at = append(text, c), r.at+1
			continue
		}
		c, ok := r.escape()
		if ok && c != 'u' {
			text = append(text, c)
			continue
		}
		one, whole := r.unit()
		if utf16.IsSurrogate(one) {
			low, lowWhole := rune(-1), false
			if c, ok := r.escape(); ok && c == 'u' {
				low, lowWhole = r.unit()
			}
			one = utf16.DecodeRune(one, low)
			whole = whole && lowWhole && one != utf8.RuneError
		}
		if !ok || !whole {
			return "", faultf("an escape that JSON does not know in %s", quote(r.s[from:min(r.at+6, len(r.s))]))
		}
		text = utf8.AppendRune(text, one)
	}
	return "", faultf("the quotes do not close: %s", quote(r.s[from:]))
}

// escape goes past a backslash and the letter behind it, and says what that stands for;
// u where four hexadecimal digits are to follow.
func (r *reader) escape() (byte, bool) {
	if r.at+1 >= len(r.s) || r.s[r.at] != '\\' {
		return 0, false
	}
	i := strings.IndexByte(`"\/bfnrtu`, r.s[r.at+1])
	if i < 0 {
		return 0, false
	}
	r.at += 2
	return "\"\\/\b\f\n\r\tu"[i], true
}

// unit reads four hexadecimal digits.
func (r *reader) unit() (rune, bool) {
	if r.at+4 > len(r.s) {
		return 0, false
	}
	n, err := strconv.ParseUint(r.s[r.at:r.at+4], 16, 16)
	if err != nil || strings.ContainsAny(r.s[r.at:r.at+4], "+_") {
		return 0, false
	}
	r.at += 4
	return rune(n), true
}

func getObject[T any](r *reader, fields []field[T], to *T) *fault {
	if wrong := r.begin('{'); wrong != nil {
		return wrong
	}
	var seen uint64
	at := 0 // of the key that is due, if they stand in order
	for more := !r.ends('}'); more; {
		key, wrong := r.text()
		if wrong != nil {
			return wrong
		}
		if at = indexOf(fields, key, at); at < 0 {
			return unknown(fields, key)
		}
		if seen&(1<<at) != 0 {
			return faultf("is there twice").under(key)
		}
		seen |= 1 << at
		if r.next() != ':' {
			return r.wanted("a colon").under(key)
		}
		r.at++
		if wrong := fields[at].get(r, to); wrong != nil {
			return wrong.under(key)
		}
		at++
		if more, wrong = r.goesOn('}'); wrong != nil {
			return wrong
		}
	}
	return nil
}

// indexOf finds a key, beginning at a place; -1: there is none.
func indexOf[T any](fields []field[T], key string, from int) int {
	for at := from; at < len(fields); at++ {
		if fields[at].key == key {
			return at
		}
	}
	for at := range min(from, len(fields)) {
		if fields[at].key == key {
			return at
		}
	}
	return -1
}

func unknown[T any](fields []field[T], key string) *fault {
	known := make([]string, len(fields))
	for i := range fields {
		known[i] = fields[i].key
	}
	if near := nearest.Names(key, known, 1); near != nil {
		return faultf("there is no key %s: is it %s?", quote(key), near[0])
	}
	return faultf("there is no key %s: the keys are %s", quote(key), strings.Join(known, ", "))
}
