package main

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"beadline/cure/plan/solve"
)

// published are the answers of others, and what became of ours beside them.
type published struct {
	name    string
	answers map[string]known // by the name of the instance, in small letters

	decided, right, wrong int
	absent                []string // instances that the list does not have
	gaps                  []float64
	took                  []time.Duration
}

// known is a published answer: the optimum, a range that holds it, or that there is
// no schedule.
type known struct {
	lo, hi int
	none   bool
}

func (k known) String() string {
	switch {
	case k.none:
		return "unsat"
	case k.lo == k.hi:
		return strconv.Itoa(k.lo)
	}
	return fmt.Sprintf("%d..%d", k.lo, k.hi)
}

// readPublished reads a CSV with the columns problem and optimum. Names of instances
// are told apart by their letters, large or small. Of the files to be run no two may
// have one name: they would be held against one answer.
func readPublished(path string, files []string) (*published, error) {
	data, err := readBytes(path)
	if err != nil {
		return nil, err
	}
	p := &published{name: filepath.Base(path)}
	if p.answers, err = parsePublished(path, data); err != nil {
		return nil, err
	}
	first := map[string]string{}
	for _, f := range files {
		key := strings.ToLower(filepath.Base(f))
		if other, twice := first[key]; twice {
			return nil, usagef("--compare: %s and %s have one name: compare one set at a time", other, f)
		}
		first[key] = f
	}
	return p, nil
}

func parsePublished(path string, data []byte) (map[string]known, error) {
	r := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(data, []byte("\ufeff"))))
	r.FieldsPerRecord = -1
	r.TrimLeadingSpace = true
	fault := func(line int, format string, args ...any) error {
		return fmt.Errorf("%s:%d: %s", path, line, fmt.Sprintf(format, args...))
	}
	answers := map[string]known{}
	problem, optimum := -1, -1
	for {
		rec, err := r.Read()
		var bad *csv.ParseError
		switch {
		case err == io.EOF:
			if problem < 0 {
				return nil, fault(1, "the file is empty: want the columns problem,optimum")
			}
			return answers, nil
		case errors.As(err, &bad):
			return nil, fault(bad.StartLine, "not readable as CSV: %v", bad.Err)
		case err != nil:
			return nil, err
		}
		line, _ := r.FieldPos(0)
		if problem < 0 {
			problem, optimum = slices.Index(rec, "problem"), slices.Index(rec, "optimum")
			if problem < 0 || optimum < 0 {
				return nil, fault(line, "the first line names no columns problem and optimum")
			}
			continue
		}
		if len(rec) <= max(problem, optimum) {
			return nil, fault(line, "too few columns: want problem and optimum")
		}
		key := strings.ToLower(rec[problem])
		if _, twice := answers[key]; twice {
			return nil, fault(line, "%s stands here a second time: keep one", short(rec[problem]))
		}
		k, ok := parseKnown(strings.TrimSpace(rec[optimum]))
		if !ok {
			return nil, fault(line, "the optimum is %s: want a makespan like 43, a range like 83..98, or unsat", quoted(rec[optimum]))
		}
		answers[key] = k
	}
}

func parseKnown(s string) (known, bool) {
	if s == "unsat" {
		return known{none: true}, true
	}
	lo, hi, ranged := strings.Cut(s, "..")
	if !ranged {
		hi = lo
	}
	var k known
	var errs [2]error
	k.lo, errs[0] = strconv.Atoi(lo)
	k.hi, errs[1] = strconv.Atoi(hi)
	return k, errs[0] == nil && errs[1] == nil && 0 <= k.lo && k.lo <= k.hi
}

// judge holds one result against the published answer and says whether they can both
// be true.
func (p *published) judge(w io.Writer, r result) bool {
	p.took = append(p.took, r.took)
	decided := r.status == solve.Optimal || r.status == solve.Infeasible
	if decided {
		p.decided++
	}
	k, ok := p.answers[strings.ToLower(r.instance)]
	if !ok {
		p.absent = append(p.absent, r.instance)
		return true
	}
	if r.scheduled() && !k.none && k.hi > 0 {
		p.gaps = append(p.gaps, 100*float64(r.makespan-k.hi)/float64(k.hi))
	}
	if why := k.denies(r); why != "" {
		p.wrong++
		fmt.Fprintf(w, "contradiction: %s: %s; published: %v\n", r.instance, why, k)
		return false
	}
	if decided {
		p.right++
	}
	return true
}

// denies says what of a result cannot be true if the published answer is, or nothing.
func (k known) denies(r result) string {
	switch {
	case r.scheduled() && k.none:
		return fmt.Sprintf("a schedule of %d", r.makespan)
	case r.scheduled() && r.makespan < k.lo:
		return fmt.Sprintf("a schedule of %d", r.makespan)
	case r.status == solve.Optimal && r.makespan > k.hi:
		return fmt.Sprintf("%d called optimal", r.makespan)
	case r.status == solve.Infeasible && !k.none:
		return "called infeasible"
	case r.status != solve.Infeasible && !k.none && r.bound > k.hi:
		return fmt.Sprintf("a bound of %d", r.bound)
	}
	return ""
}

// summary says how many answers were decided and right, how far schedules are above
// the best known, and how long it took.
func (p *published) summary(w io.Writer) {
	n := len(p.took)
	fmt.Fprintf(w, "against %s: %d instances, %d decided: %d right, %d wrong", p.name, n, p.decided, p.right, p.wrong)
	if len(p.absent) > 0 {
		fmt.Fprintf(w, ", %d not in the list (first: %s)", len(p.absent), p.absent[0])
	}
	fmt.Fprintln(w)
	if len(p.gaps) > 0 {
		sum := 0.0
		for _, g := range p.gaps {
			sum += g
		}
		fmt.Fprintf(w, "above the best known: mean %.2f %%, worst %.2f %%, of %d schedules\n", sum/float64(len(p.gaps)), slices.Max(p.gaps), len(p.gaps))
	}
	if n > 0 {
		slices.Sort(p.took)
		var sum time.Duration
		for _, d := range p.took {
			sum += d
		}
		median := (p.took[(n-1)/2] + p.took[n/2]) / 2
		fmt.Fprintf(w, "time: median %.3f ms, worst %.3f ms, sum %.3f ms\n", milliseconds(median), milliseconds(p.took[n-1]), milliseconds(sum))
	}
}
