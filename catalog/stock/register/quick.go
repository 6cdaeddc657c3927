package register

import (
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"beadline/catalog/shelf/inputs"
)

// The quick way through a body: the compact JSON that encode writes, of which nearly all
// events are. A long line is thousands of them, and each use of it reads them all. What
// it does not know, from a space between two words to a wrong date, goes the way of
// decodeAny, which is the definition; so it has no errors of its own.

// decodeQuick reads a body; false says that it needs the other way.
func decodeQuick(body []byte) (*Event, bool) {
	if !utf8.Valid(body) {
		return nil, false
	}
	q := quick{s: string(body), ok: true}
	e := &Event{}
	var label, said string
	q.object(func(key string) (place int) {
		switch key {
		case "id":
			e.ID = q.text()
			return 0
		case "line":
			e.Key = Key(q.text())
			return 1
		case "seq":
			e.Seq = q.number()
			return 2
		case "kind":
			e.Kind = Kind(q.text())
			return 3
		case "at":
			e.At = q.when()
			return 4
		case "recorded":
			e.Recorded = q.instant()
			return 5
		case "clock-behind-s":
			e.Behind = q.number()
			return 6
		case "by":
			e.By = q.text()
			return 7
		case "station":
			e.Station = q.text()
			return 8
		case "zone":
			e.Zone = q.text()
			return 9
		case "why":
			e.Why = q.text()
			return 10
		case "authority":
			e.Authority = q.text()
			return 11
		case "reference":
			e.Reference = q.text()
			return 12
		case "corrects":
			e.Corrects = q.text()
			return 13
		case "container":
			e.Container = q.text()
			return 14
		case "place":
			e.Place = q.text()
			return 15
		case "to":
			e.To = q.text()
			return 16
		case "as":
			e.As = q.text()
			return 17
		case "amount":
			e.Amount = q.amount()
			return 18
		case "unit":
			e.Unit = q.text()
			return 19
		case "receipt":
			e.Receipt = q.receipt()
			return 20
		case "use":
			e.Use = q.use()
			return 21
		case "although-reserved":
			e.Although = q.truth()
			return 22
		case "verdict":
			e.Verdict = q.text()
			return 23
		case "catalog":
			e.Catalog = q.text()
			return 24
		case "label":
			label = q.inner()
			return 25
		case "shelf":
			said = q.inner()
			return 26
		}
		return -1
	})
	if !q.ok || q.i != len(q.s) || e.Recorded.IsZero() || !slices.Contains(kinds, e.Kind) {
		return nil, false
	}
	if label != "" {
		it, err := inputs.Decode(label)
		if err != nil || e.Receipt == nil {
			return nil, false
		}
		e.Receipt.Label = it
	}
	if said != "" {
		se, err := inputs.DecodeEvent(said)
		if err != nil {
			return nil, false
		}
		e.Shelf = &se
	}
	return e, true
}

// quick reads a text from i on. Once ok is false, nothing that it gives means anything.
type quick struct {
	s  string
	i  int
	ok bool
}

// take passes over a byte, if it is the one.
func (q *quick) take(c byte) bool {
	if q.i < len(q.s) && q.s[q.i] == c {
		q.i++
		return true
	}
	return false
}

// need is take for what has to be there.
func (q *quick) need(c byte) { q.ok = q.take(c) && q.ok }

// object reads an object: field reads the value of each, and gives
// the place of the key among those it knows, or -1. No key may come twice.
func (q *quick) object(field func(key string) (place int)) {
	var seen uint32
	q.need('{')
	if q.take('}') {
		return
	}
	for q.ok {
		key := q.text()
		q.need(':')
		if !q.ok {
			return
		}
		place := field(key)
		if place < 0 || seen&(1<<place) != 0 {
			q.ok = false
			return
		}
		seen |= 1 << place
		if !q.take(',') {
			q.need('}')
			return
		}
	}
}

