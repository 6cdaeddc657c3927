package stock

import (
	"bytes"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
)

// The quick way through plain rows: no quote, printable ASCII, nothing in the columns
// that few rows fill. It makes no string for a row and decides nothing by itself: what
// a date means comes from the reader of dates, once for each text, and whatever it
// does not know goes the way of row.go, which is the definition.

// Plain is a plain row that was understood. It is good until the visitor returns.
type Plain struct {
	// Item has Class, DOM, Expiry, Inspect and Opened, to the day or coarser, and
	// Received.On, to the minute at best, and nothing else: not even Batch.
	Item                  shelf.Item
	Batch, Location, Unit []byte
	Quantity              float64
	Counted               bool
}

// plainReader reads plain rows of one list. It is not safe from several goroutines.
type plainReader struct {
	h       *header
	kind    [256]byte // of each byte: kindPlain, kindSep, kindOther
	role    []byte    // of each field: the column it fills, roleRare or roleExtra
	cut     []span    // the fields of the row
	days    []label.Date
	dates   map[string]label.Date
	classes map[string]string
	recent  [256]string // classes by slot
	row     Plain
	none    columns // of dates, which say that there is none
}

const (
	kindPlain = iota
	kindSep
	kindOther
)

const (
	roleRare  = 254 // a column that plain rows leave empty
	roleExtra = 255 // a column without a meaning
)

type span struct{ from, to int32 }

const (
	firstYear, lastYear = 1990, 2079 // of the days looked up by their digits
	maxTexts            = 4096       // other texts of dates, and classes, remembered
)

func newPlainReader(h *header) *plainReader {
	p := &plainReader{
		h: h, cut: make([]span, len(h.names)), role: make([]byte, len(h.names)),
		days:  make([]label.Date, (lastYear-firstYear+1)*12*31),
		dates: map[string]label.Date{}, classes: map[string]string{},
	}
	for c := range p.kind {
		if c < ' ' || c > '~' || c == '"' {
			p.kind[c] = kindOther
		}
	}
	p.kind[h.sep] = kindSep
	for i := range p.role {
		p.role[i] = roleExtra
	}
	for c, i := range h.at {
		switch {
		case i < 0:
		case column(c).rare():
			p.role[i] = roleRare
		default:
			p.role[i] = byte(c)
		}
	}
	return p
}

// read reads a line into p.row; false says that the line needs the other way.
func (p *plainReader) read(line []byte) bool {
	if len(line) > maxField || !p.split(line) {
		return false
	}
	r := &p.row
	r.Batch, r.Location, r.Unit, r.Quantity, r.Counted = nil, nil, nil, 0, false
	r.Item.Class, p.none = "", 0
	r.Item.DOM, r.Item.Expiry, r.Item.Inspect, r.Item.Opened, r.Item.Received.On = label.Date{}, label.Date{}, label.Date{}, label.Date{}, label.Date{}
	for i, s := range p.cut {
		role := p.role[i]
		if role == roleExtra {
			continue
		}
		f := line[s.from:s.to]
		for len(f) > 0 && f[0] == ' ' {
			f = f[1:]
		}
		for len(f) > 0 && f[len(f)-1] == ' ' {
			f = f[:len(f)-1]
		}
		if len(f) == 0 {
			continue
		}
		if !p.field(column(role), f) {
			return false
		}
	}
	return len(r.Batch) > 0 && r.Item.Class != ""
}

// field reads a field with something in it.
func (p *plainReader) field(c column, f []byte) bool {
	r := &p.row
	switch c {
	case batch:
		r.Batch = f
	case class:
		r.Item.Class = p.class(f)
	case dom:
		return p.date(c, &r.Item.DOM, f)
	case expiry:
		return p.date(c, &r.Item.Expiry, f)
	case inspect:
		return p.date(c, &r.Item.Inspect, f)
	case opened: // where hours are read too, and not here
		return bytes.IndexByte(f, ':') < 0 && p.date(c, &r.Item.Opened, f)
	case received:
		return p.moment(&r.Item.Received.On, f) || p.date(c, &r.Item.Received.On, f)
	case location:
		r.Location = f
	case unit:
		r.Unit = f
	case quantityColumn:
		var ok bool
		r.Quantity, ok = plainAmount(f)
		r.Counted = true
		return ok
	default:
		return false
	}
	return true
}

