package picture

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"go/parser"
	"go/token"
	"image/png"
	"io"
	"io/fs"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgsvg"
	"pgregory.net/rapid"

	"beadline/catalog"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"
	"beadline/cure"
)

func builtin(t require.TestingT, id string) *catalog.Class {
	cl, err := catalog.Builtin().Find(id)
	require.NoError(t, err)
	return &cl
}

func classPictureOf(t require.TestingT, cl *catalog.Class) *Picture {
	c, err := desk.CurvesOf(cl, cure.Bead{})
	require.NoError(t, err)
	return Class(c)
}

func written(t require.TestingT, p *Picture, f Format) []byte {
	var out bytes.Buffer
	require.NoError(t, p.Write(&out, f))
	return out.Bytes()
}

// element is one element of an SVG.
type element struct {
	name string
	attr map[string]string
	text string
}

// elements reads an SVG, which must be well formed.
func elements(t require.TestingT, svg []byte) (all []element) {
	d := xml.NewDecoder(bytes.NewReader(svg))
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return all
		}
		require.NoError(t, err)
		switch x := tok.(type) {
		case xml.StartElement:
			e := element{name: x.Name.Local, attr: map[string]string{}}
			for _, a := range x.Attr {
				e.attr[a.Name.Local] = a.Value
			}
			all = append(all, e)
		case xml.CharData:
			if len(all) > 0 {
				all[len(all)-1].text += strings.TrimSpace(string(x))
			}
		}
	}
}

// tidy wants every text inside the page and on no other text, even in a font that is
// wider than the one it was measured with.
func tidy(t require.TestingT, p *Picture, what string) *page {
	wide, high := p.size()
	g := p.on(vgsvg.New(wide, high))
	loose := func(b vg.Rectangle) vg.Rectangle { // an SVG places the left end of a text
		b.Max.X += (looser - 1) * (b.Max.X - b.Min.X)
		return b
	}
	for i, a := range g.texts {
		require.GreaterOrEqual(t, a.box.Min.X, vg.Length(0), "%s: %q", what, a.text)
		require.GreaterOrEqual(t, a.box.Min.Y, vg.Length(0), "%s: %q", what, a.text)
		require.LessOrEqual(t, loose(a.box).Max.X, wide-5, "%s: %q", what, a.text)
		require.LessOrEqual(t, a.box.Max.Y, high, "%s: %q", what, a.text)
		for _, b := range g.texts[i+1:] {
			x, y := loose(a.box), loose(b.box)
			apart := x.Max.X <= y.Min.X || y.Max.X <= x.Min.X || x.Max.Y <= y.Min.Y || y.Max.Y <= x.Min.Y
			if !apart {
				require.Failf(t, "texts overlap", "%s: %q lies on %q", what, a.text, b.text)
			}
		}
	}
	return g
}

// says wants a text in a picture.
func says(t require.TestingT, svg, want, what string) {
	require.True(t, strings.Contains(svg, want), "%s does not say %q", what, want)
}

func TestEveryClassIsDrawnTidily(t *testing.T) {
	n := 0
	for _, cl := range catalog.Builtin().All() {
		c, err := desk.CurvesOf(&cl, cure.Bead{})
		if err != nil {
			continue
		}
		n++
		p := Class(c)
		tidy(t, p, cl.ID)
		svg := written(t, p, SVG)
		var texts []string
		for _, e := range elements(t, svg) {
			texts = append(texts, e.text)
		}
		all := strings.Join(texts, "\n")
		assert.Contains(t, all, cl.ID)
		for m, cv := range cl.Curves {
			if cv != nil {
				assert.Contains(t, all, cure.Milestone(m).String(), cl.ID)
			}
		}
		for _, want := range []string{"solid: the line to work to", "thin, dashed: likely", "not a product", "approved", "Earliest times are not a release"} {
			assert.Contains(t, strings.ToLower(all), strings.ToLower(want), cl.ID)
		}
	}
	assert.Greater(t, n, 24)
}

// numberAt reads an attribute.
func numberAt(t require.TestingT, e element, name string) float64 {
	v, err := strconv.ParseFloat(e.attr[name], 64)
	require.NoError(t, err)
	return v
}

