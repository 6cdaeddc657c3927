package main

import (
	"fmt"
	"slices"
	"strings"
)

// The headings of a .sm file that say something of the instance.
const (
	headProject    = "PROJECT INFORMATION"
	headPrecedence = "PRECEDENCE RELATIONS"
	headRequests   = "REQUESTS/DURATIONS"
	headUnits      = "RESOURCEAVAILABILITIES"
)

// looksSM reports whether a file has the heading that every .sm file has.
func (f *text) looksSM() bool { return f.heading(headPrecedence) >= 0 }

// heading is the index of the row that begins with these words, or -1.
func (f *text) heading(words string) int {
	return slices.IndexFunc(f.rows, func(r row) bool { return strings.HasPrefix(strings.Join(r.words, " "), words) })
}

// readSM reads a single-mode project with precedence (R. Kolisch, A. Sprecher, PSPLIB,
// European Journal of Operational Research 96, 1997, 205-216; the layout as the public
// files have it). The head says how many jobs there are, source and sink counted, and
// how many resources. Sections follow, each with a heading and a line that names its
// columns, up to a line of asterisks: what follows each job, their durations and
// requests, and the capacities.
func readSM(f *text) (*instance, error) {
	jobs, resources, err := f.headSM()
	if err != nil {
		return nil, err
	}
	after, err := f.section(headPrecedence, jobs)
	if err != nil {
		return nil, err
	}
	requests, err := f.section(headRequests, jobs)
	if err != nil {
		return nil, err
	}
	p := &instance{first: 1, activities: make([]activity, jobs), units: []int{}}
	for i := range jobs {
		lags, err := f.followersSM(after[i], i, jobs)
		if err != nil {
			return nil, err
		}
		p.lags = append(p.lags, lags...)
		if p.activities[i], err = f.requests(requests[i], 1+i, resources); err != nil {
			return nil, err
		}
	}
	if resources > 0 {
		units, err := f.section(headUnits, 1)
		if err != nil {
			return nil, err
		}
		if p.units, err = f.capacities(units[0], resources); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// headSM reads how many jobs and resources there are, and sees to it that the file
// holds nothing else to be minded.
func (f *text) headSM() (jobs, resources int, err error) {
	if jobs, err = f.labelled("jobs", 3, maxActivities+2); err != nil {
		return 0, 0, err
	}
	if resources, err = f.labelled("- renewable", 0, maxResources); err != nil {
		return 0, 0, err
	}
	for _, l := range []struct {
		label string
		only  int
	}{{"projects", 1}, {"- nonrenewable", 0}, {"- doubly constrained", 0}} {
		if f.heading(l.label) < 0 {
			continue
		}
		if _, err = f.labelled(l.label, l.only, l.only); err != nil {
			return 0, 0, err
		}
	}
	if f.heading(headProject) < 0 {
		return jobs, resources, nil
	}
	project, err := f.section(headProject, 1)
	if err == nil {
		_, err = f.number(project[0], 2, "the release date (rel.date)", 0, 0)
	}
	return jobs, resources, err
}

// labelled is the number behind the colon of a line of the head.
func (f *text) labelled(label string, lo, hi int) (int, error) {
	i := f.heading(label)
	if i < 0 {
		return 0, f.fault(1, "the head has no line that begins with %q: want one like %s : %d", label, label, lo)
	}
	r := f.rows[i]
	_, behind, found := strings.Cut(strings.Join(r.words, " "), ":")
	words := strings.Fields(behind)
	if !found || len(words) == 0 {
		return 0, f.fault(r.line, "no number behind a colon: want one like %s : %d", label, max(lo, 1))
	}
	return f.whole(r, words[0], strings.TrimPrefix(label, "- "), lo, hi)
}

// section gives the rows under a heading: those below the line that names the columns,
// but for a rule of dashes, up to a line of asterisks or the end. There are to be as
// many as wanted.
func (f *text) section(heading string, want int) ([]row, error) {
	i := f.heading(heading)
	if i < 0 {
		return nil, f.fault(f.last(), "there is no section %s:", heading)
	}
	head := f.rows[i]
	var out []row
	for _, r := range f.rows[min(i+2, len(f.rows)):] {
		if strings.HasPrefix(r.words[0], "**") {
			break
		}
		if len(r.words) > 1 || strings.Trim(r.words[0], "-") != "" {
			out = append(out, r)
		}
	}
	switch {
	case len(out) < want:
		at := head.line
		if len(out) > 0 {
			at = out[len(out)-1].line
		}
		return nil, f.fault(at, "section %s ends here with %s: want %d, below a line that names the columns", heading, lines(len(out)), want)
	case len(out) > want:
		return nil, f.fault(out[want].line, "section %s is to have %s: nothing is to follow but a line of asterisks", heading, lines(want))
	}
	return out, nil
}

func lines(n int) string {
	if n == 1 {
		return "1 line"
	}
	return fmt.Sprint(n, " lines")
}

// followersSM reads the line of what follows a job.
func (f *text) followersSM(r row, i, jobs int) ([]lag, error) {
	if err := f.begins(r, 1+i); err != nil {
		return nil, err
	}
	if _, err := f.number(r, 1, "how many modes it has", 1, 1); err != nil {
		return nil, err
	}
	follow, err := f.number(r, 2, "how many jobs follow", 0, maxNumber)
	if err != nil {
		return nil, err
	}
	if len(r.words) != 3+follow {
		return nil, f.fault(r.line, "job %d is followed by %d: want as many numbers, and there are %d", 1+i, follow, len(r.words)-3)
	}
	lags := make([]lag, follow)
	for k := range lags {
		to, err := f.number(r, 3+k, "a job that follows", 1, jobs)
		if err != nil {
			return nil, err
		}
		lags[k] = lag{from: i, to: to - 1, fromEnd: true}
	}
	return lags, nil
}
