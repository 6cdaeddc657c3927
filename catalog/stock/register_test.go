package stock

import (
	"bytes"
	"encoding/csv"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/rickb777/date/period"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/shelf/inputs"
)

var (
	someDay    = label.DayOf(date.New(2027, time.March, 8))
	someMonth  = label.MonthOf(date.New(2027, time.October, 1))
	someMoment = label.At(date.New(2027, time.March, 5), 8*60)
)

// whole is an item with something in every field.
func whole() shelf.Item {
	return shelf.Item{
		Batch: "S-2207", Container: `2 "of" 3, red`, Class: "b-2", Code: "D", Standard: shelf.StandardISO2230, Polymer: "NBR",
		DOM: someDay, Expiry: someMonth, Inspect: someMonth, BestBefore: someDay, Parts: []shelf.Part{{Name: "base", Lot: "A", Kit: "S-2207", From: "7", DOM: someDay}},
		Received: shelf.Receipt{On: someDay, NoPapers: true}, Opened: someMoment, Installed: someDay,
		Thawed: []label.Date{someDay, someMoment}, Refrozen: []label.Date{someMoment}, ThawCount: 3, OutUsed: 90*time.Minute + time.Millisecond, OutAsOf: someDay,
		Tests: []shelf.Test{{On: someDay}, {On: someDay, Passed: true, By: "Lab 2", Authority: "quality office", Reference: "QO-7", Results: `"48", good`, To: someMonth,
			Span: period.NewYMD(0, 18, 3), Given: someDay}},
		Storage:   []shelf.Storage{{Where: "store", From: someDay, MaxC: 31.5, Measured: true, Readings: 9}, {HotFrom: someDay, Notes: []string{"a, b"}}, {HotFrom: someMoment}},
		Condition: shelf.Damaged | shelf.LabelGone, ConditionOn: someDay, Held: "no", HeldOn: someMoment,
		Freed:    []shelf.Freed{{Limit: shelf.LimitHeld, On: someDay, By: "A", Authority: "B", Reference: "C", Why: "é"}},
		Scrapped: "leaked",
	}
}

func listOf(t require.TestingT, rows ...Row) []byte {
	text := []byte(RegisterHeader + "\n")
	for i := range rows {
		var err error
		text, err = AppendRow(text, &rows[i])
		require.NoError(t, err)
	}
	return text
}

// anyRow has some of the fields of a whole item, and what needs quotes.
func anyRow(t *rapid.T) Row {
	all := whole()
	var it shelf.Item
	to, from := reflect.ValueOf(&it).Elem(), reflect.ValueOf(all)
	share := rapid.SampledFrom([]int{0, 0, 1, 4}).Draw(t, "share")
	for i := range to.NumField() {
		if rapid.IntRange(0, 4).Draw(t, to.Type().Field(i).Name) < share {
			to.Field(i).Set(from.Field(i))
		}
	}
	word := rapid.StringOfN(rapid.SampledFrom([]rune(`ab",;é 	-'`)), 1, 8, -1)
	fit := func(s string) string { return strings.TrimSpace(strings.ReplaceAll(s, "\t", "")) }
	it.Batch, it.Class = fit(word.Draw(t, "batch"))+"x", fit("x"+word.Draw(t, "class"))
	if rapid.IntRange(0, 2).Draw(t, "container?") == 0 {
		it.Container = fit(word.Draw(t, "container"))
	}
	dates := rapid.SampledFrom([]label.Date{{}, someDay, someMonth, someMoment})
	it.DOM, it.Expiry, it.Opened = dates.Draw(t, "dom"), dates.Draw(t, "expiry"), dates.Draw(t, "opened")
	it.Received.On = rapid.SampledFrom([]label.Date{{}, {}, someDay, someMonth, someMoment, label.At(someDay.First(), 0), label.At(someDay.First(), 24*60-1)}).Draw(t, "received")
	r := Row{Item: it, Location: fit(word.Draw(t, "location")), Unit: fit(word.Draw(t, "unit")), Extra: ByMaker(fit(rapid.OneOf(rapid.Just(""), word).Draw(t, "maker")))}
	if r.Counted = rapid.Bool().Draw(t, "counted"); r.Counted {
		r.Quantity = rapid.OneOf(rapid.SampledFrom([]float64{0, 1, 2.5, 1e9, 5e-324, 0.1 + 0.2}), rapid.Float64Range(0, maxQuantity)).Draw(t, "quantity")
	}
	return r
}

