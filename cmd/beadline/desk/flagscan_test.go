package desk

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
)

// plainItems draws items with a class and four dates, in several forms.
func plainItems(classes []string) *rapid.Generator[shelf.Item] {
	forms := []func(d date.Date) string{
		func(d date.Date) string { return label.DayOf(d).Canonical() },
		func(d date.Date) string { y, m, _ := d.Date(); return fmt.Sprintf("%04d-%02d", y, m) },
		func(d date.Date) string { y, m, _ := d.Date(); return fmt.Sprintf("%02d/%02d", m, y%100) },
		func(d date.Date) string { y, m, _ := d.Date(); return fmt.Sprintf("%dQ%04d", (int(m)+2)/3, y) },
	}
	return rapid.Custom(func(t *rapid.T) shelf.Item {
		draw := func(name string, from, to int) label.Date {
			n := rapid.IntRange(from, to+to/2).Draw(t, name)
			if n > to {
				return label.Date{}
			}
			d, err := label.Parse(rapid.SampledFrom(forms).Draw(t, name+" form")(today.Add(date.PeriodOfDays(n))), today)
			require.NoError(t, err)
			return d
		}
		return shelf.Item{Batch: rapid.SampledFrom([]string{"S-1", "X/77"}).Draw(t, "batch"), Class: rapid.SampledFrom(classes).Draw(t, "class"),
			DOM: draw("dom", -900, 60), Expiry: draw("expiry", -60, 400), Inspect: draw("inspect", -60, 400), Opened: draw("opened", -200, 200)}
	})
}

// What is remembered of a class and four dates is what the judge says of them.
func TestAGlanceRememberedIsAGlance(t *testing.T) {
	j := judge()
	w := newFlagWorker(j, FlagQuestion{}, newLocations(), false)
	items := plainItems(append(j.catalog.IDs(), "nothing", ""))
	rapid.Check(t, func(t *rapid.T) {
		it := items.Draw(t, "item")
		v, last, dated := j.Glance(&it)
		for range 2 {
			gv, glast, gdated := w.glance(&it)
			require.Equal(t, v, gv)
			require.Equal(t, dated, gdated)
			require.Equal(t, last, glast)
		}
	})
}

// A judgement is shared by batches of one class and the same dates: no word of it may
// be of the batch, and its day is that of the glance by which rows are sorted.
func TestAJudgementOfPlainBatchesIsOfClassAndDatesAlone(t *testing.T) {
	j := judge()
	items := plainItems(append(j.catalog.IDs(), "nothing"))
	rapid.Check(t, func(t *rapid.T) {
		it := items.Draw(t, "item")
		full := j.Full(it)
		other := it
		other.Batch = "another batch"
		require.Equal(t, full, j.Full(other))
		v, last, dated := j.Glance(&it)
		require.Equal(t, full.Verdict, v)
		require.Equal(t, full.Governing.Dated, dated)
		if dated {
			require.Equal(t, full.Governing.Date, last)
		}
	})
}

// bigList is a list of many stretches with rows of every kind.
func bigList(rows int) string {
	var b strings.Builder
	b.WriteString("batch,class,dom,expiry,opened,location,quantity,unit,thawed,held,note\n")
	classes := []string{"polysulfide-b-2", "low-adhesion-2", "grease-general", "elastomer-iso-2230-b", "polysulfide-b-2-premixed", "polysulfid-b-2"}
	for i := range rows {
		expiry := label.DayOf(today.Add(date.PeriodOfDays((i*37)%500 - 60))).Canonical()
		cells := []string{fmt.Sprintf("B-%d", i), classes[i%len(classes)], "2026-10-01", expiry, "", fmt.Sprintf("Rack %d", i%13), fmt.Sprint(i % 7), "kit", "", "", ""}
		switch {
		case i%11 == 0:
			cells[3] = "03/04/2027"
		case i%17 == 0:
			cells[4] = "2027-03-01"
		case i%19 == 0:
			cells[9] = "dented"
		case i%23 == 0:
			cells[6] = "-1"
		case i%29 == 0:
			cells[10] = "\"two\nlines, \"\"quoted\"\"\""
		case i%31 == 0:
			cells[8] = "2027-03-05T08:00|2027-03-07 09:30"
		case i%37 == 0:
			cells[5] = ""
		case i%41 == 0:
			cells[10] = "\"open"
		case i%43 == 0:
			cells[5] = "RACK 7"
		}
		b.WriteString(strings.Join(cells, ",") + "\n")
	}
	return b.String()
}

