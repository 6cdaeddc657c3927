package cure

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
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

// publishedFile holds values printed outside this project, or arithmetic on them,
// one per row; inputs are name=value pairs, lists are parted by semicolons.
const publishedFile = "../testdata/published/cure.csv"

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
	if got := strings.Join(records[0], ","); got != "quantity,inputs,value,tolerance,unit,source,how" {
		return nil, fmt.Errorf("header is %q", got)
	}
	var rows []publishedRow
	seen := map[string]bool{}
	for i, f := range records[1:] {
		row := publishedRow{line: i + 2, quantity: f[0], inputs: map[string]string{}, source: strings.TrimSpace(f[5]), how: strings.TrimSpace(f[6])}
		for _, in := range strings.Fields(f[1]) {
			name, value, _ := strings.Cut(in, "=")
			row.inputs[name] = value
		}
		if row.value, err = strconv.ParseFloat(f[2], 64); err != nil {
			return nil, fmt.Errorf("line %d: %w", row.line, err)
		}
		if row.tolerance, err = strconv.ParseFloat(f[3], 64); err != nil || row.tolerance <= 0 {
			return nil, fmt.Errorf("line %d: tolerance %q", row.line, f[3])
		}
		if row.source == "" || row.how == "" {
			return nil, fmt.Errorf("line %d: no source, or not said how it is known", row.line)
		}
		seen[row.quantity] = seen[row.quantity] || !strings.HasPrefix(row.how, "memory")
		rows = append(rows, row)
	}
	for q, ok := range seen {
		if !ok {
			return nil, fmt.Errorf("%s rests on memory alone", q)
		}
	}
	return rows, nil
}

func TestPublishedRowWithoutSourceIsRefused(t *testing.T) {
	head := "quantity,inputs,value,tolerance,unit,source,how\n"
	for text, want := range map[string]string{
		"q,a=1,2,0.1,h,,read":              "line 2: no source",
		"q,a=1,2,0.1,h,a book,":            "line 2: no source",
		"q,a=1,2,0,h,a book,read":          "line 2: tolerance",
		"q,a=1,2,0.1,h,a book,memory, low": "wrong number of fields",
		"q,a=1,2,0.1,h,a book,memory":      "q rests on memory alone",
	} {
		_, err := readPublished(strings.NewReader(head + text))
		assert.ErrorContains(t, err, want)
	}
	_, err := readPublished(strings.NewReader(head + "q,a=1,2,0.1,h,a book,memory\nq,a=2,2,0.1,h,a book,read"))
	assert.NoError(t, err)
}

// checks says how each quantity of the file is computed by this package.
var checks = map[string]func(*publishedRow) float64{
	"doubling":      checkDoubling,
	"equivalent":    checkEquivalent,
	"table":         checkTable,
	"q10 rms":       checkQ10Fit,
	"arrhenius rms": checkArrheniusFit,
	"arrhenius":     checkArrhenius,
	"q10":           checkQ10,
	"en1992":        checkEN1992,
	"ramp":          checkRamp,
	"mkt":           checkMeanKinetic,
	"front":         checkFront,
	"warming":       checkWarming,
	"refused":       checkRefused,
	"never":         checkNever,
	"line":          checkLine,
}

