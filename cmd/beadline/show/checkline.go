package show

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"

	"beadline/cmd/beadline/desk"
)

// CheckLine writes the verdict on a batch as one line, for a hand scanner's screen: the
// answer, the batch, its class, and the reason that decides, not shortened.
func CheckLine(w io.Writer, c desk.Checked) error {
	kept := ""
	if c.Stock != nil && len(c.Stock.Reserved) > 0 {
		kept = "; in stock " + c.Stock.Words
	}
	_, err := fmt.Fprintf(w, "%-11s %s, %s: %s%s\n", loud[c.Judgement.Verdict], orNotSaid(c.Item.Batch), orNotSaid(c.Item.Class), inOneLine(c.Judgement), kept)
	return err
}

// NotRead writes that a line of a scanner could not be read, as one line.
func NotRead(w io.Writer, line int, reason string) error {
	_, err := fmt.Fprintf(w, "%-11s line %d: %s\n", "NOT READ", line, reason)
	return err
}

func orNotSaid(s string) string {
	if s == "" {
		return "not said"
	}
	return s
}

// CheckJSONLine writes the verdict on a batch for programs, on one line.
func CheckJSONLine(w io.Writer, c desk.Checked) error {
	return json.NewEncoder(w).Encode(checkShape(c))
}

// NotReadJSON is NotRead for programs.
func NotReadJSON(w io.Writer, line int, reason string) error {
	return json.NewEncoder(w).Encode(struct {
		Line       int    `json:"line"`
		Unreadable string `json:"unreadable"`
	}{line, reason})
}

// NotReadCSV is NotRead for programs, in the columns of CheckCSVLine.
func NotReadCSV(w io.Writer, line int, reason string) error {
	row := make([]string, len(checkColumns))
	row[3], row[9], row[11] = "unreadable", reason, fmt.Sprintf("line %d", line)
	return csvLine(w, row)
}

// CheckCSVHead writes the header of CheckCSVLine.
func CheckCSVHead(w io.Writer) error { return writeCSV(w, checkColumns, nil) }

// CheckCSVLine writes the limit that decides as one line.
func CheckCSVLine(w io.Writer, c desk.Checked) error {
	return csvLine(w, checkLines(c)[0])
}

func csvLine(w io.Writer, cells []string) error {
	out := csv.NewWriter(w)
	if err := out.Write(cells); err != nil {
		return err
	}
	out.Flush()
	return out.Error()
}
