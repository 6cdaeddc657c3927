package desk

import (
	"fmt"
	"math"
	"sort"
	"time"

	"beadline/cure"
)

// Gap is a stretch between two readings of the logs that is too long to count as
// measured.
type Gap struct {
	Name     string // of the log it lies in, or ends at
	From, To time.Time
}

// gapsOf lists the gaps within and between the logs among the pieces.
func gapsOf(pieces []cure.Piece) []Gap {
	var all []Gap
	var last time.Time
	for _, p := range pieces {
		if p.Forecast {
			continue
		}
		for _, s := range p.Samples {
			if !last.IsZero() && s.At.Sub(last) > cure.MaxGap {
				all = append(all, Gap{p.Name, last, s.At})
			}
			if s.At.After(last) {
				last = s.At
			}
		}
	}
	return all
}

// Unmeasured reports whether what happens from one instant to another rests, in part at
// least, on air that was not measured: behind the last reading of the logs, or in a gap.
func (t *Times) Unmeasured(from, to time.Time) bool {
	return to.After(t.Measured) || t.inGap(from, to) != nil
}

// inGap is the first gap that lies in, or reaches into, the time between two instants.
func (t *Times) inGap(from, to time.Time) *Gap {
	for i, g := range t.Gaps {
		if g.From.Before(to) && g.To.After(from) {
			return &t.Gaps[i]
		}
	}
	return nil
}

// startInGap refuses a start so deep in a gap that no reading stands for its air.
func (t *Times) startInGap() error {
	g := t.inGap(t.From, t.From.Add(time.Nanosecond))
	if g == nil || t.From.Sub(g.From) <= stale || g.To.Sub(t.From) <= stale {
		return nil
	}
	z := t.From.Location()
	return fmt.Errorf("--from %s lies in a gap of %s, %s to %s: nobody knows the air there: start where there are readings",
		sayInstant(t.From), g.Name, sayInstant(g.From.In(z)), sayInstant(g.To.In(z)))
}

// Two loggers in one place agree within this (common practice, no source).
const (
	agreeC  = 2.0  // °C
	agreeRH = 10.0 // % RH
)

// overlaps says where two logs cover the same time, and warns where they differ there:
// the first counts to its end.
func (t *Times) overlaps() {
	var logs []cure.Piece
	for _, p := range t.Pieces {
		if len(p.Samples) > 0 && !p.Forecast {
			logs = append(logs, p)
		}
	}
	for i := 1; i < len(logs); i++ {
		a, b := logs[i-1], logs[i]
		from, to := b.Samples[0].At, a.Samples[len(a.Samples)-1].At
		if !from.Before(to) || !to.After(t.From) {
			continue
		}
		dc, drh := apart(a.Samples, b.Samples, to)
		z := t.From.Location()
		said := fmt.Sprintf("%s and %s overlap from %s to %s: %s counts until its end", a.Name, b.Name, sayInstant(from.In(z)), sayInstant(to.In(z)), a.Name)
		if dc <= agreeC && drh <= agreeRH {
			t.assume("%s.", said)
			continue
		}
		t.warn("%s. They differ there by up to %.3g degrees C and %.3g %% RH: find out which of them hangs at the joint.", said, dc, drh)
	}
}

// apart is the most that two logs differ by, in °C and % RH, at the readings of the
// second until to.
func apart(a, b []cure.Sample, to time.Time) (dc, drh float64) {
	for _, s := range b {
		if s.At.After(to) {
			break
		}
		i := sort.Search(len(a), func(i int) bool { return a[i].At.After(s.At) })
		if i == 0 || i == len(a) {
			continue
		}
		f := s.At.Sub(a[i-1].At).Seconds() / a[i].At.Sub(a[i-1].At).Seconds()
		dc = math.Max(dc, math.Abs(a[i-1].TempC+f*(a[i].TempC-a[i-1].TempC)-s.TempC))
		drh = math.Max(drh, math.Abs(a[i-1].RH+f*(a[i].RH-a[i-1].RH)-s.RH))
	}
	return dc, drh
}

// lateLaid stops a seal that was laid, or whose fasteners went in, after the pot was
// spent.
func (t *Times) lateLaid() {
	var lay, join Moment
	for _, m := range t.Moments {
		switch m.Milestone {
		case cure.Application:
			lay = m
		case cure.Assembly:
			join = m
		}
	}
	z, spent := t.From.Location(), lay.At
	if join.At.After(spent) {
		spent = join.At
	}
	switch {
	case lay.At.IsZero() || !t.Laid.After(lay.At):
	case t.Laid.After(spent):
		t.stop("The last sealant or fastener is in at %s, and this mix is spent at %s: the seal does not count. Open it, strip it, clean, and start again with a new kit and new hardware.",
			sayInstant(t.Laid), sayInstant(spent.In(z)))
	default:
		t.warn("This mix may be laid until %s: what is done after that is closing and fasteners alone.", sayInstant(lay.At.In(z)))
	}
}