// modelRow is a row as a short program would sort it that holds all of them.
type modelRow struct {
	section Section
	dated   bool
	last    date.Date
	line    int
	place   string
}

// model flags a list by reading it whole.
func model(t testing.TB, text string, until date.Date) (rows []modelRow, counts Counts) {
	j := judge()
	s, err := stock.ReadCSV(strings.NewReader(text), "s.csv", today)
	require.NoError(t, err)
	add := func(sec Section, v shelf.Judgement, line int, place string) {
		rows = append(rows, modelRow{sec, v.Governing.Dated, v.Governing.Date, line, strings.ToLower(place)})
	}
	for _, r := range s.List {
		counts.Rows++
		v := j.Full(r.Item)
		switch {
		case v.Verdict == shelf.Reject:
			counts.Reject++
			add(SetAside, v, r.Line, r.Location)
		case v.Verdict == shelf.Hold:
			counts.Hold++
			add(OnHold, v, r.Line, r.Location)
		default:
			counts.Use++
			if v.Governing.Dated && !v.Governing.Date.After(until) {
				counts.Expiring++
				add(EndsSoon, v, r.Line, r.Location)
			}
		}
	}
	for _, b := range s.Bad {
		counts.Rows++
		if v := j.Faulty(b); v.Verdict == shelf.Reject {
			counts.Reject++
			add(SetAside, v, b.Line, b.Row.Location)
		} else {
			counts.Unreadable++
			add(NotReadable, shelf.Judgement{}, b.Line, b.Row.Location)
		}
	}
	slices.SortFunc(rows, modelRow.compare)
	return rows, counts
}

func (a modelRow) compare(b modelRow) int {
	switch {
	case a.section != b.section:
		return cmp.Compare(a.section, b.section)
	case a.dated != b.dated:
		if a.dated {
			return 1
		}
		return -1
	case a.dated && a.last != b.last:
		return int(a.last.Sub(b.last))
	}
	return cmp.Compare(a.line, b.line)
}

func asModel(r *Flagged) modelRow {
	g := r.Judgement.Governing
	m := modelRow{r.Section, g.Dated, g.Date, r.Line, strings.ToLower(r.Location)}
	if r.Section == NotReadable {
		m.line, m.place = r.Fault.Line, strings.ToLower(r.Fault.Row.Location)
	}
	return m
}

func TestAListOfManyStretchesIsSortedAsAWhole(t *testing.T) {
	text := bigList(6000)
	require.Greater(t, len(text), 5*(64<<10))
	want, counts := model(t, text, today.Add(30))
	f := ask(t, text, FlagQuestion{Until: today.Add(30), Draw: 3})
	require.Equal(t, counts, f.Counts)
	var got []modelRow
	for _, s := range Sections() {
		require.NoError(t, f.Each(f.Groups[0], s, func(r *Flagged) error {
			got = append(got, asModel(r))
			return nil
		}))
	}
	require.Equal(t, want, got)
}

// By location each place has its rows in the same order, and the place with the most
// urgent row comes first.
func TestRowsByLocationAreSortedWithinEachAndByTheirFirst(t *testing.T) {
	text := bigList(4000)
	want, _ := model(t, text, today.Add(30))
	f := ask(t, text, FlagQuestion{Until: today.Add(30), ByLocation: true})
	require.True(t, f.ByLocation)
	require.Len(t, f.Groups, 14, "13 racks and none")
	left := len(want)
	var before modelRow
	for i, g := range f.Groups {
		var got, here []modelRow
		for _, s := range Sections() {
			require.NoError(t, f.Each(g, s, func(r *Flagged) error {
				got = append(got, asModel(r))
				return nil
			}))
		}
		for _, m := range want {
			if m.place == strings.ToLower(g.Place) {
				here = append(here, m)
			}
		}
		require.Equal(t, here, got, g.Place)
		first := here[0]
		first.line = 0
		if i > 0 {
			require.LessOrEqual(t, before.compare(first), 0, "%s before %s", f.Groups[i-1].Place, g.Place)
		}
		before, left = first, left-len(here)
	}
	assert.Zero(t, left)
	assert.True(t, slices.ContainsFunc(f.Groups, func(g Group) bool { return g.Place == "RACK 7" }), "of two spellings the one that sorts first")
}

