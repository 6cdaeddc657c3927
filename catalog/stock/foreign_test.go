package stock

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/label"
)

// What spreadsheets and other people's lists write; forms met in use (common practice, no
// source).

// both reads a list row by row and as a File, which must find the same.
func both(t *testing.T, list string, o Options) Sheet {
	t.Helper()
	o.Today = today
	s, err := ReadWith(strings.NewReader(list), "s.csv", o)
	require.NoError(t, err)
	f, err := Open(strings.NewReader(list), int64(len(list)), "s.csv", o)
	require.NoError(t, err)
	for _, chunk := range []int64{1, 40, 1 << 20} {
		f.chunk = chunk
		warnings, err := f.Scan(2, func(int) Visitor { return &ignoring{} }, func(Visitor, int) error { return nil })
		require.NoError(t, err)
		assert.Equal(t, s.Report.Warnings, warnings, "stretches of %d bytes", chunk)
	}
	return s
}

type ignoring struct{}

func (*ignoring) Plain(At, *Plain) {}
func (*ignoring) Row(At, *Row)     {}
func (*ignoring) Bad(At, *Bad)     {}
func (*ignoring) End()             {}

func TestALineThatNamesTheSeparatorIsPassedOver(t *testing.T) {
	for _, first := range []string{"sep=;", "SEP=;", `"sep=;"`, "\ufeffsep=;", "\n\nsep=;"} {
		s := both(t, first+"\r\nbatch;class;expiry\r\nA;b-2;2027-06-30\r\n", Options{})
		require.Len(t, s.List, 1, first)
		assert.Equal(t, 3+strings.Count(first, "\n"), s.List[0].Line)
		assert.Equal(t, "2027-06-30", s.List[0].Item.Expiry.Canonical())
	}
	_, err := ReadCSV(strings.NewReader("sep=;\n"), "s.csv", today)
	assert.ErrorContains(t, err, "the file is empty")
	_, err = ReadCSV(strings.NewReader("sep=;x\nbatch;class\n"), "s.csv", today)
	assert.ErrorContains(t, err, "s.csv:1: the header has no column batch")
}

func TestACellThatSaysThereIsNoDateIsNone(t *testing.T) {
	s := both(t, "batch,class,dom,expiry,opened,thawed,tested,result\n"+
		"A,b-2,2027-01-01,2027-06-30,,,,\n"+
		"B,b-2,N/A,2027-06-30,none,,,\n"+
		"C,b-2,n/a,-,NONE,-,n/a,n/a\n"+
		"D,b-2,-,-,-,none,,many\n", Options{})
	require.Len(t, s.List, 3)
	b, c := s.List[1].Item, s.List[2].Item
	assert.True(t, b.DOM.IsZero() && b.Opened.IsZero() && c.Expiry.IsZero() && c.Thawed == nil && c.Tests == nil)
	assert.Equal(t, "2027-06-30", b.Expiry.Canonical())
	require.Len(t, s.Bad, 1, "a result of no test")
	var want []string
	for _, w := range []struct {
		line   int
		column string
	}{{3, "dom"}, {4, "expiry"}, {3, "opened"}, {4, "thawed"}, {4, "tested"}} {
		want = append(want, fmt.Sprintf("s.csv:%d: %s says that there is no date (n/a, none or -): this row is judged without one, and so is any other like it", w.line, w.column))
	}
	assert.Equal(t, want, s.Warnings)
	for _, text := range []string{"#N/A", "--", "nil", "non", "?"} {
		assert.Len(t, both(t, "batch,class,expiry\nA,b-2,"+text+"\n", Options{}).Bad, 1, text)
	}
}

func TestADayWithTheHourOfMidnightIsTheDay(t *testing.T) {
	for text, order := range map[string]label.Order{
		"30/06/2027 00:00:00": label.DMY, "2027-06-30 00:00:00": 0, "2027-06-30T00:00:00": 0, "2027-06-30 0:00": 0, "2027-06-30 00:00": 0,
		"6/30/2027 12:00:00 AM": label.MDY, "2027-06-30 00:00:00.000": 0,
	} {
		s := both(t, "batch,class,expiry\nA,b-2,"+text+"\n", Options{Order: order})
		require.Len(t, s.List, 1, text)
		assert.Equal(t, label.Day, s.List[0].Item.Expiry.Precision(), text)
		assert.Equal(t, "2027-06-30", s.List[0].Item.Expiry.Canonical(), text)
	}
	for _, text := range []string{"2027-06-30 08:00", "2027-06-30 00:00:01", "2027-06-30 00:01", "2027-06-30 10:00:00", "2027-06 00:00:01", "00:00:00"} {
		assert.Len(t, both(t, "batch,class,expiry\nA,b-2,"+text+"\n", Options{}).Bad, 1, text)
	}
}

