package show

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk/storeroom"
)

// Trace writes where a batch went, or what went to a joint, for an auditor: the facts as
// they were recorded, and the verdict then and now.
func Trace(w io.Writer, t *storeroom.Trace, zone *time.Location, u Units) error {
	s := sheet{w: w, u: u, z: zone}
	if len(t.Batches) > 0 && len(t.Joints) > 0 {
		s.block("", fmt.Sprintf("%q is the number of a batch and the name of a joint: both follow. --batch or --joint shows one.", t.Asked.Text))
		s.line("")
	}
	for i, b := range t.Batches {
		if i > 0 {
			s.line("")
		}
		s.tracedBatch(b)
	}
	if len(t.Joints) > 0 {
		if len(t.Batches) > 0 {
			s.line("")
		}
		s.tracedJoint(t)
	}
	s.line("")
	s.block("Register ", t.Register)
	return s.err
}

func (s *sheet) tracedBatch(t *storeroom.Traced) {
	s.block("", fmt.Sprintf("BATCH %s, %s: %s", t.Batch, orNotSaid(t.Class), drawCount(t.Draws)))
	s.papers(t)
	s.line("")
	s.line("DRAWN")
	if len(t.Draws) == 0 {
		s.line("  nothing yet")
	}
	for _, d := range t.Draws {
		s.draw(d)
	}
	s.since(t)
	s.line("")
	s.line("NOW")
	for _, h := range t.Holdings {
		what := storeroom.PartWords(h.Part) + reservedWords(h.Part)
		if !h.Stocked() {
			what = "nothing left" + inContainer(h.Container) + atPlace(h.Place)
		}
		s.block("  ", what)
		s.block("      ", nowWords(h))
	}
	if len(t.Holdings) == 0 {
		s.line("  no part of it is recorded")
	}
}

func inContainer(c string) string {
	if c == "" {
		return ""
	}
	return " in container " + c
}

func drawCount(all []storeroom.Draw) string {
	n, training := 0, 0
	for _, d := range all {
		switch {
		case d.Struck != nil:
		case d.Use != nil && d.Use.Training:
			training++
		default:
			n++
		}
	}
	say := "never drawn"
	if n > 0 {
		say = "drawn " + timesWords(n)
	}
	switch {
	case training > 0 && n == 0:
		say = "drawn for training alone, " + timesWords(training)
	case training > 0:
		say += ", and for training " + timesWords(training)
	}
	return say
}

func timesWords(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}

// papers writes with which papers a batch came.
func (s *sheet) papers(t *storeroom.Traced) {
	for _, e := range t.Receipts {
		s.block("  received ", fmt.Sprintf("%s%s, by %s%s", s.when(e.At), ofAmount(e), e.By, atPlace(e.Place)))
		s.block("    papers ", papersWords(e.Receipt))
	}
}

// papersWords are the papers of a receipt.
func papersWords(r *register.Receipt) string {
	if r == nil {
		return "none recorded"
	}
	say := "certificate " + orNone(r.Certificate)
	for _, f := range []struct{ name, text string }{{"supplier", r.Supplier}, {"order", r.Order}, {"maker's batch", r.MakerBatch}, {"GTIN", r.GTIN}, {"pack", r.Pack}} {
		if f.text != "" {
			say += ", " + f.name + " " + f.text
		}
	}
	for _, p := range r.Label.Parts {
		if p.Lot != "" {
			say += ", " + p.Name + " lot " + p.Lot
		}
	}
	for _, f := range []struct{ name, text string }{{"made", r.Label.DOM.String()}, {"expiry", r.Label.Expiry.String()}} {
		if f.text != "no date" {
			say += ", " + f.name + " " + f.text
		}
	}
	if r.Source != "" {
		say += ", from the list " + r.Source
	}
	return say
}

func orNone(s string) string {
	if s == "" {
		return "none"
	}
	return s
}

// ofAmount is ", 5 kits".
func ofAmount(e *register.Event) string {
	if e.Amount == nil {
		return ""
	}
	return ", " + e.Amount.Words(e.Unit)
}

// draw writes one drawing: when, who, how much, what for, the verdict then; and the verdict now.
func (s *sheet) draw(d storeroom.Draw) {
	s.block("  ", s.when(d.At)+ofAmount(d.Event)+inContainer(d.Container)+atPlace(d.Place)+", by "+d.By)
	if d.Struck != nil {
		s.block("      ", struckWords(d.Struck))
	}
	if u := d.Use; u != nil {
		switch {
		case u.Training:
			s.line("      FOR TRAINING, not for an aircraft")
		default:
			s.block("      ", useWords(u))
		}
		if !u.Until.IsZero() {
			s.block("      had to outlast ", s.when(u.Until))
		}
	}
	if d.Although {
		s.block("      although reserved for another job: ", d.Why)
	}
	s.block("      verdict then  ", orNone(thenWords(d.Verdict)))
	if d.ClassesOf != "" {
		s.block("      by the classes of ", d.ClassesOf)
	}
	s.block("      verdict now   ", nowWords(d.Now))
	s.line("      event %d, id %s", d.Seq, d.ID)
}