// text reads a string. Of what a backslash begins it knows the tab, which every key of a
// line has, the quote and the backslash.
func (q *quick) text() string {
	q.need('"')
	var before []byte // an escape that was read; nil: there was none
	from := q.i
	for i := from; i < len(q.s); i++ {
		switch c := q.s[i]; {
		case c == '"':
			q.i = i + 1
			if before == nil {
				return q.s[from:i]
			}
			return string(append(before, q.s[from:i]...))
		case c == '\\':
			j := -1
			if i+1 < len(q.s) {
				j = strings.IndexByte(`t"\`, q.s[i+1])
			}
			if j < 0 {
				q.ok = false
				return ""
			}
			before = append(append(before, q.s[from:i]...), "\t\"\\"[j])
			i, from = i+1, i+2
		case c < ' ':
			q.ok = false
			return ""
		}
	}
	q.ok = false
	return ""
}

// digits reads digits and points.
func (q *quick) digits() string {
	from := q.i
	for q.i < len(q.s) && (q.s[q.i] >= '0' && q.s[q.i] <= '9' || q.s[q.i] == '.') {
		q.i++
	}
	s := q.s[from:q.i]
	if s == "" || len(s) > 1 && s[0] == '0' && s[1] != '.' {
		q.ok = false
	}
	return s
}

// number reads a whole number of up to nine digits, not negative.
func (q *quick) number() (n int) {
	s := q.digits()
	q.ok = q.ok && len(s) <= 9
	for i := range len(s) {
		q.ok = q.ok && s[i] != '.'
		n = 10*n + int(s[i]-'0')
	}
	return n
}

func (q *quick) amount() *Amount {
	a, err := ParseAmount(q.digits())
	q.ok = q.ok && err == nil
	return &a
}

func (q *quick) truth() bool {
	for _, word := range []string{"true", "false"} {
		if len(q.s)-q.i >= len(word) && q.s[q.i:q.i+len(word)] == word {
			q.i += len(word)
			return word == "true"
		}
	}
	q.ok = false
	return false
}

func (q *quick) when() When {
	w, err := ParseWhen(q.text())
	q.ok = q.ok && err == nil
	return w
}

// instant reads an instant in instantLayout. That it has the form of RFC 3339 makes
// reading it quick.
func (q *quick) instant() time.Time {
	s := q.text()
	if len(s) != len(instantLayout) || s[len(s)-5] != '.' || s[len(s)-1] != 'Z' {
		q.ok = false
		return time.Time{}
	}
	t, err := time.Parse(time.RFC3339, s)
	q.ok = q.ok && err == nil
	return t
}

// inner passes over an object, and gives its text for another reader.
func (q *quick) inner() string {
	from, deep := q.i, 0
	for q.ok && q.i < len(q.s) {
		switch c := q.s[q.i]; c {
		case '"':
			q.string()
			continue
		case '{', '[':
			deep++
		case '}', ']':
			if deep--; deep == 0 {
				q.i++
				return q.s[from:q.i]
			}
		}
		if deep == 0 {
			break // it is no object
		}
		q.i++
	}
	q.ok = false
	return ""
}

// string passes over a string of any kind.
func (q *quick) string() {
	for q.i++; q.i < len(q.s); q.i++ {
		switch q.s[q.i] {
		case '\\':
			q.i++
		case '"':
			q.i++
			return
		}
	}
	q.ok = false
}

func (q *quick) receipt() *Receipt {
	r := &Receipt{}
	q.object(func(key string) int {
		for place, f := range []struct {
			key string
			to  *string
		}{{"gtin", &r.GTIN}, {"maker-batch", &r.MakerBatch}, {"supplier", &r.Supplier}, {"order", &r.Order}, {"certificate", &r.Certificate}, {"pack", &r.Pack}, {"source", &r.Source}} {
			if f.key == key {
				*f.to = q.text()
				return place
			}
		}
		return -1
	})
	return r
}

func (q *quick) use() *Use {
	u := &Use{}
	q.object(func(key string) int {
		switch key {
		case "job":
			u.Job = q.text()
			return 0
		case "mix":
			u.Mix = q.text()
			return 1
		case "joints":
			u.Joints = q.texts()
			return 2
		case "training":
			u.Training = q.truth()
			return 3
		case "until":
			u.Until = q.when()
			return 4
		}
		return -1
	})
	return u
}

// texts reads a list of at least one string.
func (q *quick) texts() (all []string) {
	q.need('[')
	for q.ok {
		all = append(all, q.text())
		if !q.take(',') {
			q.need(']')
			break
		}
	}
	return all
}
