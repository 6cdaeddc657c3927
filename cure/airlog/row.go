package airlog

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"

	"beadline/cure"
)

// The limits of what the air of a hangar can be, in °C and % RH (common practice, no
// source). Above hotC a temp_c column more likely holds °F: 60 °C is 140 °F, and a
// hangar at 61 to 140 F is an ordinary one.
const (
	minC      = -60
	maxC      = 90
	hotC      = 60
	likelyF   = 140
	maxRH     = 100
	maxSensor = 105 // a sensor in saturated air may read this high
)

// tally counts what is judged over the whole log.
type tally struct {
	warm    int     // readings above medianC
	hottest float64 // of those, °C
	wet     int     // humidities above 100 %, which are taken as 100 %
	wettest float64 // of those, % RH
}

func (t *tally) add(o tally) {
	t.warm += o.warm
	t.hottest = max(t.hottest, o.hottest)
	t.wet += o.wet
	t.wettest = max(t.wettest, o.wettest)
}

func (t tally) notes() []string {
	if t.wet == 0 {
		return nil
	}
	return []string{fmt.Sprintf("humidity above 100 %% in %s (highest %s %%): taken as 100 %%", rows(t.wet), decimal(t.wettest))}
}

// readPart reads rows up to the end of the text or the first that is wrong.
func readPart(t text, cols columns, opt Options, into []Sample) part {
	p := part{samples: into}
	r := records{rest: t, sep: cols.sep}
	clock := calendar{zone: opt.Zone}
	for {
		fields, err := r.next()
		if err == nil && fields == nil {
			return p
		}
		if err == nil {
			err = p.row(fields, &cols, &clock)
		}
		if err != nil {
			if hasBareCR(bytes.TrimRight(r.raw, "\r")) {
				err = bareCR()
			}
			err.Line = r.line
			p.err = err
			return p
		}
	}
}

// row reads one reading and appends it.
func (p *part) row(fields [][]byte, cols *columns, clock *calendar) *Error {
	if len(fields) != cols.count {
		return wrongCount(len(fields), cols)
	}
	when, err := clock.read(fields[cols.time])
	if err != nil {
		// Trimmed only now: fields seldom have spaces around them.
		if when, err = clock.read(bytes.TrimSpace(fields[cols.time])); err != nil {
			return err
		}
	}
	temp, err := cols.number(fields[cols.temp], cols.tempName())
	if err != nil {
		return err
	}
	if temp, err = cols.celsius(temp); err != nil {
		return err
	}
	if temp > medianC {
		p.seen.add(tally{warm: 1, hottest: temp})
	}
	rh, err := cols.number(fields[cols.rh], "rh_pct")
	if err != nil {
		return err
	}
	if rh > maxRH && rh <= maxSensor {
		p.seen.add(tally{wet: 1, wettest: rh})
		rh = maxRH
	}
	if rh < 0 || rh > maxRH {
		return &Error{What: "rh_pct is " + decimal(rh), Remedy: "relative humidity lies between 0 and 100; check the sensor or delete the row"}
	}
	if when.twice {
		p.ambiguous = append(p.ambiguous, ambiguous{len(p.samples), when.later})
	}
	p.samples = append(p.samples, Sample{At: when.at, Air: cure.Air{TempC: temp, RH: rh}})
	return nil
}

func wrongCount(n int, cols *columns) *Error {
	e := &Error{What: fmt.Sprintf("%d fields where the header has %d", n, cols.count)}
	if n == 1 {
		e.What = fmt.Sprintf("1 field where the header has %d", cols.count)
	}
	switch {
	case n > cols.count && cols.sep == ',':
		e.Remedy = "with commas between columns write 18.5, not 18,5"
	case cols.sep == ',':
		e.Remedy = "separate the columns with commas, as in the header"
	default:
		e.Remedy = "separate the columns with semicolons, as in the header"
	}
	return e
}

// celsius turns a value of the temperature column into °C.
func (c *columns) celsius(v float64) (float64, *Error) {
	t := v
	if c.fahrenheit {
		t = (v - 32) * 5 / 9
	} else if v > hotC && v <= likelyF {
		return 0, &Error{
			What:   fmt.Sprintf("temp_c is %s: a hangar at %s C?", decimal(v), decimal(v)),
			Remedy: "If the logger writes °F, name the column temp_f",
		}
	}
	if t < minC || t > maxC {
		return 0, &Error{
			What:   fmt.Sprintf("%s is %s", c.tempName(), decimal(v)),
			Remedy: "air lies between -60 and 90 C (-76 and 194 F); check the sensor or delete the row",
		}
	}
	return t, nil
}

// number reads a decimal number: 18, 18.5, -4, .5, 1.2e1; 18,5 too where semicolons
// separate the columns.
func (c *columns) number(b []byte, name string) (float64, *Error) {
	if v, ok := plainNumber(b, c.sep == ';'); ok {
		return v, nil
	}
	s := strings.TrimSpace(string(b))
	if s == "" {
		return 0, &Error{What: name + " is empty", Remedy: "give it, or delete the row"}
	}
	t := strings.Replace(s, "\u2212", "-", 1) // the true minus sign
	if c.sep == ';' && strings.Count(t, ",") == 1 && !strings.Contains(t, ".") {
		t = strings.Replace(t, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(t, 64)
	// ParseFloat would also read Inf, NaN, 0x1p-2 and, with a prefix, 1_000.
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) || strings.ContainsAny(t, "xX_") {
		return 0, &Error{What: name + " is " + shown(s) + ", not a number", Remedy: "write the number alone, like 18.5; delete the row if the sensor failed"}
	}
	return v + 0, nil // + 0 makes 0 of -0
}

var tenth = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}

// plainNumber reads a sign, digits and a point, up to 15 digits in all. Both the
// digits and the power of ten are then exact in a float64, so their quotient is the
// nearest float64 to what was written (IEEE 754: division is correctly rounded).
func plainNumber(b []byte, comma bool) (float64, bool) {
	neg := false
	if len(b) > 0 && (b[0] == '-' || b[0] == '+') {
		neg = b[0] == '-'
		b = b[1:]
	}
	var m int64
	point, n := -1, 0
	for i, c := range b {
		if d := c - '0'; d <= 9 {
			m = m*10 + int64(d)
			n++
		} else if point < 0 && (c == '.' || comma && c == ',') {
			point = i
		} else {
			return 0, false
		}
	}
	if n == 0 || n > 15 {
		return 0, false
	}
	if neg {
		m = -m
	}
	if point < 0 {
		return float64(m), true
	}
	return float64(m) / tenth[len(b)-1-point], true
}

// decimal writes a number for a message.
func decimal(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