// Whatever a register knows of its batches comes back from the list, by every reader.
func TestAListWrittenForARegisterReadsBackTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows := rapid.SliceOfN(rapid.Custom(anyRow), 0, 8).Draw(t, "rows")
		text := listOf(t, rows...)
		theirs, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
		require.NoError(t, err, "%s", text)
		require.Len(t, theirs, 1+len(rows))

		got := inOrder(text, Options{Today: today})
		require.Empty(t, got.err)
		require.Empty(t, got.warnings)
		require.Empty(t, got.bad)
		require.Len(t, got.rows, len(rows))
		plain := 0
		for i, r := range got.rows {
			require.Equal(t, rows[i].Item, r.Item, "%s", text)
			require.Equal(t, [2]string{rows[i].Location, rows[i].Unit}, [2]string{r.Location, r.Unit})
			require.Equal(t, rows[i].Counted, r.Counted)
			require.Equal(t, rows[i].Quantity, r.Quantity)
			require.Equal(t, i+2, r.Line)
			require.Equal(t, r.Plain, theirs[i+1][10] == "" && theirs[i+1][11] == "", "%s", text)
			require.Equal(t, rows[i].Maker(), r.Maker())
			if r.Plain && !strings.ContainsAny(strings.Join(theirs[i+1], ""), `,"é`) && len(theirs[i+1][8]) <= 15 && !strings.Contains(theirs[i+1][5], ":") {
				plain++
			}
		}
		// inChunks reads each row again by Picker and Parser.
		chunked, quick := inChunks(t, text, Options{Today: today}, rapid.Int64Range(1, 400).Draw(t, "chunk"), 2)
		require.Equal(t, got, chunked)
		require.Equal(t, plain, quick, "%s", text)
	})
}

// A field that is new to the item fails here until AppendRow knows of it.
func TestEveryFieldOfAnItemIsWritten(t *testing.T) {
	all := reflect.ValueOf(whole())
	for i := range all.NumField() {
		name := all.Type().Field(i).Name
		require.False(t, all.Field(i).IsZero(), "whole() has nothing in %s", name)
		it := shelf.Item{Batch: "S-1", Class: "b-2"}
		reflect.ValueOf(&it).Elem().Field(i).Set(all.Field(i))
		got := inOrder(listOf(t, Row{Item: it}), Options{Today: today})
		require.Len(t, got.rows, 1, "%s: %v", name, got.bad)
		require.Equal(t, it, got.rows[0].Item, name)
	}
}

func TestPlainItemsStandInTheirColumns(t *testing.T) {
	plain := Row{Item: shelf.Item{Batch: "S-1", Class: "b-2", DOM: someDay, Expiry: someMonth, Opened: someDay}, Location: " Rack 1 ", Quantity: 2.5, Counted: true, Unit: "kit"}
	plain.Item.Received.On = someMoment
	hour := plain
	hour.Item.Opened, hour.Extra = someMoment, ByMaker("Nordlys, Ltd")
	midnight := plain
	midnight.Item.Received.On = label.At(someDay.First(), 0) // which a list has for the day
	assert.Equal(t, RegisterHeader+"\n"+
		"S-1,b-2,2027-03-08,2027-10,,2027-03-08,2027-03-05T08:00,Rack 1,2.5,kit,,,\n"+
		"S-1,b-2,2027-03-08,2027-10,,2027-03-05T08:00,2027-03-05T08:00,Rack 1,2.5,kit,,,\"Nordlys, Ltd\"\n"+
		`S-1,b-2,,,,,,Rack 1,2.5,kit,,"{""batch"":""S-1"",""class"":""b-2"",""dom"":""2027-03-08"",""expiry"":""2027-10"",""received"":{""on"":""2027-03-08T00:00""},""opened"":""2027-03-08""}",`+"\n",
		string(listOf(t, plain, hour, midnight)))
}

