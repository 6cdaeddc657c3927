package job

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/goccy/go-yaml/ast"
	"github.com/rickb777/date"
	"github.com/rickb777/date/clock"
)

func (d *decoder) crew(top *section) {
	if !top.has("crew") {
		top.missing("crew", "crew: [{who: Tech 1, can: [seal, torque, panel]}]")
	}
	nodes := top.list("crew", "[{who: Tech 1, can: [seal, torque]}]")
	if n, ok := top.entries["crew"]; ok && len(nodes) == 0 && !isNull(n.node) {
		d.wrong(n.at, "crew is empty; name somebody, like {who: Tech 1, can: [seal, torque, panel]}")
	}
	for i, n := range nodes {
		s, ok := d.open(n, fmt.Sprintf("person %d of the crew", i+1), "who", "can", "away")
		if !ok {
			continue
		}
		p := Person{Line: s.at.line}
		p.Who = need(s, "who", "who: Tech 1", readName)
		if slices.ContainsFunc(d.job.Crew, func(o Person) bool { return o.Who == p.Who && p.Who != "" }) {
			d.wrong(s.place("who"), "crew: %q is there twice; give each person a name of their own", p.Who)
		}
		if !s.has("can") {
			s.missing("can", "can: [seal, torque]")
		}
		for _, w := range s.words("can") {
			p.Can = append(p.Can, w.text)
		}
		if s.has("can") && len(p.Can) == 0 {
			d.wrong(s.place("can"), "%s: can is empty; list a skill such as seal, or take the person out", s.what)
		}
		for _, n := range s.list("away", "[{from: 2027-03-09T12:00, to: 2027-03-10T07:00}]") {
			if w, ok := d.away(n, s.what); ok {
				p.Away = append(p.Away, w)
			}
		}
		d.job.Crew = append(d.job.Crew, p)
	}
}

func (d *decoder) away(n ast.Node, what string) (Window, bool) {
	s, ok := d.open(n, "away of "+what, "from", "to")
	if !ok {
		return Window{}, false
	}
	// Away for longer is the safe side.
	w := Window{need(s, "from", "from: 2027-03-09T12:00", d.local("from of "+s.what, earlier)), need(s, "to", "to: 2027-03-10T07:00", d.local("to of "+s.what, later))}
	if w.From.IsZero() || w.To.IsZero() {
		return w, false
	}
	if !w.To.After(w.From) {
		d.wrong(s.place("to"), "%s: to is not after from; give a later time", s.what)
		return w, false
	}
	return w, true
}

func (d *decoder) shifts(top *section) {
	if !top.has("shifts") {
		top.missing("shifts", `shifts: [{days: Mon-Fri, from: "07:00", to: "15:30"}]`)
	}
	d.shiftsAt = top.place("shifts")
	nodes := top.list("shifts", `[{days: Mon-Fri, from: "07:00", to: "15:30"}]`)
	if n, ok := top.entries["shifts"]; ok && len(nodes) == 0 && !isNull(n.node) {
		d.wrong(n.at, `shifts is empty; say when people work, like {days: Mon-Fri, from: "07:00", to: "15:30"}`)
	}
	for i, n := range nodes {
		s, ok := d.open(n, fmt.Sprintf("shift %d", i+1), "days", "from", "to", "breaks", "who", "overtime")
		if !ok {
			continue
		}
		sh := Shift{Line: s.at.line}
		d.days(s, &sh)
		before := len(d.problems)
		sh.From = need(s, "from", `from: "07:00"`, readClock)
		sh.To = need(s, "to", `to: "15:30"`, readClock)
		if len(d.problems) == before {
			if sh.From == sh.To && s.has("from") && s.has("to") {
				d.wrong(s.place("to"), `%s: from and to are the same, so the shift has no length; for the whole day write two shifts, such as "07:00" to "19:00" and "19:00" to "07:00"`, s.what)
			} else {
				d.breaks(s, &sh)
			}
		}
		sh.Overtime = orElse(s, "overtime", false, readYes)
		d.shiftWho(s, &sh)
		d.job.Shifts = append(d.job.Shifts, sh)
	}
}

var dayNames = []string{"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"}

// days reads Mon-Fri, a list such as Mon,Wed,Sat, daily, or dates.
func (d *decoder) days(s *section, sh *Shift) {
	if !s.has("days") {
		s.missing("days", "days: Mon-Fri")
		return
	}
	anyDay := false
	for _, w := range s.words("days") {
		for part := range strings.SplitSeq(w.text, ",") {
			if err := addDays(strings.TrimSpace(part), sh); err != nil {
				d.wrong(w.place, "%s: days: %v", s.what, err)
				return
			}
			anyDay = true
		}
	}
	switch {
	case !anyDay && !isNull(s.entries["days"].node):
		d.wrong(s.place("days"), "%s: days is empty; write it like Mon-Fri", s.what)
	case len(sh.Dates) > 0 && sh.Days != [7]bool{}:
		d.wrong(s.place("days"), "%s: weekdays and dates are mixed; give the dates a shift of their own", s.what)
	}
}

