package cure

import (
	"encoding/csv"
	"fmt"
	"io"
	"maps"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/cure/quantity"
)

// publishedFolder holds values printed outside this project, or arithmetic on them,
// one per row; inputs are name=value pairs, lists are parted by semicolons.
const publishedFolder = "../testdata/published"

type publishedRow struct {
	line             int
	quantity         string
	inputs           map[string]string
	value, tolerance float64
	source, how      string
}

// readPublished reads the rows. A row that does not say its source and how it is
// known is an error, as is a tolerance of zero or less, and a quantity that rests
// on memory alone.
func readPublished(r io.Reader) ([]publishedRow, error) {
	records, err := csv.NewReader(r).ReadAll()
	if err != nil {
		return nil, err
	}
	if err := sourced(records); err != nil {
		return nil, err
	}
	if got := strings.Join(records[0], ","); got != "quantity,inputs,value,tolerance,unit,source,how" {
		return nil, fmt.Errorf("header is %q", got)
	}
	var rows []publishedRow
	for i, f := range records[1:] {
		row := publishedRow{line: i + 2, quantity: f[0], inputs: map[string]string{}, source: strings.TrimSpace(f[5]), how: strings.TrimSpace(f[6])}
		for _, in := range strings.Fields(f[1]) {
			name, value, _ := strings.Cut(in, "=")
			row.inputs[name] = value
		}
		if row.value, err = strconv.ParseFloat(f[2], 64); err != nil || row.value-row.value != 0 {
			return nil, fmt.Errorf("line %d: value %q", row.line, f[2])
		}
		if row.tolerance, err = strconv.ParseFloat(f[3], 64); err != nil || !positive(row.tolerance) {
			return nil, fmt.Errorf("line %d: tolerance %q", row.line, f[3])
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// check is how this package computes one quantity of a published file, from the real
// types and questions that the program asks. Its comment says why the rows of that
// quantity have the tolerances that they have.
type check func(*publishedRow) float64

// holdTo holds every row of a published file to the checks. A check without a row
// means that rows were lost.
func holdTo(t *testing.T, file string, checks map[string]check) {
	f, err := os.Open(publishedFolder + "/" + file)
	require.NoError(t, err)
	defer f.Close()
	rows, err := readPublished(f)
	require.NoError(t, err)
	unused := maps.Clone(checks)
	for _, row := range rows {
		t.Run(fmt.Sprintf("line %d %s", row.line, row.quantity), func(t *testing.T) {
			check := checks[row.quantity]
			require.NotNil(t, check, "nothing computes %q", row.quantity)
			delete(unused, row.quantity)
			assert.InDelta(t, row.value, check(&row), row.tolerance, row.source)
		})
	}
	assert.Empty(t, slices.Sorted(maps.Keys(unused)), "no row for these")
}

func TestPublishedValuesOfCure(t *testing.T) {
	holdTo(t, "cure.csv", map[string]check{
		// published_curve_test.go
		"doubling":      checkDoubling,
		"q10 rule":      checkQ10Rule,
		"equivalent":    checkEquivalent,
		"table":         checkTable,
		"q10 rms":       checkQ10Fit,
		"arrhenius rms": checkArrheniusFit,
		"arrhenius":     checkArrhenius,
		"drop":          checkDrop,
		"q10":           checkQ10,
		"aged":          checkAged,
		"en1992":        checkEN1992,
		"ramp":          checkRamp,
		"front":         checkFront,
		"front depth":   checkFrontDepth,
		// published_site_test.go
		"celsius":       checkCelsius,
		"warming":       checkWarming,
		"warming rate":  checkWarmingRate,
		"time constant": checkTimeConstant,
		"ceiling":       checkCeiling,
		"local day":     checkLocalDay,
		"line":          checkLine,
		"never":         checkNever,
		"refused":       checkRefused,
		"gap refused":   checkGap,
		"laying":        checkLaying,
		"window":        checkWindow,
	})
}

func TestPublishedRowWithoutSourceIsRefused(t *testing.T) {
	head := "quantity,inputs,value,tolerance,unit,source,how\n"
	for text, want := range map[string]string{
		"q,a=1,2,0.1,h,,read":              "line 2: no source",
		"q,a=1,2,0.1,h, ,read":             "line 2: no source",
		"q,a=1,2,0.1,h,a book,":            "line 2: it is not said how it is known",
		"q,a=1,2,0,h,a book,read":          "line 2: tolerance",
		"q,a=1,2,NaN,h,a book,read":        "line 2: tolerance",
		"q,a=1,two,1,h,a book,read":        "line 2: value",
		"q,a=1,NaN,1,h,a book,read":        "line 2: value",
		"q,a=1,2,0.1,h,a book,memory, low": "wrong number of fields",
		"q,a=1,2,0.1,h,a book,memory":      "q rests on memory alone",
		",a=1,2,0.1,h,a book,read":         "line 2: no quantity",
	} {
		_, err := readPublished(strings.NewReader(head + text))
		assert.ErrorContains(t, err, want)
	}
	_, err := readPublished(strings.NewReader(head + "q,a=1,2,0.1,h,a book,memory\nq,a=2,2,0.1,h,a book,read"))
	assert.NoError(t, err)
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func (r *publishedRow) text(name string) string {
	s, ok := r.inputs[name]
	if !ok {
		panic(fmt.Sprintf("line %d: no input %q", r.line, name))
	}
	return s
}

func (r *publishedRow) num(name string) float64 {
	return must(strconv.ParseFloat(r.text(name), 64))
}
func (r *publishedRow) temp(name string) float64 { return must(quantity.Temp(r.text(name))) }
func (r *publishedRow) step(name string) float64 { return must(quantity.TempStep(r.text(name))) }
func (r *publishedRow) dur(name string) float64 {
	return must(time.ParseDuration(strings.ReplaceAll(r.text(name), "min", "m"))).Seconds()
}

// pairs reads temperature:time;temperature:time, °C and seconds.
func (r *publishedRow) pairs(name string) (temps, times []float64) {
	for _, p := range strings.Split(r.text(name), ";") {
		a, b, _ := strings.Cut(p, ":")
		temps = append(temps, must(quantity.Temp(a)))
		times = append(times, must(time.ParseDuration(strings.ReplaceAll(b, "min", "m"))).Seconds())
	}
	return temps, times
}

func (r *publishedRow) list(name string) (out []float64) {
	for _, s := range strings.Split(r.text(name), ";") {
		out = append(out, must(strconv.ParseFloat(s, 64)))
	}
	return out
}
