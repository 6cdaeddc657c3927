package main

import (
	"bytes"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"beadline/catalog"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"
	"beadline/cure/quantity"

	"github.com/spf13/pflag"
)

// chartFlags are the flags of `times` for a chart on the wall and for a sensitivity.
type chartFlags struct {
	step, out          string
	sensitivity, force bool
	all                *pflag.FlagSet // every flag of times, to see what was said
}

func (x *chartFlags) add(fl *pflag.FlagSet) {
	x.all = fl
	fl.StringVar(&x.step, "step", "", "step between the rows of a chart, such as 5C or 9F (default: 5C)")
	fl.StringVar(&x.out, "out", "", "write the chart to a file: .pdf, .csv, .json or .txt")
	fl.BoolVar(&x.force, "force", false, "let --out replace a file")
	fl.BoolVar(&x.sensitivity, "sensitivity", false, "what small changes of the air do to each line")
}

// The bounds of a chart: more rows or columns nobody finds their way in.
const (
	mostRows       = 40
	mostHumidities = 6
	usualStepC     = 5.0
)

// charted reports a question for a whole chart: a range of temperatures or several
// humidities.
func (f timesFlags) charted() bool {
	return strings.Contains(f.temp, "..") || strings.Contains(f.rh, ",")
}

// oneAnswer refuses the flags of a chart where one answer is asked for, and those that
// a sensitivity has no use for.
func (f timesFlags) oneAnswer() error {
	switch {
	case f.step != "":
		return usagef("--step %s: only a chart has steps: write --temp 10C..35C", f.step)
	case f.force:
		return usagef("--force: there is no --out to replace: leave it out")
	case f.out != "":
		return usagef("--out %s: only a chart is written to a file: write --temp 10C..35C", f.out)
	}
	if plot := f.all.Lookup("plot"); f.sensitivity && plot != nil && plot.Changed {
		return usagef("--plot %s: a sensitivity has no picture: leave out --plot or --sensitivity", plot.Value)
	}
	return nil
}

// notOfAChart are the flags of times that say nothing about a chart, and why.
var notOfAChart = map[string]string{
	"part":        "in each row of a chart the part is as warm as the air",
	"from":        "a chart has spans of time, not instants",
	"laid":        "a chart has spans of time, not instants",
	"air":         "a chart is of constant air",
	"extrapolate": "what lies outside a curve's range does not go on a wall",
	"sensitivity": "a sensitivity is of one temperature and humidity",
	"plot":        "a chart is a table",
}

// ofAChart are the flags of times that a chart heeds, and those of every command.
var ofAChart = []string{"temp", "rh", "step", "out", "force", "pot", "oven", "bead", "faces", "seal", "format", "units", "at", "zone", "catalog", "help"}

// onlyOfAChart refuses what a chart would take in silence and not use.
func (f timesFlags) onlyOfAChart() (err error) {
	f.all.Visit(func(flag *pflag.Flag) {
		if err != nil || slices.Contains(ofAChart, flag.Name) {
			return
		}
		why, ok := notOfAChart[flag.Name]
		if !ok {
			why = "a chart is of constant air, and nothing else is said of it"
		}
		err = usagef("--%s: %s: leave it out, or ask for one --temp and one --rh", flag.Name, why)
	})
	return err
}

// chart answers a question for a chart, on the screen or into a file.
func (a *app) chart(cl *catalog.Class, f timesFlags) error {
	form, err := a.chartForm(f.out)
	if err != nil {
		return err
	}
	q, err := f.chartQuestion(cl)
	if err != nil {
		return err
	}
	c, err := desk.AskChart(q)
	if err != nil {
		return a.plainly(err)
	}
	if f.out == "" {
		return a.write(forms{
			text: func(w io.Writer) error { return show.Chart(w, c, a.inUnits()) },
			json: func(w io.Writer) error { return show.ChartJSON(w, c) },
			csv:  func(w io.Writer) error { return show.ChartCSV(w, c) },
		})
	}
	return a.chartFile(f.out, form, f.force, c)
}

// plainly puts what the physics says into the reader's units.
func (a *app) plainly(err error) error {
	var no *desk.Refusal
	if errors.As(err, &no) {
		return errors.New(a.inUnits().Text(no.Error()))
	}
	return err
}

// chartForm is the form that the ending of a file names.
func (a *app) chartForm(out string) (string, error) {
	if out == "" {
		return "", nil
	}
	form := strings.ToLower(strings.TrimPrefix(filepath.Ext(out), "."))
	if form == "txt" {
		form = "text"
	}
	switch {
	case !slices.Contains([]string{"pdf", "csv", "json", "text"}, form) || filepath.Ext(out) == ".text":
		return "", usagef("--out %s: end its name in .pdf, .csv, .json or .txt: that says what to write", out)
	case a.format != "text" && a.format != form:
		return "", usagef("--format %s --out %s: the name of the file says what to write: leave out --format", a.format, out)
	}
	return form, nil
}

