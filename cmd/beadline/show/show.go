// Package show gives every answer its forms, once: text for people, JSON and CSV for
// programs. It decides nothing; what it shows comes in as plain data.
//
// Text is 80 columns wide, carries no meaning in colour, and puts the answer before
// its reasons. JSON has keys in kebab-case, instants in RFC 3339, days as
// 2027-03-08, spans in whole seconds, temperatures in °C, humidities in % RH; a value
// that is not known is null, an empty list is []. CSV has a header and one line for
// each row of the answer; a value that is not known is empty,
// and what can only be so or not is yes or no.
//
// One file for each answer and form: times.go and timesjson.go, check.go and
// checkjson.go, chart.go and chartpdf.go, and so on; units.go writes quantities in the
// reader's units. Pictures have a room of their own, show/picture.
package show

import (
	"encoding/csv"
	"encoding/json"
	"io"
	"strconv"
	"time"

	"github.com/rickb777/date"
)

// writeJSON writes a shape, indented, with < > & as they are.
func writeJSON(w io.Writer, shape any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(shape)
}

// writeCSV writes a header and rows by RFC 4180, with line ends LF.
func writeCSV(w io.Writer, header []string, rows [][]string) error {
	c := csv.NewWriter(w)
	if err := c.Write(header); err != nil {
		return err
	}
	return c.WriteAll(rows)
}

// secondsOf is a span in whole seconds, or null where there is none.
func secondsOf(d time.Duration, known bool) *int64 {
	if !known {
		return nil
	}
	s := int64(d / time.Second)
	return &s
}

// instantOf is an instant, or null where there is none.
func instantOf(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	t = t.Truncate(time.Second)
	return &t
}

// dayOf is a day as 2027-03-08, or null where there is none.
func dayOf(d date.Date, known bool) *string {
	if !known {
		return nil
	}
	s := isoDay(d)
	return &s
}

func isoDay(d date.Date) string {
	y, m, day := d.Date()
	return time.Date(y, m, day, 0, 0, 0, 0, time.UTC).Format(time.DateOnly)
}

// cell is a nullable number in CSV.
func cell[T int | int64](v *T) string {
	if v == nil {
		return ""
	}
	return strconv.FormatInt(int64(*v), 10)
}

// number64 is a nullable number with decimals in CSV.
func number64(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'f', -1, 64)
}

// instantCell is an instant in CSV.
func instantCell(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.RFC3339)
}

// yes is a yes or no in CSV.
func yes(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// plural is "1 row", "2 rows".
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}
