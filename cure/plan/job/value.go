package job

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"beadline/cure"
	"beadline/cure/nearest"
	"beadline/cure/quantity"
)

// What a job can sensibly hold. Beyond these a figure is a slip of the pen.
const (
	maxTask   = 30 * 24 * time.Hour
	maxWait   = 365 * 24 * time.Hour
	minTempC  = -60.0
	maxTempC  = 120.0
	maxCount  = 10_000 // fasteners in a joint, items to renew
	maxTasks  = 500    // in a job: a plan of so many takes some minutes and half a gigabyte of memory
	maxPeople = 100    // in a crew
	maxShifts = 1000   // in a job, each of their dates counted
	maxCrew   = 20     // people at one task
)

// readName reads an id, a name or a line of text.
func readName(s string) (string, error) {
	s = strings.TrimSpace(s)
	if s == "" {
		return "", errors.New("it is empty; write a name")
	}
	if utf8.RuneCountInString(s) > 200 {
		return "", errors.New("it is longer than 200 characters; write it shorter")
	}
	for _, r := range s {
		if !unicode.IsPrint(r) {
			return "", errors.New("it holds a line break or a character that does not print; write it in one line of text")
		}
	}
	return s, nil
}

// readTask reads how long a task takes: more than zero, at most 30 days.
func readTask(s string) (time.Duration, error) { return readSpan(s, maxTask, "a task") }

// readWait reads a wait or a window: more than zero, at most a year.
func readWait(s string) (time.Duration, error) { return readSpan(s, maxWait, "a wait") }

func readSpan(s string, most time.Duration, what string) (time.Duration, error) {
	d, err := quantity.Span(s)
	switch {
	case err != nil && strings.HasPrefix(strings.TrimSpace(s), "-"):
		return 0, fmt.Errorf("%q: a span of time cannot be negative; write it like 30min", s)
	case err != nil:
		return 0, err
	case d < time.Second:
		return 0, fmt.Errorf("%q: shorter than 1 s; write the time it takes, or take the key out", s)
	case d > most:
		return 0, fmt.Errorf("%q: longer than %d days; no such thing is planned as %s: check the unit", s, int(most.Hours()/24), what)
	}
	return d, nil
}

// readTemp reads a temperature that a hangar, a ramp or a heater can have.
func readTemp(s string) (float64, error) {
	c, err := quantity.Temp(s)
	if err == nil && !(c >= minTempC && c <= maxTempC) {
		err = fmt.Errorf("%q: outside %gC to %gC; check the figure and the unit", s, minTempC, maxTempC)
	}
	return c, err
}

// readStep reads a difference of temperature, 0 to 60 °C.
func readStep(s string) (float64, error) {
	c, err := quantity.TempStep(s)
	if strings.HasPrefix(strings.TrimSpace(s), "-") || err == nil && !(c >= 0 && c <= 60) {
		err = fmt.Errorf("%q: outside 0C to 60C; check the figure and the unit", s)
	}
	return c, err
}

// readHumidity reads a relative humidity with its unit.
func readHumidity(s string) (float64, error) {
	v, err := quantity.Percent(s)
	if err == nil && !(v >= 0 && v <= 100) {
		err = fmt.Errorf("%q: a relative humidity lies between 0%% and 100%%; write it like 45%%", s)
	}
	return v, err
}

// readWaste reads the part of a mix that is lost, as a fraction.
func readWaste(s string) (float64, error) {
	v, err := quantity.Percent(s)
	if err == nil && !(v >= 0 && v <= 90) {
		err = fmt.Errorf("%q: waste lies between 0%% and 90%% of a mix; write it like 15%%", s)
	}
	return v / 100, err
}

// readSize makes a reader of lengths, areas or volumes: more than zero, at most most.
func readSize(read func(string) (float64, error), most float64, mostText string) func(string) (float64, error) {
	return func(s string) (float64, error) {
		v, err := read(s)
		switch {
		case err != nil:
			return 0, err
		case !(v > 0):
			return 0, fmt.Errorf("%q: must be more than zero; write the size, or take the key out", s)
		case v > most:
			return 0, fmt.Errorf("%q: more than %s; check the figure and the unit", s, mostText)
		}
		return v, nil
	}
}

