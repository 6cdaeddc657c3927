package show

import (
	"fmt"
	"io"
	"strings"
	"time"

	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk/storeroom"
)

// Log writes the events of a batch in the order in which they were recorded.
func Log(w io.Writer, name string, st *register.State, zone *time.Location, u Units) error {
	s := sheet{w: w, u: u, z: zone}
	s.block("", fmt.Sprintf("BATCH %s: %s", st.Batch, plural(len(st.Events), "event", "events")))
	for _, e := range st.Events {
		s.line("")
		s.event(e, st.Corrected[e.ID])
	}
	for i, p := range st.Problems {
		if i == 0 {
			s.line("")
			s.line("DOES NOT ADD UP")
		}
		s.block("  - ", fmt.Sprintf("event %d: %s", p.Event.Seq, p.Text))
	}
	s.line("")
	s.block("Register ", name)
	return s.err
}

// event writes one event; by is the one that corrects it, or nil.
func (s *sheet) event(e, by *register.Event) {
	const indent = "      "
	s.block(fmt.Sprintf("%4d. ", e.Seq), s.when(e.At)+": "+eventWords(e))
	if by != nil {
		s.block(indent, struckWords(by))
	}
	if e.Corrects != "" {
		s.block(indent, "corrects the event "+e.Corrects)
	}
	who := "by " + e.By
	if e.Authority != "" {
		who += ", under the authority of " + e.Authority
	}
	if e.Reference != "" {
		who += ", reference " + e.Reference
	}
	s.block(indent, who)
	if e.Receipt != nil {
		s.block(indent, papersWords(e.Receipt))
	}
	if e.Use != nil && !e.Use.Until.IsZero() {
		s.block(indent, "had to outlast "+s.when(e.Use.Until))
	}
	if e.Why != "" {
		s.block(indent, "why: "+e.Why)
	}
	if e.Verdict != "" {
		s.block(indent, "verdict then: "+thenWords(e.Verdict))
		if e.ClassesOf != "" {
			s.block(indent, "by the classes of "+e.ClassesOf)
		}
	}
	s.block(indent, s.recordedWhen(e))
	s.line("%sid %s", indent, e.ID)
}

// recordedWhen says when an event was recorded, where that is not when it happened.
func (s *sheet) recordedWhen(e *register.Event) string {
	say := "recorded " + whenWords(register.AtInstant(e.Recorded), s.z)
	if e.Station != "" {
		say += " at " + e.Station
	}
	if e.Behind > 0 {
		say += fmt.Sprintf(" (its clock was %s behind the event before)", time.Duration(e.Behind)*time.Second)
	}
	return say
}

// eventWords is what happened in a few words.
func eventWords(e *register.Event) string {
	say := string(e.Kind)
	switch {
	case e.Amount != nil:
		say += " " + e.Amount.Words(e.Unit) + inContainer(e.Container)
	case e.Container != "":
		say += " container " + e.Container
	}
	switch e.Kind {
	case register.KindMoved:
		say += " from " + orNotSaid(e.Place) + " to " + e.To
	default:
		say += atPlace(e.Place)
	}
	if e.As != "" && e.As != e.Container {
		say += ", from now on container " + e.As
	}
	say += storeroom.UseWords(e.Use)
	if e.Although {
		say += ", although reserved for another job"
	}
	if se := e.Shelf; se != nil {
		say += shelfWords(e.Kind, se)
	}
	return say
}

// shelfWords is what an event says of the life of a batch.
func shelfWords(kind register.Kind, se *shelf.Event) string {
	say := ""
	switch kind {
	case register.KindTested:
		say = ", failed"
		if se.Passed {
			say = ", passed"
		}
	case register.KindFreed:
		say = fmt.Sprintf(" from the hold %q", se.Limit)
	case register.KindCondition:
		say = ": " + se.Condition.String()
	}
	if !se.To.IsZero() {
		say += ", good to " + se.To.String()
	}
	if !se.Span.IsZero() {
		say += ", for " + se.Span.String() + " more"
	}
	if se.Results != "" {
		say += " (" + se.Results + ")"
	}
	return say
}

