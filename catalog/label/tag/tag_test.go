package tag

import (
	"bytes"
	"encoding/binary"
	"image/color"
	"math"
	"regexp"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the zones are the same on every machine

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestGTINCheckDigit(t *testing.T) {
	for _, x := range []struct{ text, want, source string }{
		{"6291041500213", "06291041500213", "GS1, how to calculate a check digit: 629104150021 has 3"},
		{"7300011000017", "07300011000017", "GS1 check digit examples: 730001100001 has 7"},
		{"12345678901231", "12345678901231", "GS1 check digit examples: 1234567890123 has 1"},
		{"629 1041 500213", "06291041500213", "the first, as printed below bars"},
		{"09520123456788", "09520123456788", "GS1 Digital Link standard, examples"},
		{"09501101020917", "09501101020917", "GS1 DataMatrix Guideline, example 2"},
		{"614141000036", "00614141000036", "a GTIN-12 of GS1's examples (from memory)"},
		{"95011011", "00000095011011", "a GTIN-8 worked out by hand: 9·3 + 5 + 0 + 1 + 1·3 + 0 + 1·3 = 39, so 1"},
	} {
		got, err := GTIN(x.text)
		require.NoError(t, err, x.source)
		assert.Equal(t, x.want, got, x.source)
	}
}

func TestGTINRefusesInOneLine(t *testing.T) {
	for text, want := range map[string]string{
		"6291041500214": `gtin "6291041500214": the check digit is wrong: for these digits it is 3`,
		"6291041":       "it has 7 digits: a GTIN has 8, 12, 13 or 14",
		"":              "digits only",
		"62910A1500213": "digits only",
		"６２９１０４１５":      "digits only",
	} {
		_, err := GTIN(text)
		require.Error(t, err)
		assert.Contains(t, err.Error(), want)
		assert.NotContains(t, err.Error(), "\n")
	}
}

// Every single wrong digit is found, and most exchanges of neighbours (weights 3 and 1).
func TestGTINFindsOneWrongDigit(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		good := []byte(rapid.SampledFrom([]string{"6291041500213", "12345678901231", "614141000036", "95011011"}).Draw(r, "good"))
		i := rapid.IntRange(0, len(good)-1).Draw(r, "place")
		other := byte('0' + rapid.IntRange(0, 9).Draw(r, "digit"))
		same := good[i] == other
		good[i] = other
		_, err := GTIN(string(good))
		assert.Equal(r, same, err == nil)
	})
}

func FuzzGTIN(f *testing.F) {
	for _, s := range []string{"6291041500213", "629 1041 500213", "", "0", "99999999", "\x00", "１"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		g, err := GTIN(s)
		if err != nil {
			assert.NotContains(t, err.Error(), "\n")
			return
		}
		require.Len(t, g, 14)
		again, err := GTIN(g)
		require.NoError(t, err)
		assert.Equal(t, g, again)
	})
}

func TestStatesReadBack(t *testing.T) {
	for _, s := range []State{Opened, Thawed, Mixed} {
		got, err := ParseState(s.String())
		require.NoError(t, err)
		assert.Equal(t, s, got)
		assert.False(t, s.Forbids())
	}
	for _, word := range []string{"hold", "reject", "", "open"} {
		_, err := ParseState(word)
		assert.ErrorContains(t, err, "opened, thawed or mixed")
	}
	assert.True(t, Hold.Forbids() && Reject.Forbids())
}

// A minute has no identifier in format 06; its day would pass the container until
// midnight, so the day before is written, or none.
func TestMinuteIsNotWrittenAsItsDay(t *testing.T) {
	x := samples()[3]
	require.True(t, x.UseBy.Timed)
	c, err := x.MatrixCode()
	require.NoError(t, err)
	assert.NotContains(t, c.Text, "14D")
	x.UseBy.At = x.When.Add(240 * time.Hour) // 15 March 2027 02:00
	c, err = x.MatrixCode()
	require.NoError(t, err)
	assert.Contains(t, c.Text, "14D20270314")
	x = samples()[3]
	x.GTIN = "09520123456788"
	c, err = x.MatrixCode()
	require.NoError(t, err)
	assert.Contains(t, c.Text, "7003"+"2703050332")
}

