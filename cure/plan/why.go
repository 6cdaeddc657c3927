package plan

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
	"beadline/cure/plan/solve"
	"beadline/cure/quantity"
)

// heldBy walks back from the ready task along whatever made each task as late as it
// is: a cure, a task before it, a person who was busy, a shift that was over. The
// shares add up to the whole way from the start, in order of time.
func (b *built) heldBy() []Share {
	s := b.answer.Schedule
	var out []Share
	add := func(what string, d int) {
		if d <= 0 {
			return
		}
		if n := len(out); n > 0 && out[n-1].What == what {
			out[n-1].For += time.Duration(d) * tick
			return
		}
		out = append(out, Share{what, time.Duration(d) * tick})
	}
	cur, start := b.m.Ready, s.Start[b.m.Ready]
	for range 4 * len(b.m.Tasks) {
		lag, at := b.binding(cur, start, false)
		busy, until := b.busyBefore(cur, start, at, false)
		if b.m.Opens(cur, until, s.Who[cur]) < start { // what was made to suit holds it after all
			lag, at = b.binding(cur, start, true)
			busy, until = b.busyBefore(cur, start, at, true)
		}
		if busy >= 0 {
			add(b.waiting(cur, until), start-until)
			cur, start = busy, b.through(busy, until, add)
			continue
		}
		add(b.waiting(cur, at), start-at)
		if lag < 0 {
			break
		}
		l := b.m.Lags[lag]
		from := s.Time(l.From, l.FromAt)
		what := l.What
		if what == "" {
			what = b.m.Tasks[l.From].Name
		}
		add(what, at-from)
		if l.FromAt == solve.AtStart {
			cur, start = l.From, from
		} else {
			cur, start = l.From, b.through(l.From, from, add)
		}
	}
	slices.Reverse(out)
	return out
}

// waiting says why a task starts later than its lags and its people's other work ask:
// no shift or no window to seal in before, or it was put off for a maximum lag that
// runs from it.
func (b *built) waiting(task, at int) string {
	s := b.answer.Schedule
	start, who := s.Start[task], s.Who[task]
	switch open := b.m.Opens(task, at, who); {
	case open >= start && len(who) > 0 && b.m.OnShift(task, at, who) < start:
		return toSeal + " (temperature, humidity, dew point)"
	case open >= start:
		return nextShift
	}
	tight, least := "", -1
	for _, l := range b.m.Lags {
		if !l.Max || l.From != task || l.What == "" {
			continue
		}
		if slack := l.Fn.At(s.Time(l.From, l.FromAt)) - s.Time(l.To, l.ToAt); least < 0 || slack < least {
			tight, least = l.What, slack
		}
	}
	if tight == "" {
		return forWork
	}
	return putOff + " this could not be kept: " + tight
}

// through adds a task's own time, from its end back to its start.
func (b *built) through(task, end int, add func(string, int)) int {
	start := b.answer.Schedule.Start[task]
	add(b.m.Tasks[task].Name, end-start)
	return start
}

// binding is the minimum lag that asks most of a task's start, and what it asks. What
// is done as late as may be, such as a pot, holds nothing unless late is set.
func (b *built) binding(task, start int, late bool) (lag, at int) {
	s := b.answer.Schedule
	lag, at = -1, b.m.Tasks[task].Release
	for k, l := range b.m.Lags {
		if l.Max || l.To != task || !late && b.m.Tasks[l.From].Late {
			continue
		}
		v := l.Fn.At(s.Time(l.From, l.FromAt))
		if l.ToAt == solve.AtEnd {
			v -= s.End[task] - s.Start[task]
		}
		v = min(v, start)
		// Of two that ask the same, the longer work holds; a pot is made to suit.
		if v > at || v == at && (lag < 0 || b.m.Tasks[l.From].Duration > b.m.Tasks[b.m.Lags[lag].From].Duration) {
			lag, at = k, v
		}
	}
	return lag, at
}

// busyBefore is the task that kept one of this task's people busy past the instant
// its lags allow, if one did, and when that was over.
func (b *built) busyBefore(task, start, at int, late bool) (busy, until int) {
	s := b.answer.Schedule
	busy, until = -1, at
	for _, p := range s.Who[task] {
		for k := range b.m.Tasks {
			if k != task && (late || !b.m.Tasks[k].Late) && s.End[k] <= start && s.End[k] > until && slices.Contains(s.Who[k], p) {
				busy, until = k, s.End[k]
			}
		}
	}
	return busy, until
}