func byWords(e *register.Event) string {
	say := ", by " + e.By
	if e.Authority != "" {
		say += ", " + e.Authority
	}
	if e.Reference != "" {
		say += ", " + e.Reference
	}
	if e.Why != "" {
		say += ": " + e.Why
	}
	return say
}

// logJSON is the shape of `stock log BATCH`.
type logJSON struct {
	Register string         `json:"register"`
	Batch    string         `json:"batch"`
	Maker    string         `json:"maker,omitempty"`
	Hash     string         `json:"hash"` // of the last event
	Events   []logEventJSON `json:"events"`
	Problems []string       `json:"problems"`
}

type logEventJSON struct {
	paperJSON
	StruckBy int    `json:"struck-by,omitempty"` // the number of the event that corrects it
	Passed   *bool  `json:"passed,omitempty"`
	Results  string `json:"results,omitempty"`
	Limit    string `json:"limit,omitempty"`
	To       string `json:"good-to,omitempty"`
	Behind   int    `json:"clock-behind-seconds,omitempty"`
}

// LogJSON is Log for programs.
func LogJSON(w io.Writer, name string, st *register.State) error {
	shape := logJSON{Register: name, Batch: st.Batch.Number, Maker: st.Batch.Maker, Hash: st.Head.Hash.String(), Events: []logEventJSON{}, Problems: []string{}}
	for _, e := range st.Events {
		x := logEventJSON{paperJSON: paperShape(e), Behind: e.Behind}
		if by := st.Corrected[e.ID]; by != nil {
			x.StruckBy = by.Seq
		}
		if se := e.Shelf; se != nil {
			if e.Kind == register.KindTested {
				x.Passed = &se.Passed
			}
			x.Results, x.Limit, x.To = se.Results, string(se.Limit), se.To.Canonical()
		}
		shape.Events = append(shape.Events, x)
	}
	for _, p := range st.Problems {
		shape.Problems = append(shape.Problems, fmt.Sprintf("event %d: %s", p.Event.Seq, p.Text))
	}
	return writeJSON(w, shape)
}

// RegisterOverview writes how much a register holds, and how to see a batch of it.
func RegisterOverview(w io.Writer, o *storeroom.Overview, zone *time.Location) error {
	s := sheet{w: w, z: zone}
	s.line("%s, %s%s", plural(o.Batches, "batch", "batches"), plural(o.Events, "event", "events"), catalogsToo(o.Catalogs))
	s.checkpoint(o.Last, o.Checkpoints)
	s.line("")
	s.line("One batch:             beadline stock log BATCH")
	s.line("Is it all as written?  beadline stock log --verify")
	s.block("Register ", o.Register)
	return s.err
}

func catalogsToo(n int) string {
	if n == 0 {
		return ""
	}
	return ", with " + plural(n, "catalog", "catalogs") + " of classes"
}

func (s *sheet) checkpoint(c *register.Checkpoint, n int) {
	if c == nil {
		s.block("", "No checkpoint was made yet: beadline stock log --checkpoint makes one.")
		return
	}
	s.block("", fmt.Sprintf("Last checkpoint: number %d, %s by %s, over %s.", c.N, whenWords(register.AtInstant(c.At), s.z), c.By, plural(c.Events, "event", "events")))
	s.line("  %s", c.Hash)
	s.block("  ", "Keep this hash elsewhere, on paper: beadline stock log --verify --expect HASH then finds a register that was made anew or put back.")
}

type overviewJSON struct {
	Register    string          `json:"register"`
	Batches     int             `json:"batches"`
	Catalogs    int             `json:"catalogs"`
	Events      int             `json:"events"`
	Checkpoints int             `json:"checkpoints"`
	Last        *checkpointJSON `json:"last-checkpoint"`
}

type checkpointJSON struct {
	N      int    `json:"number"`
	At     string `json:"at"`
	By     string `json:"by"`
	Lines  int    `json:"lines"` // of events: one for each batch, and each catalog of classes
	Events int    `json:"events"`
	Hash   string `json:"hash"`
}

func checkpointShape(c *register.Checkpoint) *checkpointJSON {
	if c == nil {
		return nil
	}
	return &checkpointJSON{c.N, c.At.UTC().Format(time.RFC3339), c.By, c.Lines, c.Events, c.Hash.String()}
}

