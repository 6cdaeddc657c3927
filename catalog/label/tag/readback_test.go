package tag

import (
	"bytes"
	"image"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/datamatrix"
	"github.com/makiuchi-d/gozxing/oned"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// What is printed is read back with a decoder that shares no code with the encoder:
// gozxing, a Go port of a widespread reader, from the picture as it goes to the printer
// and from the PDF as another program draws it.

// read is what a scanner made of a symbol.
type read struct {
	text  string // with its symbology identifier
	words []byte // code words
}

// Values of Code 128 (ISO/IEC 15417).
const code128FNC1, code128Stop = 102, 106

// decode reads the symbol of a label out of a picture of its page. The picture is cut
// to the symbol with three quarters of its quiet zone and no more, so a quiet zone that
// is not blank, or a symbol elsewhere than said, fails.
func decode(t require.TestingT, page image.Image, s Symbol, dpi float64) read {
	px := func(mm float64) int { return int(mm/25.4*dpi + 0.5) }
	q := 0.75 * s.QuietMM()
	high := q
	if !s.symbol.matrix() {
		high = 0
	}
	cut := image.Rect(px(s.X-q), px(s.Y-high), px(s.X+s.W+q), px(s.Y+s.H+high))
	closer := 1 // the reader wants more than three pixels for a module: it looks nearer
	if s.Module*dpi/25.4 < 4.5 {
		closer = 2
	}
	gray := image.NewGray(image.Rect(0, 0, closer*cut.Dx(), closer*cut.Dy()))
	for y := range gray.Rect.Dy() {
		for x := range gray.Rect.Dx() {
			gray.Set(x, y, page.At(cut.Min.X+x/closer, cut.Min.Y+y/closer))
		}
	}
	bmp, err := gozxing.NewBinaryBitmapFromImage(gray)
	require.NoError(t, err)

	var reader gozxing.Reader = oned.NewCode128Reader()
	hints := map[gozxing.DecodeHintType]interface{}{gozxing.DecodeHintType_ASSUME_GS1: true}
	if s.symbol.matrix() {
		reader, hints = datamatrix.NewDataMatrixReader(), map[gozxing.DecodeHintType]interface{}{gozxing.DecodeHintType_TRY_HARDER: true}
	}
	got, err := reader.Decode(bmp, hints)
	require.NoError(t, err, "%s %q does not read at %.3f mm", s.Code.Form, s.Code.Text, s.Module)
	text := got.GetText()
	if words := got.GetRawBytes(); !s.symbol.matrix() {
		// This reader takes a check character of the value 102 for a last FNC1.
		if n := len(words); words[n-1] == code128Stop && words[n-2] == code128FNC1 {
			text = strings.TrimSuffix(text, "\x1d")
		}
		if !strings.HasPrefix(text, "]C1") {
			text = "]C0" + text
		}
	}
	if s.symbol.matrix() {
		id, _ := got.GetResultMetadata()[gozxing.ResultMetadataType_SYMBOLOGY_IDENTIFIER].(string)
		if id == "]d2" { // this reader hands over the first FNC1 too, which a scanner does not
			require.Equal(t, "\x1d", text[:1])
			text = text[1:]
		}
		text = id + text
	}
	return read{text, got.GetRawBytes()}
}

// picture is a drawing as its PNG shows it.
func picture(t require.TestingT, d *Drawing) image.Image {
	var b bytes.Buffer
	require.NoError(t, d.PNG(&b))
	img, err := png.Decode(&b)
	require.NoError(t, err)
	return img
}

var wet = time.FixedZone("WET", 0)

// samples are tags of every state and every form of code.
func samples() []Tag {
	when := time.Date(2027, 3, 5, 2, 0, 0, 0, wet)
	day := UseBy{At: time.Date(2027, 6, 5, 0, 0, 0, 0, wet)}
	base := Tag{State: Opened, Class: "polysulfide-b-2", Name: "Polysulfide sealant, extrusion grade, 2 h application",
		Batch: "S-2207", Container: "2", When: when, By: "Tech 1", UseBy: day, Notes: []string{"opened life 3 months"}}
	with := func(change func(*Tag)) Tag { t := base; change(&t); return t }
	const gtin = "09520123456788" // of the GS1 Digital Link standard's examples
	soon := UseBy{At: when.Add(92 * time.Minute), Timed: true}
	return []Tag{
		base,
		with(func(t *Tag) { t.GTIN = gtin }),
		with(func(t *Tag) { t.GTIN, t.Container = gtin, "" }),
		with(func(t *Tag) { t.State, t.UseBy, t.Notes = Mixed, soon, []string{"application until 03:32 at 23 °C"} }),
		with(func(t *Tag) { t.State, t.UseBy, t.GTIN = Mixed, soon, gtin }),
		with(func(t *Tag) {
			t.State, t.UseBy, t.GTIN, t.Container = Thawed, UseBy{At: when.Add(240 * time.Hour), Timed: true}, gtin, ""
		}),
		with(func(t *Tag) {
			t.State, t.Notes = Hold, []string{"No date is known.", "The quality office must find its dates."}
		}),
		with(func(t *Tag) { t.State, t.GTIN, t.Notes = Reject, gtin, []string{"Expired 28 February 2027."} }),
	}
}

func TestPictureReadsBack(t *testing.T) {
	if testing.Short() {
		t.Skip("sheets read back code by code: run without -short")
	}
	for _, s := range []Sheet{
		{Page: A4, Label: Size{70, 37}, Start: 5, DPI: 300},
		{Page: A4, Label: Size{70, 37}, DPI: 203},
		{Page: Letter, Label: Size{101.6, 50.8}, Gap: Size{3.2, 0}, DPI: 300},
		{Page: A4, Label: Size{105, 74}, DPI: 300},
	} {
		d, err := Draw(samples(), s)
		require.NoError(t, err)
		page := picture(t, d)
		for _, l := range d.Labels {
			for _, sym := range l.Symbols {
				assert.Equal(t, sym.Code.Scanned(), decode(t, page, sym, float64(s.DPI)).text)
			}
		}
	}
}

// The strings are written out here by hand, as the standards have them: element strings
// of the GS1 General Specifications, envelopes of ISO/IEC 15434 with identifiers of
// ANSI MH10.8.2.
func TestContentIsWhatTheStandardsSay(t *testing.T) {
	want := []struct{ matrix, bars string }{
		{"]d1[)>\x1e06\x1d1TS-2207\x1d14D20270605\x1dSOPENED/2\x1e\x04", "]C0S-2207/OPENED"},
		{"]d2010952012345678810S-2207\x1d1727060521OPENED/2", "]C1010952012345678810S-2207\x1d21OPENED/2"},
		{"]d2010952012345678810S-2207\x1d1727060521OPENED", "]C1010952012345678810S-2207\x1d21OPENED"},
		{"]d1[)>\x1e06\x1d1TS-2207\x1dSMIXED/2\x1e\x04", "]C0S-2207/MIXED"},
		{"]d2010952012345678810S-2207\x1d70032703050332\x1d21MIXED/2", "]C1010952012345678810S-2207\x1d21MIXED/2"},
		{"]d2010952012345678810S-2207\x1d70032703150200\x1d21THAWED", "]C1010952012345678810S-2207\x1d21THAWED"},
		{"]d1[)>\x1e06\x1d1TS-2207\x1dSHOLD/2\x1e\x04", "]C0S-2207/HOLD"},
		{"]d2010952012345678810S-2207\x1d21REJECT/2", "]C1010952012345678810S-2207\x1d21REJECT/2"},
	}
	for i, x := range samples() {
		d, err := Draw([]Tag{x}, Sheet{Label: Size{150, 60}, DPI: 300})
		require.NoError(t, err)
		page := picture(t, d)
		require.Len(t, d.Labels[0].Symbols, 2)
		assert.Equal(t, want[i].matrix, decode(t, page, d.Labels[0].Symbols[0], 300).text, "%d", i)
		assert.Equal(t, want[i].bars, decode(t, page, d.Labels[0].Symbols[1], 300).text, "%d", i)
	}
}

// The code words of example 2 of the GS1 DataMatrix Guideline, (01)09501101020917
// (17)190508(10)ABCD1234(21)10: FNC1 (232) first, pairs of digits as value + 130,
// characters as value + 1, FNC1 behind the batch (ISO/IEC 16022; worked out by hand).
func TestFunctionCharacterOneIsACodeWord(t *testing.T) {
	c := gs1(GS1DataMatrix, []element{{"01", "09501101020917", true}, {"17", "190508", true}, {"10", "ABCD1234", false}, {"21", "10", false}})
	words := readSymbol(t, c).words
	want := []byte{232, 131, 139, 180, 141, 131, 132, 139, 147, 147, 149, 135, 138, 140, 66, 67, 68, 69, 142, 164, 232, 151, 140}
	require.GreaterOrEqual(t, len(words), len(want))
	assert.Equal(t, want, words[:len(want)])

	// Of a Code 128: start C (105), FNC1 (102), pairs of digits; for the letters code
	// set B (100), value minus 32 (ISO/IEC 15417; worked out by hand).
	c = gs1(GS1128, []element{{"01", "09501101020917", true}, {"10", "AB", false}})
	words = readSymbol(t, c).words
	want = []byte{105, 102, 1, 9, 50, 11, 1, 2, 9, 17, 10, 100, 33, 34}
	require.GreaterOrEqual(t, len(words), len(want))
	assert.Equal(t, want, words[:len(want)])
}

// readSymbol draws a code alone and reads it.
func readSymbol(t require.TestingT, c Code) read {
	sym, err := newSymbol(c)
	require.NoError(t, err)
	s := Symbol{Code: c, symbol: sym, X: 10, Y: 10, Module: 0.508, W: float64(sym.cols) * 0.508, H: 12}
	if sym.matrix() {
		s.H = s.W
	}
	d := &Drawing{Sheet: Sheet{Label: Size{s.W + 20, s.H + 20}, DPI: 300}, Pages: 1, Labels: []Label{{laid: &laid{}, Symbols: []Symbol{s}}}}
	return decode(t, picture(t, d), s, 300)
}

const (
	letters82 = signs82 + "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
	ascii     = letters82 + " #$@[\\]^`{|}~"
)

// Any batch and container that is not refused reads back byte for byte, and so do those
// full of digits, which the symbols write in pairs.
func TestEveryBatchReadsBack(t *testing.T) {
	word := func(set string, most int) *rapid.Generator[string] {
		any := rapid.StringOfN(rapid.SampledFrom([]rune(set)), 1, most, -1)
		digits := rapid.StringOfN(rapid.SampledFrom([]rune("0123456789")), 1, most, -1)
		return rapid.OneOf(any, digits, rapid.Map(rapid.SliceOfN(rapid.OneOf(digits, any), 2, 3), func(p []string) string {
			s := strings.Join(p, "")
			return s[:min(len(s), most)]
		}))
	}
	rapid.Check(t, func(r *rapid.T) {
		x := samples()[rapid.IntRange(0, 7).Draw(r, "sample")]
		set, most := ascii, maxPlain
		if x.GTIN != "" {
			set, most = letters82, maxGS1
		}
		x.Batch = word(set, most).Draw(r, "batch")
		x.Container = ""
		if rapid.Bool().Draw(r, "numbered") {
			room := most
			if x.GTIN != "" {
				room -= len(x.State.word() + stateSign)
			}
			x.Container = word(set, room).Draw(r, "container")
		}
		if strings.TrimSpace(x.Batch) == "" {
			return
		}
		m, err := x.MatrixCode()
		require.NoError(r, err)
		codes, err := x.barCodes()
		require.NoError(r, err)
		for _, c := range append(codes, m) {
			assert.Equal(r, c.Scanned(), readSymbol(r, c).text)
		}
	})
}

// TestPDFReadsBack has the PDF drawn by another program at the printer's resolution.
func TestPDFReadsBack(t *testing.T) {
	if testing.Short() {
		t.Skip("pages read back as pictures: run without -short")
	}
	pdftoppm, err := exec.LookPath("pdftoppm")
	if err != nil {
		t.Skip("pdftoppm is not installed: the PDF is not read back")
	}
	for _, s := range []Sheet{{Page: A4, Label: Size{70, 37}, Start: 20, DPI: 300}, {Label: Size{62, 40}, DPI: 300}} {
		d, err := Draw(samples(), s)
		require.NoError(t, err)
		dir := t.TempDir()
		f, err := os.Create(filepath.Join(dir, "labels.pdf"))
		require.NoError(t, err)
		require.NoError(t, d.PDF(f, samples()[0].When))
		require.NoError(t, f.Close())
		require.NoError(t, exec.Command(pdftoppm, "-r", strconv.Itoa(s.DPI), "-gray", "-png", f.Name(), filepath.Join(dir, "p")).Run())
		pages, err := filepath.Glob(filepath.Join(dir, "p-*.png"))
		require.NoError(t, err)
		require.Len(t, pages, d.Pages)
		for _, l := range d.Labels {
			f, err := os.Open(pages[l.Page])
			require.NoError(t, err)
			page, err := png.Decode(f)
			require.NoError(t, err)
			require.NoError(t, f.Close())
			for _, sym := range l.Symbols {
				assert.Equal(t, sym.Code.Scanned(), decode(t, page, sym, float64(s.DPI)).text)
			}
		}
	}
}