// Labour adds up hands-on time: a task of 90 min for two technicians is 3 h of it.
func (p *Plan) Labour() time.Duration {
	var d time.Duration
	for _, t := range p.Tasks {
		d += t.Labour
	}
	return d
}

// tooLate says in words by how much the earliest plan misses the wish, and the
// largest shares of its way.
func tooLate(p *Plan) *Infeasible { return tooLateFor(p, false) }

// tooLateFor is tooLate where more may be known than the bound says: that no plan at all
// makes it.
func tooLateFor(p *Plan, none bool) *Infeasible {
	j := p.Job
	x := &Infeasible{Earliest: p.Ready, Proven: none || p.Bound.After(j.ReadyBy)}
	known := "the earliest plan found is ready %s, %s too late; that no plan makes it is not proven (none is ready before %s)"
	args := []any{stamp(p.Ready, j.Zone), quantity.FormatSpan(p.Ready.Sub(j.ReadyBy)), stamp(p.Bound, j.Zone)}
	switch {
	case p.Proven:
		known, args = "the earliest there can be is %s, %s too late", args[:2]
	case x.Proven && !p.Bound.After(j.ReadyBy):
		known, args = "the earliest plan found is ready %s, %s too late, and it is proven that none makes it", args[:2]
	case x.Proven:
		known = "the earliest plan found is ready %s, %s too late, and none can be ready before %s"
	}
	x.Because = append(x.Because, fmt.Sprintf("Wanted %s by %s: "+known+".", append([]any{j.Ready, stamp(j.ReadyBy, j.Zone)}, args...)...))
	var shares []Share
	for _, s := range p.HeldBy {
		if i := slices.IndexFunc(shares, func(x Share) bool { return x.What == s.What }); i >= 0 {
			shares[i].For += s.For
		} else {
			shares = append(shares, s)
		}
	}
	slices.SortStableFunc(shares, func(a, c Share) int { return int(c.For - a.For) })
	whole := p.Ready.Sub(j.Start)
	for i, s := range shares {
		if i == 3 || s.For < whole/20 {
			break
		}
		x.Because = append(x.Because, fmt.Sprintf("%s, %d %% of the way from the start: %s.", quantity.FormatSpan(s.For), 100*s.For/whole, s.What))
	}
	return x
}

// stamp writes an instant with weekday and zone.
func stamp(t time.Time, z *time.Location) string { return t.In(z).Format("Mon 2 Jan 15:04 MST") }

// tooLong says that one pot cannot do what it must.
func tooLong(j *job.Joint, l *job.Layer, f *feel, p portion, mixing, room time.Duration, wet bool) string {
	var parts []string
	if mixing > 0 {
		parts = append(parts, fmt.Sprintf("mix (%s)", words(mixing)))
	}
	parts = append(parts, fmt.Sprintf("%s (%s)", layVerbs[l.Seal], words(p.lay)))
	if wet {
		fs, n := j.Fasteners, j.Fasteners.Count
		if byCount(j, l) {
			n = int(p.units)
		}
		parts = append(parts, fmt.Sprintf("torque %d %s, %d at a time in %d %s (%s)", n, plural(n, "fastener", "fasteners"), fs.People, fs.Passes, plural(fs.Passes, "pass", "passes"), words(p.torque)))
	}
	why := "it must be one pot's work"
	if l.Seal == cure.Faying {
		why = "a faying face is one wet face and is never divided between mixes"
	}
	return fmt.Sprintf("%s: %s: %s together, but a pot of %s lasts %s at most; %s.", j.ID, strings.Join(parts, ", "), words(mixing+p.lay+p.torque), f.class.ID, words(room), why)
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// noWindow says that the class may never be laid here, and what keeps it.
func noWindow(j *job.Joint, l *job.Layer, f *feel, why map[string]int) string {
	var top string
	for r, n := range why {
		if top == "" || n > why[top] || n == why[top] && r < top {
			top = r
		}
	}
	fix := "warm it first (warm: {to: 20C, takes: 2h})"
	switch {
	case strings.HasPrefix(top, "the air is drier"):
		fix = "damp the air or choose another class"
	case strings.HasPrefix(top, "the air is damper"):
		fix = "dry the air or choose another class"
	case strings.HasPrefix(top, "the structure is warmer"):
		fix = "let it cool or shade it"
	case strings.Contains(top, "dew point"):
		fix = "dry the air, or keep the structure warmer than the air (warm:)"
	case f.warmed():
		fix = "warm the structure further"
	}
	return fmt.Sprintf("%s: %s (%s) may not be laid at any time: %s. %s.", j.ID, f.class.ID, l.Seal, top, upper(fix))
}
