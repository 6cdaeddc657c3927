package label

import (
	"encoding/csv"
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/rickb777/date/period"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// These tests hold the package against values printed elsewhere: label-dates.csv
// and label-codes.csv, where each row names its source and how it is known. The rules
// on shelf life that are not about a label's text (opening ends shelf life, undated
// stock, age in full months) are held beside the rules, in package shelf.

// published reads a table of published values as rows by column name.
func published(t *testing.T, file string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "published", file))
	require.NoError(t, err)
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	var rows []map[string]string
	for i, r := range records[1:] {
		row := map[string]string{"line": strconv.Itoa(i + 2)}
		for k, name := range records[0] {
			row[name] = r[k]
		}
		require.NotEmpty(t, row["source"])
		require.NotEmpty(t, row["how"])
		rows = append(rows, row)
	}
	return rows
}

// hold runs the check of each row, by its quantity, and asks for a row for each check.
func hold(t *testing.T, file string, checks map[string]func(t *testing.T, row map[string]string)) {
	seen := map[string]bool{}
	for _, row := range published(t, file) {
		check := checks[row["quantity"]]
		require.NotNil(t, check, "line %s: nothing checks %s", row["line"], row["quantity"])
		seen[row["quantity"]] = true
		t.Run("line "+row["line"]+" "+row["quantity"], func(t *testing.T) { check(t, row) })
	}
	assert.Len(t, seen, len(checks), "rows were lost")
}

// whole is a date as the tables write it: a day, first..last, or a moment.
func whole(d Date) string {
	if _, ok := d.Clock(); ok {
		return d.Canonical()
	}
	if d.First() == d.Last() {
		return iso(d.First())
	}
	return iso(d.First()) + ".." + iso(d.Last())
}

func midYear(t *testing.T, s string) date.Date {
	year, err := strconv.Atoi(s)
	require.NoError(t, err)
	return date.New(year, time.July, 1)
}

func TestPublishedDates(t *testing.T) {
	now := date.New(2026, time.July, 1)
	add := func(start date.Date, steps string) date.Date {
		for step := range strings.FieldsSeq(steps) {
			start = AddLife(start, period.MustParse(step, false))
		}
		return start
	}
	digits := func(l Layout) func(t *testing.T, row map[string]string) {
		return func(t *testing.T, row map[string]string) {
			d, err := ReadDigits(row["input"], l, midYear(t, row["context"]))
			if row["value"] == "refused" {
				assert.Error(t, err)
				return
			}
			require.NoError(t, err)
			assert.Equal(t, row["value"], whole(d))
		}
	}
	hold(t, "label-dates.csv", map[string]func(t *testing.T, row map[string]string){
		"form": func(t *testing.T, row map[string]string) {
			order, err := ParseOrder(row["context"])
			require.NoError(t, err)
			d, err := Read(row["input"], How{Today: now, Order: order})
			require.NoError(t, err)
			assert.Equal(t, row["value"], whole(d))
		},
		"mark": func(t *testing.T, row map[string]string) {
			m, err := ReadMark(row["input"], How{Today: now})
			require.NoError(t, err)
			assert.Equal(t, row["value"], m.Kind.String()+" "+whole(m.Date))
		},
		"life": func(t *testing.T, row map[string]string) {
			d, err := Parse(row["input"], now)
			require.NoError(t, err)
			assert.Equal(t, row["value"], iso(AddLifeToMonthEnd(d.Last(), period.MustParse(row["context"], false))))
		},
		"add": func(t *testing.T, row map[string]string) {
			assert.Equal(t, row["value"], iso(add(calendar(t, row["input"]), row["context"])))
		},
		"century": func(t *testing.T, row map[string]string) {
			d, err := Parse("06/"+row["input"], midYear(t, row["context"]))
			require.NoError(t, err)
			assert.Equal(t, row["value"], strconv.Itoa(d.First().Year()))
		},
		"gs1-date":   digits(GS1Date),
		"gs1-minute": digits(GS1Minute),
	})
}

func TestPublishedShelfLifeCodes(t *testing.T) {
	hold(t, "label-codes.csv", map[string]func(t *testing.T, row map[string]string){
		"code": func(t *testing.T, row map[string]string) {
			c, err := ReadCode(row["input"])
			require.NoError(t, err)
			assert.Equal(t, row["type"], c.Type())
			life, err := c.Life()
			switch row["months"] {
			case "none":
				assert.ErrorIs(t, err, ErrUnlimited)
			case "more than 60":
				assert.ErrorIs(t, err, ErrNeedsNumber)
			default:
				require.NoError(t, err)
				assert.Equal(t, row["months"], strconv.Itoa(12*life.Years()+life.Months()))
			}
			same, extendable, again := CodeLife(row["input"])
			assert.Equal(t, life, same)
			assert.True(t, errors.Is(again, err))
			assert.Equal(t, row["type"] != "I", extendable)
		},
		"no-code": func(t *testing.T, row map[string]string) {
			_, err := ReadCode(row["input"])
			assert.Error(t, err)
		},
		"mark": func(t *testing.T, row map[string]string) {
			c, err := ReadCode(row["input"])
			require.NoError(t, err)
			m, err := ReadMark(row["months"]+" 10/16", How{Today: today})
			require.NoError(t, err)
			assert.Equal(t, m.Kind, c.End())
			assert.Equal(t, row["type"], c.Type())
		},
	})
}
