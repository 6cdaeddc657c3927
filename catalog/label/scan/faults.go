package scan

import (
	"fmt"
	"strings"

	"github.com/rickb777/date"

	"beadline/catalog/label"
)

// spellings are the control characters as scanners and editors spell them out. None
// of them is likely within a lot, so they are taken for what they spell wherever they
// stand.
var spellings = []struct {
	text string
	is   byte
}{
	{"<GS>", gs}, {"{GS}", gs}, {"[GS]", gs}, {"<FNC1>", gs}, {"{FNC1}", gs}, {"[FNC1]", gs}, {"^]", gs},
	{`\u001d`, gs}, {`\u001D`, gs}, {`\x1d`, gs}, {`\x1D`, gs},
	{"<RS>", rs}, {"{RS}", rs}, {"[RS]", rs}, {`\u001e`, rs}, {`\u001E`, rs}, {`\x1e`, rs}, {`\x1E`, rs},
	{"<EOT>", eot}, {"{EOT}", eot}, {"[EOT]", eot}, {`\u0004`, eot}, {`\x04`, eot},
	{"␝", gs}, {"␞", rs}, {"␄", eot},
}

// picture is the control character whose picture in Unicode s starts with, or 0.
func picture(s string) byte {
	for _, sp := range spellings[len(spellings)-3:] {
		if strings.HasPrefix(s, sp.text) {
			return sp.is
		}
	}
	return 0
}

// unspell puts control characters where they are spelled out, and says which
// spellings there were.
func unspell(t string) (plain, names string) {
	for _, sp := range spellings {
		if strings.Contains(t, sp.text) {
			t = strings.ReplaceAll(t, sp.text, string(rune(sp.is)))
			if names != "" {
				names += ", "
			}
			names += sp.text
		}
	}
	return t, names
}

// parseSpelled reads a scan whose control characters were spelled out.
func parseSpelled(t, names string, today date.Date) (Scan, error) {
	p := parser{today: today}
	err := p.parse(t)
	if err != nil {
		p.s, err = repair(t, today, err)
	}
	if err != nil {
		return Scan{}, fmt.Errorf("%w (with %s read as the character it spells)", err, printable(names))
	}
	p.warn(Repaired, fmt.Sprintf("%s is read as the character it spells: set the scanner to send the character.", printable(names)))
	return p.s, nil
}

func printable(s string) string { return strings.Trim(quote(s), `"`) }

// substitutes are the characters that scanners and keyboards are known to put for GS.
// None is one of GS1 texts.
const substitutes = "|~^#@{}` "

// repair reads a scan that does not parse as it stands, with each of the substitutes
// in it taken for the separator. Only if exactly one of them makes the whole scan
// read is it taken, with a warning; otherwise the error stays.
func repair(t string, today date.Date, plain error) (Scan, error) {
	var fixed Scan
	found := 0
	for i := range len(substitutes) {
		c := substitutes[i]
		if strings.IndexByte(t, c) < 0 {
			continue
		}
		p := parser{today: today}
		try := strings.ReplaceAll(t, string(rune(c)), string(rune(gs)))
		if strings.Contains(t, "[)>") {
			try = reframe(try)
		}
		if p.parse(try) == nil && p.s.Standard != Link {
			p.warn(Repaired, fmt.Sprintf("%q is read as the separator GS: set the scanner to send GS (0x1D).", string(rune(c))))
			fixed = p.s
			found++
		}
	}
	if found != 1 {
		return Scan{}, plain
	}
	return fixed, nil
}

// reframe puts RS where an envelope has GS, or another substitute, behind its header
// and at its end.
func reframe(s string) string {
	i := strings.Index(s, "[)>") + 3
	switch {
	case i < len(s) && s[i] == gs:
		s = s[:i] + string(rune(rs)) + s[i+1:]
	case i < len(s) && strings.IndexByte(substitutes, s[i]) >= 0:
		s = strings.ReplaceAll(s, s[i:i+1], string(rune(rs)))
	}
	if end := strings.TrimRight(s, "\x04\x1e\x1d"); len(s)-len(end) > 1 {
		s = end + "\x1e\x04"
	}
	return s
}

// The years around today in which a swallowed date is looked for.
const (
	yearsBack  = 10
	yearsAhead = 20
)

// lookForSwallowed marks the text fields that may hold a date whose separator the
// scanner lost, or the printer of the label left out. A lot of up to 20 characters may
// well hold "17290331" in its middle, and nothing in the standard forbids it; so the
// field is kept as it stands and the scan is marked.
//
// The rule: behind at least one character of the field stands the identifier of a date
// (GS1: 11, 13, 15, 16, 17, 7003, 7011; in an envelope: 12D and 14D to 17D, and D where
// the code has no expiry) with a date that exists and lies from 10 years before today to
// 20 years after; the scan has no field of that identifier of its own; and what follows
// the date, to the end of the field, is nothing or reads as further fields. Fewer than
// one in a thousand lots of nine random digits pass (a test counts them); letters behind
// the date, unless they read as fields, end it.
func (p *parser) lookForSwallowed() {
	for i := range p.s.Fields {
		f := &p.s.Fields[i]
		if !isText(f.ID) {
			continue
		}
		find := p.swallowed
		if !isNumber(f.ID) {
			find = p.swallowedData
		}
		if id, d, ok := find(f.Value); ok {
			p.warn(Swallowed, fmt.Sprintf("(%s) %s: the separator behind it may be missing: its end reads as (%s) %s, %s. Compare with the label.",
				f.ID, quote(f.Value), id, titleOf(id), d))
		}
	}
}

