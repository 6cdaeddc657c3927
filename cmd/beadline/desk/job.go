package desk

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

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
