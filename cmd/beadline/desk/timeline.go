package desk

import (
	"slices"
	"strings"
	"time"
	"unicode"

	"beadline/cure/plan"
	"beadline/cure/plan/job"
	"beadline/cure/plan/verify"
)

// Timeline is a plan laid out over time, as the terminal and the picture show it: who
// is on shift and at what, what state each joint is in, and what happens at an instant.
// All instants are in the job's zone.
type Timeline struct {
	*plan.Plan
	From, Until time.Time // whole hours around all that is shown
	Crew        []CrewLine
	Seals       []JointLine
	Marks       []Mark // the gates in order of time, then the wish, if it lies within From and Until
}

// CrewLine is one of the crew over time.
type CrewLine struct {
	Who    string
	Shifts []job.Window // at work, breaks taken out
	Works  []Spell
}

// Spell is a stretch of time in which a task is worked on. A task that may be split is
// worked on in several, with breaks and nights between.
type Spell struct {
	Task int // index into the plan's tasks
	job.Window
}

// JointLine is one joint over time.
type JointLine struct {
	*plan.Joint
	Key   string // A, B and so on: short for its name
	Bands []Band // in order; they do not overlap
	Pots  []Pot  // in order of their lines
}

// Pot is a mix that a joint is laid from, and when all of it must be in.
type Pot struct {
	Mix    string
	DoneBy time.Time
}

// Band is a stretch of time in which a joint is in one state.
type Band struct {
	Stage Stage
	job.Window
	Heated bool // heat is on
}

// Stage is the state of a joint.
type Stage uint8

// The stages of a joint. Where two of them meet, the later in this list is shown.
const (
	Open    Stage = iota // opened or prepared, waiting: for promoter to dry, for a person
	Curing               // tack-free, and not yet at what flight waits for
	Setting              // laid, not yet tack-free
	Warming              // the structure is warmed
	Preparing
	Torquing // a gasket that has cured is torqued
	Wet      // from mixing to the last sealant laid or fastener torqued
)

// Mark is an instant that has a name: a gate, or the wish.
type Mark struct {
	Key       string // a letter of its name; "" for the wish
	Name      string
	At        time.Time
	Ready     bool // the gate that counts as ready
	Wish      bool // ready-by
	ByWitness bool
}

// TimelineOf lays a plan out; nil if none was found.
func TimelineOf(p *plan.Plan) *Timeline {
	if !p.Found {
		return nil
	}
	l := &Timeline{Plan: p}
	l.Marks = l.marks()
	l.bound()
	for _, who := range p.Job.Crew {
		l.Crew = append(l.Crew, l.hand(who))
	}
	for i := range p.Joints {
		l.Seals = append(l.Seals, l.seal(i))
	}
	return l
}

// bound finds the whole hours around everything the plan holds. A wish is shown where
// it makes the picture little longer.
func (l *Timeline) bound() {
	z := l.Job.Zone
	l.From, l.Until = l.Job.Start, l.Ready
	see := func(t time.Time) {
		if !t.IsZero() {
			l.From, l.Until = earliest(l.From, t), latest(l.Until, t)
		}
	}
	for _, t := range l.Tasks {
		see(t.Start)
		see(t.End)
	}
	for _, j := range l.Joints {
		see(j.CloseFrom)
		see(j.FlyFrom)
	}
	for _, m := range l.Marks {
		if !m.Wish {
			see(m.At)
		}
	}
	l.From = wholeHour(l.From, z)
	l.Marks = slices.DeleteFunc(l.Marks, func(m Mark) bool { return m.Wish && m.At.After(l.Until.Add(l.Until.Sub(l.From)/5)) })
	for _, m := range l.Marks {
		see(m.At)
	}
	l.From, l.Until = wholeHour(l.From, z), wholeHour(l.Until, z).Add(time.Hour)
}

// wholeHour is the hour on the wall that an instant lies in.
func wholeHour(t time.Time, z *time.Location) time.Time { return stepDown(t, z, time.Hour) }

// stepDown rounds an instant down to a step of the wall's clock, an hour at most.
func stepDown(t time.Time, z *time.Location, step time.Duration) time.Time {
	t = t.In(z)
	in := time.Duration(t.Minute())*time.Minute + time.Duration(t.Second())*time.Second + time.Duration(t.Nanosecond())
	return t.Add(-(in % step))
}