// isText reports whether a field is text of no fixed length, one not known here too: it
// ends at a separator alone, and takes in what follows where that is missing.
func isText(id string) bool {
	if !isNumber(id) {
		switch id {
		case "1T", "T", "1P", "P", "9N", "S":
			return true
		}
		return dataTitle(id) == ""
	}
	s := specOf(id)
	if s == nil {
		return fixedLength(id) == 0
	}
	return !s.numeric && s.role != roleMinC && s.role != roleMaxC && s.role != roleMinF && s.role != roleMaxF
}

func titleOf(id string) string {
	if s := specOf(id); s != nil {
		return s.title
	}
	return dataTitle(id)
}

// swallowed finds the first date in a value that may have been a GS1 field of its own.
func (p *parser) swallowed(value string) (id string, d label.Date, ok bool) {
	for i := 1; i+8 <= len(value); i++ {
		var n int
		if id, d, n = p.dateAt(value[i:]); n > 0 && !p.has(id) && p.readable(value[i+n:]) {
			return id, d, true
		}
	}
	return "", label.Date{}, false
}

// dateAt is the GS1 date near today that s starts with, and the length of it with its
// identifier; 0 if there is none.
func (p *parser) dateAt(s string) (id string, d label.Date, n int) {
	try := func(ai, digits int, l label.Layout) bool {
		if n == 0 && len(s) >= ai+digits {
			var ok bool
			if d, ok = p.nearDate(s[ai:ai+digits], l); ok {
				id, n = s[:ai], ai+digits
			}
		}
		return n > 0
	}
	switch {
	case s[0] == '1' && strings.IndexByte("13567", s[1]) >= 0:
		try(2, 6, label.GS1Date)
	case strings.HasPrefix(s, "7003"):
		try(4, 10, label.GS1Minute)
	case strings.HasPrefix(s, "7011"):
		_ = try(4, 10, label.GS1Minute) || try(4, 6, label.YYMMDD)
	}
	return id, d, n
}

// swallowedData is swallowed for a field of an envelope.
func (p *parser) swallowedData(value string) (id string, d label.Date, ok bool) {
	for i := 1; i+7 <= len(value); i++ {
		id, ok = dataIdentifierAt(value[i:])
		l, digits := label.YYYYMMDD, 8
		switch {
		case !ok:
			continue
		case id == "15D" || id == "17D":
			l = label.DDMMYYYY
		case id == "D" && p.s.Expiry.IsZero():
			l, digits = label.YYMMDD, 6
		case id != "12D" && id != "14D" && id != "16D":
			continue
		}
		rest := value[i+len(id):]
		if len(rest) < digits || p.has(id) {
			continue
		}
		if d, ok = p.nearDate(rest[:digits], l); ok && readsOn(rest[digits:]) {
			return id, d, true
		}
	}
	return "", label.Date{}, false
}

// readsOn reports whether s is nothing or starts with a data identifier known here.
func readsOn(s string) bool {
	id, ok := dataIdentifierAt(s)
	return s == "" || ok && dataTitle(id) != ""
}

// nearDate reads digits as a date near today.
func (p *parser) nearDate(s string, l label.Layout) (label.Date, bool) {
	if !isNumber(s) {
		return label.Date{}, false // before an error is put into words
	}
	d, err := label.ReadDigits(s, l, p.today)
	if err != nil {
		return label.Date{}, false
	}
	ahead := d.First().Year() - p.today.Year()
	return d, ahead >= -yearsBack && ahead <= yearsAhead
}

func (p *parser) has(id string) bool {
	for i := range p.s.Fields {
		if p.s.Fields[i].ID == id {
			return true
		}
	}
	return false
}

// readable reports whether s is nothing or fields known here, without reading them.
func (p *parser) readable(s string) bool {
	for s != "" {
		id := identifierAt(s)
		if id == "" {
			return false
		}
		spec := specOf(id)
		value := s[len(id):]
		if n := fixedLength(id); n > 0 {
			value = value[:min(n, len(value))]
		}
		switch {
		case spec == nil, spec.numeric && badDigits(value, spec) != "", badText(value, spec.min, spec.max) != "":
			return false
		case spec.role >= roleMade && spec.role <= roleSellBy && spec.max == 6:
			if _, ok := p.nearDate(value, label.GS1Date); !ok {
				return false
			}
		}
		s = s[len(id)+len(value):]
	}
	return true
}

// tooLong is the hint for a value that is too long for its identifier because another
// field may be in it.
func (p *parser) tooLong(value string, s *spec) string {
	if s == nil || len(value) <= s.max {
		return ""
	}
	if id, d, ok := p.swallowed(value); ok {
		return fmt.Sprintf(": is the separator (GS) missing before (%s) %s?", id, d)
	}
	return ": is the separator (GS) behind it missing?"
}