// In the Faroes clocks go back at 02:00 WEST on 31 October 2027, to 01:00 WET, and forward
// at 01:00 WET on 28 March 2027 (EU directive 2000/84/EC: the last Sunday, 01:00 UTC). A
// code has no zone: at 01:05 WET a reader would pass what ended at 01:10 WEST.
func TestCodeOfAnHourThatComesTwiceIsTheMinuteBeforeIt(t *testing.T) {
	faroe, err := time.LoadLocation("Atlantic/Faroe")
	require.NoError(t, err)
	for at, want := range map[string]string{
		"2027-10-30T23:59:00Z": "2710310059", // 00:59 WEST
		"2027-10-31T00:00:00Z": "2710310059", // 01:00 WEST, the first of two
		"2027-10-31T00:10:00Z": "2710310059",
		"2027-10-31T00:59:00Z": "2710310059",
		"2027-10-31T01:00:00Z": "2710310100", // 01:00 WET, the second
		"2027-10-31T01:30:00Z": "2710310130",
		"2027-03-28T00:30:00Z": "2703280030", // before the clocks go forward
		"2027-03-28T01:30:00Z": "2703280230",
	} {
		end, err := time.Parse(time.RFC3339, at)
		require.NoError(t, err)
		x := samples()[3]
		x.GTIN, x.UseBy = "09520123456788", UseBy{At: end.In(faroe), Timed: true}
		x.When = end.Add(-2 * time.Hour).In(faroe)
		c, err := x.MatrixCode()
		require.NoError(t, err)
		assert.Contains(t, c.Text, "7003"+want, at)
	}
}

// A tag that forbids carries no use-by: nothing is to read it as good.
func TestForbiddingTagHasNoUseBy(t *testing.T) {
	for _, gtin := range []string{"", "09520123456788"} {
		x := samples()[0]
		x.State, x.GTIN = Hold, gtin
		c, err := x.MatrixCode()
		require.NoError(t, err)
		assert.NotContains(t, c.HRI(), "(17)")
		assert.NotContains(t, c.HRI(), "(14D)")
		d, err := Draw([]Tag{x}, Sheet{Page: A4, Label: Size{70, 37}, DPI: 300})
		require.NoError(t, err)
		for _, line := range d.Labels[0].laid.texts {
			assert.NotEqual(t, "USE", line.s)
		}
	}
}

func TestWhatNoLabelCanSayIsRefused(t *testing.T) {
	sheet := Sheet{Page: A4, Label: Size{70, 37}, DPI: 300}
	small := func(w, h float64) Sheet { s := sheet; s.Label = Size{w, h}; return s }
	with := func(change func(*Tag)) Tag { x := samples()[1]; change(&x); return x }
	for _, x := range []struct {
		tag   Tag
		sheet Sheet
		want  string
	}{
		{with(func(x *Tag) { x.Batch = " " }), sheet, "batch is missing"},
		{with(func(x *Tag) { x.When = time.Time{} }), sheet, "when is missing"},
		{with(func(x *Tag) { x.UseBy = UseBy{} }), sheet, "use-by is missing"},
		{with(func(x *Tag) { x.Batch = "S 2207" }), sheet, `batch "S 2207": a GS1 code has no " "`},
		{with(func(x *Tag) { x.Container = "王1" }), sheet, `container "王1": the label has no letter`},
		{with(func(x *Tag) { x.Container = "#1" }), sheet, `container "#1": a GS1 code has no "#"`},
		{with(func(x *Tag) { x.Batch = strings.Repeat("7", 21) }), sheet, "it has 21 characters, and a GS1 code takes 20"},
		{with(func(x *Tag) { x.GTIN, x.Batch = "", strings.Repeat("7", 41) }), sheet, "41 characters are too many"},
		{with(func(x *Tag) { x.GTIN, x.Batch = "", "Ø-7" }), sheet, `batch "Ø-7": a bar code has no "Ø"`},
		{with(func(x *Tag) { x.GTIN, x.Batch = "", "S\x1d7" }), sheet, `batch "S\x1d7": the label has no letter`},
		{with(func(x *Tag) { x.By = "技术员" }), sheet, `by "技术员": the label has no letter for "技"`},
		{with(func(x *Tag) { x.GTIN = "09520123456789" }), sheet, "for these digits it is 8"},
		{with(func(x *Tag) { x.UseBy.At = x.UseBy.At.AddDate(51, 0, 0) }), sheet, "another century"},
		{samples()[0], small(14, 37), "sides of 15 to 420 mm"},
		{samples()[0], small(math.NaN(), 37), "sides of 15 to 420 mm"},
		{samples()[0], small(211, 37), "211 × 37 mm does not fit a page of 210 × 297 mm"},
		{samples()[0], small(40, 20), "label 40 × 20 mm is too small: "},
		{samples()[0], Sheet{Page: A4, Label: Size{70, 37}, DPI: 300, Start: 25}, "start 25: a sheet has the positions 1 to 24: 3 across, 8 down"},
		{samples()[0], Sheet{Page: A4, Label: Size{70, 37}, DPI: 300, Start: -1}, "start -1"},
		{samples()[0], Sheet{Label: Size{62, 40}, DPI: 300, Start: 2}, "a roll has no positions"},
		{samples()[0], Sheet{Page: A4, Label: Size{70, 37}, DPI: 72}, "dpi 72: say 150 to 600"},
		{samples()[0], Sheet{Page: A4, Label: Size{70, 37}, Gap: Size{-1, 0}, DPI: 300}, "labels lie 0 to 50 mm apart"},
	} {
		_, err := Draw([]Tag{x.tag}, x.sheet)
		require.Error(t, err, x.want)
		assert.Contains(t, err.Error(), x.want)
		assert.NotContains(t, err.Error(), "\n")
		var fault *Error
		assert.ErrorAs(t, err, &fault)
	}
}