func TestWhatCouldNotBeReadBackIsNoRow(t *testing.T) {
	oneDigit, err := label.Read("7067", label.How{Today: today, Order: label.YearDay})
	require.NoError(t, err)
	tooLong := whole()
	for range 20 {
		tooLong.Storage = append(tooLong.Storage, shelf.Storage{Where: strings.Repeat("x", 4000)})
	}
	good := shelf.Item{Batch: "S-1", Class: "b-2"}
	with := func(change func(it *shelf.Item)) Row {
		it := good
		change(&it)
		return Row{Item: it}
	}
	for _, c := range []struct {
		row  Row
		want string
	}{
		{Row{}, "no batch: it is needed"},
		{with(func(it *shelf.Item) { it.Class = "" }), "no class: it is needed"},
		{with(func(it *shelf.Item) { it.Batch = "S\n1" }), `batch "S\n1" has a control character in it: take it out`},
		{with(func(it *shelf.Item) { it.Batch = "S " }), `batch "S " has a space around it: take it out`},
		{with(func(it *shelf.Item) { it.Container = "\xff" }), `container "\xff" is not UTF-8 text`},
		{Row{Item: good, Location: strings.Repeat("x", maxField+1)}, "location is longer than 4096 bytes"},
		{Row{Item: good, Unit: "a\tb"}, `unit "a\tb" has a control character in it: take it out`},
		{Row{Item: good, Counted: true, Quantity: math.NaN()}, "quantity NaN: write 0 to 1e+09"},
		{Row{Item: good, Counted: true, Quantity: -1}, "quantity -1: write 0 to 1e+09"},
		{Row{Item: good, GTIN: "06291041500213"}, "a GTIN or a column of another name has no place in this list"},
		{with(func(it *shelf.Item) { it.DOM = oneDigit }), `limit-inputs cannot be written: dom: "7067": a year of one digit does not say its decade: write it like 2027-03-08, if it is that year`},
		{with(func(it *shelf.Item) { it.Held = "a\nb" }), `limit-inputs cannot be written: held: a control character in "a\nb": take it out`},
		{Row{Item: tooLong}, "limit-inputs longer than 65536 bytes: the record of this batch is too long for a list"},
	} {
		got, err := AppendRow([]byte("before"), &c.row)
		assert.EqualError(t, err, c.want)
		assert.Equal(t, "before", string(got))
	}
}

func TestInputsMayBeLongerThanOtherFields(t *testing.T) {
	long := Row{Item: shelf.Item{Batch: "S-1", Class: "b-2"}}
	for range 14 {
		long.Item.Storage = append(long.Item.Storage, shelf.Storage{Where: strings.Repeat(`"`, 2000)})
	}
	text := listOf(t, long, long, long)
	require.Greater(t, len(text), 3*3*28000, "each quote is three bytes: escaped in JSON, twice in CSV")
	got := inOrder(text, Options{Today: today})
	require.Len(t, got.rows, 3, "%v", got.bad)
	require.Equal(t, long.Item, got.rows[2].Item)
	for _, chunk := range []int64{1, 1000, 100_000} {
		chunked, _ := inChunks(t, text, Options{Today: today}, chunk, 2)
		require.Equal(t, got, chunked)
	}

	s := read(t, "batch,class,limit-inputs,held\nS-1,b-2,"+strings.Repeat("x", maxInputs+1)+",\nS-2,b-2,,"+strings.Repeat("x", maxField+1)+"\n")
	require.Len(t, s.Bad, 2)
	assert.Equal(t, "column 3 is longer than 65536 characters", s.Bad[0].Reason)
	assert.Equal(t, "column 4 is longer than 4096 characters", s.Bad[1].Reason)
}

// recordOf is limit-inputs as a field of a list.
func recordOf(t *testing.T, it shelf.Item) string {
	text, err := inputs.Encode(it)
	require.NoError(t, err)
	return `"` + strings.ReplaceAll(string(text), `"`, `""`) + `"`
}

