package show

import (
	"fmt"
	"io"

	"github.com/rickb777/date"

	"beadline/catalog/label/scan"
	"beadline/catalog/shelf"
	"beadline/cmd/beadline/desk"
)

// checkJSON is the shape of `check --format json`. rows is there only when a stock
// list has the batch more than once, or a register several parts of it: then the severest stands at the top, and rows
// has all of them in the order of the list.
type checkJSON struct {
	Batch     string      `json:"batch"`
	Class     string      `json:"class"`
	Container string      `json:"container,omitempty"`
	On        string      `json:"on"`
	At        *string     `json:"at"` // the minute of that day that was asked about; null: the whole day
	Scan      *scanJSON   `json:"scan,omitempty"`
	Verdict   string      `json:"verdict"`
	DaysLeft  *int        `json:"days-left"`
	Governing limitJSON   `json:"governing"`
	Limits    []limitJSON `json:"limits"`
	Listed    string      `json:"listed,omitempty"`
	Stock     *stockJSON  `json:"in-stock,omitempty"` // of a register
	Assumed   []string    `json:"assumptions"`
	Cautions  []string    `json:"cautions"`
	Rows      []checkJSON `json:"rows,omitempty"`
}

// stockJSON is what a register has of a part of a batch.
type stockJSON struct {
	Maker    string         `json:"maker,omitempty"`
	Place    string         `json:"place"`
	Quantity *float64       `json:"quantity"` // null: not recorded
	Unit     string         `json:"unit"`
	Reserved []reservedJSON `json:"reserved"`
}

func stockShape(c desk.Checked) *stockJSON {
	if c.Stock == nil {
		return nil
	}
	o := &stockJSON{Maker: c.Stock.Maker, Place: c.Row.Location, Unit: c.Row.Unit, Reserved: []reservedJSON{}}
	if c.Row.Counted {
		o.Quantity = &c.Row.Quantity
	}
	for _, v := range c.Stock.Reserved {
		o.Reserved = append(o.Reserved, reservedJSON{Job: v.Job, Mix: v.Mix, Quantity: v.Amount, By: v.By, At: v.At})
	}
	return o
}

// limitJSON is one reason a batch ends. date is the last day of use.
type limitJSON struct {
	Limit    string  `json:"limit"`
	Date     *string `json:"date"`
	DaysLeft *int    `json:"days-left"`
	Verdict  string  `json:"verdict"`
	Past     bool    `json:"past"`
	Counts   bool    `json:"counts"`
	Reason   string  `json:"reason"`
	Source   string  `json:"source"`
	// Until is the minute of the date up to which it may be used, "09:32"; null for the
	// whole day.
	Until    *string `json:"until"`
	Who      string  `json:"who,omitempty"`
	Evidence string  `json:"evidence,omitempty"`
}

func limitShape(l shelf.Limit, on date.Date) limitJSON {
	var until *string
	if l.Timed {
		m := limitMinute(l)
		until = &m
	}
	return limitJSON{
		Until: until, Who: l.Who, Evidence: l.Evidence,
		Limit: string(l.Name), Date: dayOf(l.Date, l.Dated), DaysLeft: daysOf(l, on),
		Verdict: l.Verdict.String(), Past: l.Past, Counts: l.Counts, Reason: l.Reason, Source: l.Source,
	}
}

// daysOf is the days left, or null where the limit has no day.
func daysOf(l shelf.Limit, on date.Date) *int {
	days, dated := l.DaysLeft(on)
	if !dated {
		return nil
	}
	return &days
}

// CheckJSON writes the verdict on a batch for programs.
func CheckJSON(w io.Writer, rows []desk.Checked) error {
	o := checkShape(rows[desk.Worst(rows)])
	if len(rows) > 1 {
		for _, r := range rows {
			o.Rows = append(o.Rows, checkShape(r))
		}
	}
	return writeJSON(w, o)
}

func checkShape(c desk.Checked) checkJSON {
	j := c.Judgement
	o := checkJSON{
		Batch: c.Item.Batch, Class: c.Item.Class, On: isoDay(j.On), Verdict: j.Verdict.String(), DaysLeft: daysOf(j.Governing, j.On),
		Governing: limitShape(j.Governing, j.On), Limits: []limitJSON{}, Listed: c.Place, Stock: stockShape(c),
		Assumed: list(j.Assumed), Cautions: list(c.Cautions),
	}
	o.Container = c.Item.Container
	if j.Timed {
		m := clock(j.At)
		o.At = &m
	}
	if c.Scan != nil {
		o.Scan = scanShape(c.Scan)
	}
	for _, l := range j.Limits {
		o.Limits = append(o.Limits, limitShape(l, j.On))
	}
	return o
}

// scanJSON is what the label's code says.
type scanJSON struct {
	Standard  string          `json:"standard"`
	Symbology string          `json:"symbology,omitempty"`
	Fields    []scanFieldJSON `json:"fields"`
	Warnings  []string        `json:"warnings"`
	Doubt     bool            `json:"doubt"` // a date may be missing
}

type scanFieldJSON struct {
	ID    string  `json:"id"`
	Title string  `json:"title"`
	Value string  `json:"value"`
	Date  *string `json:"date,omitempty"`
}

func scanShape(s *scan.Scan) *scanJSON {
	o := &scanJSON{Standard: s.Standard.String(), Symbology: s.Symbology, Fields: []scanFieldJSON{}, Warnings: []string{}, Doubt: s.Doubt}
	for _, f := range s.Fields {
		x := scanFieldJSON{ID: f.ID, Title: f.Title, Value: f.Value}
		if !f.Date.IsZero() {
			d := f.Date.Canonical()
			x.Date = &d
		}
		o.Fields = append(o.Fields, x)
	}
	for _, w := range s.Warnings {
		o.Warnings = append(o.Warnings, w.Text)
	}
	return o
}

// checkColumns are the columns of `check --format csv`.
var checkColumns = []string{"batch", "class", "on", "verdict", "limit", "date", "days-left", "past", "counts", "reason", "source", "listed", "until", "who", "evidence"}

// CheckCSV writes the verdict on a batch as one line for each limit, those of one
// row together, the one that decides first.
func CheckCSV(w io.Writer, rows []desk.Checked) error {
	var lines [][]string
	for _, c := range rows {
		lines = append(lines, checkLines(c)...)
	}
	return writeCSV(w, checkColumns, lines)
}

func checkLines(c desk.Checked) [][]string {
	var lines [][]string
	j := c.Judgement
	for _, l := range j.Limits {
		day := ""
		if l.Dated {
			day = isoDay(l.Date)
		}
		lines = append(lines, []string{
			c.Item.Batch, c.Item.Class, isoDay(j.On), j.Verdict.String(), string(l.Name), day, cell(daysOf(l, j.On)),
			yes(l.Past), yes(l.Counts), l.Reason, l.Source, c.Place, limitMinute(l), l.Who, l.Evidence,
		})
	}
	return lines
}

// limitMinute is the minute up to which a limit lets a batch be used, on its day, or "".
func limitMinute(l shelf.Limit) string {
	if !l.Timed {
		return ""
	}
	return clock(l.Minute)
}

func clock(minute int) string { return fmt.Sprintf("%02d:%02d", minute/60, minute%60) }