// split finds the fields of a line of plain bytes with as many fields as the header.
func (p *plainReader) split(line []byte) bool {
	n, from := 0, 0
	for i, c := range line {
		switch p.kind[c] {
		case kindPlain:
			continue
		case kindOther:
			return false
		}
		if n == len(p.cut) {
			return false
		}
		p.cut[n] = span{int32(from), int32(i)}
		n, from = n+1, i+1
	}
	if n != len(p.cut)-1 {
		return false
	}
	p.cut[n] = span{int32(from), int32(len(line))}
	return true
}

func (p *plainReader) class(f []byte) string {
	// The few classes of a list differ in length or at their ends: a look at those
	// finds most without hashing the whole name.
	n := len(f)
	slot := &p.recent[byte(n)*31^f[n-1]*7^f[n/2]]
	if *slot == string(f) {
		return *slot
	}
	s, ok := p.classes[string(f)]
	if !ok {
		if len(p.classes) >= maxTexts {
			clear(p.classes)
		}
		s = string(f)
		p.classes[s] = s
	}
	*slot = s
	return s
}

// date reads a day or something coarser, as the full reader has it.
func (p *plainReader) date(c column, to *label.Date, f []byte) bool {
	if len(f) <= len("none") && saysNone(string(f)) {
		p.none |= 1 << c
		return true
	}
	if i := dayIndex(f); i >= 0 {
		d := &p.days[i]
		if d.IsZero() {
			read, err := p.h.dates.read(string(f), p.h.dates.day)
			if err != nil {
				return false
			}
			*d = read
		}
		*to = *d
		return true
	}
	if d, ok := p.dates[string(f)]; ok {
		*to = d
		return true
	}
	s := string(f)
	d, err := p.h.dates.read(s, p.h.dates.day)
	if err != nil {
		return false
	}
	if len(p.dates) >= maxTexts {
		clear(p.dates)
	}
	p.dates[s], *to = d, d
	return true
}

// moment reads a text like 2027-06-30T08:00, of any minute but 00:00, which is taken for
// the day.
func (p *plainReader) moment(to *label.Date, f []byte) bool {
	if len(f) != len("2027-06-30T08:00") || f[10] != 'T' || f[13] != ':' || dayIndex(f[:10]) < 0 {
		return false
	}
	h0, h1, m0, m1 := f[11]-'0', f[12]-'0', f[14]-'0', f[15]-'0'
	if h0 > 9 || h1 > 9 || m0 > 5 || m1 > 9 {
		return false
	}
	minute := (int(h0)*10+int(h1))*60 + int(m0)*10 + int(m1)
	if minute == 0 || minute >= 24*60 || !p.date(received, to, f[:10]) {
		return false
	}
	*to = label.At(to.First(), minute)
	return true
}

// dayIndex is a place for each text like 2027-06-30, or -1 for any other.
func dayIndex(f []byte) int {
	if len(f) != 10 || f[4] != '-' || f[7] != '-' {
		return -1
	}
	y0, y1, y2, y3 := f[0]-'0', f[1]-'0', f[2]-'0', f[3]-'0'
	m0, m1, d0, d1 := f[5]-'0', f[6]-'0', f[8]-'0', f[9]-'0'
	if y0 > 9 || y1 > 9 || y2 > 9 || y3 > 9 || m0 > 9 || m1 > 9 || d0 > 9 || d1 > 9 {
		return -1
	}
	y := int(y0)*1000 + int(y1)*100 + int(y2)*10 + int(y3)
	m, d := int(m0)*10+int(m1), int(d0)*10+int(d1)
	if y < firstYear || y > lastYear || m < 1 || m > 12 || d < 1 || d > 31 {
		return -1
	}
	return ((y-firstYear)*12+m-1)*31 + d - 1
}

// plainAmount reads digits with a point among them, few enough for the sum to be
// exact: then one division gives the nearest number, as strconv does.
func plainAmount(f []byte) (float64, bool) {
	if len(f) > 15 {
		return 0, false
	}
	n, digits, scale, point := int64(0), 0, 1.0, false
	for _, c := range f {
		switch {
		case c >= '0' && c <= '9':
			n, digits = 10*n+int64(c-'0'), digits+1
			if point {
				scale *= 10
			}
		case c == '.' && !point:
			point = true
		default:
			return 0, false
		}
	}
	v := float64(n) / scale
	return v, digits > 0 && v <= maxQuantity
}