func TestOtherColumnsSayTheSameAsTheInputsOrNothing(t *testing.T) {
	it := whole()
	it.Container, it.Held = "2", "left on the ramp"
	field := recordOf(t, it)
	for _, good := range []string{ // in whatever form
		"expiry=2027-10", "expiry=10/2027", "expiry=OCT 2027", "dom=8 MAR 2027", "opened=2027-03-05 8:00", "container=2", "code=D", "standard=ISO 2230",
		"thawed=2027-03-08|2027-03-05T08:00", "thawed=2027-03-05T08:00 2027-03-08", "hot=2027-03-05T08:00", "held=left  on the ramp", "condition=label-gone|damaged", "tested=2027-03-08,result=passed",
		"tested=2027-03-08,result=pass,tested-by=Lab 2,authority=quality office,reference=QO-7,extended-to=10/2027",
		"received=2027-03-08", "polymer=NBR", "best-before=2027-03-08", "location=anywhere", "quantity=3", "note=whatever",
	} {
		s := read(t, listBeside(good, field))
		require.Len(t, s.List, 1, "%s: %v", good, s.Bad)
		require.Equal(t, it, s.List[0].Item, good)
		require.False(t, s.List[0].Plain)
	}
	for _, c := range []struct{ cell, want string }{
		{"expiry=2027-11", `expiry says "2027-11", but limit-inputs says "2027-10": correct the one that is wrong`},
		{"expiry=2027-10-31", `expiry says "2027-10-31", but limit-inputs says "2027-10": correct the one that is wrong`},
		{"expiry=never", `expiry "never": not a date`},
		{"expiry=n/a", `expiry says "n/a", but limit-inputs says "2027-10"`},
		{"container=3", `container says "3", but limit-inputs says "2"`},
		{"held=no", `held says "no", but limit-inputs says "left on the ramp"`},
		{"condition=cloudy", `condition says "cloudy", but limit-inputs says "damaged label-gone"`},
		{"tested=2027-03-08,result=fail", `result says "fail", but limit-inputs says "pass"`},
		{"result=passed", `tested has no date, but result is "passed"`},
		{"authority=me", `authority says "me", but limit-inputs says "quality office"`},
		{"hot=2027-03-08", `hot says "2027-03-08", but limit-inputs says "2027-03-05T08:00"`},
		{"out-used=36h", `out-used says "36h", but limit-inputs says "5400.001s"`},
	} {
		s := read(t, listBeside(c.cell, field))
		require.Len(t, s.Bad, 1, c.cell)
		assert.True(t, strings.HasPrefix(s.Bad[0].Reason, c.want), "%s: %s", c.cell, s.Bad[0].Reason)
		assert.False(t, s.Bad[0].Dated, c.cell)
	}

	s := read(t, "batch,class,limit-inputs\nS-1,b-2,"+field+"\nS-2207,b-1,"+field+"\n,b-2,"+field+"\nS-2207,b-2,"+recordOf(t, shelf.Item{Batch: "S-2207"})+"\nS-2207,b-2,"+field+"\n")
	require.Len(t, s.Bad, 4)
	assert.Equal(t, `batch says "S-1", but limit-inputs says "S-2207": correct the one that is wrong`, s.Bad[0].Reason)
	assert.Equal(t, `class says "b-1", but limit-inputs says "b-2": correct the one that is wrong`, s.Bad[1].Reason)
	assert.Equal(t, `no batch: write the number on the label`, s.Bad[2].Reason)
	assert.Equal(t, `class says "b-2", but limit-inputs has none: correct the one that is wrong`, s.Bad[3].Reason)
	require.Len(t, s.List, 1)
	assert.Equal(t, it, s.List[0].Item)
}

// listBeside is a list of one row with inputs and cells of the form column=value.
func listBeside(cells, field string) string {
	head, row := "batch,class,limit-inputs", "S-2207,b-2,"+field
	for _, c := range strings.Split(cells, ",") {
		name, value, _ := strings.Cut(c, "=")
		head, row = head+","+name, row+","+value
	}
	return head + "\n" + row + "\n"
}

// Nothing speaks for a batch whose record cannot be read, whatever its label says.
func TestInputsThatCannotBeReadLeaveTheBatchUnread(t *testing.T) {
	s := read(t, "batch,class,expiry,limit-inputs\n"+
		`S-1,b-2,2029-10,"{""batch"":""S-1"",""class"":""b-2"",""expirry"":""2029-10""}"`+"\n"+
		`S-2,b-2,2029-10,"{""batch"":""S-2"""`+"\n"+
		`S-3,b-2,2029-10,{"batch":"S-3"}`+"\n"+
		`S-4,b-2,2029-10,see file`+"\n"+
		`S-5,b-2,2029-10, `+"\n")
	require.Len(t, s.Bad, 4)
	assert.Equal(t, `limit-inputs cannot be read: there is no key "expirry": is it expiry?`, s.Bad[0].Reason)
	assert.Equal(t, `limit-inputs cannot be read: a comma or } is wanted here, not: the text ends`, s.Bad[1].Reason)
	assert.Contains(t, s.Bad[2].Reason, `a quote (") in the wrong place`)
	assert.Equal(t, `limit-inputs cannot be read: an object {…} is wanted here, not: "see file"`, s.Bad[3].Reason)
	for _, b := range s.Bad {
		assert.False(t, b.Dated, b.Batch)
	}
	assert.Equal(t, "S-1", s.Bad[0].Batch)
	assert.Equal(t, `{"batch":"S-1","class":"b-2","expirry":"2029-10"}`, s.Bad[0].Cell(s.Means, "limit-inputs"), "nothing of it is lost")
	require.Len(t, s.List, 1)
	assert.True(t, s.List[0].Plain, "an empty field is none")
}

