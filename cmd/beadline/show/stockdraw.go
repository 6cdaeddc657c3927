package show

import (
	"fmt"
	"io"
	"strings"

	"beadline/catalog"
	"beadline/catalog/shelf"
	"beadline/cmd/beadline/desk/storeroom"
)

// Drawn writes what was drawn, or why nothing was: the answer first, then what the person
// has to do, then how the batch stands.
func Drawn(w io.Writer, o *storeroom.Drawn, u Units) error {
	s := sheet{w: w, u: u}
	if o.Withheld != "" {
		return withheld(&s, o)
	}
	s.block("DRAWN  ", strings.TrimPrefix(o.Did, "Drawn "))
	j := o.Taken.Checked.Judgement
	switch {
	case o.Known:
		s.block("       ", "It was drawn before, under this id: nothing was drawn twice.")
	case j.Verdict == shelf.Use:
		s.block("       ", "USE: "+inOneLine(j)+outlasts(o)+".")
	default:
		s.block("       ", loud[j.Verdict]+": "+j.Governing.Reason)
	}
	for _, t := range o.ToDo {
		s.block("       ", t)
	}
	s.line("")
	s.holdings(o.Holdings)
	s.line("")
	for _, e := range o.Events {
		s.block("", fmt.Sprintf("Event %s: %s %s, by %s.", e.ID, e.Kind, whenWords(e.At, o.Zone), e.By))
	}
	s.block("Register ", o.Register+".")
	notes := o.Notes
	if o.Known { // said above
		notes = nil
	}
	s.bullets("MIND", notes)
	s.bullets("ASSUMED", once(j.Assumed))
	s.bullets("CAUTIONS", o.Taken.Checked.Cautions)
	return s.err
}

// outlasts says what it was to outlast, and does.
func outlasts(o *storeroom.Drawn) string {
	for _, e := range o.Events {
		if e.Use != nil && !e.Use.Until.IsZero() {
			return "; it outlasts the work, " + e.Use.Until.Label(o.Taken.Checked.Zone).String()
		}
	}
	return ""
}

// withheld writes why nothing was drawn.
func withheld(s *sheet, o *storeroom.Drawn) error {
	j := o.Taken.Checked.Judgement
	why := strings.ToUpper(o.Withheld[:1]) + strings.TrimSuffix(o.Withheld[1:], ".") + "."
	if j.Verdict == shelf.Use {
		s.block("NOT DRAWN  ", "Kept for another job: "+why)
	} else {
		s.block("NOT DRAWN  ", loud[j.Verdict]+": "+why)
	}
	for i, l := range j.Limits {
		if i > 0 && l.Past && l.Counts {
			s.block("           also: ", l.Reason)
		}
	}
	for _, t := range o.ToDo {
		s.block("           ", t)
	}
	if o.Lift != "" {
		s.line("           By the person who answers for it:")
		s.block("             ", o.Lift)
	}
	s.block("           ", o.Did)
	s.line("")
	s.block("In stock  ", fmt.Sprintf("batch %s: %s%s", o.Batch, storeroom.PartWords(o.Taken.Part), reservedWords(o.Taken.Part)))
	s.block("Register  ", o.Register)
	s.bullets("MIND", o.Notes)
	s.bullets("ASSUMED", once(j.Assumed))
	s.planningAid()
	return s.err
}

// planningAid is the one caution of an answer by which nobody opens, mixes or thaws yet:
// what does hands in reach of the pack (drawing, opening, thawing) prints all of its class.
func (s *sheet) planningAid() { s.bullets("CAUTIONS", catalog.GeneralCautions()[:1]) }

// takenJSON is the shape of `stock draw`: what every recording has, whether something was
// drawn, and the verdict on it then. verdict is use, hold or reject of what was taken, or
// would have been.
type takenJSON struct {
	Drawn    bool   `json:"drawn"`
	Training bool   `json:"training"`
	Withheld string `json:"withheld,omitempty"`
	Lift     string `json:"lift,omitempty"`
	Then     string `json:"verdict-then"`
	recordedJSON
	Taken checkJSON `json:"taken"`
}

