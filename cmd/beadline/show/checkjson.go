package show

import (
	"io"

	"github.com/rickb777/date"

	"beadline/catalog/shelf"
	"beadline/cmd/beadline/desk"
)

// checkJSON is the shape of `check --format json`. rows is there only when a stock
// list has the batch more than once: then the severest stands at the top, and rows
// has all of them in the order of the list.
type checkJSON struct {
	Batch     string      `json:"batch"`
	Class     string      `json:"class"`
	On        string      `json:"on"`
	Verdict   string      `json:"verdict"`
	DaysLeft  *int        `json:"days-left"`
	Governing limitJSON   `json:"governing"`
	Limits    []limitJSON `json:"limits"`
	Listed    string      `json:"listed,omitempty"`
	Assumed   []string    `json:"assumptions"`
	Cautions  []string    `json:"cautions"`
	Rows      []checkJSON `json:"rows,omitempty"`
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
}

func limitShape(l shelf.Limit, on date.Date) limitJSON {
	return limitJSON{
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
		Governing: limitShape(j.Governing, j.On), Limits: []limitJSON{}, Listed: c.Place,
		Assumed: list(j.Assumed), Cautions: list(c.Cautions),
	}
	for _, l := range j.Limits {
		o.Limits = append(o.Limits, limitShape(l, j.On))
	}
	return o
}

// CheckCSV writes the verdict on a batch as one line for each limit, those of one
// row together, the one that decides first.
func CheckCSV(w io.Writer, rows []desk.Checked) error {
	var lines [][]string
	for _, c := range rows {
		j := c.Judgement
		for _, l := range j.Limits {
			day := ""
			if l.Dated {
				day = isoDay(l.Date)
			}
			lines = append(lines, []string{
				c.Item.Batch, c.Item.Class, isoDay(j.On), j.Verdict.String(), string(l.Name), day, cell(daysOf(l, j.On)),
				yes(l.Past), yes(l.Counts), l.Reason, l.Source, c.Place,
			})
		}
	}
	return writeCSV(w, []string{"batch", "class", "on", "verdict", "limit", "date", "days-left", "past", "counts", "reason", "source", "listed"}, lines)
}
