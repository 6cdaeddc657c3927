package desk

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/plan"
	"beadline/cure/plan/job"
)

// Work is a job with everything its plan rests on.
type Work struct {
	Input    plan.Input
	Cautions []string // of all the classes the job names, general ones first
	Notes    []string // what was taken for granted in reading the files
}

// Planned is a plan with all that is shown beside it.
type Planned struct {
	*plan.Plan
	Supply   *Supply
	Cautions []string
	Passed   string // what is to be said of a job that starts in the past; "" if it does not
}

// Passed says that a job starts before now, and what to change; "" if it does not. The
// plan is one all the same: for looking back, or for a start that is only late.
func Passed(j *job.Job, now time.Time) string {
	late := now.Sub(j.Start)
	if late < time.Minute {
		return ""
	}
	at := func(t time.Time) string { return t.In(j.Zone).Format("Mon 2 Jan 2006 15:04 MST") }
	say := fmt.Sprintf("The start of the job, %s, was %s ago; now it is %s. What the plan has before now cannot be done any more.", at(j.Start), agoWords(late), at(now))
	if !j.ReadyBy.IsZero() && !j.ReadyBy.After(now) {
		say += fmt.Sprintf(" The time it is wanted by, %s, has passed too.", at(j.ReadyBy))
	}
	next := now.In(j.Zone).Truncate(time.Minute).Add(time.Minute)
	return say + fmt.Sprintf(" To plan from here on, write start: %s in %s, and take out what is done.", next.Format("2006-01-02T15:04"), j.File)
}

// agoWords is a span as people say it: days and hours, or hours and minutes.
func agoWords(d time.Duration) string {
	days, hours, minutes := int(d/(24*time.Hour)), int(d/time.Hour)%24, int(d/time.Minute)%60
	unit := func(n int, one string) string {
		if n == 1 {
			return "1 " + one
		}
		return fmt.Sprintf("%d %ss", n, one)
	}
	switch {
	case days >= 10 || days > 0 && hours == 0:
		return unit(days, "day")
	case days > 0:
		return unit(days, "day") + " " + unit(hours, "hour")
	case hours > 0 && minutes > 0:
		return fmt.Sprintf("%d h %02d min", hours, minutes)
	case hours > 0:
		return unit(hours, "hour")
	}
	return unit(minutes, "minute")
}

// OpenJob reads a job file, the air logs it names (relative to the job file) and
// the classes it uses. The error is one line for each thing that is wrong, with its
// file and line; a class that does not exist comes with the nearest names.
func OpenJob(name string, c *catalog.Catalog) (*Work, error) {
	data, err := ReadFile(name)
	if err != nil {
		return nil, err
	}
	j, err := job.Decode(data, name)
	if err != nil {
		return nil, err
	}
	w := &Work{Input: plan.Input{Job: j, Classes: map[string]*cure.Class{}, Logs: map[string][]cure.Sample{}}, Cautions: catalog.GeneralCautions()}
	for _, a := range j.Air {
		for _, log := range []string{a.Log, a.Forecast} {
			if log == "" || w.Input.Logs[log] != nil {
				continue
			}
			path := log
			if !filepath.IsAbs(path) {
				path = filepath.Join(filepath.Dir(name), log)
			}
			air, err := ReadAir(path, j.Zone)
			if err != nil {
				return nil, fmt.Errorf("%s:%d: %w", name, a.Line, err)
			}
			w.Input.Logs[log] = air.Samples
		}
	}
	if err := w.classes(j, c); err != nil {
		return nil, err
	}
	for _, cl := range c.All() {
		if len(cl.Seals) > 0 && !slices.Contains(cl.Seals, "") {
			w.Input.Others = append(w.Input.Others, &cl.Class)
		}
	}
	return w, nil
}

// classes finds every class the job names.
func (w *Work) classes(j *job.Job, c *catalog.Catalog) error {
	var wrong []string
	use := func(id string, line int, where string) {
		if id == "" || w.Input.Classes[id] != nil {
			return
		}
		cl, err := c.Find(id)
		if err != nil {
			wrong = append(wrong, fmt.Sprintf("%s:%d: %s: %v", j.File, line, where, err))
			return
		}
		w.Input.Classes[id] = &cl.Class
		for _, s := range cl.CautionSentences() {
			if !slices.Contains(w.Cautions, s) {
				w.Cautions = append(w.Cautions, s)
			}
		}
	}
	for k := range j.Joints {
		jt := &j.Joints[k]
		for _, id := range jt.Classes {
			use(id, jt.Line, "joint "+jt.ID)
		}
		for _, l := range jt.Layers {
			use(l.Class, l.Line, "joint "+jt.ID+", "+string(l.Seal))
		}
	}
	if len(wrong) > 0 {
		return fmt.Errorf("%s", strings.Join(wrong, "\n"))
	}
	return nil
}
