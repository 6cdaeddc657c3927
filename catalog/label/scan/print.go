package scan

import "strings"

// ElementString writes the scan as a scanner sends it, with the control characters:
// Parse reads it back as the same scan, but for warnings of repairs, which it no
// longer needs. Fields between formats of an envelope that are not read (neither 05
// nor 06) are left out.
func (s Scan) ElementString() string {
	var b strings.Builder
	b.WriteString(s.Symbology)
	switch s.Standard {
	case GS1:
		elements(&b, s.Fields)
	case Link:
		s.address(&b)
	case ISO15434:
		b.WriteString("[)>\x1e")
		for fields := s.Fields; len(fields) > 0; {
			n := 1
			for n < len(fields) && isNumber(fields[n].ID) == isNumber(fields[0].ID) {
				n++
			}
			if isNumber(fields[0].ID) {
				b.WriteString("05\x1d")
				elements(&b, fields[:n])
			} else {
				b.WriteString("06")
				for _, f := range fields[:n] {
					b.WriteString("\x1d" + f.ID + f.Value)
				}
			}
			b.WriteByte(rs)
			fields = fields[n:]
		}
		b.WriteByte(eot)
	}
	return b.String()
}

// elements writes GS1 fields one behind the other, with a separator behind each that
// has no fixed length, but for the last.
func elements(b *strings.Builder, fields []Field) {
	for i, f := range fields {
		b.WriteString(f.ID)
		b.WriteString(f.Value)
		if i < len(fields)-1 && fixedLength(f.ID) == 0 {
			b.WriteByte(gs)
		}
	}
}

// address writes a Digital Link: the key and the qualifiers that follow it in their
// order as the path, all else as the query.
func (s Scan) address(b *strings.Builder) {
	b.WriteString(s.Stem)
	place, next := 0, byte('?')
	for i, f := range s.Fields {
		q := qualifier(f.ID)
		if i == 0 || next == '?' && s.Fields[0].ID == "01" && q > place {
			place = q
			b.WriteString("/" + f.ID + "/")
		} else {
			b.WriteByte(next)
			b.WriteString(f.ID + "=")
			next = '&'
		}
		encode(b, f.Value)
	}
}

// String writes the scan for people, in plain ASCII without control characters: the
// identifiers in brackets, as printed under the bars; a Digital Link as its address.
// Parse reads the same fields from it, unless an envelope holds both formats.
func (s Scan) String() string {
	if s.Standard == Link {
		return s.ElementString()
	}
	var b strings.Builder
	for _, f := range s.Fields {
		b.WriteString("(" + f.ID + ")")
		for i := range len(f.Value) {
			if c := f.Value[i]; c == '(' || c == '\\' {
				b.WriteByte('\\')
			}
			b.WriteByte(f.Value[i])
		}
	}
	return b.String()
}