// 3 × 8 labels of 70 × 37 mm fill A4: 210 wide, 296 high, half a millimetre above and
// below (arithmetic).
func TestGridLiesInTheMiddle(t *testing.T) {
	s := Sheet{Page: A4, Label: Size{70, 37}, Start: 5}
	across, down := s.Grid()
	assert.Equal(t, [2]int{3, 8}, [2]int{across, down})
	page, x, y := s.place(0)
	assert.Equal(t, 0, page)
	assert.InDelta(t, 70, x, 1e-9)
	assert.InDelta(t, 37.5, y, 1e-9)
	page, x, y = s.place(20) // the 25th position: first of the next sheet
	assert.Equal(t, 1, page)
	assert.InDelta(t, 0, x, 1e-9)
	assert.InDelta(t, 0.5, y, 1e-9)

	// 21 labels of 63.5 × 38.1 mm with 2.5 mm between columns: 3 × 7.
	s = Sheet{Page: A4, Label: Size{63.5, 38.1}, Gap: Size{2.5, 0}}
	across, down = s.Grid()
	assert.Equal(t, [2]int{3, 7}, [2]int{across, down})
}

// No module is smaller than what is promised, all are whole dots, and the quiet zones
// lie within the label.
func TestSymbolsKeepTheirSizes(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		s := Sheet{Page: A4, DPI: rapid.SampledFrom([]int{203, 300, 600}).Draw(r, "dpi"),
			Label: Size{rapid.Float64Range(50, 105).Draw(r, "w"), rapid.Float64Range(30, 90).Draw(r, "h")}}
		x := rapid.SampledFrom(samples()).Draw(r, "tag")
		x.Batch = rapid.StringMatching(`[A-Z0-9-]{1,18}`).Draw(r, "batch")
		d, err := Draw([]Tag{x}, s)
		if err != nil {
			assert.Contains(r, err.Error(), "too small")
			return
		}
		l := d.Labels[0]
		for _, p := range l.Symbols {
			assert.GreaterOrEqual(r, p.Module, LeastModule-1e-9)
			dots := p.Module / 25.4 * float64(s.DPI)
			assert.InDelta(r, math.Round(dots), dots, 1e-6)
			q, half := p.QuietMM(), s.dot()/2+1e-9
			assert.GreaterOrEqual(r, p.X-q, l.X-half)
			assert.LessOrEqual(r, p.X+p.W+q, l.X+s.Label.W+half)
			if !p.symbol.matrix() {
				assert.GreaterOrEqual(r, p.H, leastBars)
			}
		}
		apart(r, d)
	})
}

// apart wants every line of words and every symbol with its quiet zone within the label
// and clear of all others, and the use-by the largest letters.
func apart(t require.TestingT, d *Drawing) {
	r := newRuler()
	l := d.Labels[0]
	type area struct{ ink, blank rect } // blank: what nothing else may lie in
	var all []area
	largest, box := 0.0, 0.0
	for _, x := range l.laid.texts {
		b := rect{x.x, x.y - capEm*x.em, r.em(x.s, x.w) * x.em, capEm * x.em}
		all = append(all, area{b, b})
		largest = max(largest, x.em)
		if useByLine.MatchString(x.s) {
			box = max(box, x.em)
		}
		assert.GreaterOrEqual(t, x.em, 1.3, x.s)
	}
	assert.Equal(t, largest, box, "the use-by is not the largest")
	assert.GreaterOrEqual(t, box, boxLeast)
	for _, p := range l.Symbols {
		q := p.QuietMM()
		a := area{ink: rect{p.X - l.X, p.Y - l.Y, p.W, p.H}}
		a.blank = rect{a.ink.x - q, a.ink.y, p.W + 2*q, p.H}
		if p.symbol.matrix() {
			a.blank.y, a.blank.h = a.ink.y-q, p.H+2*q
		}
		all = append(all, a)
	}
	const dot = 0.2 // mm: symbols are moved to whole dots
	for i, a := range all {
		b := a.blank
		assert.True(t, b.x > -dot && b.y > -dot && b.x+b.w < d.Sheet.Label.W+dot && b.y+b.h < d.Sheet.Label.H+dot, "%v lies outside", b)
		for k, o := range all {
			over := b.x+dot < o.ink.x+o.ink.w && o.ink.x+dot < b.x+b.w && b.y+dot < o.ink.y+o.ink.h && o.ink.y+dot < b.y+b.h
			assert.False(t, over && i != k, "%v lies over %v", o.ink, b)
		}
	}
}

