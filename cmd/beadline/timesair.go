package main

import (
	"fmt"
	"math"
	"strings"
	"time"
	"unicode"

	"beadline/cmd/beadline/desk"
	"beadline/cure"
	"beadline/cure/quantity"

	"github.com/spf13/pflag"
)

// airFlags are the flags of `times` for air that changes, a part that follows it and
// what warms the joint, as written.
type airFlags struct {
	air, forecast       []string
	swing, warmest, dew string
	then, margin        string
	warmsIn, warmTo     string
	heat, heatFrom      string
	oven                bool
}

func (x *airFlags) add(fl *pflag.FlagSet) {
	fl.StringArrayVar(&x.air, "air", nil, "air log, a CSV file; repeat it for more, in order of time")
	fl.StringArrayVar(&x.forecast, "forecast", nil, "forecast of the air, a CSV file with the columns of a log")
	fl.StringVar(&x.swing, "swing", "", "night and day expected behind the logs, such as 9C..16C")
	fl.StringVar(&x.warmest, "warmest", "", "time of day the swing is warmest (default: 15:00)")
	fl.StringVar(&x.dew, "dew", "", "dew point of the air in the swing, such as 6C; or say --rh")
	fl.StringVar(&x.then, "then", "", "constant air expected behind the logs, such as 18C, with --rh")
	fl.StringVar(&x.margin, "margin", "", "doubt in air that is expected (default: 2C)")
	fl.StringVar(&x.warmsIn, "warms-in", "", "time in which the part follows the air by 63 %, such as 3h")
	fl.StringVar(&x.warmTo, "warm-to", "", "the structure is warmed to this before sealing, such as 20C")
	fl.StringVar(&x.heat, "heat", "", "warm air or a lamp at the joint for cure, such as 40C")
	fl.StringVar(&x.heatFrom, "heat-from", "", "when that heat comes on, such as 2027-03-08T10:00")
	fl.BoolVar(&x.oven, "oven", false, "the air really is hotter than any hangar: do not ask")
}

// changes reports air that is not constant.
func (x airFlags) changes() bool { return len(x.air)+len(x.forecast) > 0 || x.swing != "" }

// warms names the first flag by which the part is not simply as warm as it is said to
// be, with its value; "" if there is none.
func (x airFlags) warms() string {
	for _, f := range [][2]string{{"--warms-in", x.warmsIn}, {"--warm-to", x.warmTo}, {"--heat", x.heat}} {
		if f[1] != "" {
			return f[0] + " " + f[1]
		}
	}
	return ""
}

// source is the flag that the changing air comes from, and what it is.
func (x airFlags) source() (flag, what string) {
	switch {
	case len(x.air) > 0:
		return "--air " + x.air[0], "log"
	case len(x.forecast) > 0:
		return "--forecast " + x.forecast[0], "forecast"
	}
	return "--swing " + x.swing, "swing"
}

// conflicts refuses flags that do not go together.
func (f timesFlags) conflicts(*desk.TimesQuestion) error {
	for _, check := range []func() error{f.printable, f.airGiven, f.airOnce, f.swingWhole, f.partFollows} {
		if err := check(); err != nil {
			return err
		}
	}
	return nil
}

// printable refuses what would break a message into lines.
func (f timesFlags) printable() error {
	for _, v := range [][2]string{
		{"swing", f.swing}, {"warmest", f.warmest}, {"dew", f.dew}, {"then", f.then}, {"margin", f.margin},
		{"warms-in", f.warmsIn}, {"warm-to", f.warmTo}, {"heat", f.heat}, {"heat-from", f.heatFrom},
	} {
		if strings.ContainsFunc(v[1], unicode.IsControl) {
			return usagef("--%s %q: it holds a line break or a character that does not print: write it in one line", v[0], v[1])
		}
	}
	return nil
}

// airGiven refuses a question without air.
func (f timesFlags) airGiven() error {
	switch {
	case f.temp != "" || f.changes():
		return nil
	case f.then != "":
		return usagef("--then %s: it is the air behind a log: name one with --air, or write --temp %s", f.then, f.then)
	}
	return usagef("times needs the air: --temp 18C --rh 45, or --air LOG.csv --from TIME, or --swing 9C..16C --dew 6C --from TIME")
}

