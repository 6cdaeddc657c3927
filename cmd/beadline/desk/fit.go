package desk

import (
	"path/filepath"
	"slices"
	"strings"

	"beadline/catalog"
	"beadline/catalog/sheet"
	"beadline/cure"
)

// FitQuestion asks for a class from the table of a data sheet.
type FitQuestion struct {
	File      string // the sheet
	ID, Name  string // "": made from the file's name
	Kind      string // one of the catalog's
	Seals     []string
	AsWritten bool // the temperatures are meant as they stand
}

// Fit is the answer: curves, the class file, and what the catalog says to it.
type Fit struct {
	*sheet.Result
	YAML    []byte // nil where a milestone is refused
	Against []catalog.Problem
	Advice  []catalog.Problem // the warnings
	Missing []string          // what a class has and no sheet of times says
	// Cautions are those of every answer.
	Cautions []string
}

// Whole reports whether there is a class file that can be used.
func (f *Fit) Whole() bool { return f.YAML != nil && len(f.Against) == 0 }

// usualSeal is what a sealant class is taken to be for where nobody says.
const usualSeal = string(cure.Fillet)

// FitSheet reads a data sheet and makes a class of it. The error is one line for each
// fault of the sheet. A milestone that is refused, and a class that the catalog would
// not take, are part of the answer.
func FitSheet(q FitQuestion) (*Fit, error) {
	data, err := ReadFile(q.File)
	if err != nil {
		return nil, err
	}
	s, err := sheet.Read(data, q.File, q.AsWritten)
	if err != nil {
		return nil, err
	}
	base := strings.TrimSuffix(filepath.Base(q.File), filepath.Ext(q.File))
	o := sheet.Options{ID: q.ID, Name: q.Name, Kind: q.Kind, Seals: q.Seals}
	var assumed []string
	if o.ID == "" {
		o.ID = sheet.DefaultID(base)
	}
	if o.Name == "" {
		o.Name = "Fitted to " + sheet.DefaultID(base)
	}
	sealants := []catalog.Kind{catalog.TwoPart, catalog.PremixedFrozen, catalog.OnePartMoisture}
	if len(o.Seals) == 0 && slices.Contains(sealants, catalog.Kind(o.Kind)) {
		o.Seals = []string{usualSeal}
		assumed = append(assumed, "it is for a "+usualSeal+": say --seals for others")
	}
	f := &Fit{Result: s.Fit(o), Cautions: catalog.GeneralCautions()}
	f.Assumed = append(assumed, f.Assumed...)
	f.YAML = f.Result.YAML()
	f.lint()
	f.missing()
	return f, nil
}

// lint has the catalog read the class file.
func (f *Fit) lint() {
	if f.YAML == nil {
		return
	}
	for _, p := range catalog.Lint(f.YAML, f.Options.ID+".yaml") {
		if p.Severity == catalog.Error {
			f.Against = append(f.Against, p)
		} else {
			f.Advice = append(f.Advice, p)
		}
	}
}

// missing lists what a person has to add before the class says all that the built-in
// ones do.
func (f *Fit) missing() {
	f.Missing = []string{"shelf life and storage", "cautions", "when it may be laid: temperature of the part, humidity"}
	for m := range cure.NumMilestones {
		if m.Line() == cure.NotBefore && f.Class.Curves[m] != nil {
			f.Missing = append(f.Missing, "accelerated cure: its ceiling and flash-off; until then warm air shortens a line as far as the rows reach")
			return
		}
	}
}