// tickPlaces are the middles of the named ticks, in points of the page, y upward: read
// from the picture alone.
func tickPlaces(t require.TestingT, all []element) map[string]vg.Point {
	at := map[string]vg.Point{}
	for _, e := range all {
		if e.name != "text" {
			continue
		}
		// A number may stand on the axes of both units: that of °C is the lower one.
		if p, twice := at[e.text]; !twice || p.Y > vg.Length(-numberAt(t, e, "y")+2.9) {
			at[e.text] = vg.Point{X: vg.Length(numberAt(t, e, "x") + numberAt(t, e, "textLength")/2), Y: vg.Length(-numberAt(t, e, "y") + 2.9)}
		}
	}
	return at
}

// longestPath is the path with the most points of a colour and width.
func longestPath(t require.TestingT, all []element, color, width string) (pts []vg.Point) {
	for _, e := range all {
		if e.name != "path" || !strings.Contains(e.attr["style"], "stroke:"+color) || !strings.Contains(e.attr["style"], "stroke-width:"+width) {
			continue
		}
		var got []vg.Point
		for _, xy := range strings.FieldsFunc(e.attr["d"], func(r rune) bool { return r == 'M' || r == 'L' }) {
			var x, y float64
			_, err := fmt.Sscanf(xy, "%g,%g", &x, &y)
			require.NoError(t, err)
			got = append(got, vg.Point{X: vg.Length(x), Y: vg.Length(y)})
		}
		if len(got) > len(pts) {
			pts = got
		}
	}
	return pts
}

// The curve of a class that halves in 10 °C, 2 h at 25 °C, is read back from the SVG
// against the ticks of its own axes.
func TestCurveStandsWhereTheAxesSay(t *testing.T) {
	all := elements(t, written(t, classPictureOf(t, builtin(t, "polysulfide-b-2")), SVG))
	at := tickPlaces(t, all)
	degree := (at["40"].X - at["0"].X) / 40
	perDoubling := (at["8 h"].Y - at["2 h"].Y) / 2
	for _, c := range []struct {
		width string
		s     func(tempC float64) float64
	}{
		{"0.9", func(tempC float64) float64 { return 7200 * math.Exp2((25-tempC)/10) }},
		{"1.8", func(tempC float64) float64 { return math.Min(7200, 7200*math.Exp2((25-tempC)/10)) }},
	} {
		pts := longestPath(t, all, "#D55E00", c.width)
		require.Greater(t, len(pts), 50)
		for _, pt := range pts {
			tempC := float64((pt.X - at["0"].X) / degree)
			want := at["2 h"].Y + perDoubling*vg.Length(math.Log2(c.s(tempC)/7200))
			require.InDelta(t, float64(want), float64(pt.Y), 0.6, "%g °C", tempC)
		}
		assert.InDelta(t, -1, float64((pts[0].X-at["0"].X)/degree), 0.1, "the range's cold end")
		assert.InDelta(t, 49, float64((pts[len(pts)-1].X-at["0"].X)/degree), 0.1, "its warm end")
	}
}

func TestSameDataGiveTheSameBytes(t *testing.T) {
	if testing.Short() {
		t.Skip("each picture drawn in every form, twice: run without -short")
	}
	for name, p := range map[string]*Picture{
		"class": classPictureOf(t, builtin(t, "silicone-neutral")), "air": airPictureOf(t, "polysulfide-b-2", false), "spans": spansOf(t, "polysulfide-b-2"),
	} {
		for _, f := range []Format{SVG, PNG, PDF} {
			assert.True(t, bytes.Equal(written(t, p, f), written(t, p, f)), "%s, format %d", name, f)
		}
	}
}

func TestPNGHasAPicture(t *testing.T) {
	img, err := png.Decode(bytes.NewReader(written(t, classPictureOf(t, builtin(t, "polysulfide-b-2")), PNG)))
	require.NoError(t, err)
	assert.Equal(t, 1754, img.Bounds().Dx())
	assert.Equal(t, 1240, img.Bounds().Dy())
	colors := map[[3]uint32]int{}
	for y := range 1240 {
		for x := range 1754 {
			r, g, b, _ := img.At(x, y).RGBA()
			colors[[3]uint32{r >> 8, g >> 8, b >> 8}]++
		}
	}
	for _, c := range [][3]uint32{{0xd5, 0x5e, 0x00}, {0x00, 0x72, 0xb2}, {0x00, 0x9e, 0x73}, {0xe4, 0xf1, 0xe6}} {
		assert.Greater(t, colors[c], 200, "%x", c)
	}
}

