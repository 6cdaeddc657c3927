package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"beadline/cure"
)

// The kinds of class that the fit itself looks at; the others are the catalog's own
// business.
const (
	oneMoisture = "one-part-moisture" // cures from the face inward, with moisture
	twoPart     = "two-part"
	frozen      = "premixed-frozen"
)

// Options is what the class is to be, beyond its curves.
type Options struct {
	ID, Name string
	Kind     string // one of the catalog's
	Seals    []string
}

// StandIn is a milestone that the sheet does not have and a later one stands for.
type StandIn struct {
	Milestone, By cure.Milestone
}

// Result is a sheet with a curve through each of its milestones.
type Result struct {
	Sheet      *Sheet
	Options    Options
	Milestones []*Milestone // those of the sheet, in the order of their lives
	StandIns   []StandIn
	// Assumed says what the class says that the sheet does not.
	Assumed []string
	// Class is the physics of the class: of the milestones that have a curve.
	Class *cure.Class
}

// Refused lists why milestones have no curve, one line each.
func (r *Result) Refused() (reasons []string) {
	for _, m := range r.Milestones {
		if m.Refused != "" {
			reasons = append(reasons, m.Refused)
		}
	}
	return reasons
}

// Fit lays a curve through each milestone of the sheet, and makes a class of them. Where
// a milestone is refused there is no class file: it is whole or there is none.
func (s *Sheet) Fit(o Options) *Result {
	r := &Result{Sheet: s, Options: o}
	for m := range cure.NumMilestones {
		if rows := s.of(m); len(rows) > 0 {
			r.Milestones = append(r.Milestones, s.fitMilestone(m, rows, o))
		}
	}
	r.makeClass()
	r.readLines()
	return r
}

func (r *Result) makeClass() {
	c := &cure.Class{ID: r.Options.ID, Name: r.Options.Name}
	for _, w := range r.Options.Seals {
		c.Seals = append(c.Seals, cure.Seal(w))
	}
	for _, m := range r.Milestones {
		c.Curves[m.Milestone] = m.Curve
	}
	r.Class = c
	if len(r.Refused()) == 0 {
		r.standIn(neededBy[r.Options.Kind])
	}
	if r.Options.Kind == twoPart {
		r.dryAir()
	}
}

// neededBy lists the not-before milestones that the kinds of the catalog must have.
var neededBy = map[string][]cure.Milestone{
	twoPart: {cure.TackFree, cure.Cured}, frozen: {cure.TackFree, cure.Cured}, oneMoisture: {cure.TackFree, cure.Cured},
	"anaerobic": {cure.Cured}, "adhesive": {cure.Cured}, "primer": {cure.TackFree}, "promoter": {cure.TackFree}, "topcoat": {cure.TackFree},
}

// standIn lets the next later milestone stand for one that the kind must have and the
// sheet does not give: later is safe for a not-before line.
func (r *Result) standIn(needed []cure.Milestone) {
	for _, m := range slices.Backward(needed) {
		for by := m + 1; r.Class.Curves[m] == nil && by < cure.NumMilestones; by++ {
			later := r.Class.Curves[by]
			if later == nil {
				continue
			}
			cv := *later
			cv.From = r.standInFrom(m, by)
			r.Class.Curves[m] = &cv
			r.StandIns = append(r.StandIns, StandIn{m, by})
			r.Assumed = append(r.Assumed, fmt.Sprintf("%s: the sheet has no row of it, so %s stands for it: later, so safe", m, by))
		}
	}
}

func (r *Result) standInFrom(m, by cure.Milestone) string {
	return fmt.Sprintf("assumed: %s has no row of %s; its %s stands for it: later, so safe", r.Sheet.file(), m, by)
}

// minRH is the humidity, in %, that the built-in two-part classes ask for.
const minRH = 40

// dryAir gives a two-part class the caution of the built-in ones, as no sheet of times
// says what dry air does: under 40 % RH, or the driest air of the sheet, and in a
// closed film the witness reading rules.
func (r *Result) dryAir() {
	least := float64(minRH)
	for _, row := range r.Sheet.Rows {
		if row.RH > 0 && row.Milestone.Line() == cure.NotBefore {
			least = math.Min(least, row.RH)
		}
	}
	from := fmt.Sprintf("assumed: the sheet says nothing of air drier than %s %% RH nor of a closed film, so there the witness reading rules", decimal(least))
	r.Class.Moisture = &cure.Moisture{MinRH: least, ClosedWitness: true, From: from}
	r.Assumed = append(r.Assumed, fmt.Sprintf("under %s %% RH and in a closed film: by witness reading", decimal(least)))
}

// readLines asks the class for the line at the air of each row.
func (r *Result) readLines() {
	for _, m := range r.Milestones {
		for i := range m.Readings {
			row := m.Rows[i]
			a := row.air()
			steady := cure.Steady{Air: a, PotC: a.TempC, PartC: a.TempC, Bead: row.bead()}
			if got, err := r.Class.Steady(m.Milestone, m.Milestone.Line(), steady); err == nil && !got.Never {
				m.Readings[i].Line = got.Time.Seconds()
			}
		}
	}
}

// DefaultID makes an id of a file's name: small letters, digits and hyphens.
func DefaultID(file string) string {
	word := strings.Map(func(c rune) rune {
		if c >= 'a' && c <= 'z' || c >= '0' && c <= '9' {
			return c
		}
		return '-'
	}, strings.ToLower(file))
	word = strings.Join(strings.FieldsFunc(word, func(c rune) bool { return c == '-' }), "-")
	if word == "" {
		return "fitted"
	}
	if len(word) > 64 {
		word = strings.TrimRight(word[:64], "-")
	}
	return word
}