func earliest(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

// marks are the gates, each with a letter of its own, and the wish.
func (l *Timeline) marks() (marks []Mark) {
	taken := map[string]bool{}
	for _, g := range l.Gates {
		marks = append(marks, Mark{Key: letterOf(g.ID, taken), Name: g.ID, At: g.From.In(l.Job.Zone), Ready: g.ID == l.Job.Ready, ByWitness: g.ByWitness})
	}
	slices.SortStableFunc(marks, func(a, b Mark) int { return a.At.Compare(b.At) })
	if by := l.Job.ReadyBy; !by.IsZero() {
		marks = append(marks, Mark{Name: "wanted by", At: by.In(l.Job.Zone), Wish: true})
	}
	return marks
}

// letterOf is the first letter of a name that is not taken, or of the alphabet.
func letterOf(name string, taken map[string]bool) string {
	for _, r := range strings.ToUpper(name) + "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789" {
		if s := string(r); r < unicode.MaxASCII && (unicode.IsLetter(r) || unicode.IsDigit(r)) && !taken[s] {
			taken[s] = true
			return s
		}
	}
	return "*"
}

// hand is one of the crew: their shifts, and the stretches they work in.
func (l *Timeline) hand(p job.Person) CrewLine {
	c := CrewLine{Who: p.Who, Shifts: l.Job.WorkWindows(p, l.Until)}
	for i, t := range l.Tasks {
		if !slices.Contains(t.Who, p.Who) {
			continue
		}
		for _, w := range worked(t, c.Shifts) {
			c.Works = append(c.Works, Spell{i, w})
		}
	}
	return c
}

// shortest is how long a task is shown that takes no time, such as opening a tube.
const shortest = time.Minute

// worked is when a task is worked on by somebody with these shifts: all of it, less
// what lies off shift.
func worked(t plan.Task, shifts []job.Window) (out []job.Window) {
	if t.End.Equal(t.Start) {
		return []job.Window{{From: t.Start, To: t.Start.Add(shortest)}}
	}
	for _, s := range shifts {
		from, to := latest(s.From, t.Start), earliest(s.To, t.End)
		if from.Before(to) {
			out = append(out, job.Window{From: from, To: to})
		}
	}
	if out == nil {
		return []job.Window{{From: t.Start, To: t.End}}
	}
	return out
}

// seal is one joint, its bands cut out of what goes on at it.
func (l *Timeline) seal(i int) JointLine {
	j := &l.Joints[i]
	s := JointLine{Joint: j, Key: jointKey(i)}
	spans, heat := l.stages(j)
	var at []time.Time
	for _, b := range spans {
		at = append(at, b.From, b.To)
	}
	if !heat.IsZero() {
		at = append(at, heat)
	}
	slices.SortFunc(at, time.Time.Compare)
	at = slices.CompactFunc(at, time.Time.Equal)
	for k := 1; k < len(at); k++ {
		b, some := Band{Window: job.Window{From: at[k-1].In(l.Job.Zone), To: at[k].In(l.Job.Zone)}}, false
		for _, x := range spans {
			if !x.From.After(b.From) && !x.To.Before(b.To) && (!some || x.Stage > b.Stage) {
				b.Stage, some = x.Stage, true
			}
		}
		b.Heated = !heat.IsZero() && !b.From.Before(heat) && (b.Stage == Setting || b.Stage == Curing)
		if !some {
			continue
		}
		if n := len(s.Bands); n > 0 && s.Bands[n-1].Stage == b.Stage && s.Bands[n-1].Heated == b.Heated && s.Bands[n-1].To.Equal(b.From) {
			s.Bands[n-1].To = b.To
			continue
		}
		s.Bands = append(s.Bands, b)
	}
	for _, m := range l.Mixes {
		if slices.Contains(m.Joints, j.ID) && !m.DoneBy.IsZero() {
			s.Pots = append(s.Pots, Pot{m.ID, m.DoneBy})
		}
	}
	slices.SortStableFunc(s.Pots, func(a, b Pot) int { return a.DoneBy.Compare(b.DoneBy) })
	return s
}

// jointKey is A to Z, then AA, AB and so on.
func jointKey(i int) string {
	s := string(rune('A' + i%26))
	if i >= 26 {
		return jointKey(i/26-1) + s
	}
	return s
}

// stages are what goes on at a joint, overlaps and all, and when its heat comes on.
func (l *Timeline) stages(j *plan.Joint) (all []Band, heat time.Time) {
	add := func(s Stage, from, to time.Time) {
		if from.Before(to) {
			all = append(all, Band{Stage: s, Window: job.Window{From: from, To: to}})
		}
	}
	var first time.Time
	for _, t := range l.Tasks {
		if t.Joint != j.ID {
			continue
		}
		switch verify.Kind(t.Kind) {
		case verify.Prepare:
			add(Preparing, t.Start, t.End)
		case verify.Warm:
			add(Warming, t.Start, t.End)
		case verify.Heat:
			heat = t.End.In(l.Job.Zone)
			continue
		case verify.Torque:
			if t.Mix == "" {
				add(Torquing, t.Start, t.End)
			}
			continue
		default:
			continue
		}
		if first.IsZero() || t.Start.Before(first) {
			first = t.Start
		}
	}
	for i, w := range j.Sittings {
		if i == 0 && !first.IsZero() {
			add(Open, first, w.From)
		}
		add(Wet, w.From, w.To)
		next := j.FlyFrom
		if i+1 < len(j.Sittings) {
			next = j.Sittings[i+1].From
		}
		set := w.TackFree
		if set.IsZero() || set.After(next) && i+1 < len(j.Sittings) {
			set = next
		}
		add(Setting, w.To, set)
		add(Curing, set, next)
	}
	return all, heat
}

// Letter is the key of a joint by its id; "" for a task of no joint.
func (l *Timeline) Letter(joint string) string {
	for _, s := range l.Seals {
		if s.ID == joint {
			return s.Key
		}
	}
	return ""
}

// Nights are the stretches from 20:00 to 06:00 on the wall between two instants: there
// is no place to ask for sunrise.
func (l *Timeline) Nights(from, until time.Time) (out []job.Window) {
	y, m, d := from.In(l.Job.Zone).Date()
	for i := -1; ; i++ {
		w := job.Window{From: time.Date(y, m, d+i, nightFrom, 0, 0, 0, l.Job.Zone), To: time.Date(y, m, d+i+1, nightTo, 0, 0, 0, l.Job.Zone)}
		if !w.From.Before(until) {
			return out
		}
		if w.From, w.To = latest(w.From, from), earliest(w.To, until); w.From.Before(w.To) {
			out = append(out, w)
		}
	}
}

// The hours that count as night.
const nightFrom, nightTo = 20, 6