func TestMidnightIsAnHourWhereHoursAreRead(t *testing.T) {
	s := both(t, "batch,class,expiry,opened\nA,b-2,2027-06-30 00:00,2027-06-30 00:00\nB,b-2,,2027-06-30 00:00:00\nC,b-2,,2027-06-30 8:00\n", Options{})
	require.Len(t, s.List, 3)
	for i, want := range []string{"2027-06-30T00:00", "2027-06-30", "2027-06-30T08:00"} {
		assert.Equal(t, want, s.List[i].Item.Opened.Canonical())
	}
}

func TestASpreadsheetsDayNumberIsNotRead(t *testing.T) {
	for order, want := range map[label.Order]string{0: "may be a spreadsheet's day number, 1 April 2026", label.YearDay: "day 113 of 2046, or a spreadsheet's day number"} {
		s := both(t, "batch,class,expiry\nA,b-2,46113\n", Options{Order: order})
		require.Len(t, s.Bad, 1)
		assert.Contains(t, s.Bad[0].Reason, want)
	}
}

func TestTheMapToWriteIsWholeAndDoes(t *testing.T) {
	for _, c := range []struct{ header, ask, wants string }{
		{"Lot No,Part,Exp", "", "Lot No=batch,Part=class,Exp=expiry"},
		{"Exp,Sealing stuff,Lot", "", "Lot=batch,Sealing stuff=class,Exp=expiry"},
		{"Charge,Exp,Material", "", "Charge=batch,Material=class,Exp=expiry"},
		{"Lot No,Part,Exp", "Exp=expiry", "Exp=expiry,Lot No=batch,Part=class"},
	} {
		var m Map
		var err error
		if c.ask != "" {
			m, err = ParseMap(c.ask)
			require.NoError(t, err)
		}
		_, err = ReadWith(strings.NewReader(c.header+"\nA,b-2,2027-06-30\n"), "s.csv", Options{Today: today, Map: m})
		require.ErrorContains(t, err, "The headings are "+strings.ReplaceAll(c.header, ",", ", ")+": ")
		require.True(t, strings.HasSuffix(err.Error(), fmt.Sprintf("like --map %q", c.wants)), err)
		m, err = ParseMap(c.wants)
		require.NoError(t, err)
		_, err = ReadWith(strings.NewReader(c.header+"\n"), "s.csv", Options{Today: today, Map: m})
		require.NoError(t, err)
	}
}

// A column by which a batch ends is not passed over for its name.
func TestAHeadingThatMayEndABatchIsMappedOrTakenAway(t *testing.T) {
	for heading, want := range map[string]string{
		"Expiry date": "expiry", "exp": "expiry", "Exp. Date": "expiry", "expirey": "expiry", "Opened on": "opened", "date_opened": "opened", "openned": "opened",
		"Thaw date": "thawed", "Hold": "held", "on hold": "held", "Quarantine": "held", "best before date": "best-before", "Condition notes": "condition",
		"Insp due": "inspect", "Test result": "result", "Time out (h)": "out-used",
	} {
		list := fmt.Sprintf("batch,class,dom,%q\nA,b-2,2026-12-01,\n", heading)
		_, err := ReadWith(strings.NewReader(list), "s.csv", Options{Today: today})
		if !assert.ErrorContains(t, err, fmt.Sprintf("--map %q", heading+"="+want), heading) {
			continue
		}
		assert.NotContains(t, err.Error(), "\n")
		for _, to := range []string{want, Unused} {
			m, err := ParseMap(heading + "=" + to)
			require.NoError(t, err)
			_, err = ReadWith(strings.NewReader(list), "s.csv", Options{Today: today, Map: m})
			assert.NoError(t, err, "%s=%s", heading, to)
		}
	}
	for _, heading := range []string{"shelf note", "colour", "po", "supplier", "open orders"[5:], "remarks"} {
		_, err := ReadWith(strings.NewReader("batch,class,"+heading+"\nA,b-2,\n"), "s.csv", Options{Today: today})
		assert.NoError(t, err, heading)
	}
	_, err := ReadWith(strings.NewReader("batch,class,expiry,expiry note\nA,b-2,2027-06-30,\n"), "s.csv", Options{Today: today})
	assert.NoError(t, err, "the list has its expiry already")
}
