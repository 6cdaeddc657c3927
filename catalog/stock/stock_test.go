package stock

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/shelf"
)

var today = date.New(2027, time.March, 8)

func read(t *testing.T, text string) Sheet {
	t.Helper()
	s, err := ReadCSV(strings.NewReader(text), "stock.csv", today)
	require.NoError(t, err)
	return s
}

func TestRowCarriesEveryColumn(t *testing.T) {
	s := read(t, "batch,class,dom,expiry,inspect,opened,thawed,location,quantity,unit,held\n"+
		"S-1,polysulfide-b-2,11/2026,2027-08,2027-06-01,3 Mar 2027,,Rack 4,2.5,kit,left on the ramp\n")
	require.Empty(t, s.Bad)
	require.Empty(t, s.Warnings)
	require.Len(t, s.List, 1)
	r := s.List[0]
	assert.Equal(t, 2, r.Line)
	assert.Equal(t, "S-1", r.Item.Batch)
	assert.Equal(t, "polysulfide-b-2", r.Item.Class)
	assert.Equal(t, "November 2026", r.Item.DOM.String())
	assert.Equal(t, "August 2027", r.Item.Expiry.String())
	assert.Equal(t, "1 June 2027", r.Item.Inspect.String())
	assert.Equal(t, "3 March 2027", r.Item.Opened.String())
	assert.Empty(t, r.Item.Thawed)
	assert.Equal(t, "left on the ramp", r.Item.Held)
	assert.Equal(t, "Rack 4", r.Location)
	assert.Equal(t, 2.5, r.Quantity)
	assert.True(t, r.Counted)
	assert.Equal(t, "kit", r.Unit)
	assert.Equal(t, 1, s.Rows)
}

func TestColumnsStandInAnyOrderCaseAndSeparator(t *testing.T) {
	want := read(t, "batch,class,expiry\nS-1,b-2,2027-08\n").List
	for _, text := range []string{
		"expiry,batch,class\n2027-08,S-1,b-2\n",
		"Batch , CLASS,Expiry\r\nS-1,b-2,2027-08\r\n",
		"\ufeffbatch;class;expiry\nS-1;b-2;2027-08",
		`"batch";"class";"expiry"` + "\n" + `"S-1";"b-2";"2027-08"` + "\n;;\n\n",
		"batch,class,expiry\n S-1 , b-2 ,\t2027-08\n",
	} {
		s := read(t, text)
		assert.Empty(t, s.Bad, text)
		assert.Empty(t, s.Warnings, text)
		assert.Equal(t, want, s.List, text)
	}
}

func TestOtherColumnsAreKept(t *testing.T) {
	s := read(t, "PO,batch,class,Bin no,notes\n77,S-1,b-2,9,\"two\nlines, \"\"quoted\"\"\"\n78,S-2,b-2,,\n")
	require.Len(t, s.List, 2)
	assert.Equal(t, []Field{{"PO", "77"}, {"Bin no", "9"}, {"notes", "two\nlines, \"quoted\""}}, s.List[0].Extra)
	assert.Equal(t, 4, s.List[1].Line, "a row that goes over two lines counts two")
	assert.Equal(t, []string{"PO", "batch", "class", "Bin no", "notes"}, s.Columns)
	assert.Empty(t, s.Warnings)
}

func TestRowsNotUnderstoodComeBackWithLineAndReason(t *testing.T) {
	const head = "batch,class,dom,expiry,thawed,location,quantity\n"
	for row, want := range map[string]string{
		"S-1,b-2,,03/04/2027,,,":              `batch S-1: expiry "03/04/2027": the order of day, month and year is not known`,
		"S-1,b-2,2027-02-30,,,,":              `batch S-1: dom "2027-02-30": no day 30 in February 2027`,
		"S-1,b-2,soon,never,,,":               `dom "soon": not a date: write it like 30 Jun 2027, Jun 2027 or 2027-06-30; expiry "never"`,
		"S-1,b-2,,2027-08":                    "4 fields, but the header has 7",
		"S-1,b-2,,2027-08,,Rack 4, shelf 2,1": "8 fields, but the header has 7: put a field with a separator in it in quotes",
		",b-2,,2027-08,,,":                    "no batch: write the number on the label",
		"S-1,,,2027-08,,,":                    "batch S-1: no class: write the sealant class",
		"S-1,b-2,,,,,-1":                      `quantity "-1": it cannot be negative`,
		"S-1,b-2,,,,,NaN":                     `quantity "NaN": not a number`,
		"S-1,b-2,,,,,1e99":                    "not a number",
		"S-1,b-2,,,,,2 kits":                  "and its unit in the column unit",
		"S-1,b-2,,,,,99999999999":             "more than any store holds",
		"S-1,b-2,,,,,.":                       "not a number",
		"S-1,b-2,,,,,\"1,5\"":                 "is the comma a decimal point? write it like 2.5",
		"S-1,b-2,,,2x,,":                      `thawed "2x": not a date`,
		"S-1,b-2,,,|,,":                       `no date in it`,
		"S-1,b-2,,," + strings.Repeat("2027-03-01 ", 21) + ",,": "thawed more than 20 times",
		"S-1,b-2,,,,5\" rack,":    `a quote (") in the wrong place`,
		"S-1,b-2,,,,\"Rack,":      `a quote (") in the wrong place`,
		"S-1,b-2,,,,K\x81che,":    "column 6 is neither UTF-8 nor Windows-1252 text",
		"S-1,b-2,,,,\x07,":        "column 6 has a control character in it",
		"S-1,b-2,,,,\"Rack\n4\",": "location has a line break in it",
	} {
		s := read(t, head+row+"\nS-9,b-2,,2027-08,,,\n")
		if assert.NotEmpty(t, s.Bad, row) {
			assert.Contains(t, s.Bad[0].String(), want)
			assert.Equal(t, 2, s.Bad[0].Line)
			assert.True(t, strings.HasPrefix(s.Bad[0].String(), "stock.csv:2: "), s.Bad[0])
			assert.NotContains(t, s.Bad[0].String(), "\n")
		}
		require.Len(t, s.List, 1, "the good row after %q", row)
		assert.Equal(t, "S-9", s.List[0].Item.Batch)
	}
}

