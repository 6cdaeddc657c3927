package show

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"

	"beadline/cmd/beadline/desk"
)

// flaggedJSON is a row of `flag --format json`.
type flaggedJSON struct {
	Batch     string            `json:"batch"`
	Class     string            `json:"class"`
	Verdict   string            `json:"verdict"`
	Governing limitJSON         `json:"governing"`
	DaysLeft  *int              `json:"days-left"`
	Limits    []limitJSON       `json:"limits"`
	Line      *int              `json:"line"` // null in a register: a part of a batch is known by maker, container and location
	Location  string            `json:"location"`
	Quantity  *float64          `json:"quantity"`
	Unit      string            `json:"unit"`
	Container string            `json:"container"`
	Maker     string            `json:"maker,omitempty"` // in a register, where it is recorded
	GTIN      string            `json:"gtin"`
	Extra     map[string]string `json:"extra"`
	Fault     string            `json:"fault,omitempty"`
}

// unreadableJSON is a row that cannot be read: class and location as far as they can,
// and in fields every column as it is written, {} where they cannot be told apart.
type unreadableJSON struct {
	Line     *int              `json:"line"`
	Batch    string            `json:"batch"`
	Class    string            `json:"class"`
	Location string            `json:"location"`
	Reason   string            `json:"reason"`
	Fields   map[string]string `json:"fields"`
}

// countsJSON counts rows: rows is the sum of use, hold, reject and unreadable;
// expiring is how many of use end soon.
type countsJSON struct {
	Rows       int `json:"rows"`
	Use        int `json:"use"`
	Expiring   int `json:"expiring"`
	Hold       int `json:"hold"`
	Reject     int `json:"reject"`
	Unreadable int `json:"unreadable"`
}

// aheadJSON is how many of the good rows end within a span, the last day included.
type aheadJSON struct {
	Days  int    `json:"days"`
	Until string `json:"until"`
	Rows  int    `json:"rows"`
}

// drawJSON is what to draw first of a class.
type drawJSON struct {
	Class   string      `json:"class"`
	Good    int         `json:"good"`
	Batches []drawnJSON `json:"batches"`
}

type drawnJSON struct {
	Batch    string   `json:"batch"`
	Opened   *string  `json:"opened"`
	Until    *string  `json:"until"`
	DaysLeft *int     `json:"days-left"`
	Location string   `json:"location"`
	Quantity *float64 `json:"quantity"`
	Unit     string   `json:"unit"`
	// Container and Maker are given of a register, where there are any.
	Container string `json:"container,omitempty"`
	Maker     string `json:"maker,omitempty"`
	Line      *int   `json:"line"`
	Also      int    `json:"also-on-line,omitempty"` // where it is worse or not readable
}

// FlagJSON writes what a stock list asks of people for programs: rows most urgent
// first, by location if they are grouped. It is written as it is read, so that it may
// be of any size.
func FlagJSON(w io.Writer, f *desk.Flags) error {
	o := objectJSON{w: w}
	if f.Register {
		o.field("register", f.Name)
	}
	o.field("on", isoDay(f.On))
	o.field("until", isoDay(f.Until))
	if f.Location != "" {
		o.field("location", f.Location)
	}
	if f.ByLocation {
		o.field("by", "location")
	}
	o.rows("rows", f, []desk.Section{desk.SetAside, desk.OnHold, desk.EndsSoon}, func(r *desk.Flagged) any { return flaggedShape(r) })
	o.rows("unreadable", f, []desk.Section{desk.NotReadable}, func(r *desk.Flagged) any { return unreadableShape(r, f) })
	o.field("counts", countsJSON(f.Counts))
	ahead := []aheadJSON{}
	for _, a := range f.Ahead {
		ahead = append(ahead, aheadJSON{a.Days, isoDay(a.Until), a.Rows})
	}
	o.field("next", ahead)
	all, err := f.Draw()
	if err != nil {
		return err
	}
	draw := []drawJSON{}
	for _, d := range all {
		draw = append(draw, drawShape(d))
	}
	o.field("draw-first", draw)
	o.field("warnings", list(f.Warnings))
	return o.end()
}

// objectJSON writes an object field by field, as writeJSON would write it whole.
type objectJSON struct {
	w       io.Writer
	started bool
	err     error
}

func (o *objectJSON) key(name string) {
	start := "{\n"
	if o.started {
		start = ",\n"
	}
	o.started = true
	o.write([]byte(start + `  "` + name + `": `))
}

func (o *objectJSON) write(b []byte) {
	if o.err == nil {
		_, o.err = o.w.Write(b)
	}
}