func TestPublishedValuesOfCure(t *testing.T) {
	f, err := os.Open(publishedFile)
	require.NoError(t, err)
	defer f.Close()
	rows, err := readPublished(f)
	require.NoError(t, err)
	used := map[string]bool{}
	for _, row := range rows {
		t.Run(fmt.Sprintf("line %d %s", row.line, row.quantity), func(t *testing.T) {
			check := checks[row.quantity]
			require.NotNil(t, check, "nothing computes %q", row.quantity)
			used[row.quantity] = true
			assert.InDelta(t, row.value, check(&row), row.tolerance, row.source)
		})
	}
	for q := range checks {
		assert.True(t, used[q], "no row for %q", q)
	}
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

// plain is the likely time of a curve in constant air, in seconds, by way of a
// history that is long enough.
func plain(f Form, a Air, b Bead) float64 {
	s := Site{Air: Constant(a, t0, at(400)), Bead: b}
	r := must(s.Reach(only(&Curve{Form: f, Temp: wide}), Cured, Likely, t0))
	return r.At.Sub(t0).Seconds()
}

func checkDoubling(r *publishedRow) float64 {
	s := plain(Doubling{r.temp("ref"), r.dur("time"), r.step("step")}, Air{r.temp("at"), 50}, Bead{})
	if strings.HasSuffix(r.text("time"), "min") {
		return s / 60
	}
	return s / hour
}

func checkEquivalent(r *publishedRow) float64 {
	temps, times := r.pairs("spells")
	var s []Sample
	u, end := t0, t0
	for i, c := range temps {
		end = u.Add(time.Duration(times[i] * float64(time.Second)))
		s = append(s, Sample{u, Air{c, 50}}, Sample{end.Add(-time.Nanosecond), Air{c, 50}})
		u = end
	}
	s = append(s, Sample{end, Air{temps[len(temps)-1], 50}})
	site := Site{Air: must(NewHistory([]Piece{{Name: "spells", Samples: s, Forecast: true}}, t0, end))}
	// A milestone of exactly the equivalent time is reached exactly at the end.
	form := Doubling{r.temp("ref"), r.value * hour, r.step("step")}
	reached := must(site.Reach(only(&Curve{Form: form, Temp: wide}), Cured, Likely, t0))
	if reached.Never || end.Sub(reached.At).Abs() > time.Millisecond {
		return math.NaN()
	}
	return must(site.Progress(only(&Curve{Form: form, Temp: wide}), Cured, Likely)).Between(t0, end) * r.value
}

func checkTable(r *publishedRow) float64 {
	return plain(r.table(), Air{r.temp("at"), 50}, Bead{}) / 60
}

func (r *publishedRow) table() *Table {
	temps, times := r.pairs("points")
	var points []TablePoint
	for i := range temps {
		points = append(points, TablePoint{TempC: temps[i], Time: times[i]})
	}
	return must(NewTable(points, Air{TempC: r.temp("ref")}))
}

// rms is the scatter of a one-slope curve about the points, in %: its level is set
// to the points' mean of ln t.
func (r *publishedRow) rms(of func(time float64) Form) float64 {
	temps, times := r.pairs("points")
	var mean float64
	for i := range temps {
		mean += math.Log(times[i]/plain(of(60), Air{temps[i], 50}, Bead{})) / float64(len(temps))
	}
	var sum float64
	for i := range temps {
		d := math.Log(times[i] / plain(of(60*math.Exp(mean)), Air{temps[i], 50}, Bead{}))
		sum += d * d / float64(len(temps))
	}
	return 100 * math.Sqrt(sum)
}

func checkQ10Fit(r *publishedRow) float64 {
	return r.rms(func(s float64) Form { return Doubling{15, s, 10 * math.Ln2 / math.Log(r.num("q10"))} })
}

func checkArrheniusFit(r *publishedRow) float64 {
	return r.rms(func(s float64) Form { return Arrhenius{15, s, 1000 * r.num("ea")} })
}

func checkArrhenius(r *publishedRow) float64 {
	ea := 0.0
	switch {
	case r.inputs["ea_ev"] != "":
		ea = r.num("ea_ev") / r.num("k") * GasConstant
	case r.inputs["r"] != "":
		ea = 1000 * r.num("ea") * GasConstant / r.num("r")
	default:
		ea = 1000 * r.num("ea")
	}
	f := Arrhenius{r.temp("from"), hour, ea}
	return f.Seconds(r.temp("from"), 0, 0, Bead{}) / f.Seconds(r.temp("to"), 0, 0, Bead{})
}

func checkQ10(r *publishedRow) float64 {
	f := Doubling{r.temp("from"), hour, 10 * math.Ln2 / math.Log(r.num("q10"))}
	return f.Seconds(r.temp("from"), 0, 0, Bead{}) / f.Seconds(r.temp("to"), 0, 0, Bead{})
}

func (r *publishedRow) list(name string) (out []float64) {
	for _, s := range strings.Split(r.text(name), ";") {
		out = append(out, must(strconv.ParseFloat(s, 64)))
	}
	return out
}

// The standard counts kelvin as 273 + T: every temperature is fed 0.15 °C lower.
func checkEN1992(r *publishedRow) float64 {
	temps, days := r.list("temps"), r.list("days")
	var s []Sample
	u := t0
	for i, c := range temps {
		s = append(s, Sample{u, Air{c - 0.15, 50}})
		u = u.Add(time.Duration(days[i] * 24 * float64(time.Hour)))
		s = append(s, Sample{u.Add(-time.Nanosecond), Air{c - 0.15, 50}})
	}
	site := Site{Air: must(NewHistory([]Piece{{Name: "curing", Samples: s, Forecast: true}}, t0, u.Add(-time.Nanosecond)))}
	form := Arrhenius{20 - 0.15, 86400 * math.Exp(4000/293.0-13.65), 4000 * GasConstant}
	return must(site.Progress(only(&Curve{Form: form, Temp: wide}), Cured, Likely)).Between(t0, u)
}

func ramp(fromC, toC, h float64) Site {
	s := []Sample{{t0, Air{fromC, 50}}, {at(h), Air{toC, 50}}}
	return Site{Air: must(NewHistory([]Piece{{Name: "ramp", Samples: s, Forecast: true}}, t0, at(h)))}
}

func checkRamp(r *publishedRow) float64 {
	h := r.num("h")
	site := ramp(r.num("from")-kelvin, r.num("to")-kelvin, h)
	c := &Curve{Form: Arrhenius{r.num("ref") - kelvin, hour, r.num("q") * GasConstant}, Temp: wide}
	return must(site.Progress(only(c), Cured, Likely)).Between(t0, at(h))
}

// checkMeanKinetic turns mean progress back into the one temperature that gives it.
func checkMeanKinetic(r *publishedRow) float64 {
	q := r.num("dh_over_r")
	form := Arrhenius{20, hour, q * GasConstant}
	progress := 0.0 // per hour
	if r.inputs["steps"] != "" {
		steps := strings.Split(r.text("steps"), ";")
		for _, s := range steps {
			progress += hour / form.Seconds(must(quantity.Temp(s)), 0, 0, Bead{}) / float64(len(steps))
		}
	} else {
		site := ramp(r.temp("from"), r.temp("to"), 10)
		progress = must(site.Progress(only(&Curve{Form: form, Temp: wide}), Cured, Likely)).Between(t0, at(10)) / 10
	}
	return 1/(1/(20+kelvin)-math.Log(progress)/q) - kelvin
}

var acetoxy = Front{Ref: Air{25, 50}, Time: 24 * hour, DepthMM: 2}

func checkFront(r *publishedRow) float64 {
	return plain(acetoxy, Air{r.temp("at"), r.num("rh")}, Bead{DepthMM: r.num("depth")}) / hour
}

// checkWarming looks up by halving when a part has come as warm as the row says.
func checkWarming(r *publishedRow) float64 {
	tau := r.num("rho") * r.num("c") * r.num("lc") / r.num("h")
	site := Site{
		Air:  Constant(Air{r.temp("air"), 1}, t0, at(1)),
		Part: Part{Tau: time.Duration(tau * float64(time.Second)), AtC: r.temp("from")},
	}
	lo, hi := 0.0, hour
	for hi-lo > 1e-6 {
		m := (lo + hi) / 2
		if site.PartAt(at(m/hour), Likely) < r.temp("to") {
			lo = m
		} else {
			hi = m
		}
	}
	return hi
}

// checkRefused gives the greatest depth that is answered when the row's is refused.
func checkRefused(r *publishedRow) float64 {
	cl := only(&Curve{Form: acetoxy, Temp: wide, MaxDepth: 6})
	var out *RangeError
	site := Site{Air: constant(25, 50, 1), Bead: Bead{DepthMM: r.num("depth")}}
	_, err := site.Reach(cl, Cured, NotBefore, t0)
	_, err2 := cl.Steady(Cured, NotBefore, Steady{Air: Air{25, 50}, PotC: 25, PartC: 25, Bead: site.Bead})
	if !errors.As(err, &out) || !errors.As(err2, &out) {
		return math.NaN()
	}
	site.Bead.DepthMM = cl.Curves[Cured].MaxDepth
	must(site.Reach(cl, Cured, NotBefore, t0))
	return site.Bead.DepthMM
}

// checkNever gives the progress of the plain curve after two years in hot dry air.
func checkNever(r *publishedRow) float64 {
	site := Site{Air: Constant(Air{40, r.num("rh")}, t0, at(20000)), Bead: Bead{DepthMM: 0.1}}
	cl := only(&Curve{Form: acetoxy, Temp: wide})
	line, likely := must(site.Reach(cl, Cured, NotBefore, t0)), must(site.Reach(cl, Cured, Likely, t0))
	if !line.Never || !likely.Never {
		return math.NaN()
	}
	return line.Progress + likely.Progress
}

// checkLine gives the hours after mixing that the application line of a B-2 lies at,
// which must be before the row's instant: torque then is refused.
func checkLine(r *publishedRow) float64 {
	cl := only(&Curve{Form: Doubling{must(quantity.Temp("77F")), 2 * hour, 10}, Temp: wide, States: Minimum})
	site := Site{Air: Constant(Air{r.temp("at"), 50}, t0, at(10))}
	got := must(site.Reach(cl, Assembly, NotAfter, t0))
	if at(r.dur("mixed") / hour).Before(got.At) {
		return math.NaN()
	}
	return hours(got.At)
}

func TestElastomerTripleIsExactAsATableAndMonotoneBetween(t *testing.T) {
	row := publishedRow{inputs: map[string]string{"points": "5C:20min;15C:15min;25C:10min", "ref": "25C"}}
	tab := row.table()
	temps := []float64{5, 10, 15, 20, 25}
	var got []float64
	for _, c := range temps {
		got = append(got, tab.Seconds(c, 0, 0, Bead{})/60)
	}
	assert.True(t, slices.IsSortedFunc(got, func(a, b float64) int { return -int(math.Copysign(1, a-b)) }), "%v", got)
	assert.InDelta(t, 20, got[0], 1e-12)
	assert.InDelta(t, 15, got[2], 1e-12)
	assert.InDelta(t, 10, got[4], 1e-12)
}
