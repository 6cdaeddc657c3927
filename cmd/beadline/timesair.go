package main

import (
	"strings"
	"unicode"

	"beadline/cmd/beadline/desk"

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
