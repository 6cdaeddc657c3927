package scan

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"beadline/catalog/label"
)

// readAny reads what stands on a label as a person at the bench has it: a scan, a mark
// with its date, or a date alone; and tells what came of it in one line.
func readAny(text string, how label.How) string {
	if Looks(text) {
		s, err := Parse(text, how.Today)
		if err != nil {
			return "refused: " + err.Error()
		}
		var says []string
		for _, part := range []struct{ name, value string }{
			{"lot", s.Lot}, {"made", s.DOM.Canonical()}, {"expires", s.Expiry.Canonical()}, {"test by", s.TestBy.Canonical()},
			{"best before", s.BestBefore.Canonical()}, {"date", s.Unstated.Canonical()},
		} {
			if part.value != "" {
				says = append(says, part.name+" "+part.value)
			}
		}
		if s.Doubt {
			says = append(says, "in doubt")
		}
		for _, w := range s.Warnings {
			if w.Trouble == Repaired {
				says = append(says, "repaired")
			}
		}
		return strings.Join(says, ", ")
	}
	m, err := label.ReadMark(text, how)
	if err == nil {
		return m.Kind.String() + " " + m.Date.Canonical() + m.Code.String()
	}
	if errors.Is(err, label.ErrNoMark) {
		var d label.Date
		if d, err = label.Read(text, how); err == nil {
			return d.Precision().String() + " " + d.Canonical()
		}
	}
	return "refused: " + err.Error()
}

// TestTwentyAwkwardLabels are made by hand, each with a fault or a trap of its own.
func TestTwentyAwkwardLabels(t *testing.T) {
	for _, row := range []struct {
		what, text string
		order      label.Order
		want       string
	}{
		{"month alone, to its last day", "EXP 02/28", 0, "expiry 2028-02"},
		{"day and month could change places", "EXP 03/04/2027", 0, `refused: EXP: "03/04/2027": the order of day, month and year is not known: say --date-order dmy (3 April 2027) or mdy (4 March 2027), or write it like 2027-04-03`},
		{"the same, told", "EXP 03/04/2027", label.DMY, "expiry 2027-04-03"},
		{"day 31 tells, yet is not taken", "EXP 31/12/2027", 0, `refused: EXP: "31/12/2027": is this day/month/year? say --date-order dmy or write 2027-12-31`},
		{"is 27 the day or the year", "USE BY MAY 27", 0, `refused: USE BY: "MAY 27": 27 may be a day or a year: write the year with four digits, like Jun 2027, or say --date-order dmy if it is the year`},
		{"cure quarter", "CURE DATE 4Q25", 0, "made 4Q2025"},
		{"inspect/test is no expiry", "INSP/TEST 10/16", 0, "inspect/test 2016-10"},
		{"day that is not", "MFD 31 JUN 2026", 0, `refused: MFD: "31 JUN 2026": no day 31 in June 2026: it has 30 days`},
		{"day of the year, one digit for the year", "MFD 6365", label.YearDay, "made 2016-12-30"},
		{"... which is no expiry", "EXP 8032", label.YearDay, `refused: EXP: "8032": a year of one digit does not say its decade: write the date like 2027-181`},
		{"code O for 0", "SHELF LIFE CODE O", 0, `refused: SHELF LIFE CODE: shelf-life code "O": no such code: is it the digit 0?`},
		{"week over the turn of the year", "DOM 2026-W53", 0, "made 2026-W53"},
		{"run together, dates apart by letters", "04JUN24", 0, "day 2024-06-04"},
		{"separator typed as a bar", "010541234500001310NF-7|17290300", 0, "lot NF-7, expires 2029-03, repaired"},
		{"separator swallowed", "010541234500001310NF717290331", 0, "lot NF717290331, in doubt"},
		{"test-by is no expiry, lot last", "010541234500001370112903310800<GS>11260401" + "10NF-7", 0, "lot NF-7, made 2026-04-01, test by 2029-03-31T08:00"},
		{"best before is no expiry", "(01)05412345000013(15)290331(10)NF-7", 0, "lot NF-7, best before 2029-03-31"},
		{"one digit misread", "(01)05412346000013(17)290331", 0, `refused: (01) at character 1: "05412346000013": the check digit is wrong: it ends in 3 and would have to end in 2: scan again, do not type it`},
		{"envelope cut short, date without meaning", "[)><RS>06<GS>1TNF-7<GS>D290331", 0, "lot NF-7, date 2029-03-31, repaired"},
		{"two lots in one scan", "10NF-7<GS>10NF-8", 0, `refused: (10) at character 8: it stood before as "NF-7", and now as "NF-8": scan one code at a time`},
	} {
		t.Run(row.what, func(t *testing.T) {
			assert.Equal(t, row.want, readAny(c(row.text), label.How{Today: now, Order: row.order}))
		})
	}
}
