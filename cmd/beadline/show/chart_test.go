package show

import (
	"bytes"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog"
	"beadline/cmd/beadline/desk"
	"beadline/cure"
)

var printedOn = time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)

func chartOf(t testing.TB, id string, temps, rhs []float64) *desk.Chart {
	t.Helper()
	c, err := desk.AskChart(desk.ChartQuestion{Class: class(t, id), TempsC: temps, RHs: rhs, PotC: math.NaN(), Bead: cure.Bead{DepthMM: 0.5}})
	require.NoError(t, err)
	return c
}

// wallOf is the chart of a temperate hangar.
func wallOf(t testing.TB, id string) *desk.Chart {
	return chartOf(t, id, []float64{10, 15, 20, 25, 30, 35}, []float64{30, 50, 80})
}

// timed are the built-in classes that a usual chart can be made of.
func timed() []string {
	var ids []string
	for _, c := range catalog.Builtin().All() {
		if slices.ContainsFunc(c.Curves[:], func(x *cure.Curve) bool { return x != nil }) {
			ids = append(ids, c.ID)
		}
	}
	return ids
}

// parseWall reads a span as the wall has it.
func parseWall(t require.TestingT, s string) time.Duration {
	var d time.Duration
	units := map[string]time.Duration{"s": time.Second, "min": time.Minute, "h": time.Hour, "d": 24 * time.Hour}
	f := strings.Fields(s)
	for i := 0; i+1 < len(f); i += 2 {
		n, err := strconv.Atoi(f[i])
		require.NoError(t, err, s)
		d += time.Duration(n) * units[f[i+1]]
	}
	return d
}

func TestTheWallRoundsToTheSafeSideByATenthAtMost(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		d := time.Duration(math.Exp(rapid.Float64Range(0, 18).Draw(rt, "log s"))) * time.Second
		down, up := parseWall(rt, wallSpan(d, cure.NotAfter)), parseWall(rt, wallSpan(d, cure.NotBefore))
		require.LessOrEqual(rt, down, d)
		require.GreaterOrEqual(rt, up, d)
		if d > 10*time.Second {
			require.LessOrEqual(rt, (up - down).Seconds(), 0.1*d.Seconds()+1e-9, "%s: %s to %s", d, down, up)
		}
	})
}

func TestTheWallHasRoundFigures(t *testing.T) {
	for _, x := range []struct {
		d        time.Duration
		down, up string
	}{
		{84*time.Minute + 51*time.Second, "1 h 20 min", "1 h 25 min"},
		{2 * time.Hour, "2 h", "2 h"},
		{10*time.Minute + 1, "10 min", "11 min"},
		{4*time.Minute + 41*time.Second, "4 min 40 s", "4 min 50 s"},
		{7*time.Minute + 10*time.Second, "7 min", "7 min 30 s"},
		{47*time.Hour + time.Minute, "47 h", "2 d"},
		{52 * time.Hour, "2 d 4 h", "2 d 4 h"},
		{31*24*time.Hour + time.Hour, "31 d", "32 d"},
	} {
		assert.Equal(t, x.down, wallSpan(x.d, cure.NotAfter))
		assert.Equal(t, x.up, wallSpan(x.d, cure.NotBefore))
	}
}

func TestAChartOfEveryClassFitsThePageInBothUnits(t *testing.T) {
	for _, id := range timed() {
		c := chartOf(t, id, []float64{-10, 10, 20, 25, 32.5, 50}, []float64{10, 30, 45, 60, 84, 95})
		for _, u := range []Units{SI, US} {
			text := written(t, func(w io.Writer) error { return Chart(w, c, u) })
			within80(t, text)
			assert.Contains(t, text, "32.5")
			assert.Contains(t, text, "90.5", "each temperature in both units")
			assert.Contains(t, text, "not a release")
			assert.Contains(t, text, "WHAT IT RESTS ON")
		}
	}
}

