package plan

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"beadline/cure"
)

// Words for what holds a plan, apart from the work itself.
const (
	nextShift = "waiting for the next shift"
	toSeal    = "waiting until it may be sealed"
	putOff    = "put off, or else"
	forWork   = "waiting for the work after it"
)

// holding is one thing that holds the ready time, over all its stretches.
type holding struct {
	what   string
	cure   string // the joint that cures; "": no cure
	takes  time.Duration
	lo, hi float64 // °C of the air, likely, over its stretches
}

// heldInWords says in one or two sentences what the critical chain is made of: how long
// each cure in it is and in what air, how much the shifts and other waits add, and what is
// left for the work. The times are those of HeldBy, and add up to the whole.
func (p *Plan) heldInWords() []string {
	whole := p.Ready.Sub(p.Job.Start)
	if len(p.HeldBy) == 0 || whole <= 0 {
		return nil
	}
	var all []*holding
	work, at := time.Duration(0), p.Job.Start
	for _, s := range p.HeldBy {
		what, joint := p.holds(s.What)
		if what == "" {
			work += s.For
			at = at.Add(s.For)
			continue
		}
		i := slices.IndexFunc(all, func(h *holding) bool { return h.what == what })
		if i < 0 {
			i = len(all)
			all = append(all, &holding{what: what, cure: joint, lo: math.Inf(1), hi: math.Inf(-1)})
		}
		all[i].takes += s.For
		if joint != "" {
			lo, hi := p.airOver(at, at.Add(s.For))
			all[i].lo, all[i].hi = math.Min(all[i].lo, lo), math.Max(all[i].hi, hi)
		}
		at = at.Add(s.For)
	}
	slices.SortStableFunc(all, func(a, b *holding) int { return int(b.takes - a.takes) })
	return p.sentences(all, work, whole)
}

// holds says what a share of the way is: a cure and its joint, a wait, or "" for work.
func (p *Plan) holds(what string) (words, joint string) {
	switch {
	case what == nextShift:
		return "the shift gap", ""
	case strings.HasPrefix(what, toSeal):
		return "waiting until it may be sealed", ""
	case strings.HasPrefix(what, putOff), what == forWork:
		return "waiting for what comes after", ""
	}
	for k := range p.Job.Joints {
		j := &p.Job.Joints[k]
		rest, ok := strings.CutPrefix(what, j.ID+": ")
		if !ok {
			continue
		}
		rest, hot := strings.CutSuffix(rest, ", heated")
		for m, is := range becoming {
			if is == "" || !strings.HasSuffix(rest, " "+is) {
				continue
			}
			if hot {
				return fmt.Sprintf("the %s %s in the heat", j.ID, becoming[m]), ""
			}
			return fmt.Sprintf("the %s %s", j.ID, becoming[m]), j.ID
		}
		return fmt.Sprintf("the %s: %s", j.ID, rest), ""
	}
	return "", ""
}

// airOver is the least and the most of the air's likely temperature over a stretch.
func (p *Plan) airOver(from, to time.Time) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for t := from; ; t = t.Add(5 * time.Minute) {
		if t.After(to) {
			t = to
		}
		c, _ := p.Air.At(t, cure.Likely)
		lo, hi = math.Min(lo, c), math.Max(hi, c)
		if !t.Before(to) {
			return lo, hi
		}
	}
}

// heldMost is how many holds are named at most, and heldLeast the least share of the whole
// that is named, in hundredths.
const (
	heldMost  = 3
	heldLeast = 2
)

func (p *Plan) sentences(all []*holding, work, whole time.Duration) []string {
	var said []*holding
	rest := work
	for _, h := range all {
		if len(said) == heldMost || h.takes*100 < whole*heldLeast {
			rest += h.takes
			continue
		}
		said = append(said, h)
	}
	if len(said) == 0 {
		return []string{fmt.Sprintf("All of the %s is work, one task after another.", words(whole))}
	}
	first := fmt.Sprintf("%s of the %s is %s", words(said[0].takes), words(whole), said[0].words())
	for _, h := range said[1:] {
		first += fmt.Sprintf("; %s adds %s", h.words(), words(h.takes))
	}
	out := []string{first + "."}
	if rest > 0 {
		name := "Work takes the other %s."
		if rest > work {
			name = "Work and short waits take the other %s."
		}
		out = append(out, fmt.Sprintf(name, words(rest)))
	}
	return out
}

func (h *holding) words() string {
	if h.cure == "" {
		return h.what
	}
	lo, hi := math.Floor(h.lo+0.5), math.Floor(h.hi+0.5)
	if lo == hi {
		return fmt.Sprintf("%s in air of %g C", h.what, lo)
	}
	return fmt.Sprintf("%s in air of %g to %g C", h.what, lo, hi)
}