// useByLine is what stands large in the box.
var useByLine = regexp.MustCompile(`^(\d{1,2} [A-Z]{3} \d{4}|\d\d:\d\d|DO NOT USE)$`)

func TestSameLabelsSameBytes(t *testing.T) {
	write := func() (string, string) {
		d, err := Draw(samples(), Sheet{Page: A4, Label: Size{70, 37}, DPI: 300})
		require.NoError(t, err)
		var p, q bytes.Buffer
		require.NoError(t, d.PDF(&p, samples()[0].When))
		require.NoError(t, d.PNG(&q))
		return p.String(), q.String()
	}
	p, q := write()
	p2, q2 := write()
	assert.True(t, p == p2, "the PDF differs")
	assert.True(t, q == q2, "the PNG differs")
}

// The size on paper: of the PDF its media box in points (72 to the inch), of the PNG its
// pixels per metre (PNG specification, pHYs).
func TestSizeOnPaper(t *testing.T) {
	d, err := Draw(samples()[:1], Sheet{Label: Size{62, 40}, DPI: 300})
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, d.pdf(&b, samples()[0].When, false))
	assert.Contains(t, b.String(), "/MediaBox [0 0 175.75 113.39]") // 62 and 40 mm
	b.Reset()
	require.NoError(t, d.PNG(&b))
	at := bytes.Index(b.Bytes(), []byte("pHYs"))
	require.Positive(t, at)
	assert.Equal(t, uint32(11811), binary.BigEndian.Uint32(b.Bytes()[at+4:])) // 300 / 0.0254
	img := picture(t, d)
	assert.Equal(t, 732, img.Bounds().Dx()) // 62 mm
	assert.Equal(t, 472, img.Bounds().Dy())
	black := 0
	for y := range img.Bounds().Dy() {
		assert.Equal(t, uint8(255), img.At(0, y).(color.Gray).Y, "the edge is not blank")
		for x := range img.Bounds().Dx() {
			if img.At(x, y).(color.Gray).Y < 128 {
				black++
			}
		}
	}
	assert.Greater(t, black, 10000)
}

func TestPNGHasOnePage(t *testing.T) {
	d, err := Draw(samples()[:2], Sheet{Label: Size{62, 40}, DPI: 300})
	require.NoError(t, err)
	assert.ErrorContains(t, d.PNG(&bytes.Buffer{}), "out 2 labels make 2 pages, and a PNG has one")
}

// The bars go rather than the label: where a person says so, and where a batch number is
// too long for them. The Data Matrix stays, in modules that read well.
func TestBarsGoRatherThanTheLabel(t *testing.T) {
	x := samples()[0]
	s := Sheet{Page: A4, Label: Size{70, 37}, DPI: 300}
	for _, row := range []struct {
		batch   string
		noBars  bool
		symbols int
	}{{"S-2207", false, 2}, {"S-2207", true, 1}, {"B-20270305-123", false, 1}, {strings.Repeat("X", 30), false, 1}} {
		x.Batch, s.NoBars = row.batch, row.noBars
		d, err := Draw([]Tag{x}, s)
		require.NoError(t, err, row.batch)
		require.Len(t, d.Labels[0].Symbols, row.symbols, row.batch)
		assert.Equal(t, Format06, d.Labels[0].Symbols[0].Code.Form)
		if row.symbols == 1 {
			assert.GreaterOrEqual(t, d.Labels[0].Symbols[0].Module, goodModule)
		}
		apart(t, d)
	}
}

func BenchmarkSheet(b *testing.B) {
	tags := append(append(samples(), samples()...), samples()...)
	for b.Loop() {
		d, err := Draw(tags, Sheet{Page: A4, Label: Size{70, 37}, DPI: 300})
		require.NoError(b, err)
		require.NoError(b, d.PDF(&bytes.Buffer{}, tags[0].When))
	}
}