// A quote left open must not take the rows after it, whatever quotes those have.
func TestAnOpenQuoteHidesNoGoodRow(t *testing.T) {
	for _, next := range []string{"S-3,b-2,Rack 1", `S-3,b-2,"Rack 1"`, `S-3,b-2,""`, `S-3,b-2,"a ""b"" c"`} {
		for _, damaged := range []string{`S-2,b-2,"Rack`, `"S-2,b-2,Rack`, `S-2,"b-2,Rack"x`, `S-2,b-2,5" tin`} {
			s := read(t, "batch,class,location\nS-1,b-2,\n"+damaged+"\n"+next+"\nS-4,b-2,\n")
			var good []string
			for _, r := range s.List {
				good = append(good, r.Item.Batch)
			}
			assert.Equal(t, []string{"S-1", "S-3", "S-4"}, good, "%s then %s", damaged, next)
			assert.Len(t, s.Bad, 1, "%s then %s: %v", damaged, next, s.Bad)
		}
	}
}

// Two stray quotes that happen to close each other are two bad rows, not one row
// with the good one between them inside.
func TestTwoStrayQuotesHideNoGoodRowBetweenThem(t *testing.T) {
	for _, open := range []string{`S-2,b-2,"Rack`, `"S-2,b-2,Rack`} {
		s := read(t, "batch,class,location\nS-1,b-2,\n"+open+"\nS-3,b-2,\nS-4,b-2,5\"\nS-5,b-2,\n")
		assert.NotEmpty(t, s.Find("S-3"), "%v", s.Bad)
		assert.Equal(t, 3, s.Rows)
		require.Len(t, s.Bad, 2)
		assert.Equal(t, []int{3, 5}, []int{s.Bad[0].Line, s.Bad[1].Line})
	}
}

func TestSeveralThawsComeInOrder(t *testing.T) {
	for _, cell := range []string{"2027-03-05 2027-03-01", "2027-03-05|2027-03-01", "5 Mar 2027 | 1 Mar 2027"} {
		s := read(t, "batch,class,thawed,expiry\nS-1,frozen,"+cell+",2027-06\n")
		require.Empty(t, s.Bad, cell)
		th := s.List[0].Item.Thawed
		require.Len(t, th, 2)
		assert.Equal(t, "1 March 2027", th[0].String())
		assert.Equal(t, "5 March 2027", th[1].String())
		// Common practice, no source: a premixed frozen cartridge is thawed once.
		assert.Equal(t, shelf.Reject, shelf.Judge(s.List[0].Item, shelf.Rules{}, today).Verdict)
	}
	s := read(t, "batch,class,thawed\nS-1,frozen,5 Mar 2027\n")
	require.Len(t, s.List[0].Item.Thawed, 1)
}

func TestHeldMeansAReasonOrYes(t *testing.T) {
	for cell, want := range map[string]string{"": "", "no": "", "-": "", "0": "", "yes": "no reason is recorded", "X": "no reason is recorded", "dented  tin": "dented tin"} {
		s := read(t, "batch,class,held\nS-1,b-2,"+cell+"\n")
		assert.Equal(t, want, s.List[0].Item.Held, cell)
	}
}

func TestOnlyBatchAndClassAreNeeded(t *testing.T) {
	s := read(t, "class,batch\nb-2,S-1\n")
	require.Len(t, s.List, 1)
	assert.Equal(t, shelf.LimitUndated, shelf.Judge(s.List[0].Item, shelf.Rules{}, today).Governing.Name)
	assert.False(t, s.List[0].Counted)
	assert.False(t, math.Signbit(read(t, "batch,class,quantity\nS-1,b-2,-0\n").List[0].Quantity), "no minus nought on a list")
}