func TestTooManyLocationsAreNotGrouped(t *testing.T) {
	var b strings.Builder
	b.WriteString("batch,class,expiry,location\n")
	for i := range maxPlaces + 5 {
		fmt.Fprintf(&b, "B-%d,polysulfide-b-2,2026-01-01,place %d\n", i, i)
	}
	f := ask(t, b.String(), FlagQuestion{Until: today, ByLocation: true})
	assert.False(t, f.ByLocation)
	require.Len(t, f.Groups, 1)
	require.Len(t, f.Warnings, 1)
	assert.Contains(t, f.Warnings[0], "more than 10000 different locations")
	assert.Len(t, f.Rows, maxPlaces+5)
}

const fefoList = `batch,class,dom,expiry,opened,location,quantity,unit
S-1,polysulfide-b-2,2026-10-01,2027-06-30,,rack 1,4,kit
S-2,polysulfide-b-2,2026-10-01,2027-04-30,,rack 2,4,kit
S-3,polysulfide-b-2,2026-10-01,2027-06-30,2027-03-01,rack 3,1,kit
S-4,polysulfide-b-2,2026-10-01,2027-05-31,,rack 2,4,kit
S-5,polysulfide-b-2,2026-01-01,2026-06-30,,rack 2,4,kit
S-6,low-adhesion-2,2026-10-01,2027-05-31,,rack 2,4,kit
S-7,polysulfide-b-2,2026-10-01,2027-04-30,,rack 2,4,kit
`

// First expired, first out: NAVSUP P-485 as taught. What is opened goes before all
// else: common practice, no source.
func TestDrawOpenedFirstThenTheEarliestEnd(t *testing.T) {
	f := ask(t, fefoList, FlagQuestion{Until: today, Draw: 3})
	all, err := f.Draw()
	require.NoError(t, err)
	require.Len(t, all, 2)
	assert.Equal(t, "low-adhesion-2", all[0].Class)
	assert.Equal(t, "polysulfide-b-2", all[1].Class)
	assert.Equal(t, 5, all[1].Good)
	var order []string
	for _, r := range all[1].Rows {
		order = append(order, r.Item.Batch)
	}
	assert.Equal(t, []string{"S-3", "S-2", "S-7"}, order)
	assert.Equal(t, 4., all[1].Rows[1].Quantity)

	all, err = ask(t, fefoList, FlagQuestion{Until: today}).Draw()
	require.NoError(t, err)
	assert.Empty(t, all)
}

