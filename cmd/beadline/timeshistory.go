package main

import (
	"fmt"
	"math"
	"strings"
	"time"

	"beadline/cmd/beadline/desk"
	"beadline/cure"
	"beadline/cure/quantity"
)

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
		if r := q.Class.Apply.Part; !r.IsZero() && !r.Contains(q.Warmth.WarmedC) {
			return usagef("--warm-to %s: class %s is laid on a part of %s: warm it to that", f.warmTo, q.Class.ID, a.inUnits().Temps(r))
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