func (o *objectJSON) field(name string, shape any) {
	o.key(name)
	b, err := appendJSON(nil, shape, "  ")
	if o.err == nil {
		o.err = err
	}
	o.write(b)
}

// rows writes sections of all groups as one list.
func (o *objectJSON) rows(name string, f *desk.Flags, sections []desk.Section, shape func(*desk.Flagged) any) {
	o.key(name)
	o.write([]byte("["))
	first := &withoutComma{w: o.w}
	for _, g := range f.Groups {
		for _, s := range sections {
			if o.err == nil && g.Rows[s] > 0 {
				o.err = f.Write(first, g, s, func(to []byte, r *desk.Flagged) ([]byte, error) {
					return appendJSON(append(to, ",\n    "...), shape(r), "    ")
				})
			}
		}
	}
	if first.done {
		o.write([]byte("\n  "))
	}
	o.write([]byte("]"))
}

func (o *objectJSON) end() error {
	o.write([]byte("\n}\n"))
	return o.err
}

// withoutComma leaves the comma before the first of a list out.
type withoutComma struct {
	w    io.Writer
	done bool
}

func (c *withoutComma) Write(b []byte) (int, error) {
	if c.done || len(b) == 0 {
		return c.w.Write(b)
	}
	c.done = true
	n, err := c.w.Write(b[1:])
	return n + 1, err
}

// appendJSON appends a shape as writeJSON writes it, on lines indented so far.
func appendJSON(to []byte, shape any, indent string) ([]byte, error) {
	b := bytes.NewBuffer(to)
	e := json.NewEncoder(b)
	e.SetEscapeHTML(false)
	e.SetIndent(indent, "  ")
	if err := e.Encode(shape); err != nil {
		return to, err
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), nil
}

func unreadableShape(r *desk.Flagged, f *desk.Flags) unreadableJSON {
	b := r.Fault
	u := unreadableJSON{Line: lineOf(r, b.Line), Batch: b.Batch, Class: b.Cell(f.Means, "class"), Location: b.Cell(f.Means, "location"),
		Reason: b.Reason, Fields: map[string]string{}}
	for i, v := range b.Cells {
		u.Fields[fresh(u.Fields, f.Columns[i])] = v
	}
	return u
}

// fresh is a key that the map does not have yet: two columns may have one name.
func fresh(m map[string]string, name string) string {
	key := name
	for n := 2; hasKey(m, key); n++ {
		key = fmt.Sprintf("%s (%d)", name, n)
	}
	return key
}

func hasKey(m map[string]string, key string) bool {
	_, has := m[key]
	return has
}

func flaggedShape(r *desk.Flagged) flaggedJSON {
	j := r.Judgement
	o := flaggedJSON{
		Batch: r.Item.Batch, Class: r.Item.Class, Verdict: j.Verdict.String(),
		Governing: limitShape(j.Governing, j.On), DaysLeft: daysOf(j.Governing, j.On), Limits: []limitJSON{},
		Line: lineOf(r, r.Line), Location: r.Location, Unit: r.Unit, Container: r.Item.Container, GTIN: r.GTIN, Extra: map[string]string{},
	}
	for _, l := range j.Limits {
		o.Limits = append(o.Limits, limitShape(l, j.On))
	}
	if r.Counted {
		o.Quantity = &r.Quantity
	}
	if r.Fault != nil {
		o.Fault = r.Fault.Reason
	}
	if r.Register {
		o.Maker = r.Maker()
		return o
	}
	for _, f := range r.Extra {
		o.Extra[fresh(o.Extra, f.Column)] = f.Value
	}
	return o
}

// lineOf is the line of a row in its list, or null in a register.
func lineOf(r *desk.Flagged, line int) *int {
	if r.Register {
		return nil
	}
	return &line
}

func drawShape(d desk.Draw) drawJSON {
	o := drawJSON{Class: d.Class, Good: d.Good, Batches: []drawnJSON{}}
	for _, r := range d.Rows {
		g := r.Judgement.Governing
		one := drawnJSON{Batch: r.Item.Batch, Until: dayOf(g.Date, g.Dated), DaysLeft: daysOf(g, r.Judgement.On),
			Location: r.Location, Unit: r.Unit, Line: lineOf(&r, r.Line), Also: r.Also}
		if r.Register {
			one.Container, one.Maker = r.Item.Container, r.Maker()
		}
		if s := r.Item.Opened.Canonical(); s != "" {
			one.Opened = &s
		}
		if r.Counted {
			one.Quantity = &r.Quantity
		}
		o.Batches = append(o.Batches, one)
	}
	return o
}