func TestDrawFirstOverManyStretches(t *testing.T) {
	text := repeating(bigList(6000))
	f := ask(t, text, FlagQuestion{Until: today, Draw: 4})
	all, err := f.Draw()
	require.NoError(t, err)
	s, err := stock.ReadCSV(strings.NewReader(text), "s.csv", today)
	require.NoError(t, err)
	j := judge()
	for _, d := range all {
		var good []Flagged
		for _, r := range s.List {
			if v := j.Full(r.Item); r.Item.Class == d.Class && v.Verdict == shelf.Use && (!r.Counted || r.Quantity > 0) {
				good = append(good, Flagged{Row: r, Judgement: v})
			}
		}
		require.Len(t, good, d.Good)
		slices.SortStableFunc(good, func(a, b Flagged) int {
			if a.Item.Opened.IsZero() != b.Item.Opened.IsZero() {
				return cmp.Compare(b2i(a.Item.Opened.IsZero()), b2i(b.Item.Opened.IsZero()))
			}
			ag, bg := a.Judgement.Governing, b.Judgement.Governing
			if ag.Dated != bg.Dated {
				return cmp.Compare(b2i(!ag.Dated), b2i(!bg.Dated))
			}
			return int(ag.Date.Sub(bg.Date))
		})
		for i, r := range d.Rows {
			require.Equal(t, good[i].Line, r.Line, "%s, place %d", d.Class, i)
			require.Equal(t, worseLine(j, &s, r.Item.Batch), r.Also, "%s, line %d", d.Class, r.Line)
		}
	}
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

func TestTheNextDaysCountTheGoodThatEnd(t *testing.T) {
	f := ask(t, fefoList, FlagQuestion{Until: today})
	var rows []int
	for _, a := range f.Ahead {
		rows = append(rows, a.Rows)
	}
	// To 7 April none, to 7 May S-2 and S-7, to 6 June S-4, S-6 and S-3, whose opened
	// life of three months ends on 1 June.
	assert.Equal(t, []int{0, 2, 5}, rows)
	assert.Equal(t, date.New(2027, time.April, 7), f.Ahead[0].Until)
}

// Rows of thousands of bytes are fetched fewer at a time.
func TestLongRowsAreFetchedInSmallerBatches(t *testing.T) {
	var b strings.Builder
	b.WriteString("batch,class,expiry,note\n")
	note := strings.Repeat("n", 4000)
	for i := range 2500 {
		fmt.Fprintf(&b, "B-%d,polysulfide-b-2,2026-01-%02d,%s\n", i, 1+i%28, note)
	}
	require.Greater(t, b.Len(), 2*batchBytes)
	f := ask(t, b.String(), FlagQuestion{Until: today})
	require.Len(t, f.Rows, 2500)
	for i := 1; i < len(f.Rows); i++ {
		require.Negative(t, asModel(&f.Rows[i-1]).compare(asModel(&f.Rows[i])))
	}
}

func TestHandingOverStopsWhenTheReceiverSaysSo(t *testing.T) {
	f := ask(t, bigList(2000), FlagQuestion{Until: today})
	stop, n := errors.New("enough"), 0
	assert.ErrorIs(t, f.Each(f.Groups[0], SetAside, func(*Flagged) error {
		if n++; n == 3 {
			return stop
		}
		return nil
	}), stop)
	assert.Equal(t, 3, n)
	form := func(to []byte, r *Flagged) ([]byte, error) { return append(to, r.Item.Batch...), nil }
	assert.ErrorIs(t, f.Write(failing{stop}, f.Groups[0], SetAside, form), stop)
	assert.ErrorIs(t, f.Write(io.Discard, f.Groups[0], SetAside, func([]byte, *Flagged) ([]byte, error) { return nil, stop }), stop)
}

type failing struct{ err error }

func (f failing) Write([]byte) (int, error) { return 0, f.err }

// write writes a list to a file and opens it.
func written(t *testing.T, text string) (*List, string) {
	t.Helper()
	name := filepath.Join(t.TempDir(), "s.csv")
	require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
	l, err := OpenList(nil, name, stock.Auto)
	require.NoError(t, err)
	t.Cleanup(l.Close)
	return l, name
}

// A list that is changed between its first and its second reading is no list to work
// by, even where neither its size nor its time tells.
func TestAListChangedMeanwhileIsRefused(t *testing.T) {
	const list = "batch,class,expiry\nS-1,polysulfide-b-2,2026-01-01\nS-2,polysulfide-b-2,2026-01-02\n"
	each := func(f *Flags) error { return f.Each(f.Groups[0], SetAside, func(*Flagged) error { return nil }) }
	for name, change := range map[string]string{
		"a date":       strings.Replace(list, "2026-01-02", "2026-01-03", 1),
		"a good date":  strings.Replace(list, "2026-01-02", "2028-01-02", 1),
		"a bad row":    strings.Replace(list, "2026-01-02", "01/02/2026", 1),
		"a quote":      strings.Replace(list, "S-2,", `"S-,`, 1),
		"line ends":    strings.Replace(list, "\nS-2", ",S-2", 1),
		"blank":        strings.Repeat(" ", len(list)),
		"nothing left": "",
	} {
		t.Run(name, func(t *testing.T) {
			l, file := written(t, list)
			f, err := judge().Flag(l, FlagQuestion{Until: today, Draw: 1})
			require.NoError(t, err)
			require.NoError(t, each(f))
			info, err := os.Stat(file)
			require.NoError(t, err)
			require.NoError(t, os.WriteFile(file, []byte(change), 0o600))
			require.NoError(t, os.Chtimes(file, info.ModTime(), info.ModTime()))
			err = each(f)
			require.Error(t, err)
			assert.Equal(t, file+": the list was changed while it was read: run this again", err.Error())
		})
	}
	l, file := written(t, list)
	f, err := judge().Flag(l, FlagQuestion{Until: today})
	require.NoError(t, err)
	require.NoError(t, os.Chtimes(file, time.Now(), time.Now().Add(time.Hour)))
	assert.ErrorContains(t, each(f), "was changed")
}

// What comes in on a pipe is copied to a file that has no name any more.
func TestStandardInputLeavesNoFileBehind(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("TMPDIR", dir)
	empty := func() {
		names, err := os.ReadDir(dir)
		require.NoError(t, err)
		require.Empty(t, names)
	}
	text := bigList(500)
	r, w, err := os.Pipe()
	require.NoError(t, err)
	go func() {
		io.WriteString(w, text)
		w.Close()
	}()
	l, err := OpenList(r, "-", stock.Auto)
	require.NoError(t, err)
	assert.Equal(t, "standard input", l.Name)
	empty()
	f, err := judge().Flag(l, FlagQuestion{Until: today.Add(30)})
	require.NoError(t, err)
	want, counts := model(t, text, today.Add(30))
	assert.Equal(t, counts, f.Counts)
	assert.Len(t, tell(t, f).Rows, len(want)-counts.Unreadable)
	l.Close()
	empty()

	_, err = NewList(iotest.ErrReader(errors.New("line dropped")), "standard input", stock.Auto)
	assert.EqualError(t, err, "standard input: line dropped")
	empty()
	t.Setenv("TMPDIR", filepath.Join(dir, "nowhere"))
	_, err = NewList(io.MultiReader(strings.NewReader(text)), "standard input", stock.Auto)
	assert.ErrorContains(t, err, "standard input: no temporary copy of it can be made: no such file")
}

// A file given as standard input is read where it is; one read in part already is not.
func TestAFileAsStandardInputIsReadInPlace(t *testing.T) {
	name := filepath.Join(t.TempDir(), "s.csv")
	require.NoError(t, os.WriteFile(name, []byte("x\n"+shelfList), 0o600))
	in, err := os.Open(name)
	require.NoError(t, err)
	defer in.Close()
	l, err := NewList(in, "standard input", stock.Auto)
	require.NoError(t, err)
	assert.NotNil(t, l.file)
	_, err = in.Seek(2, io.SeekStart)
	require.NoError(t, err)
	l, err = NewList(in, "standard input", stock.Auto)
	require.NoError(t, err)
	defer l.Close()
	assert.Nil(t, l.file)
	f, err := judge().Flag(l, FlagQuestion{Until: today.Add(30)})
	require.NoError(t, err)
	assert.Equal(t, 7, f.Counts.Rows)
}

func TestAListInUTF16IsRead(t *testing.T) {
	text := []byte{0xff, 0xfe}
	for _, c := range shelfList {
		text = append(text, byte(c), 0)
	}
	l, _ := written(t, string(text))
	f, err := judge().Flag(l, FlagQuestion{Until: today.Add(30)})
	require.NoError(t, err)
	assert.Equal(t, flags(t, shelfList, "").Counts, f.Counts)
}

// A class of its own on every row fills no memory.
func TestClassesWithoutEndAreForgotten(t *testing.T) {
	w := newFlagWorker(judge(), FlagQuestion{}, newLocations(), false)
	p := w.begin().(*flagPart)
	for i := range maxClasses + 600 {
		it := shelf.Item{Class: fmt.Sprintf("c%d", i)}
		p.Plain(stock.At{Line: i + 1}, &stock.Plain{Item: it})
	}
	p.End()
	assert.LessOrEqual(t, len(w.judge.known), maxClasses+1)
	assert.LessOrEqual(t, len(w.classes), maxClasses)
	assert.Len(t, p.entries, maxClasses+600)
}

func TestABatchIsFoundAmongPlainAndOtherRows(t *testing.T) {
	list := "batch,class,expiry,note\n" + strings.Repeat("X-1,polysulfide-b-2,2027-08-31,\n", 3000) +
		"S-1,polysulfide-b-2,2027-08-31,\nS-1,polysulfide-b-2,2027-09-30,\"two\nlines\"\nS-1,polysulfide-b-2,soon,\nS-1,polysulfide-b-2,2026-01-31,\n"
	rows, _, err := judge().Batch(strings.NewReader(list), "s.csv", "S-1")
	require.NoError(t, err)
	var places []string
	for _, r := range rows {
		places = append(places, fmt.Sprintf("%s %s %d", r.Place, r.Judgement.Verdict, r.Row.Line))
	}
	assert.Equal(t, []string{"s.csv:3002 use 3002", "s.csv:3003 use 3003", "s.csv:3006 reject 3006", "s.csv:3005 hold 3005"}, places)

	m, err := stock.ParseMap("Lot=batch")
	require.NoError(t, err)
	l, err := NewList(strings.NewReader("lot,class,expiry\nS-1,polysulfide-b-2,03/04/2027\n"), "s.csv", stock.Auto)
	require.NoError(t, err)
	rows, _, err = judge().BatchOn(l, stock.Options{Map: m, Order: label.DMY}, "S-1")
	require.NoError(t, err)
	assert.Equal(t, date.New(2027, time.April, 3), rows[0].Judgement.Governing.Date)
}