// RegisterOverviewJSON is RegisterOverview for programs.
func RegisterOverviewJSON(w io.Writer, o *storeroom.Overview) error {
	return writeJSON(w, overviewJSON{o.Register, o.Batches, o.Catalogs, o.Events, o.Checkpoints, checkpointShape(o.Last)})
}

// CheckpointMade writes the hash of a checkpoint; made is false where nothing had moved
// since the last one, which then stands for it. nil: the register is empty.
func CheckpointMade(w io.Writer, name string, c *register.Checkpoint, made bool, zone *time.Location) error {
	s := sheet{w: w, z: zone}
	switch {
	case c == nil:
		s.line("The register is empty: there is nothing to make a checkpoint of.")
	case made:
		s.line("CHECKPOINT MADE")
		s.checkpoint(c, c.N)
	default:
		s.line("Nothing was recorded since the last checkpoint: it stands.")
		s.checkpoint(c, c.N)
	}
	s.block("Register ", name)
	return s.err
}

// CheckpointMadeJSON is CheckpointMade for programs.
func CheckpointMadeJSON(w io.Writer, name string, c *register.Checkpoint, made bool) error {
	return writeJSON(w, struct {
		Register   string          `json:"register"`
		Made       bool            `json:"made"`
		Checkpoint *checkpointJSON `json:"checkpoint"`
	}{name, made, checkpointShape(c)})
}

// Rebuilt writes that the lists were made anew.
func Rebuilt(w io.Writer, o *storeroom.Overview) error {
	s := sheet{w: w}
	s.block("REBUILT  ", fmt.Sprintf("The lists of the stock, of joints served and of reservations were made anew from %s of %s. No event was touched.",
		plural(o.Events, "event", "events"), plural(o.Batches, "batch", "batches")))
	s.block("Register ", o.Register)
	return s.err
}

// Verified writes whether a register is as it was written: if not, the first event that is
// broken first.
func Verified(w io.Writer, name string, f *register.Findings, expect register.Hash, zone *time.Location) error {
	s := sheet{w: w, z: zone}
	read := fmt.Sprintf("%s of %s, %s", plural(f.Events, "event", "events"), plural(f.Lines, "batch or catalog", "batches or catalogs"), plural(f.Checkpoints, "checkpoint", "checkpoints"))
	if f.Whole() {
		s.block("WHOLE  ", fmt.Sprintf("Nothing was changed, taken out or put in: %s were read, each held against its hash and against the lists that are kept of them.", read))
		if !expect.IsZero() {
			s.block("       ", "The checkpoint that was kept elsewhere is among them.")
		}
		s.uncovered(f)
		s.line("")
		s.checkpoint(f.Last, f.Checkpoints)
		s.line("")
		s.block("Register ", name)
		return s.err
	}
	s.block("NOT WHOLE  ", firstFinding(f))
	s.block("           ", "Read were "+read+".")
	broken := make([]string, 0, len(f.Broken))
	for i, b := range f.Broken {
		if i > 0 {
			broken = append(broken, fmt.Sprintf("%s, %s", b.Key, &b))
		}
	}
	gone := f.Gone
	if len(f.Broken) == 0 && len(gone) > 0 {
		gone = gone[1:]
	}
	s.bullets("BROKEN TOO", broken)
	s.bullets("AGAINST THE CHECKPOINTS", gone)
	s.bullets("DOES NOT ADD UP", f.Problems)
	var stale []string
	for _, k := range f.Stale {
		stale = append(stale, k.String())
	}
	s.bullets("NOT IN THE LISTS AS IT IS IN THE EVENTS", stale)
	s.bullets("DAMAGED IN THE FILE", f.Damage)
	if f.More > 0 {
		s.line("")
		s.line("And %d findings more.", f.More)
	}
	s.remedy(f)
	s.line("")
	s.block("Register ", name)
	return s.err
}