// airOnce refuses air that is said twice, and air over time without a start.
func (f timesFlags) airOnce() error {
	if !f.changes() {
		switch {
		case f.then != "":
			return usagef("--then %s: it is the air behind a log, and --temp %s goes on for ever: leave out one of them", f.then, f.temp)
		case f.margin != "":
			return usagef("--margin %s: constant air is taken as it is said: leave it out", f.margin)
		}
		return nil
	}
	flag, what := f.source()
	var both []string
	for _, x := range []struct {
		name string
		set  bool
	}{{"temp", f.temp != ""}, {"rh", f.rh != "" && f.swing == "" && f.then == ""}, {"extrapolate", f.extrapolate}} {
		if x.set {
			both = append(both, x.name)
		}
	}
	switch {
	case both != nil:
		return usagef("%s: the %s says what the air is, so leave out %s", flag, what, flagNames(both))
	case f.from == "" && what == "swing":
		return usagef("%s: say when mixing starts: --from 2027-03-08T07:00", flag)
	case f.from == "":
		return usagef("%s: say when mixing starts: --from 2027-03-08T07:00, a moment within the %s", flag, what)
	}
	return nil
}

// swingWhole refuses half a swing, and what belongs to one where there is none.
func (f timesFlags) swingWhole() error {
	switch {
	case f.swing == "" && f.warmest != "":
		return usagef("--warmest %s: it belongs to a night and day: --swing 9C..16C", f.warmest)
	case f.swing == "" && f.dew != "":
		return usagef("--dew %s: it belongs to a night and day: --swing 9C..16C", f.dew)
	case f.then != "" && f.swing != "":
		return usagef("--then %s: nothing follows a swing, which goes on for ever: leave out one of them", f.then)
	case f.then != "" && f.rh == "":
		return usagef("--then %s: say its humidity too: --rh 45", f.then)
	case f.swing != "" && f.dew != "" && f.rh != "":
		return usagef("--dew %s and --rh %s: the moisture of the swing is said twice: leave out one of them", f.dew, f.rh)
	case f.swing != "" && f.dew == "" && f.rh == "":
		return usagef("--swing %s: say the moisture of the air: --dew 6C, or --rh 70 where that holds night and day", f.swing)
	}
	return nil
}

// partFollows refuses a part and warmth that nothing can be counted with.
func (f timesFlags) partFollows() error {
	warms := f.warms()
	switch {
	case f.changes() && f.part != "" && f.warmsIn == "":
		return usagef("--part %s: in air that changes say too how the structure follows it: --warms-in 3h", f.part)
	case (f.heat == "") != (f.heatFrom == ""):
		if f.heat == "" {
			return usagef("--heat-from %s: say how hot: --heat 40C", f.heatFrom)
		}
		return usagef("--heat %s: say when it comes on: --heat-from 2027-03-08T10:00", f.heat)
	case warms != "" && f.from == "":
		return usagef("%s: say when mixing starts: --from 2027-03-08T07:00", warms)
	case warms != "" && f.extrapolate:
		return usagef("--extrapolate: it is for air and a part that do not change: leave it out, or %s", warms)
	case warms != "" && !f.changes() && f.rh == "":
		return usagef("%s: say the humidity of the air too: --rh 45: the dew point decides when you may seal", warms)
	case f.warmsIn == "" && f.part != "" && warms != "":
		return usagef("--part %s: say too how the structure follows the air: --warms-in 3h", f.part)
	}
	return nil
}

// readHistory reads air that changes, or constant air around a part that does.
func (a *app) readHistory(q *desk.TimesQuestion, f timesFlags) (err error) {
	if !f.changes() && f.warms() == "" {
		return nil
	}
	margin, err := f.readMargin(q)
	if err != nil {
		return err
	}
	if err := a.readFiles(q, f, margin); err != nil {
		return err
	}
	switch {
	case f.swing != "":
		err = a.readSwing(q, f, margin)
	case f.then != "":
		p := cure.Piece{Constant: &cure.Air{}, Forecast: true, Margin: margin}
		if p.Constant.TempC, err = f.readAirTemp("then", f.then); err == nil {
			p.Constant.RH, err = readRH(f.rh)
		}
		p.Name = fmt.Sprintf("constant air of %g C", p.Constant.TempC)
		q.Pieces = append(q.Pieces, p)
	case !f.changes():
		q.Pieces = []cure.Piece{{Name: "constant air", Constant: &cure.Air{TempC: q.Air.TempC, RH: q.Air.RH}}}
	}
	if err != nil {
		return err
	}
	return a.readWarmth(q, f)
}