// useWords is the job, mix and joints of a drawing.
func useWords(u *register.Use) string {
	say := strings.TrimPrefix(storeroom.UseWords(u), ", ")
	if say == "" {
		return "for no job or joint that is recorded"
	}
	return strings.TrimPrefix(say, ": ")
}

// thenBy is the limit of a recorded verdict, and the day that it ended on if it had one.
func thenBy(rest string) string {
	name, day, dated := strings.Cut(rest, " ")
	if on, err := time.Parse(time.DateOnly, day); dated && err == nil {
		return " to " + on.Format("2 Jan 2006") + ", by " + name
	}
	return ", by " + rest
}

// thenWords is a recorded verdict: "use: label-expiry 2027-06-30".
func thenWords(v string) string {
	word, rest, ok := strings.Cut(v, ": ")
	for verdict, l := range loud {
		if ok && verdict.String() == word {
			return l + thenBy(rest)
		}
	}
	return v
}

func nowWords(h storeroom.Holding) string {
	j := h.Checked.Judgement
	return loud[j.Verdict] + ": " + inOneLine(j)
}

func struckWords(e *register.Event) string {
	if e.Kind == register.KindStruck {
		return fmt.Sprintf("STRUCK by event %d: it did not happen (%s; %s, %s, %s)", e.Seq, e.Why, e.By, e.Authority, e.Reference)
	}
	return fmt.Sprintf("CORRECTED by event %d, which stands in for it (%s; %s, %s, %s)", e.Seq, e.Why, e.By, e.Authority, e.Reference)
}

// since writes what has become known of a batch since it was drawn.
func (s *sheet) since(t *storeroom.Traced) {
	if len(t.Since) == 0 {
		return
	}
	s.line("")
	s.line("SINCE IT WAS FIRST DRAWN")
	for _, e := range t.Since {
		s.block("  ", s.when(e.At)+": "+eventWords(e)+byWords(e))
	}
}

func (s *sheet) tracedJoint(t *storeroom.Trace) {
	what := "JOINT " + t.Asked.Text
	switch {
	case t.Asked.Text == "":
		what = "JOB " + t.Asked.Job
	case t.Asked.Job != "":
		what += ", job " + t.Asked.Job
	}
	s.block("", fmt.Sprintf("%s: %s went to it", what, plural(len(t.Joints), "batch", "batches")))
	for _, b := range t.Joints {
		s.line("")
		s.block("BATCH ", fmt.Sprintf("%s, %s", b.Batch, orNotSaid(b.Class)))
		s.papers(b)
		for _, d := range b.Draws {
			s.draw(d)
		}
		s.since(b)
	}
}

// when is a time for people: "Mon 8 Mar 2027 07:00 UTC", or the day.
func (s *sheet) when(w register.When) string { return whenWords(w, s.z) }

// traceJSON is the shape of `stock trace`.
type traceJSON struct {
	Register string       `json:"register"`
	Asked    string       `json:"asked"`
	Job      string       `json:"job,omitempty"`
	Batches  []tracedJSON `json:"batches"` // of the number asked for, with all draws
	Joints   []tracedJSON `json:"served"`  // that went to the joint or job, with those draws
}

type tracedJSON struct {
	Batch    string           `json:"batch"`
	Maker    string           `json:"maker,omitempty"`
	Class    string           `json:"class"`
	Receipts []paperJSON      `json:"receipts"`
	Draws    []tracedDrawJSON `json:"draws"`
	Since    []eventJSON      `json:"since"`
	Holdings []holdingJSON    `json:"holdings"`
}

type paperJSON struct {
	eventJSON
	Certificate string    `json:"certificate"`
	Supplier    string    `json:"supplier"`
	Order       string    `json:"order"`
	MakerBatch  string    `json:"maker-batch"`
	GTIN        string    `json:"gtin"`
	Pack        string    `json:"pack"`
	Source      string    `json:"source,omitempty"`
	Lots        []lotJSON `json:"lots"`
}

type lotJSON struct {
	Part string `json:"part"`
	Lot  string `json:"lot"`
}

