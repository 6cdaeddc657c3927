package main

import "strings"

// looksSCH reports whether a file begins as a .sch file does: with two to four whole
// numbers on a line.
func (f *text) looksSCH() bool {
	if len(f.rows) == 0 {
		return false
	}
	words := f.rows[0].words
	return len(words) >= 2 && len(words) <= 4 && strings.Trim(strings.Join(words, ""), "0123456789") == ""
}

// readSCH reads a project with minimum and maximum time lags (C. Schwindt, Generation
// of resource-constrained project scheduling problems with minimal and maximal time
// lags, report WIOR-489, University of Karlsruhe 1996; the layout as the public files
// have it). The first line says how many activities there are, without source and
// sink, and how many resources of each of three kinds. Then a line for each activity:
// number, modes, how many follow, their numbers, and for each the lag from start to
// start in brackets. Then a line for each: number, mode, duration, requests. The last
// line is the capacities.
func readSCH(f *text) (*instance, error) {
	n, resources, err := f.headSCH()
	if err != nil {
		return nil, err
	}
	want := 1 + 2*n
	if resources > 0 {
		want++
	}
	if len(f.rows) < want {
		return nil, f.endsEarly(n)
	}
	if len(f.rows) > want {
		return nil, f.fault(f.rows[want].line, "the instance ends above, with %d activities: nothing is to follow", n)
	}
	p := &instance{activities: make([]activity, n), units: []int{}}
	for i := range n {
		lags, err := f.lagsSCH(f.rows[1+i], i, n)
		if err != nil {
			return nil, err
		}
		p.lags = append(p.lags, lags...)
	}
	for i := range n {
		if p.activities[i], err = f.requests(f.rows[1+n+i], i, resources); err != nil {
			return nil, err
		}
	}
	if resources > 0 {
		if p.units, err = f.capacities(f.rows[1+2*n], resources); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// headSCH reads the first line: how many activities there are, source and sink
// counted, and how many renewable resources.
func (f *text) headSCH() (n, resources int, err error) {
	r := f.rows[0]
	if n, err = f.number(r, 0, "how many activities there are", 1, maxActivities); err != nil {
		return 0, 0, err
	}
	if resources, err = f.number(r, 1, "how many resources there are", 0, maxResources); err != nil {
		return 0, 0, err
	}
	for k := 2; k < len(r.words); k++ {
		what := []string{"how many nonrenewable resources there are", "how many doubly constrained resources there are"}[k-2]
		if _, err = f.number(r, k, what, 0, 0); err != nil {
			return 0, 0, err
		}
	}
	return n + 2, resources, nil
}

// endsEarly says which line a file that ends early lacks first.
func (f *text) endsEarly(n int) error {
	have := len(f.rows) - 1
	switch {
	case have < n:
		return f.fault(f.last(), "the file ends here: the lags of activity %d are missing", have)
	case have < 2*n:
		return f.fault(f.last(), "the file ends here: the duration and requests of activity %d are missing", have-n)
	}
	return f.fault(f.last(), "the file ends here: the line of capacities is missing")
}

// lagsSCH reads the line of what follows an activity.
func (f *text) lagsSCH(r row, i, n int) ([]lag, error) {
	if err := f.begins(r, i); err != nil {
		return nil, err
	}
	if _, err := f.number(r, 1, "how many modes it has", 1, 1); err != nil {
		return nil, err
	}
	follow, err := f.number(r, 2, "how many activities follow", 0, maxNumber)
	if err != nil {
		return nil, err
	}
	if len(r.words) != 3+2*follow {
		return nil, f.fault(r.line, "activity %d is followed by %d: want as many numbers and as many lags in brackets, like 4 [2], and there are %d words", i, follow, len(r.words)-3)
	}
	lags := make([]lag, follow)
	for k := range lags {
		to, err := f.number(r, 3+k, "an activity that follows", 0, n-1)
		if err != nil {
			return nil, err
		}
		word := r.words[3+follow+k]
		inside, found := strings.CutPrefix(word, "[")
		inside, closed := strings.CutSuffix(inside, "]")
		if !found || !closed {
			return nil, f.fault(r.line, "the lag to activity %d is %s: want it in brackets, like [2] or [-5]", to, quoted(word))
		}
		length, err := f.whole(r, inside, "a lag", -maxNumber, maxNumber)
		if err != nil {
			return nil, err
		}
		lags[k] = lag{from: i, to: to, length: length}
	}
	return lags, nil
}