var (
	readArea      = readSize(quantity.Area, 100e6, "100 m2")
	readThickness = readSize(quantity.Length, 100, "100 mm")
	readLength    = readSize(quantity.Length, 1e6, "1000 m")
	readDrop      = readSize(quantity.Volume, 1000, "1 l for one fastener")
	readPot       = readSize(quantity.Volume, 100e3, "100 l in one pot")
)

// readCount makes a reader of whole numbers from 1 to most.
func readCount(most int) func(string) (int, error) {
	return func(s string) (int, error) {
		n, err := strconv.Atoi(s)
		if errors.Is(err, strconv.ErrRange) {
			n, err = math.MaxInt, nil
		}
		if err != nil {
			return 0, fmt.Errorf("%q: not a whole number; write it like 2", s)
		}
		if n < 1 || n > most {
			return 0, fmt.Errorf("%q: outside 1 to %d; check the figure", s, most)
		}
		return n, nil
	}
}

// readYes reads true or false, yes or no.
func readYes(s string) (bool, error) {
	switch s {
	case "true", "yes":
		return true, nil
	case "false", "no":
		return false, nil
	}
	return false, fmt.Errorf("%q: write true or false", s)
}

// readOne makes a reader of one of a few words.
func readOne[T any](known []string, values []T) func(string) (T, error) {
	return func(s string) (v T, err error) {
		for i, k := range known {
			if k == s {
				return values[i], nil
			}
		}
		return v, fmt.Errorf("%q is not known here; %s", s, instead(s, known))
	}
}

var (
	readSeal   = readOne(sealNames(), cure.SealTypes)
	readTorque = readOne([]string{"wet", "after-tack-free", "after-cure"}, []Torque{TorqueWet, TorqueTackFree, TorqueCured})
	readHeat   = readOne([]string{"after-tack-free", "after-flash-off"}, []HeatFrom{HeatAfterTackFree, HeatAfterFlashOff})
)

func sealNames() []string {
	var names []string
	for _, s := range cure.SealTypes {
		names = append(names, string(s))
	}
	return names
}

// waitable lists the milestones that work can wait for: the not-before lines.
func waitable() (names []string, values []cure.Milestone) {
	for m := range cure.NumMilestones {
		if m.Line() == cure.NotBefore {
			names, values = append(names, m.String()), append(values, m)
		}
	}
	return names, values
}

// readMilestone reads a milestone to wait for.
func readMilestone(s string) (cure.Milestone, error) {
	names, values := waitable()
	if m, ok := cure.ParseMilestone(s); ok && m.Line() == cure.NotAfter {
		return 0, fmt.Errorf("%q: work is done before that line, it cannot wait for it; wait for one of %s", s, strings.Join(names, ", "))
	}
	return readOne(names, values)(s)
}

// readValue reads a torque as it is to be recorded, which nothing is calculated
// from. It must carry its unit all the same.
func readValue(s string) (string, error) {
	v, err := readName(s)
	if err != nil {
		return "", err
	}
	if _, bare := strconv.ParseFloat(v, 64); bare == nil {
		return "", fmt.Errorf("%q: a torque needs its unit; write it like \"6.2 Nm\"", s)
	}
	if v[0] == '-' {
		return "", fmt.Errorf("%q: a torque cannot be negative; write it like \"6.2 Nm\"", s)
	}
	return v, nil
}

// instead is the remedy for a word that is not known: what was probably meant, or
// else what there is.
func instead(word string, known []string) string {
	if near := nearest.Names(word, known, 3); len(near) > 0 {
		return "did you mean " + orList(near) + "?"
	}
	const show = 12
	if len(known) > show {
		return "write one of " + strings.Join(known[:show], ", ") + ", …"
	}
	if len(known) == 0 {
		return "there is none in this job"
	}
	return "write one of " + strings.Join(known, ", ")
}

func orList(names []string) string {
	if len(names) == 1 {
		return names[0]
	}
	return strings.Join(names[:len(names)-1], ", ") + " or " + names[len(names)-1]
}