// However a list with inputs is damaged and cut into stretches, it says what it says read
// from start to end, and no row hides another.
func TestInputsInStretchesReadAsInTheWholeList(t *testing.T) {
	good := `S-2207,b-2,,Rack 1,` + recordOf(t, shelf.Item{Batch: "S-2207", Class: "b-2", Held: `"a", b`, Thawed: []label.Date{someDay}}) + "\n"
	some := []string{good, good, "S-1,b-2,2027-08,Rack 1,\n", good[:len(good)-2] + "\n", good[:40] + "\n", "S-3,b-2,,,\"{\"\"batch\"\":\n\"\"S-3\"\"}\"\n", "S-4,b-2,,,{}\n",
		"S-5,b-2,,,\"{}\"\n", "\"", "S-2207,b-2,2027-08" + good[len("S-2207,b-2,"):], strings.ReplaceAll(good, "S-2207", "Küche"), strings.ReplaceAll(good, "Rack", "\xfc")}
	rapid.Check(t, func(t *rapid.T) {
		drawn := rapid.SliceOfN(rapid.SampledFrom(some), 0, 30).Draw(t, "rows")
		text := []byte("batch,class,expiry,location,limit-inputs\n" + strings.Join(drawn, ""))
		want := inOrder(text, Options{Today: today})
		got, _ := inChunks(t, text, Options{Today: today}, rapid.Int64Range(1, 300).Draw(t, "chunk"), rapid.IntRange(1, 3).Draw(t, "workers"))
		require.Equal(t, want, got)
	})
}

// Rows that our own columns say, limit-inputs among them, read again as the same: what a
// command writes of a list it can read.
func TestAllCellsOfARowReadBackTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := inOrder(listOf(t, anyRow(t)), Options{Today: today})
		require.Len(t, want.rows, 1)
		var text bytes.Buffer
		w := csv.NewWriter(&text)
		var cells []string
		for _, name := range Columns() {
			cells = append(cells, want.rows[0].Cell(name))
		}
		require.NoError(t, w.WriteAll([][]string{Columns(), cells}))
		got := inOrder(text.Bytes(), Options{Today: today})
		require.Len(t, got.rows, 1, "%v", got.bad)
		require.Equal(t, want.rows[0].Item, got.rows[0].Item)
	})
}

func TestAHeadingThatMayBeTheInputsIsAskedAbout(t *testing.T) {
	for _, heading := range []string{"limit inputs", "Limit_Inputs", "limit-input", "limitinputs"} {
		_, err := ReadCSV(strings.NewReader("batch,class,"+heading+"\n"), "s.csv", today)
		assert.ErrorContains(t, err, "may be limit-inputs, which decides", heading)
	}
}

// go test ./catalog/stock -run xx -bench Register -benchmem
func BenchmarkRegisterRows(b *testing.B) {
	row := Row{Item: whole(), Location: "Rack 1", Quantity: 2, Counted: true, Unit: "kit"}
	b.Run("write", func(b *testing.B) {
		var to []byte
		for b.Loop() {
			to, _ = AppendRow(to[:0], &row)
		}
	})
	b.Run("read", func(b *testing.B) {
		text := listOf(b, row)
		f, err := Open(bytes.NewReader(text), int64(len(text)), "s.csv", Options{Today: today})
		require.NoError(b, err)
		raw, p := text[len(RegisterHeader)+1:], f.Parser()
		for b.Loop() {
			if _, bad, err := p.Parse(raw, 2); bad != nil || err != nil {
				b.Fatal(bad, err)
			}
		}
	})
}
