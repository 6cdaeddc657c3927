package tag

import (
	"strings"
	"time"
)

// face is what a label says, before it is laid out.
type face struct {
	state  string   // OPENED
	beside []string // when, by whom
	box    []piece  // the use-by, or that there is none
	heavy  bool     // a border to be seen from afar
	notes  []string
	class  string
	name   string
	batch  string
	cont   string // "" if there is none
	matrix *symbol
	bars   []*symbol // what the Code 128 may carry, the best first; nil: none
}

// piece is a part of the large line in the box: a large text, or two small lines that
// stand as high together.
type piece struct {
	large string
	small [2]string
}

// newFace words a tag.
func newFace(t *Tag, noBars bool) (*face, error) {
	f := &face{
		state: strings.ToUpper(t.State.String()), beside: []string{stamp(t.When)},
		notes: t.Notes, class: t.Class, name: t.Name, batch: t.Batch, cont: t.Container,
		box: useBy(t.UseBy, t.When), heavy: t.State.Forbids(),
	}
	if t.State.Forbids() {
		f.state = map[State]string{Hold: "ON HOLD", Reject: "REJECTED"}[t.State]
		f.box = []piece{{large: "DO NOT USE"}, {small: [2]string{"SET", "ASIDE"}}}
	}
	by := "________" // to be written by hand
	if t.By != "" {
		by = t.By
	}
	f.beside = append(f.beside, "by "+by)
	m, err := t.MatrixCode()
	if err != nil {
		return nil, err
	}
	if f.matrix, err = newSymbol(m); err != nil {
		return nil, err
	}
	codes, err := t.barCodes()
	if err != nil || noBars {
		return f, err
	}
	for _, c := range codes {
		s, err := newSymbol(c)
		if err != nil {
			return nil, err
		}
		f.bars = append(f.bars, s)
	}
	return f, nil
}

// useBy words the use-by. Of a moment less than a day off the clock is the large part:
// the day is the one on the calendar. Of any other the day is.
func useBy(u UseBy, when time.Time) []piece {
	word := piece{small: [2]string{"USE", "BY"}}
	day := strings.ToUpper(u.At.Format("2 Jan 2006"))
	weekday, year := strings.ToUpper(u.At.Format("Mon")), u.At.Format("2006")
	clock, zone := u.At.Format("15:04"), u.At.Format("MST")
	switch {
	case !u.Timed:
		return []piece{word, {large: day}, {small: [2]string{weekday, "24:00"}}}
	case u.At.Sub(when) < 24*time.Hour:
		return []piece{word, {large: clock}, {small: [2]string{weekday + " " + strings.ToUpper(u.At.Format("2 Jan")), year + " " + zone}}}
	}
	return []piece{word, {large: day}, {small: [2]string{weekday + " " + clock, zone}}}
}
