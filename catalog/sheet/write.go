package sheet

import (
	"fmt"
	"strings"

	"beadline/cure"
)

// YAML is the class file; nil where a milestone is refused. It holds what the sheet
// says and what Result.Assumed lists, and no more: shelf life, cautions and the
// conditions of laying are for a person to add.
func (r *Result) YAML() []byte {
	if len(r.Refused()) > 0 {
		return nil
	}
	w := &writer{}
	w.line(0, "# Fitted to %s.", r.Sheet.file())
	w.line(0, "# What the sheet does not say is missing here too: shelf life, cautions, when it")
	w.line(0, "# may be laid, accelerated cure. Add it, and run class lint.")
	w.line(0, "- id: %s", r.Options.ID)
	w.line(2, "name: %s", yamlText(r.Options.Name))
	w.line(2, "kind: %s", r.Options.Kind)
	if len(r.Options.Seals) > 0 {
		w.line(2, "seals: [%s]", strings.Join(r.Options.Seals, ", "))
	}
	if m := r.Class.Moisture; m != nil {
		w.line(2, "moisture: {min-rh: %s%%, closed-film: by-witness, from: %s}", decimal(m.MinRH), yamlText(m.From))
	}
	w.line(2, "curves:")
	for m := range cure.NumMilestones {
		if t, ok := r.textOf(m); ok {
			w.line(4, "%s:", m)
			w.curve(t)
		}
	}
	return []byte(w.String())
}

// textOf is the words of a milestone's curve, or of the later one that stands for it.
func (r *Result) textOf(m cure.Milestone) (curveText, bool) {
	for _, s := range r.StandIns {
		if s.Milestone == m {
			t, ok := r.textOf(s.By)
			t.from = r.standInFrom(s.Milestone, s.By)
			return t, ok
		}
	}
	for _, one := range r.Milestones {
		if one.Milestone == m {
			return one.text, true
		}
	}
	return curveText{}, false
}

type writer struct{ strings.Builder }

func (w *writer) line(indent int, format string, args ...any) {
	fmt.Fprintf(w, strings.Repeat(" ", indent)+format+"\n", args...)
}

func (w *writer) curve(t curveText) {
	w.line(6, "%s", t.form)
	for _, p := range [][2]string{{"range", t.temps}, {"rh", t.rh}, {"depth", t.depth}, {"states", t.states}, {"spread", t.spread}} {
		if p[1] != "" {
			w.line(6, "%s: %s", p[0], p[1])
		}
	}
	if t.power != "" {
		w.line(6, "humidity: {power: %s, rh: %d%%, from: %s}", t.power, usualRH, yamlText(t.powerFrom))
	}
	if t.cold != "" {
		w.line(6, "cold-extends: {from: %s}", yamlText(t.cold))
	}
	if t.creditMax != "" {
		w.line(6, "credit:")
		w.line(8, "%s", t.form)
		w.line(8, "max: %s", t.creditMax)
		w.line(8, "from: %s", yamlText(t.creditFrom))
	}
	w.line(6, "from: %s", yamlText(t.from))
}

// yamlText is a text in double quotes. It holds printable letters only.
func yamlText(s string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(s) + `"`
}