// DrawnJSON is Drawn for programs.
func DrawnJSON(w io.Writer, o *storeroom.Drawn) error {
	shape := takenJSON{Drawn: o.Withheld == "", Withheld: o.Withheld, Lift: o.Lift, Then: o.Then, recordedJSON: recordedShape(o.Outcome), Taken: checkShape(o.Taken.Checked)}
	shape.Verdict = o.Taken.Checked.Judgement.Verdict.String()
	for _, e := range o.Events {
		shape.Training = shape.Training || e.Use != nil && e.Use.Training
	}
	return writeJSON(w, shape)
}

// Proposals writes which batches of a class are drawn first.
func Proposals(w io.Writer, p *storeroom.Proposals, u Units) error {
	s := sheet{w: w, u: u}
	at := ""
	if p.Place != "" {
		at = " at " + p.Place
	}
	if len(p.First) == 0 {
		s.block("NONE TO DRAW  ", fmt.Sprintf("%s%s: %s", p.Class, at, noneWords(p)))
	} else {
		s.block("DRAW FIRST  ", fmt.Sprintf("%s%s: opened first, then what ends first. Nothing is recorded.", p.Class, at))
		s.line("")
	}
	for i, x := range p.First {
		s.block(fmt.Sprintf("  %d. ", i+1), fmt.Sprintf("%s: %s%s", x.Batch, storeroom.PartWords(x.Part), reservedWords(x.Part)))
		opened := ""
		if d := x.Checked.Item.Opened; !d.IsZero() {
			opened = "opened " + d.String() + ", "
		}
		s.block("     ", opened+inOneLine(x.Checked.Judgement))
	}
	if len(p.First) > 0 {
		s.line("")
		s.block("", fmt.Sprintf("Of %s in stock %d may be used and last as asked. To draw: beadline stock draw %s --job JOB.", plural(p.Parts, "part", "parts"), p.Good, p.First[0].Batch.Number))
	}
	if p.Faulty > 0 {
		s.block("", fmt.Sprintf("%s cannot be read: see beadline stock log --verify.", plural(p.Faulty, "row", "rows")))
	}
	s.block("Register ", p.Register)
	if len(p.First) > 0 {
		s.planningAid()
	}
	return s.err
}

// noneWords says why there is nothing to draw.
func noneWords(p *storeroom.Proposals) string {
	switch {
	case p.Parts == 0:
		return "none is in stock."
	case p.Good == 0:
		return fmt.Sprintf("of %s in stock none may be used, or none lasts as long as asked: see beadline stock list --class %s.", plural(p.Parts, "part", "parts"), p.Class)
	}
	return fmt.Sprintf("of %s that may be used none has so much that is not kept for other jobs: see beadline stock list --class %s.", plural(p.Good, "part", "parts"), p.Class)
}

// proposalsJSON is the shape of `stock draw --class`.
type proposalsJSON struct {
	Register string         `json:"register"`
	Class    string         `json:"class"`
	Place    string         `json:"place,omitempty"`
	Parts    int            `json:"parts"`
	Good     int            `json:"good"`
	Faulty   int            `json:"unreadable"`
	First    []proposalJSON `json:"first"`
}

type proposalJSON struct {
	Maker string  `json:"maker,omitempty"`
	Free  float64 `json:"free"` // not kept for other jobs
	holdingJSON
}

// ProposalsJSON is Proposals for programs.
func ProposalsJSON(w io.Writer, p *storeroom.Proposals) error {
	shape := proposalsJSON{Register: p.Register, Class: p.Class, Place: p.Place, Parts: p.Parts, Good: p.Good, Faulty: p.Faulty, First: []proposalJSON{}}
	for _, x := range p.First {
		shape.First = append(shape.First, proposalJSON{x.Batch.Maker, x.Free.Float(), holdingShape(x.Holding)})
	}
	return writeJSON(w, shape)
}