func TestAMisspeltColumnIsWarnedOf(t *testing.T) {
	s := read(t, "batch,class,lokation,colour\nS-1,b-2,rack 2,red\n")
	assert.Equal(t, []string{`stock.csv:1: column 3, "lokation", is not known and is kept as it is: did you mean location?`}, s.Warnings)
	assert.Equal(t, []Field{{"lokation", "rack 2"}, {"colour", "red"}}, s.List[0].Extra)
	assert.Empty(t, read(t, "batch,class,unit,units\nS-1,b-2,kit,3\n").Warnings, "unit is there already")
}

func TestABatchListedTwiceIsKeptTwiceAndSaid(t *testing.T) {
	s := read(t, "batch,class,expiry\nS-1,b-2,2027-08\nS-2,b-2,2027-08\nS-1,b-2,2027-09\n")
	assert.Len(t, s.Find("S-1"), 2)
	assert.Len(t, s.Find("S-2"), 1)
	assert.Empty(t, s.Find("S-3"))
	assert.Equal(t, []string{"stock.csv:2: batch S-1 is listed again on line 4: each row is judged on its own"}, s.Warnings)

	s = read(t, "batch,class\n"+strings.Repeat("S-1,b-2\n", 9))
	assert.Len(t, s.List, 9)
	assert.Equal(t, []string{"stock.csv:2: batch S-1 is listed again on line 3, 4, 5, 6, 7, 3 more: each row is judged on its own"}, s.Warnings)
}

func TestAListThatCannotBeReadSaysWhy(t *testing.T) {
	for text, want := range map[string]string{
		"":                             "stock.csv: the file is empty: it needs a header",
		"\ufeff\n\n":                   "stock.csv: the file is empty",
		"S-1,b-2,2027-08\n":            "stock.csv:1: the header has no column batch and no column class: a stock list starts with a line such as batch,class,expiry",
		"\nbatch,expiry\n":             "stock.csv:2: the header has no column class",
		"bacth,class\n":                `stock.csv:1: the header has no column batch: is column 1, "bacth", meant?`,
		"batch,class,Batch\n":          "stock.csv:1: column batch is there twice (columns 1 and 3): keep one",
		"batch,\"class\n":              "stock.csv:1: the quotes in the header do not close",
		"batch,class\rS-1,b-2\r":       "stock.csv:1: lines end in a bare CR",
		"PK\x03\x04\x00\x00":           "stock.csv:1: this is not text",
		"batch,class,K\x81che\n":       "is not plain UTF-8 text",
		"batch|class\nS-1|b-2\n":       "stock.csv:1: the header has no column batch",
		strings.Repeat("x", maxLine+1): "stock.csv:1: a line longer than",
	} {
		_, err := ReadCSV(strings.NewReader(text), "stock.csv", today)
		assert.ErrorContains(t, err, want, "%.30q", text)
	}
	_, err := ReadCSV(iotest.ErrReader(errors.New("disk gone")), "stock.csv", today)
	assert.ErrorContains(t, err, "stock.csv:1: disk gone")
}

func TestReadingStopsWhenTheReceiverSaysSo(t *testing.T) {
	stop := errors.New("enough")
	n := 0
	report, err := EachCSV(strings.NewReader("batch,class\nS-1,a\nS-2,a\nS-3,a\n"), "stock.csv", today, func(Row) error {
		if n++; n == 2 {
			return stop
		}
		return nil
	})
	assert.ErrorIs(t, err, stop)
	assert.Equal(t, 2, report.Rows)
}

func TestALongLineIsReadWhole(t *testing.T) {
	note := strings.Repeat("n", 100<<10)
	s := read(t, "batch,class,note\nS-1,b-2,"+note+"\nS-2,b-2,x\n")
	require.Len(t, s.Bad, 1)
	assert.Contains(t, s.Bad[0].Reason, "column 3 is longer than 4096 characters")
	require.Len(t, s.List, 1)
	assert.Equal(t, 3, s.List[0].Line)
}

func TestColumnsAreThoseRead(t *testing.T) {
	s := read(t, strings.Join(Columns(), ";")+"\n")
	assert.Empty(t, s.Warnings)
	assert.Equal(t, Columns(), s.Columns)
}

// list makes a stock list of n rows.
func list(n int) string {
	var b strings.Builder
	b.WriteString("batch,class,dom,expiry,inspect,opened,thawed,location,quantity,unit\n")
	for i := range n {
		fmt.Fprintf(&b, "S-%07d,polysulfide-b-2,%02d/2026,2027-%02d,,2027-02-%02d,,Rack %d,%d,kit\n", i, i%12+1, i%12+1, i%28+1, i%40, i%9)
	}
	return b.String()
}

func BenchmarkEachCSV(b *testing.B) {
	text := list(10000)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		report, err := EachCSV(strings.NewReader(text), "stock.csv", today, func(Row) error { return nil })
		if err != nil || report.Rows != 10000 {
			b.Fatal(report, err)
		}
	}
}