// chartFile writes a chart into a file, whole or not at all. A file of that name is
// replaced: it is the one that was named.
func (a *app) chartFile(file, form string, force bool, c *desk.Chart) error {
	now, err := a.now()
	if err != nil {
		return err
	}
	var b bytes.Buffer
	switch form {
	case "pdf":
		if err := show.ChartPDF(&b, c, a.inUnits(), now); err != nil {
			return usagef("--out %s: %w", file, err)
		}
	case "csv":
		err = show.ChartCSV(&b, c)
	case "json":
		err = show.ChartJSON(&b, c)
	default:
		err = show.Chart(&b, c, a.inUnits())
	}
	if err != nil {
		return err
	}
	if _, err := os.Stat(file); err == nil && !force {
		return usagef("--out %s: there is a file already: name another, or say --force to replace it", file)
	}
	if err := writeWhole(file, b.Bytes()); err != nil {
		return usagef("--out %w", err)
	}
	a.note("the chart is in " + file)
	return nil
}

// chartQuestion turns the words of the command line into a question for a chart.
func (f timesFlags) chartQuestion(cl *catalog.Class) (q desk.ChartQuestion, err error) {
	if err := f.onlyOfAChart(); err != nil {
		return q, err
	}
	q.Class, q.PotC = cl, math.NaN()
	if q.TempsC, err = f.chartTemps(); err != nil {
		return q, err
	}
	if q.RHs, err = chartHumidities(f.rh); err != nil {
		return q, err
	}
	if q.RHs == nil {
		if why := desk.NeedsHumidity(cl); why != "" {
			return q, usagef("a chart needs the humidity: --rh 30,50,80: %s", why)
		}
	}
	if f.pot != "" {
		if q.PotC, err = f.readAirTemp("pot", f.pot); err != nil {
			return q, err
		}
	}
	one := desk.TimesQuestion{Class: cl}
	err = f.readBead(&one)
	q.Bead, q.Seal = one.Bead, one.Seal
	return q, err
}

// chartTemps are the temperatures of the rows, in °C: both ends of the range, and the
// steps between them from the lower one on.
func (f timesFlags) chartTemps() ([]float64, error) {
	temp, step := f.temp, f.step
	if temp == "" {
		return nil, usagef("a chart needs the temperatures: --temp 10C..35C")
	}
	if !strings.Contains(temp, "..") {
		if step != "" {
			return nil, usagef("--step %s: one temperature has no steps: write --temp 10C..35C", step)
		}
		c, err := f.readAirTemp("temp", temp)
		return []float64{c}, err
	}
	r, err := quantity.TempRange(temp)
	switch {
	case err != nil:
		return nil, usagef("--temp %w", err)
	case r.Lo < coldestC || r.Hi > hottestC:
		return nil, usagef("--temp %s: no hangar, pot or part has those temperatures: check the numbers and their unit", temp)
	}
	if err := f.plausible("temp", temp, r.Lo); err != nil {
		return nil, err
	}
	by := usualStepC
	if step != "" {
		if by, err = quantity.TempStep(step); err != nil {
			return nil, usagef("--step %w", err)
		}
		if by == 0 {
			return nil, usagef("--step %s: the rows of a chart lie apart: write it like 5C or 10F", step)
		}
	}
	return rowsOf(r, by, temp)
}

func rowsOf(r quantity.Range, by float64, temp string) ([]float64, error) {
	const near = 1e-6 // °C: what a conversion from °F may leave
	if n := math.Ceil((r.Hi-r.Lo-near)/by) + 1; n > mostRows {
		k, unit := 1.0, "C"
		if strings.HasSuffix(strings.TrimSpace(temp), "F") {
			k, unit = 9./5, "F"
		}
		least := math.Ceil((r.Hi-r.Lo)*k/(mostRows-1)*10) / 10
		return nil, usagef("--temp %s: that makes %.0f rows, and a chart has at most %d: write --step %s%s or more, or a shorter range",
			temp, n, mostRows, strconv.FormatFloat(least, 'f', -1, 64), unit)
	}
	var all []float64
	for i := 0; ; i++ {
		c := r.Lo + float64(i)*by
		if c > r.Hi-near {
			return append(all, r.Hi), nil
		}
		all = append(all, c)
	}
}

// chartHumidities reads 30,50,80 and sorts it. Nothing said is nil.
func chartHumidities(rh string) ([]float64, error) {
	if rh == "" {
		return nil, nil
	}
	var all []float64
	for part := range strings.SplitSeq(rh, ",") {
		v, err := quantity.Humidity(part)
		switch {
		case strings.TrimSpace(part) == "":
			return nil, usagef("--rh %s: a humidity is missing: write it like 30,50,80", rh)
		case err != nil:
			return nil, usagef("--rh %w", err)
		case slices.Contains(all, v):
			return nil, usagef("--rh %s: %s stands there twice", rh, strings.TrimSpace(part))
		}
		all = append(all, v)
	}
	if len(all) > mostHumidities {
		return nil, usagef("--rh %s: a chart has at most %d humidities", rh, mostHumidities)
	}
	slices.Sort(all)
	return all, nil
}

// sensitivity answers what small changes do to the lines of a question.
func (a *app) sensitivity(q desk.TimesQuestion) error {
	s, err := desk.AskSensitivity(q)
	if err != nil {
		return a.plainly(err)
	}
	err = a.write(forms{
		text: func(w io.Writer) error { return show.Sensitivity(w, s, a.inUnits()) },
		json: func(w io.Writer) error { return show.SensitivityJSON(w, s) },
		csv:  func(w io.Writer) error { return show.SensitivityCSV(w, s) },
	})
	if err != nil || len(s.Base.Stops) == 0 {
		return err
	}
	if a.format == "csv" { // its lines have no place for this
		for _, stop := range s.Base.Stops {
			a.note(a.inUnits().Text(stop))
		}
	}
	return answer(exitHold)
}