func TestHumiditiesThatMakeNoDifferenceShareAColumn(t *testing.T) {
	c := wallOf(t, "polysulfide-b-2")
	ps := panelsOf(c)
	require.Equal(t, []cure.Milestone{cure.Application, cure.Assembly}, ps[0].milestones)
	assert.Equal(t, []string{"any RH"}, ps[0].heads)
	require.Equal(t, []cure.Milestone{cure.TackFree, cure.Handling}, ps[1].milestones)
	assert.Equal(t, []string{"30 % RH", "50, 80 % RH"}, ps[1].heads)
	text := written(t, func(w io.Writer) error { return Chart(w, c, SI) })
	assert.Contains(t, text, "“any RH”: humidity does not enter.")
	assert.Contains(t, text, "x (do not seal): this class is laid with the part at 16 to 32 °C")
	assert.Contains(t, text, "At 30 % RH do not seal at any temperature.")
	// By hand: 72 h at 25 °C, doubled for each 10 °C colder: 72·2^0.5 h = 4 d 5 h 50 min
	// at 20 °C; 2 h at 25 °C is the most a pot may have.
	assert.Regexp(t, `(?m)^ +20 +68  2 h +witness cup x +2 d 9 h$`, text)
	assert.Regexp(t, `(?m)^ +20 +68  witness cup x +4 d 6 h `, text)
	assert.Regexp(t, `(?m)^ +10 +50  2 h x +`, text)
	us := written(t, func(w io.Writer) error { return Chart(w, c, US) })
	assert.Regexp(t, `(?m)^ +68 +20  2 h `, us)
	assert.Contains(t, us, "60.8 to 89.6 °F")
}

func TestACellWithoutAnAnswerNamesTheRange(t *testing.T) {
	text := written(t, func(w io.Writer) error {
		return Chart(w, chartOf(t, "silicone-neutral", []float64{0, 20}, []float64{50}), SI)
	})
	assert.Regexp(t, `(?m)^ +0 +32  no answer x `, text)
	flat := strings.Join(strings.Fields(text), " ")
	assert.Contains(t, flat, "“no answer”: outside the range of the curve: application, assembly, tack-free 5 to 40 °C, 5 to 95 % RH; cure 5 to 40 °C, 5 to 95 % RH, at most 6 mm deep")
}

func TestABeadTooDeepBarsTheWholeChartAndSaysWhy(t *testing.T) {
	c, err := desk.AskChart(desk.ChartQuestion{Class: class(t, "silicone-neutral"), TempsC: []float64{20, 25}, RHs: []float64{50}, PotC: math.NaN(), Bead: cure.Bead{DepthMM: 7}})
	require.NoError(t, err)
	text := written(t, func(w io.Writer) error { return Chart(w, c, SI) })
	assert.Contains(t, text, "DO NOT SEAL\n  - A bead 7 mm deep does not cure through")
}

func TestChartCSVHasALineForEachMilestoneTemperatureAndHumidity(t *testing.T) {
	c := wallOf(t, "polysulfide-b-2")
	r := rows(t, written(t, func(w io.Writer) error { return ChartCSV(w, c) }))
	require.Len(t, r, 1+6*6*3)
	assert.Equal(t, []string{"class", "name", "line", "temp-c", "temp-f", "rh-pct", "seconds", "likely-seconds", "by-witness", "refused", "why", "do-not-lay"}, r[0])
	assert.Equal(t, []string{"polysulfide-b-2", "application", "not-after", "10", "50", "30", "7200"}, r[1][:7])
	assert.Contains(t, r[1][11], "Warm the part first")
	seen := 0
	for _, x := range r[1:] {
		if x[1] == "cure" && x[3] == "20" && x[5] == "50" {
			seen++
			assert.Equal(t, "366565", x[6], "72 h · 2^0.5 = 366564.2 s, rounded up to whole seconds, not as on the wall")
			assert.Empty(t, x[11])
		}
	}
	assert.Equal(t, 1, seen)
}

func TestChartJSONHasTheSameCells(t *testing.T) {
	c := wallOf(t, "polysulfide-b-2")
	v := decoded(t, written(t, func(w io.Writer) error { return ChartJSON(w, c) }))
	assert.Subset(t, keys(v), []string{"class", "name", "counts-from", "temps-c", "rhs-pct", "pot-c", "laid-with", "milestones", "assumptions", "cautions"})
	assert.Nil(t, v["pot-c"])
	r := rows(t, written(t, func(w io.Writer) error { return ChartCSV(w, c) }))[1:]
	for _, m := range v["milestones"].([]any) {
		for _, x := range m.(map[string]any)["cells"].([]any) {
			cell := x.(map[string]any)
			if cell["seconds"] == nil {
				assert.Empty(t, r[0][6])
			} else {
				assert.Equal(t, r[0][6], strconv.FormatFloat(cell["seconds"].(float64), 'f', -1, 64))
			}
			r = r[1:]
		}
	}
	assert.Empty(t, r)
}