func TestPDFIsOnePage(t *testing.T) {
	pdf := written(t, classPictureOf(t, builtin(t, "polysulfide-b-2")), PDF)
	assert.True(t, bytes.HasPrefix(pdf, []byte("%PDF-")))
	assert.Contains(t, string(pdf), "/Count 1\n")
	assert.Contains(t, string(pdf), "D:20000101000000")
}

func TestPDFRefusesLettersItCannotShow(t *testing.T) {
	cl := builtin(t, "polysulfide-b-2")
	cl.Name = "Ж"
	var out bytes.Buffer
	assert.ErrorContains(t, classPictureOf(t, cl).Write(&out, PDF), ".svg")
	assert.Zero(t, out.Len())
}

func TestFormatIsThatOfTheEnding(t *testing.T) {
	for name, want := range map[string]Format{"a.svg": SVG, "b/c.PNG": PNG, "x.y.pdf": PDF} {
		got, err := FormatOf(name)
		require.NoError(t, err)
		assert.Equal(t, want, got)
	}
	for _, name := range []string{"a", "a.jpg", "-", "", "svg", "dir.svg/a"} {
		_, err := FormatOf(name)
		assert.ErrorContains(t, err, ".svg, .png or .pdf", name)
	}
}

func TestLongNamesStayOnThePage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cl := builtin(t, rapid.SampledFrom([]string{"polysulfide-c-8-48", "silicone-neutral"}).Draw(t, "class"))
		cl.ID = rapid.StringN(0, 300, 600).Draw(t, "id")
		cl.Name = rapid.StringN(0, 300, 600).Draw(t, "name")
		p := classPictureOf(t, cl)
		tidy(t, p, "names")
		elements(t, written(t, p, SVG))
	})
	cl := builtin(t, "polysulfide-b-2")
	cl.Name = strings.Repeat("very long ", 60) + strings.Repeat("W", 300) + "<&>\x00\"' \xff"
	p := classPictureOf(t, cl)
	g := tidy(t, p, "long")
	assert.Contains(t, g.texts[1].text, "…")
	elements(t, written(t, p, SVG))
}

// Random curves, within what a class file may hold.
func TestAnyCurveIsDrawnTidily(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cl := *builtin(t, "polysulfide-c-8-48")
		for m := range cure.NumMilestones {
			s := math.Pow(10, rapid.Float64Range(1, 7.5).Draw(t, "log s"))
			c := *cl.Curves[cure.Application]
			c.Form = cure.Doubling{RefC: rapid.Float64Range(0, 60).Draw(t, "ref"), Time: s, StepC: rapid.Float64Range(3, 60).Draw(t, "step")}
			c.Temp.Lo = rapid.Float64Range(-300, 20).Draw(t, "lo")
			c.Temp.Hi = c.Temp.Lo + rapid.Float64Range(0, 300).Draw(t, "span")
			c.Shorter, c.Longer = rapid.Float64Range(0, 0.5).Draw(t, "shorter"), rapid.Float64Range(0, 3).Draw(t, "longer")
			cl.Curves[m] = &c
		}
		c, err := desk.CurvesOf(&cl, cure.Bead{})
		if err != nil {
			return
		}
		tidy(t, Class(c), "curves")
	})
}

// airPictureOf is a picture of a class in five days of a cold hangar, the last two of
// them a forecast.
func airPictureOf(t require.TestingT, id string, closed bool) *Picture {
	z := time.FixedZone("WET", 0)
	from := time.Date(2027, time.March, 22, 8, 0, 0, 0, z)
	log := cure.Piece{Name: "hangar.csv", Margin: 2}
	for i := range 73 {
		log.Samples = append(log.Samples, cure.Sample{At: from.Add(time.Duration(i) * time.Hour),
			Air: cure.Air{TempC: 14 + 6*math.Cos(2*math.Pi*float64(i-6)/24), RH: 60}})
	}
	pieces := []cure.Piece{log, {Name: "swing", Forecast: true, Margin: 2, Swing: &cure.Swing{LowC: 9, HighC: 16, Warmest: 15 * time.Hour, DewC: 6, Zone: z}}}
	a, err := desk.AskTimes(desk.TimesQuestion{Class: builtin(t, id), Pieces: pieces, PotC: math.NaN(), PartC: math.NaN(), From: from, Laid: from.Add(40 * time.Minute),
		Bead: cure.Bead{DepthMM: 3, Closed: closed}, Part: cure.Part{Tau: 2 * time.Hour, AtC: 5}})
	require.NoError(t, err)
	a.Stops = []string{"The part is at 14 C: warm it first."}
	c, err := desk.CourseOf(a)
	require.NoError(t, err)
	return Air(c, show.SI)
}

