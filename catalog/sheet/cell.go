package sheet

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode"

	"beadline/cure"
	"beadline/cure/nearest"
	"beadline/cure/quantity"
)

// What a sheet may sensibly say. The bounds are wide (assumed): they catch a slip of
// unit, not a poor product.
const (
	coldest, hottest  = -60, 250 // °C
	shortest          = time.Second
	longestOpen       = 90 * 24 * time.Hour
	longestCure       = 365 * 24 * time.Hour
	thinnest, deepest = 0.05, 100 // mm
	maxSource         = 200       // letters
)

var (
	commaPattern = regexp.MustCompile(`^[-+]?\d+,\d+\s*\D*$`)
	rangePattern = regexp.MustCompile(`\d\s*(-|–|to|\.\.)\s*\d`)
)

// set reads one cell into the row.
func (r *Row) set(c column, cell string) (err error) {
	empty := strings.Trim(cell, "-–—") == ""
	switch c {
	case colMilestone:
		return r.setMilestone(cell)
	case colSource:
		return r.setSource(cell)
	case colStates:
		return r.setStates(cell, empty)
	}
	if empty {
		if c == colRH || c == colBead {
			return nil
		}
		return errors.New("nothing is written: write it like " + map[column]string{colTemp: "25C or 77F", colTime: "20min or 2h"}[c])
	}
	switch {
	case commaPattern.MatchString(cell) && !strings.HasPrefix(cell, "P"):
		return fmt.Errorf("%s: write decimals with a point, like 1.5", quoted(cell))
	case rangePattern.MatchString(cell) && !strings.HasPrefix(cell, "P"):
		return fmt.Errorf("%s: one value is wanted: give each end a row of its own", quoted(cell))
	}
	switch c {
	case colTemp:
		if r.TempC, err = quantity.Temp(cell); err == nil {
			r.Temp = tempText(r.TempC, strings.HasSuffix(cell, "F"))
		}
	case colRH:
		r.RH, err = humidity(cell)
	case colBead:
		r.BeadMM, err = quantity.Length(cell)
	case colTime:
		var d time.Duration
		d, err = quantity.Span(cell)
		r.Seconds, r.Time = d.Seconds(), strings.Join(strings.Fields(cell), " ")
	}
	return err
}

func (r *Row) setMilestone(cell string) error {
	m, ok := milestoneNamed(cell)
	if ok {
		r.Milestone = m
		return nil
	}
	if near := nearest.Names(cell, milestoneNames(), 1); near != nil {
		return fmt.Errorf("%s is not known: did you mean %s?", quoted(cell), near[0])
	}
	return fmt.Errorf("%s is not known: write one of %s", quoted(cell), strings.Join(milestoneNames(), ", "))
}

func (r *Row) setSource(cell string) error {
	r.Source = strings.Join(strings.Fields(cell), " ")
	n := 0
	for _, c := range r.Source {
		if n++; !unicode.IsPrint(c) {
			return fmt.Errorf("%U cannot be printed: take it out", c)
		}
	}
	if n > maxSource {
		return fmt.Errorf("%d letters are too many: at most %d", n, maxSource)
	}
	return nil
}

func (r *Row) setStates(cell string, empty bool) error {
	if empty {
		return nil
	}
	for _, s := range []cure.States{cure.Typical, cure.Minimum, cure.Maximum} {
		if strings.EqualFold(cell, s.String()) {
			r.States, r.Stated = s, true
			return nil
		}
	}
	return fmt.Errorf("%s: write minimum, typical or maximum, or nothing", quoted(cell))
}

// humidity asks for the percent sign.
func humidity(cell string) (float64, error) {
	if !strings.HasSuffix(cell, "%") {
		return 0, fmt.Errorf("%s: write a relative humidity like 45%%", quoted(cell))
	}
	v, err := quantity.Humidity(cell)
	if err == nil && v == 0 {
		return 0, fmt.Errorf("%s: no air is quite dry: leave the cell empty if the sheet names no humidity", quoted(cell))
	}
	return v, err
}

// check refuses a row whose numbers read well and cannot be.
func (r *Row) check() error {
	longest := longestCure
	if r.Milestone.Line() == cure.NotAfter {
		longest = longestOpen
	}
	switch {
	case r.TempC < coldest || r.TempC > hottest:
		return fmt.Errorf("temp: %s is no temperature to cure at: it lies between %dC and %dC", r.Temp, coldest, hottest)
	case r.Seconds <= 0:
		return fmt.Errorf("time: %s: the time must be more than zero", quoted(r.Time))
	case r.Seconds < shortest.Seconds() || r.Seconds > longest.Seconds():
		return fmt.Errorf("time: %s is no time for %s: it lies between 1s and %g days", quoted(r.Time), r.Milestone, longest.Hours()/24)
	case r.BeadMM != 0 && (r.BeadMM < thinnest || r.BeadMM > deepest):
		return fmt.Errorf("bead: %g mm is no bead: it lies between %g mm and %d mm", r.BeadMM, thinnest, deepest)
	}
	return nil
}

// tempText is a temperature as a class file writes it, in °F where the sheet does. It
// reads back as the same number.
func tempText(c float64, fahrenheit bool) string {
	if fahrenheit {
		text := decimal(math.Round((c*9/5+32)*1e6)/1e6) + "F"
		if back, err := quantity.Temp(text); err == nil && back == c {
			return text
		}
	}
	return decimal(c) + "C"
}

// decimal is the shortest writing that reads back as the same number.
func decimal(v float64) string { return strconv.FormatFloat(v+0, 'f', -1, 64) }