// firstFinding is the first event that is broken, or what else is wrong.
func firstFinding(f *register.Findings) string {
	switch {
	case len(f.Broken) > 0:
		return fmt.Sprintf("%s, %s.", f.Broken[0].Key, &f.Broken[0])
	case len(f.Gone) > 0:
		return upperFirst(f.Gone[0]) + "."
	case len(f.Problems) > 0:
		return "The events are as they were written, but what they say cannot all have happened."
	case len(f.Damage) > 0:
		return "The events that could be read are as they were written, but the register itself is damaged."
	}
	return "The events are as they were written, but the lists kept of them are not."
}

func upperFirst(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// uncovered says how much no checkpoint covers yet.
func (s *sheet) uncovered(f *register.Findings) {
	switch n := f.Lines - f.Covered; {
	case f.Lines == 0:
		s.block("       ", "The register is empty.")
	case n > 0:
		s.block("       ", fmt.Sprintf("%s new events since the last checkpoint: if they were taken out again, nobody would see it. beadline stock log --checkpoint makes a new one.", plural(n, "batch or catalog has", "batches or catalogs have")))
	}
}

// remedy says what to do about a register that is not whole.
func (s *sheet) remedy(f *register.Findings) {
	s.line("")
	s.line("WHAT TO DO")
	lost := len(f.Broken)+len(f.Gone) > 0
	if lost {
		s.block("  - ", "Draw nothing by this register until it is settled. Keep the file as it is, with those beside it, for whoever looks into it.")
		s.block("  - ", "Restore the last backup into a new register: beadline stock restore BACKUP --register NEW. Verify that, with the hash of a checkpoint kept on paper: beadline stock log --verify --expect HASH --register NEW.")
		s.block("  - ", "What was recorded since the backup has to be recorded again, from the papers and a count.")
	}
	if len(f.Damage) > 0 && !lost {
		s.block("  - ", "Record nothing more in it. Keep the file as it is, with those beside it, for whoever looks into it; a disk that fails damages more.")
		s.block("  - ", "Its events can still be read. Make a backup of it, beadline stock backup BACKUP, and a new register of that: beadline stock restore BACKUP --register NEW. If it says that it cannot be read, take the last backup there is.")
		s.block("  - ", "Verify the new one, beadline stock log --verify --register NEW, and work with that.")
	}
	if len(f.Problems) > 0 {
		s.block("  - ", "What does not add up is held: see beadline stock log BATCH, and correct it by a new event.")
	}
	if len(f.Stale) > 0 && !lost && len(f.Damage) == 0 {
		s.block("  - ", "Make the lists anew from the events: beadline stock log --rebuild.")
	}
}

// verifiedJSON is the shape of `stock log --verify`.
type verifiedJSON struct {
	Register    string          `json:"register"`
	Whole       bool            `json:"whole"`
	Lines       int             `json:"lines"`
	Events      int             `json:"events"`
	Checkpoints int             `json:"checkpoints"`
	Uncovered   int             `json:"lines-not-covered"`
	Last        *checkpointJSON `json:"last-checkpoint"`
	Broken      []brokenJSON    `json:"broken"`
	Gone        []string        `json:"gone"`
	Stale       []string        `json:"stale"`
	Problems    []string        `json:"problems"`
	Damage      []string        `json:"damage"` // of the file or the database itself
	More        int             `json:"more"`
}

type brokenJSON struct {
	Line string `json:"line"`
	Seq  int    `json:"seq"`
	ID   string `json:"id,omitempty"`
	What string `json:"what"`
}

// VerifiedJSON is Verified for programs.
func VerifiedJSON(w io.Writer, name string, f *register.Findings) error {
	shape := verifiedJSON{Register: name, Whole: f.Whole(), Lines: f.Lines, Events: f.Events, Checkpoints: f.Checkpoints, Uncovered: f.Lines - f.Covered,
		Last: checkpointShape(f.Last), Broken: []brokenJSON{}, Gone: list(f.Gone), Stale: []string{}, Problems: list(f.Problems), Damage: list(f.Damage), More: f.More}
	for _, b := range f.Broken {
		shape.Broken = append(shape.Broken, brokenJSON{b.Key.String(), b.Seq, b.ID, b.What})
	}
	for _, k := range f.Stale {
		shape.Stale = append(shape.Stale, k.String())
	}
	return writeJSON(w, shape)
}
