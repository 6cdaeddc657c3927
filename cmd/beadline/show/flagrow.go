package show

import (
	"strconv"
	"strings"
	"unicode/utf8"

	"beadline/cmd/beadline/desk"
)

// One flagged row as text. There may be a million of them, so the lines are appended
// to bytes; what they say is what the sheet would say.

// flagRow appends a row of any section.
func flagRow(to []byte, r *desk.Flagged, u Units) []byte {
	const indent = "      "
	if r.Section == desk.NotReadable {
		head := "line " + strconv.Itoa(r.Fault.Line)
		switch {
		case r.Register:
			head = "batch " + r.Fault.Batch
		case r.Fault.Batch != "":
			head += ", batch " + r.Fault.Batch
		}
		to = appendBlock(to, "  ", head, u)
		return appendBlock(to, indent, r.Fault.Reason, u)
	}
	g := &r.Judgement.Governing
	to = appendHead(to, r, u)
	to = appendWhere(to, r, u)
	to = appendBlock(to, indent, g.Reason, u)
	if r.Section == desk.EndsSoon {
		return to
	}
	// All that is past is said, not the governing limit alone.
	for i := range r.Judgement.Limits[1:] {
		if l := &r.Judgement.Limits[i+1]; l.Past && l.Counts {
			to = appendBlock(to, indent+"also: ", l.Reason, u)
		}
	}
	return to
}

// appendHead is the line of a batch, its class and the days left.
func appendHead(to []byte, r *desk.Flagged, u Units) []byte {
	days := ""
	if n, dated := r.Judgement.Governing.DaysLeft(r.Judgement.On); dated {
		days = "  " + daysLeft(n)
	}
	batch, class := r.Item.Batch, r.Item.Class
	if utf8.RuneCountInString(batch) > 30 || utf8.RuneCountInString(class) > 30 {
		return appendBlock(to, "  ", batch+" "+class+days, u)
	}
	to = append(to, "  "...)
	to = appendPadded(to, batch, 14)
	to = append(to, ' ')
	to = appendPadded(to, class, 24)
	to = append(to, days...)
	return append(trimSpaces(to), '\n')
}

// appendWhere is whereabouts as a block.
func appendWhere(to []byte, r *desk.Flagged, u Units) []byte {
	if r.Register {
		return appendPart(to, r, u)
	}
	if len(r.Location)+len(r.Unit) > 40 || strings.TrimSpace(r.Unit) != r.Unit || !foldsAsIs(r.Location) || !foldsAsIs(r.Unit) || startsQuantity(r.Unit) {
		return appendBlock(to, "      ", whereabouts(r), u)
	}
	to = append(to, "      "...)
	if r.Location != "" {
		to = append(append(to, r.Location...), ", "...)
	}
	if r.Counted {
		to = append(append(to, amount(r.Quantity, r.Unit)...), ", "...)
	}
	to = strconv.AppendInt(append(to, "line "...), int64(r.Line), 10)
	return append(to, '\n')
}

// appendPart is whereabouts as a block, for a part of a batch in a register.
func appendPart(to []byte, r *desk.Flagged, u Units) []byte {
	maker := r.Maker()
	if len(r.Location)+len(r.Unit)+len(maker) > 45 || r.Item.Container != "" || r.Location == "" || maker == "" || !r.Counted ||
		strings.TrimSpace(r.Unit) != r.Unit || !foldsAsIs(r.Location) || !foldsAsIs(r.Unit) || !foldsAsIs(maker) || startsQuantity(r.Unit) || startsQuantity(maker) {
		return appendBlock(to, "      ", whereabouts(r), u)
	}
	to = append(append(append(to, "      "...), r.Location...), ", "...)
	to = append(to, amount(r.Quantity, r.Unit)...)
	to = append(append(to, ", made by "...), maker...)
	return append(to, '\n')
}

// foldsAsIs says whether a text that fits its line goes there as it is: printable
// ASCII, no two spaces together, no quantity to put into other units.
func foldsAsIs(s string) bool {
	for i := range len(s) {
		if s[i] < ' ' || s[i] > '~' || s[i] == ' ' && (i == 0 || i == len(s)-1 || s[i+1] == ' ') {
			return false
		}
	}
	return !hasQuantity(s)
}

// hasQuantity says whether Units.Text may have something to do.
func hasQuantity(s string) bool {
	return strings.Contains(s, " C") || strings.Contains(s, "°C") || strings.Contains(s, " mm")
}

// startsQuantity says whether a text behind a space makes hasQuantity true.
func startsQuantity(s string) bool { return strings.HasPrefix(s, "C") || strings.HasPrefix(s, "mm") }

// appendPadded appends a text and fills it up with spaces.
func appendPadded(to []byte, s string, width int) []byte {
	to = append(to, s...)
	for range width - utf8.RuneCountInString(s) {
		to = append(to, ' ')
	}
	return to
}

func trimSpaces(b []byte) []byte {
	for len(b) > 0 && b[len(b)-1] == ' ' {
		b = b[:len(b)-1]
	}
	return b
}

// appendBlock is sheet.block: a text behind a first prefix of ASCII, folded, with a
// hanging indent.
func appendBlock(to []byte, first, text string, u Units) []byte {
	const spaces = "                                        "
	if hasQuantity(text) {
		text = u.Text(text)
	}
	width := sheetWidth - len(first)
	to = append(to, first...)
	column, start := 0, len(to) // columns of this line, and where it starts
	for text != "" {
		word := text
		if i := strings.IndexByte(text, ' '); i >= 0 {
			word, text = text[:i], text[i+1:]
		} else {
			text = ""
		}
		if word == "" {
			continue
		}
		n := wordWidth(word)
		if n < 0 || n > width {
			return appendFolded(to, start, first, word+" "+text, width)
		}
		if column > 0 && column+1+n > width {
			to = append(append(to, '\n'), spaces[:len(first)]...)
			column, start = 0, len(to)
		}
		if column > 0 {
			to, column = append(to, ' '), column+1
		}
		to, column = append(to, word...), column+n
	}
	return append(trimSpaces(to), '\n')
}

// wordWidth is how many columns a word takes, or -1 for one with white space in it
// other than a space.
func wordWidth(word string) int {
	for i := range len(word) {
		if c := word[i]; c < ' ' || c >= utf8.RuneSelf {
			if len(strings.Fields(word)) != 1 || strings.TrimSpace(word) != word {
				return -1
			}
			return utf8.RuneCountInString(word)
		}
	}
	return len(word)
}

// appendFolded goes on with a block the long way, from the line that starts at start.
func appendFolded(to []byte, start int, first, rest string, width int) []byte {
	lines := Fold(string(to[start:])+" "+rest, width)
	to = to[:start]
	for i, l := range lines {
		if i > 0 {
			to = append(to, strings.Repeat(" ", len(first))...)
		}
		to = append(trimSpaces(append(to, l...)), '\n')
	}
	return to
}