var (
	textInPDF = regexp.MustCompile(`(?s)\(((?:\\.|[^\\)])*)\) ?Tj`)
	pageInPDF = regexp.MustCompile(`/Type /Page\b`)
)

// textOfPDF is what an uncompressed page says, piece behind piece as it was drawn. The
// letters of an embedded font stand in the file as UTF-16.
func textOfPDF(pdf []byte) string {
	var b strings.Builder
	for _, m := range textInPDF.FindAllSubmatch(pdf, -1) {
		var units []uint16
		var raw []byte
		for i := 0; i < len(m[1]); i++ {
			x := m[1][i]
			if x == '\\' && i+1 < len(m[1]) {
				i++
				if x = m[1][i]; x == 'r' {
					x = '\r'
				}
			}
			raw = append(raw, x)
		}
		for i := 0; i+1 < len(raw); i += 2 {
			units = append(units, uint16(raw[i])<<8|uint16(raw[i+1]))
		}
		b.WriteString(string(utf16.Decode(units)))
		b.WriteString("\n")
	}
	return b.String()
}

// pageOf is a chart's page, uncompressed, and its words with every break a blank.
func pageOf(t testing.TB, c *desk.Chart, u Units) (pdf []byte, words string) {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, chartPDF(&b, c, u, printedOn, false))
	return b.Bytes(), strings.Join(strings.Fields(textOfPDF(b.Bytes())), " ")
}

func TestTheWallChartIsOnePageThatSaysItAll(t *testing.T) {
	pdf, words := pageOf(t, wallOf(t, "polysulfide-a-half"), SI)
	assert.Len(t, pageInPDF.FindAll(pdf, -1), 1)
	assert.Contains(t, string(pdf), "/MediaBox [0 0 841.89 595.28]", "A4 lying")
	for _, want := range []string{
		"polysulfide-a-half", "brush grade, ½ h application", "APPLICATION ASSEMBLY", "TACK-FREE HANDLING", "CURE",
		"10 °C 50 °F", "35 °C 95 °F", "any RH", "30 % RH", "50, 80 % RH", "witness cup", "do not seal",
		// By hand: 40 h at 25 °C, doubled for each 10 °C colder: 40·2^0.5 h = 56 h 34 min.
		"20 °C 68 °F 30 min", "2 d 9 h",
		"Application and assembly count from the first touch of base and accelerator",
		"approved maintenance data and the maker's data sheet prevail", "A generic class is not your product", "Earliest times are not a release",
		"– Holds chromate", "µg/m³", "NAVEDTRA 14315", "memory", "Printed Mon 8 Mar 2027. Class from the built-in set.",
	} {
		assert.Contains(t, words, want)
	}
	_, words = pageOf(t, wallOf(t, "polysulfide-a-half"), US)
	assert.Contains(t, words, "68 °F 20 °C 30 min")
	pdf, _ = pageOf(t, wallOf(t, "polysulfide-a-half"), US)
	assert.Contains(t, string(pdf), "/MediaBox [0 0 792.00 612.00]", "US letter lying")
}

func TestEveryClassHasAWallChartOfOnePage(t *testing.T) {
	if testing.Short() {
		t.Skip("the chart of every class: run without -short")
	}
	for i, id := range timed() {
		c := wallOf(t, id)
		pdf, words := pageOf(t, c, Units(i%2)) // A4 and letter in turn
		assert.Len(t, pageInPDF.FindAll(pdf, -1), 1, id)
		for _, tempC := range c.TempsC {
			assert.Contains(t, words, SI.Temp(tempC), id)
			assert.Contains(t, words, US.Temp(tempC), id)
		}
		assert.Contains(t, words, "not a release", id)
	}
}