type tracedDrawJSON struct {
	eventJSON
	Until    string     `json:"until,omitempty"`
	Although bool       `json:"although-reserved,omitempty"`
	Struck   *eventJSON `json:"struck-by"`
	Now      struct {
		Verdict string `json:"verdict"`
		Limit   string `json:"limit"`
		Reason  string `json:"reason"`
	} `json:"now"`
}

func paperShape(e *register.Event) paperJSON {
	p := paperJSON{eventJSON: eventShape(e), Lots: []lotJSON{}}
	if r := e.Receipt; r != nil {
		p.Certificate, p.Supplier, p.Order, p.MakerBatch, p.GTIN, p.Pack, p.Source = r.Certificate, r.Supplier, r.Order, r.MakerBatch, r.GTIN, r.Pack, r.Source
		for _, x := range r.Label.Parts {
			p.Lots = append(p.Lots, lotJSON{x.Name, x.Lot})
		}
	}
	return p
}

func tracedDrawShape(d storeroom.Draw) tracedDrawJSON {
	x := tracedDrawJSON{eventJSON: eventShape(d.Event), Although: d.Although}
	if d.Use != nil {
		x.Until = d.Use.Until.String()
	}
	if d.Struck != nil {
		e := eventShape(d.Struck)
		x.Struck = &e
	}
	j := d.Now.Checked.Judgement
	x.Now.Verdict, x.Now.Limit, x.Now.Reason = j.Verdict.String(), string(j.Governing.Name), j.Governing.Reason
	return x
}

func tracedShapes(all []*storeroom.Traced) []tracedJSON {
	out := []tracedJSON{}
	for _, t := range all {
		x := tracedJSON{Batch: t.Batch.Number, Maker: t.Batch.Maker, Class: t.Class, Receipts: []paperJSON{}, Draws: []tracedDrawJSON{}, Since: []eventJSON{}, Holdings: []holdingJSON{}}
		for _, e := range t.Receipts {
			x.Receipts = append(x.Receipts, paperShape(e))
		}
		for _, d := range t.Draws {
			x.Draws = append(x.Draws, tracedDrawShape(d))
		}
		for _, e := range t.Since {
			x.Since = append(x.Since, eventShape(e))
		}
		for _, h := range t.Holdings {
			x.Holdings = append(x.Holdings, holdingShape(h))
		}
		out = append(out, x)
	}
	return out
}

// TraceJSON is Trace for programs.
func TraceJSON(w io.Writer, t *storeroom.Trace) error {
	return writeJSON(w, traceJSON{t.Register, t.Asked.Text, t.Asked.Job, tracedShapes(t.Batches), tracedShapes(t.Joints)})
}

// traceColumns are the columns of `stock trace --format csv`.
var traceColumns = []string{"batch", "maker", "class", "at", "by", "quantity", "unit", "container", "place", "job", "mix", "joint", "training",
	"verdict-then", "verdict-now", "limit-now", "reason-now", "certificate", "event", "id", "struck-by"}

// TraceCSV writes a line for each joint that something was drawn for, and one for a draw
// without a joint. Draws that a batch and a joint of one name have in common stand once.
func TraceCSV(w io.Writer, t *storeroom.Trace) error {
	var rows [][]string
	seen := map[string]bool{}
	for _, b := range slices.Concat(t.Batches, t.Joints) {
		var papers []string
		for _, e := range b.Receipts {
			if e.Receipt != nil && e.Receipt.Certificate != "" && !slices.Contains(papers, e.Receipt.Certificate) {
				papers = append(papers, e.Receipt.Certificate)
			}
		}
		for _, d := range b.Draws {
			if seen[d.ID] {
				continue
			}
			seen[d.ID] = true
			rows = append(rows, traceRows(b, d, strings.Join(papers, " "))...)
		}
	}
	return writeCSV(w, traceColumns, rows)
}

func traceRows(b *storeroom.Traced, d storeroom.Draw, papers string) (rows [][]string) {
	u := register.Use{}
	if d.Use != nil {
		u = *d.Use
	}
	amount, struck := "", ""
	if d.Amount != nil {
		amount = d.Amount.String()
	}
	if d.Struck != nil {
		struck = fmt.Sprint(d.Struck.Seq)
	}
	joints := u.Joints
	if len(joints) == 0 {
		joints = []string{""}
	}
	j := d.Now.Checked.Judgement
	for _, joint := range joints {
		rows = append(rows, []string{b.Batch.Number, b.Batch.Maker, b.Class, d.At.String(), d.By, amount, d.Unit, d.Container, d.Place, u.Job, u.Mix, joint, yes(u.Training),
			d.Verdict, j.Verdict.String(), string(j.Governing.Name), j.Governing.Reason, papers, fmt.Sprint(d.Seq), d.ID, struck})
	}
	return rows
}