// mostMarginC bounds the doubt in a forecast, °C: beyond it there is no forecast.
const mostMarginC = 20

func (f timesFlags) readMargin(q *desk.TimesQuestion) (float64, error) {
	if f.margin == "" {
		return cure.DefaultMargin, nil
	}
	q.MarginSaid = true
	m, err := quantity.TempStep(f.margin)
	if err == nil && m > mostMarginC {
		err = fmt.Errorf("%q: a forecast with more than %d °C of doubt says nothing: check the figure", f.margin, mostMarginC)
	}
	if err != nil {
		return 0, usagef("--margin %w", err)
	}
	return m, nil
}

// readFiles reads the logs and behind them the forecasts, each in order of time.
func (a *app) readFiles(q *desk.TimesQuestion, f timesFlags, margin float64) error {
	var zone *time.Location // local times are read in a zone that was named only
	if a.zone != "" {
		var err error
		if zone, err = a.location(); err != nil {
			return err
		}
	}
	var last *desk.Air // whose readings end last
	for _, kind := range []struct {
		flag  string
		names []string
	}{{"air", f.air}, {"forecast", f.forecast}} {
		var before *desk.Air
		for _, name := range kind.names {
			log, err := desk.ReadAir(name, zone)
			if err != nil {
				return err
			}
			if err := inOrder(kind.flag, log, before, last); err != nil {
				return err
			}
			p := log.Piece()
			p.Forecast, p.Margin = kind.flag == "forecast", margin
			q.Files, q.Pieces = append(q.Files, log), append(q.Pieces, p)
			before, last = log, log
		}
	}
	return nil
}

// inOrder refuses a file that begins before the one in front of it, and one that adds
// nothing to what is there.
func inOrder(flag string, log, before, last *desk.Air) error {
	const clock = "Mon 2 Jan 2006 15:04 MST"
	switch {
	case before != nil && log.First().Before(before.First()):
		return usagef("--%s %s begins %s, before %s in front of it, %s: name them in order of time",
			flag, log.Name, log.First().Format(clock), before.Name, before.First().Format(clock))
	case last != nil && !log.Last().After(last.Last()):
		return usagef("--%s %s ends %s, and %s in front of it goes on until %s: it adds nothing, so leave it out",
			flag, log.Name, log.Last().Format(clock), last.Name, last.Last().Format(clock))
	}
	return nil
}

// usualWarmest is when a night and day is warmest where nothing is said: common
// practice, no source.
const usualWarmest = "15:00"

func (a *app) readSwing(q *desk.TimesQuestion, f timesFlags, margin float64) error {
	r, err := quantity.TempRange(f.swing)
	if err != nil {
		return usagef("--swing %w", err)
	}
	if err := f.plausible("swing", f.swing, r.Lo, r.Hi); err != nil {
		return err
	}
	s := &cure.Swing{LowC: r.Lo, HighC: r.Hi, DewC: math.NaN()}
	if s.Zone, err = a.location(); err != nil {
		return err
	}
	warmest := f.warmest
	if warmest == "" {
		warmest = usualWarmest
		q.Taken = append(q.Taken, "The warmest time of day is taken as "+usualWarmest+": --warmest says another.")
	}
	if s.Warmest, err = timeOfDay(warmest); err != nil {
		return usagef("--warmest %w", err)
	}
	if f.dew == "" {
		s.RH, err = readRH(f.rh)
	} else if s.DewC, err = readTemp("dew", f.dew); err == nil && s.DewC > s.LowC {
		err = usagef("--dew %s: it lies above the low of the swing, %s, where water would fall out: give a dew point of at most that, or --rh", f.dew, a.inUnits().Temp(s.LowC))
	}
	if err != nil {
		return err
	}
	q.Pieces = append(q.Pieces, cure.Piece{Name: fmt.Sprintf("the swing %.4g to %.4g C", s.LowC, s.HighC), Swing: s, Forecast: true, Margin: margin})
	return nil
}