func addDays(s string, sh *Shift) error {
	if s == "daily" {
		sh.Days = [7]bool{true, true, true, true, true, true, true}
		return nil
	}
	if len(s) == 10 && s[4] == '-' {
		day, err := readDate(s)
		if err == nil {
			sh.Dates = append(sh.Dates, day)
		}
		return err
	}
	first, last, span := strings.Cut(s, "-")
	a, err := weekday(first)
	if err != nil {
		return err
	}
	b := a
	if span {
		if b, err = weekday(last); err != nil {
			return err
		}
	}
	for ; a != b; a = (a + 1) % 7 {
		sh.Days[a] = true
	}
	sh.Days[b] = true
	return nil
}

func weekday(s string) (int, error) {
	s = strings.TrimSpace(s)
	for i, n := range dayNames {
		if strings.EqualFold(s, n) || strings.EqualFold(s, time.Weekday(i).String()) {
			return i, nil
		}
	}
	return 0, fmt.Errorf("%q: no such day; write Mon-Fri, Mon,Wed,Sat, daily, or a date such as 2027-03-13", s)
}

// breaks reads the pauses of a shift. Each lies within it, none over another.
func (d *decoder) breaks(s *section, sh *Shift) {
	length := sh.Length()
	for _, w := range s.words("breaks") {
		b, err := readBreak(w.text)
		if err != nil {
			d.wrong(w.place, "%s: breaks: %v", s.what, err)
			continue
		}
		from, to := sh.after(b[0]), sh.after(b[1])
		if b[1] == sh.From { // a break may run to the end of a shift, never wrap round to its start
			to = 24 * time.Hour
		}
		if from >= to || to > length {
			d.wrong(w.place, "%s: the break %s is not inside the shift %s; move it, or leave it out", s.what, w.text, sh.hours())
			continue
		}
		for _, o := range sh.Breaks {
			if from < sh.after(o[1]) && sh.after(o[0]) < to {
				d.wrong(w.place, "%s: the break %s overlaps another; write them as one", s.what, w.text)
			}
		}
		sh.Breaks = append(sh.Breaks, b)
		if at := w.place; sh.pause() == length {
			d.wrong(at, "%s: the breaks take the whole shift %s; shorten them, or leave the shift out", s.what, sh.hours())
		}
	}
}

func readBreak(s string) (b [2]clock.Clock, err error) {
	from, to, ok := strings.Cut(s, "-")
	if !ok {
		return b, fmt.Errorf("%q: not a break; write it like \"11:30-12:00\"", s)
	}
	if b[0], err = readClock(from); err != nil {
		return b, err
	}
	if b[1], err = readClock(to); err != nil {
		return b, err
	}
	if b[0] == b[1] {
		return b, fmt.Errorf("%q: the break has no length; write it like \"11:30-12:00\"", s)
	}
	return b, nil
}

func (d *decoder) shiftWho(s *section, sh *Shift) {
	if !s.has("who") {
		return
	}
	var known []string
	for _, p := range d.job.Crew {
		known = append(known, p.Who)
	}
	words := s.words("who")
	if len(words) == 0 && !isNull(s.entries["who"].node) {
		d.wrong(s.place("who"), "%s: who is empty; name somebody of the crew, or leave who out for everyone", s.what)
	}
	for _, w := range words {
		if !slices.Contains(known, w.text) {
			d.wrong(w.place, "%s: who: there is no %q in the crew; %s", s.what, w.text, instead(w.text, known))
			continue
		}
		sh.Who = append(sh.Who, w.text)
	}
}

// onShift reports whether a person is in any shift at all.
func (j *Job) onShift(p Person) bool {
	return slices.ContainsFunc(j.Shifts, func(s Shift) bool { return s.Includes(p.Who) })
}

// On reports whether the shift starts on a day.
func (s *Shift) On(day date.Date) bool {
	if len(s.Dates) > 0 {
		return slices.ContainsFunc(s.Dates, day.Equal)
	}
	return s.Days[day.Weekday()]
}

// Includes reports whether a person works in the shift.
func (s *Shift) Includes(who string) bool { return len(s.Who) == 0 || slices.Contains(s.Who, who) }

// Length is the shift from end to end on the clock, breaks included: more than
// zero and less than 24 h. On the night of a clock change the shift itself is an
// hour shorter or longer.
func (s *Shift) Length() time.Duration { return s.after(s.To) }

// after is how long after the start of the shift the clock shows c.
func (s *Shift) after(c clock.Clock) time.Duration {
	d := c.DurationSinceMidnight() - s.From.DurationSinceMidnight()
	if d < 0 {
		d += 24 * time.Hour
	}
	return d
}

// pause is how long the breaks are on the clock, all together.
func (s *Shift) pause() (sum time.Duration) {
	for _, b := range s.Breaks {
		to := s.after(b[1])
		if b[1] == s.From {
			to = 24 * time.Hour
		}
		sum += to - s.after(b[0])
	}
	return sum
}

func (s *Shift) hours() string { return showClock(s.From) + "-" + showClock(s.To) }

func showClock(c clock.Clock) string { return fmt.Sprintf("%02d:%02d", c.Hours(), c.Minutes()) }