func TestEveryKindInAirIsDrawnTidily(t *testing.T) {
	seen := map[catalog.Kind]int{}
	for _, cl := range catalog.Builtin().All() {
		if _, err := desk.CurvesOf(&cl, cure.Bead{}); err != nil || cl.MaxGapMM > 0 || seen[cl.Kind] == 2 {
			continue
		}
		seen[cl.Kind]++
		p := airPictureOf(t, cl.ID, false)
		tidy(t, p, cl.ID)
		all := string(written(t, p, SVG))
		for m := range cure.NumMilestones {
			if cl.Has(m) {
				says(t, all, ">"+m.String()+"<", cl.ID)
			}
		}
		first := map[bool]string{true: "Do not mix yet.", false: "Do not use it yet."}[cl.MixByHand]
		for _, want := range []string{"dew point", "22", "Air: hangar.csv", first + " The part is at 14 °C"} {
			says(t, all, want, cl.ID)
		}
	}
}

func TestInstantsAreNamedOverTheirPlace(t *testing.T) {
	// Rated 30 min at 25 °C; cold does not lengthen it: from 08:00 to 08:30.
	all := string(written(t, airPictureOf(t, "polythioether-rapid-half", false), SVG))
	says(t, all, ">Mon 22 08:30<", "picture")
	says(t, all, ">last laid<", "picture")
	says(t, all, ">Mon 22 08:40<", "picture")
}

func TestClosedFilmIsLikelyOnly(t *testing.T) {
	p := airPictureOf(t, "polysulfide-b-2", true)
	g := tidy(t, p, "closed")
	all := string(written(t, p, SVG))
	says(t, all, "likely only, ", "picture")
	says(t, all, "go by the witness cup", "picture")
	says(t, all, "Air: hangar.csv, then swing.", "picture")
	says(t, all, "forecast: not measured", "picture")
	assert.Empty(t, longestPath(t, elements(t, []byte(all)), "#0072B2", "1.8"), "no solid line of cure")
	assert.NotEmpty(t, longestPath(t, elements(t, []byte(all)), "#0072B2", "0.9"))
	assert.NotEmpty(t, g.texts)
}

func spansOf(t require.TestingT, id string) *Picture {
	a, err := desk.AskTimes(desk.TimesQuestion{Class: builtin(t, id), Air: cure.Air{TempC: 18, RH: 45}, RHSaid: true, PotC: math.NaN(), PartC: 22,
		Bead: cure.Bead{DepthMM: 0.1}, From: time.Date(2027, time.March, 22, 8, 0, 0, 0, time.UTC)})
	require.NoError(t, err)
	return Spans(a, show.US)
}

func TestEveryClassInConstantAirIsDrawnTidily(t *testing.T) {
	for _, cl := range catalog.Builtin().All() {
		if _, err := desk.CurvesOf(&cl, cure.Bead{}); err != nil {
			continue
		}
		p := spansOf(t, cl.ID)
		tidy(t, p, cl.ID)
		all := string(written(t, p, SVG))
		for m := range cure.NumMilestones {
			if cl.Has(m) {
				says(t, all, ">"+m.String()+"<", cl.ID)
			}
		}
	}
	all := string(written(t, spansOf(t, "polysulfide-b-2"), SVG))
	says(t, all, ">not after 2 h<", "picture")
	says(t, all, ">Mon 22 Mar 2027 10:00 UTC<", "picture")
}

// Drawing is done here and nowhere else in the program.
func TestOnlyThisFolderDraws(t *testing.T) {
	root, seen := filepath.Join("..", "..", "..", ".."), 0
	require.NoError(t, filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".go") {
			return err
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		require.NoError(t, err)
		for _, im := range f.Imports {
			if strings.HasPrefix(im.Path.Value, `"gonum.org/v1/plot`) {
				seen++
				assert.Equal(t, filepath.Join("cmd", "beadline", "show", "picture"), filepath.Join("cmd", "beadline", "show", filepath.Base(filepath.Dir(path))), path)
			}
		}
		return nil
	}))
	assert.Greater(t, seen, 5)
}

func BenchmarkPicture(b *testing.B) {
	p := classPictureOf(b, builtin(b, "silicone-neutral"))
	for name, f := range map[string]Format{"svg": SVG, "png": PNG, "pdf": PDF} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				written(b, p, f)
			}
		})
	}
}
