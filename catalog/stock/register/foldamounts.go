package register

import (
	"fmt"
	"slices"
)

// How much of a part is drawn, reserved, counted, scrapped.

// amount is how much an event is about, in the unit of the part; all of it, or one where
// it was not counted, if it does not say.
func (f *fold) amount(e *Event, p *Part) (a Amount, ok bool) {
	if e.Amount == nil {
		if !p.Counted {
			return 0, true
		}
		return p.Amount, true
	}
	if *e.Amount < 0 || *e.Amount > MaxAmount {
		f.problem(e, "%s is no amount", *e.Amount)
		return 0, false
	}
	if e.Unit == "" {
		return *e.Amount, true
	}
	a, err := inUnit(*e.Amount, e.Unit, p.Unit)
	if err != nil {
		f.problem(e, "%s", err)
		return 0, false
	}
	return a, true
}

// enough reports whether a part has so much.
func (f *fold) enough(e *Event, p *Part, a Amount) bool {
	switch {
	case p.Scrapped:
		f.problem(e, "it was scrapped before")
	case p.Counted && p.Amount == 0 && p.Taken != nil:
		f.problem(e, "none is left %s: the last was %s %s by %s", partWords(p.Container, p.Place), p.Taken.Kind, p.Taken.At.words(f.zone), p.Taken.By)
	case p.Counted && a > p.Amount:
		f.problem(e, "there %s only %s of it %s, not %s", isAre(p.Amount), p.Amount.Words(p.Unit), partWords(p.Container, p.Place), a.Words(p.Unit))
	default:
		return true
	}
	return false
}

func isAre(a Amount) string {
	if a == 1000 {
		return "is"
	}
	return "are"
}

func (f *fold) drawn(e *Event, p *Part) {
	a, ok := f.amount(e, p)
	if !ok || !f.enough(e, p, a) {
		return
	}
	job := e.Use.jobOf()
	if p.Counted && a > p.Free(job) && !e.Although {
		f.problem(e, "%s", p.keptFor(job))
		return
	}
	p.Amount -= a
	p.Taken = e
	if !p.Counted {
		p.Amount = 0
	}
	p.release(job, a)
	p.trim()
}

// keptFor says for which other jobs the rest of a part is reserved.
func (p *Part) keptFor(job string) string {
	say := fmt.Sprintf("of %s %s", p.Amount.Words(p.Unit), partWords(p.Container, p.Place))
	for i, r := range p.Reserved {
		if r.Job == job {
			continue
		}
		if i > 0 {
			say += " and"
		}
		say += fmt.Sprintf(" %s %s reserved for job %s", r.Amount, isAre(r.Amount), r.Job)
	}
	return say
}

func (f *fold) reserved(e *Event, p *Part) {
	a, ok := f.amount(e, p)
	if !ok || !f.enough(e, p, a) {
		return
	}
	if free := p.Free(""); p.Counted && a > free {
		f.problem(e, "%s", p.keptFor(""))
		return
	}
	r := Reservation{Job: e.Use.jobOf(), Amount: a, By: e.By, At: e.At}
	if e.Use != nil {
		r.Mix = e.Use.Mix
	}
	p.Reserved = append(p.Reserved, r)
}

func (f *fold) scrapped(e *Event, p *Part) {
	a, ok := f.amount(e, p)
	if !ok || !f.enough(e, p, a) {
		return
	}
	p.Taken = e
	if !p.Counted || a == p.Amount {
		p.Amount, p.Scrapped, p.Reserved = 0, true, nil
		p.own = append(p.own, e)
		return
	}
	p.Amount -= a
	p.trim()
}

// counted takes what was seen for what there is. What is kept for jobs is cut down to it.
func (f *fold) counted(e *Event, p *Part) {
	if p.Scrapped {
		f.problem(e, "it was scrapped before: if it is there all the same, strike that event")
		return
	}
	if !p.Counted && p.Unit == "" {
		p.Unit = e.Unit
	}
	if a, ok := f.amount(e, p); ok {
		p.Amount, p.Counted = a, true
		p.trim()
	}
}

// release gives back up to an amount of what is reserved for a job.
func (p *Part) release(job string, a Amount) {
	for i := range p.Reserved {
		if r := &p.Reserved[i]; r.Job == job {
			less := min(a, r.Amount)
			r.Amount, a = r.Amount-less, a-less
		}
	}
	p.Reserved = slices.DeleteFunc(p.Reserved, func(r Reservation) bool { return r.Amount == 0 })
}

// trim keeps no more reserved than there is; what was reserved last goes first.
func (p *Part) trim() {
	left := p.Amount
	for i := range p.Reserved {
		p.Reserved[i].Amount = min(p.Reserved[i].Amount, left)
		left -= p.Reserved[i].Amount
	}
	p.Reserved = slices.DeleteFunc(p.Reserved, func(r Reservation) bool { return r.Amount == 0 })
}

func (u *Use) jobOf() string {
	if u == nil {
		return ""
	}
	return u.Job
}
