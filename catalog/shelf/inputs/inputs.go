// Package inputs writes what the limits of a batch are worked out from, a shelf.Item,
// and what happened to it, a shelf.Event, as JSON for a register, and reads them back.
// No verdict is ever written.
//
// The form is canonical, so that its bytes can be hashed and compared: compact, keys in
// one fixed order, what is zero left out, nothing escaped but quote and backslash. Dates
// are written as label.Date.Canonical writes them, spans of shelf life as ISO 8601
// (P1Y6M), spans of clock time in seconds (keys in -s), temperatures in °C (keys in -c),
// conditions as their words:
//
//	{"batch":"S-2207","class":"polysulfide-b-2","dom":"2027-01-12","expiry":"2027-10",
//	 "opened":"2027-03-05T08:00","out-used-s":5400,"condition":["damaged"]}
//
// Read back it is the same but for two things that a date's canonical form does not
// keep: the text it was printed in, and how many digits its year had. So ask
// label.Date.Unsure before a date is written; one whose year was printed with a single
// digit is refused here. Empty lists come back as nil.
//
// Reading takes keys in any order and spaces between them, as a database may give them
// back, and is strict in all else: an unknown key or one that is there twice, a value
// of another kind, a date in another form or one that does not exist, a number out of
// its range, text that is too long or has control characters in it is an error of one
// line that names the key by its JSONPath (RFC 9535), such as tests[1].on.
//
// Read on in fields.go (which keys there are), kinds.go (what stands under a key),
// json.go (JSON into values).
package inputs

import (
	"fmt"

	"beadline/catalog/shelf"
)

// Limits on what is written and read.
const (
	// MaxBytes is how long an item or an event may be as JSON.
	MaxBytes = 1 << 20
	// MaxText is how long one text in it may be, in bytes of UTF-8.
	MaxText = 4096
	// MaxList is how many entries a list may have.
	MaxList = 10000
)

// Encode is the item as canonical JSON. The error names the key of what cannot be
// written so that Decode would read it: text with control characters, a date outside
// 1900 to 2199, a negative span, a condition without a word.
func Encode(it shelf.Item) ([]byte, error) { return Append(nil, &it) }

// Append appends Encode of the item to dst. With an error dst is as it was.
func Append(dst []byte, it *shelf.Item) ([]byte, error) { return appendObject(dst, itemFields, it) }

// Decode reads an item that Encode has written. The texts of the item share the memory
// of the text, or of one copy of it.
func Decode[T ~string | ~[]byte](text T) (shelf.Item, error) {
	var it shelf.Item
	if err := decode(string(text), itemFields, &it); err != nil {
		return shelf.Item{}, err
	}
	return it, nil
}

// EncodeEvent is the event as canonical JSON. The errors are those of Encode, and that
// its kind is not known.
func EncodeEvent(e shelf.Event) ([]byte, error) { return AppendEvent(nil, &e) }

// AppendEvent appends EncodeEvent of the event to dst. With an error dst is as it was.
func AppendEvent(dst []byte, e *shelf.Event) ([]byte, error) {
	if _, err := shelf.ParseEventKind(string(e.Kind)); err != nil {
		return dst, fmt.Errorf("kind: %w", err)
	}
	return appendObject(dst, eventFields, e)
}

// DecodeEvent reads an event that EncodeEvent has written.
func DecodeEvent[T ~string | ~[]byte](text T) (shelf.Event, error) {
	var e shelf.Event
	if err := decode(string(text), eventFields, &e); err != nil {
		return shelf.Event{}, err
	}
	if _, err := shelf.ParseEventKind(string(e.Kind)); err != nil {
		return shelf.Event{}, fmt.Errorf("kind: %w", err)
	}
	return e, nil
}

func appendObject[T any](dst []byte, fields []field[T], from *T) ([]byte, error) {
	w := writer{b: dst}
	putObject(&w, fields, from)
	if w.wrong == nil && len(w.b)-len(dst) > MaxBytes {
		w.wrong = &fault{why: fmt.Sprintf("longer than %d bytes in all", MaxBytes)}
	}
	if w.wrong != nil {
		return dst, w.wrong
	}
	return w.b, nil
}

func decode[T any](text string, fields []field[T], to *T) error {
	if len(text) > MaxBytes {
		return fmt.Errorf("longer than %d bytes in all", MaxBytes)
	}
	r := reader{s: text}
	if wrong := getObject(&r, fields, to); wrong != nil {
		return wrong
	}
	if r.space(); r.at < len(r.s) {
		return fmt.Errorf("something stands behind the closing brace: %s", quote(r.s[r.at:]))
	}
	return nil
}
