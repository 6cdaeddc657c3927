package desk

import (
	"errors"
	"fmt"
	"math"
	"time"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/quantity"
)

// Degree is the degree of cure of what is laid, beside the milestones: information,
// never a line to work to. It counts from the last sealant laid.
type Degree struct {
	Rows    []DegreeRow
	Refused string           // why there are no rows: the part is outside the range
	Outside []cure.Excursion // in the air of a history, up to the last row
	TempC   quantity.Range   // °C that the parameters hold in
	RestsOn catalog.Source
}

// DegreeRow is a degree of cure and when it is reached.
type DegreeRow struct {
	Milestone string  // the one whose line this instant is; "": a degree asked for
	Degree    float64 // 0 to 1
	Known     bool    // false: not reached in this air
	Span      time.Duration
	At        time.Time // zero without TimesQuestion.From
}

// degreesAsked are the degrees of cure whose times are told.
var degreesAsked = []float64{0.5, 0.9, 0.95}

// AskDegree tells the degree of cure for an answer of AskTimes, or for a question of a
// class that has nothing but a degree of cure (Times with no Moments): the times to 50,
// 90 and 95 %, and what is reached at the line of each milestone of what is laid. It is
// nil for a class that gives no degree of cure. Errors: a part or start that cannot be.
func AskDegree(t *Times) (*Degree, error) {
	law := t.Class.Degree
	if law == nil {
		return nil, nil
	}
	d := &Degree{TempC: law.Temp, RestsOn: catalog.Source{What: "degree of cure", From: law.From}}
	var err error
	if t.Site != nil {
		err = d.along(t)
	} else {
		err = d.steady(t)
	}
	var outside *cure.DegreeRangeError
	if errors.As(err, &outside) {
		d.Refused, d.Rows, err = outside.Error(), nil, nil
	}
	if err != nil {
		return nil, err
	}
	return d, nil
}

// steady answers in constant air, with the part's temperature.
func (d *Degree) steady(t *Times) error {
	law, tempC := t.Class.Degree, t.PartC
	if math.IsNaN(tempC) {
		tempC = t.Air.TempC
	}
	for _, a := range degreesAsked {
		s, err := law.Seconds(0, a, tempC)
		if err != nil {
			return err
		}
		r := DegreeRow{Degree: a, Known: !math.IsInf(s, 1)}
		if r.Known {
			r.Span = time.Duration(s * float64(time.Second)).Round(time.Second)
		}
		d.add(t, r)
	}
	for _, m := range t.laidMoments() {
		a, err := law.After(0, m.Span, tempC)
		if err != nil {
			return err
		}
		d.add(t, DegreeRow{Milestone: m.Milestone.String(), Degree: a, Known: true, Span: m.Span})
	}
	return nil
}

// along answers in an air history.
func (d *Degree) along(t *Times) error {
	c, err := t.Site.Degree(&t.Class.Class, t.Laid, 0, t.Warmth)
	if err != nil {
		return err
	}
	end := t.Site.Air.Until()
	if c.At(end) == 0 {
		d.Refused = fmt.Sprintf("the part is never within %.4g to %.4g C in this air, where the degree of cure is known", d.TempC.Lo, d.TempC.Hi)
		return nil
	}
	last := t.Laid
	for _, a := range degreesAsked {
		at, ok := c.Reach(a)
		r := DegreeRow{Degree: a, Known: ok}
		if ok {
			r.Span = at.Sub(t.Laid).Round(time.Second)
		} else {
			at = end
		}
		if at.After(last) {
			last = at
		}
		d.add(t, r)
	}
	for _, m := range t.laidMoments() {
		d.add(t, DegreeRow{Milestone: m.Milestone.String(), Degree: c.At(t.Laid.Add(m.Span)), Known: true, Span: m.Span})
		if at := t.Laid.Add(m.Span); at.After(last) {
			last = at
		}
	}
	d.Outside = c.Outside(last)
	return nil
}

func (d *Degree) add(t *Times, r DegreeRow) {
	if r.Known && !t.Laid.IsZero() {
		r.At = t.Laid.Add(r.Span)
	}
	d.Rows = append(d.Rows, r)
}

// laidMoments are the milestones with a line that counts from the last sealant laid.
func (t *Times) laidMoments() (all []Moment) {
	for _, m := range t.Moments {
		if m.Line == cure.NotBefore && m.Known {
			all = append(all, m)
		}
	}
	return all
}