// timeOfDay reads a time on the clock such as 15:00.
func timeOfDay(s string) (time.Duration, error) {
	t, err := time.Parse("15:04", strings.TrimSpace(s))
	if err != nil {
		return 0, fmt.Errorf("%q: not a time of day: write it like 15:00", s)
	}
	return time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute, nil
}

// longestLag bounds how slowly a structure follows the air: beyond it, it is no
// structure but ground.
const longestLag = 30 * 24 * time.Hour

// readWarmth reads how the part follows the air and what warms the joint.
func (a *app) readWarmth(q *desk.TimesQuestion, f timesFlags) (err error) {
	q.Part.AtC = math.NaN()
	if f.warmsIn != "" {
		if q.Part.Tau, err = quantity.Span(f.warmsIn); err != nil {
			return usagef("--warms-in %w", err)
		}
		if q.Part.Tau < time.Second || q.Part.Tau > longestLag {
			return usagef("--warms-in %s: a structure follows the air in more than a second and less than 30 days: write it like 3h", f.warmsIn)
		}
	}
	if f.part != "" {
		if q.Part.AtC, err = readTemp("part", f.part); err != nil {
			return err
		}
		q.PartC = math.NaN() // it does not stay so
	}
	if f.warmTo != "" {
		q.Warmth.Warmed = true
		if q.Warmth.WarmedC, err = readTemp("warm-to", f.warmTo); err != nil {
			return err
		}
	}
	if f.heat == "" {
		return nil
	}
	return a.readHeat(q, f)
}

// readHeat reads heat for cure, and refuses what the class's own rule does not allow.
func (a *app) readHeat(q *desk.TimesQuestion, f timesFlags) (err error) {
	h := q.Class.Heat
	if h == nil {
		return usagef("--heat %s: class %s has no rule for heat: nothing says how hot it may get, or how soon: leave it out", f.heat, q.Class.ID)
	}
	w := &q.Warmth
	w.Heated = true
	if w.HeatC, err = readTemp("heat", f.heat); err != nil {
		return err
	}
	if w.HeatC > h.MaxC {
		return usagef("--heat %s: class %s may be heated to %s at most: write --heat %s", f.heat, q.Class.ID, a.inUnits().Temp(h.MaxC), flagTemp(h.MaxC))
	}
	if w.HeatFrom, err = a.moment("heat-from", f.heatFrom); err != nil {
		return err
	}
	laid := q.Laid
	if laid.IsZero() {
		laid = q.From
	}
	if soonest := laid.Add(h.After); w.HeatFrom.Before(soonest) {
		return usagef("--heat-from %s: class %s may be heated %s after the last sealant laid or fastener torqued (--laid) and not before: write --heat-from %s or later",
			f.heatFrom, q.Class.ID, quantity.FormatSpan(h.After), soonest.Add(time.Minute-1).Truncate(time.Minute).Format("2006-01-02T15:04"))
	}
	return nil
}

// flagTemp writes a temperature of c °C as a flag takes it.
func flagTemp(c float64) string { return fmt.Sprintf("%.4gC", c) }

// hotHangarC is the air temperature, in °C, above which a figure in °C is asked about:
// it is more likely °F. It is the limit that a whole log is asked about at (common
// practice, no source). hotHangarF is the most that such a figure can be in °F.
const hotHangarC, hotHangarF = 45, 140

// readAirTemp reads a temperature of air.
func (f timesFlags) readAirTemp(flag, text string) (float64, error) {
	c, err := readTemp(flag, text)
	if err != nil {
		return 0, err
	}
	return c, f.plausible(flag, text, c)
}

// plausible asks about air hotter than a hangar, unless --oven says that it is.
func (f timesFlags) plausible(flag, text string, temps ...float64) error {
	for _, c := range temps {
		if c < coldestC || c > hottestC {
			return noSuchTemp(flag, text)
		}
		if f.oven || c <= hotHangarC || c > hotHangarF || !strings.HasSuffix(strings.TrimSpace(text), "C") {
			continue
		}
		meant := strings.ReplaceAll(strings.ReplaceAll(text, "°", ""), "C", "F")
		return usagef("--%s %s: %.4g °C in a hangar? If it is °F (%.3g °C), write %s; if it is as hot as that, add --oven", flag, text, c, (c-32)*5/9, meant)
	}
	return nil
}