func TestNothingRunsOverTheEdgeOfThePage(t *testing.T) {
	if testing.Short() {
		t.Skip("every class, drawn both ways: run without -short")
	}
	for _, id := range timed() {
		for _, lying := range []bool{true, false} {
			p := newWall(wallOf(t, id), SI, printedOn, lying)
			if p.fit(); p.size < wallSmallest {
				continue
			}
			sum := 0.0
			for _, k := range p.cols {
				sum += k.width
			}
			assert.InDelta(t, p.width, sum, 1e-6, id)
			used := p.paragraphs(p.top(), p.width) + p.headHeight(p.size) + float64(len(p.c.TempsC))*p.rowHeight(p.size) + p.paragraphs(p.below(), p.width) + p.smallPrint().height
			assert.LessOrEqual(t, used, p.height, id)
			for i, row := range p.c.TempsC {
				for _, k := range p.cols {
					if k.panel >= 0 {
						x := p.panels[k.panel].cells[i][k.col]
						assert.LessOrEqual(t, p.cellWidth(x, "B", k.figure(x, p.size)), k.width, "%s %g: %s", id, row, x.text)
					}
				}
			}
		}
	}
}

func TestTheSameChartHasTheSameBytes(t *testing.T) {
	c := wallOf(t, "polysulfide-b-2")
	var first bytes.Buffer
	require.NoError(t, ChartPDF(&first, c, SI, printedOn))
	for range 3 {
		var again bytes.Buffer
		require.NoError(t, ChartPDF(&again, c, SI, printedOn))
		require.True(t, bytes.Equal(first.Bytes(), again.Bytes()))
	}
}

func TestTooManyRowsForOnePageSaysHowManyFit(t *testing.T) {
	var temps []float64
	for i := range 40 {
		temps = append(temps, float64(i))
	}
	err := ChartPDF(io.Discard, chartOf(t, "polysulfide-b-2", temps, []float64{50}), SI, printedOn)
	require.Error(t, err)
	m := regexp.MustCompile(`^40 rows are too many for one page that can be read from 2 m: (\d+) fit`).FindStringSubmatch(err.Error())
	require.NotNil(t, m, err.Error())
	fit, _ := strconv.Atoi(m[1])
	assert.NoError(t, ChartPDF(io.Discard, chartOf(t, "polysulfide-b-2", temps[:fit], []float64{50}), SI, printedOn))
	assert.Error(t, ChartPDF(io.Discard, chartOf(t, "polysulfide-b-2", temps[:fit+3], []float64{50}), SI, printedOn))
}

func TestTooManyHumiditiesForOnePageIsRefused(t *testing.T) {
	err := ChartPDF(io.Discard, chartOf(t, "silicone-neutral", []float64{10, 20}, []float64{20, 30, 40, 50, 60, 70}), SI, printedOn)
	assert.ErrorContains(t, err, "6 humidities are too wide for one page")
}

func TestAShortProvenanceDoesNotHideWhatItAlsoRestsOn(t *testing.T) {
	assert.Equal(t, "read: 24 h; the rest: derived, memory.", inShort("read: 24 h; slope: derived; ceiling: memory"))
	assert.Equal(t, "common practice.", inShort("common practice"))
	assert.Equal(t, "assumed: 14 d (read; another product); the rest: memory.", inShort("assumed: 14 d (read; another product); slope: memory"))
	for _, c := range catalog.Builtin().All() {
		for _, s := range c.Sources() {
			for _, word := range []string{"memory", "assumed", "derived"} {
				if strings.Contains(s.From, word) {
					assert.Contains(t, inShort(s.From), word, s.From)
				}
			}
		}
	}
}

func TestLettersThatCannotBePrintedAreQuestionMarks(t *testing.T) {
	c := wallOf(t, "polysulfide-b-2")
	own := *c.Class
	own.Name = "Dichtstoff Łódź ≥ 2 h \U0001F600\x07"
	own.File = "/a/long/way/own.yaml"
	c.Class = &own
	_, words := pageOf(t, c, SI)
	assert.Contains(t, words, "Dichtstoff Łódź ≥ 2 h ??")
	assert.Contains(t, words, "Class from own.yaml.")
}

func TestWordsWithoutEndLeaveNoRoomAndSaySo(t *testing.T) {
	c := wallOf(t, "polysulfide-b-2")
	own := *c.Class
	own.Name = strings.Repeat("a very long name ", 400)
	c.Class = &own
	assert.ErrorContains(t, ChartPDF(io.Discard, c, SI, printedOn), "leave no room")
}
