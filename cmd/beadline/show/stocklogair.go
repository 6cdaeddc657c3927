package show

import (
	"fmt"
	"io"
	"time"

	"beadline/catalog/shelf"
	"beadline/cmd/beadline/desk/storeroom"
)

// Logged writes what a store's log has changed: the worst first.
func Logged(w io.Writer, d *storeroom.Logged, zone *time.Location, u Units) error {
	s := sheet{w: w, u: u, z: zone}
	s.block("LOG OF    ", fmt.Sprintf("%s: %s, %s, %s to %s.", d.Place, d.Name, count(d.Readings, "reading"), s.loggedAt(d.First), s.loggedAt(d.Last)))
	s.block("          ", "It reaches until "+s.loggedAt(d.Last)+": nothing is known of this place after that.")
	s.block("ATTACHED  ", attachedWords(d))
	if d.Parts > 0 {
		s.block("          ", fmt.Sprintf("Of what is left of them now: %d use, %d hold, %d reject.", d.Use, d.Hold, d.Reject))
	}
	for _, v := range []struct {
		verdict shelf.Verdict
		title   string
	}{{shelf.Reject, "SET ASIDE BECAUSE OF IT, DO NOT USE"}, {shelf.Hold, "ON HOLD BECAUSE OF IT, A PERSON MUST DECIDE"}} {
		s.changed(d, v.verdict, v.title)
	}
	var notes []string
	if !d.OverlapFrom.IsZero() {
		say := fmt.Sprintf("An earlier log of this place covers %s to %s too: that time is not counted twice.", s.loggedAt(d.OverlapFrom), s.loggedAt(d.OverlapTo))
		if d.Disagrees {
			say = fmt.Sprintf("An earlier log of this place covers %s to %s too, and says less against the batches: both are kept, and the worse counts. Find out which logger is right.", s.loggedAt(d.OverlapFrom), s.loggedAt(d.OverlapTo))
		}
		notes = append(notes, say)
	}
	s.bullets("MIND", append(notes, d.Notes...))
	return s.err
}

func (s *sheet) loggedAt(t time.Time) string { return t.In(s.z).Format("Mon 2 January 2006 15:04 MST") }

func attachedWords(d *storeroom.Logged) string {
	known := ""
	if d.Known > 0 {
		known = fmt.Sprintf(" %s all of it on record already: nothing is recorded twice.", countWord(d.Known, "part has", "parts have"))
	}
	switch {
	case d.Parts+d.Known == 0:
		return "to nothing: no batch stood there within this time."
	case d.Parts == 0:
		return "to nothing new." + known
	}
	return fmt.Sprintf("to %s (%s): each for the time that it stood there. %d still there.%s", countWord(d.Batches, "batch", "batches"), count(d.Parts, "part"), d.LastHere, known)
}

func (s *sheet) changed(d *storeroom.Logged, v shelf.Verdict, title string) {
	n := 0
	for _, p := range d.Changed {
		if p.Checked.Judgement.Verdict != v {
			continue
		}
		if n++; n == 1 {
			s.line("")
			s.line("%s", title)
		}
		if n > mostBad {
			continue
		}
		s.block("  ", fmt.Sprintf("%s: %s", p.Checked.Item.Batch, storeroom.PartWords(p.Part)))
		s.block("      ", inOneLine(p.Checked.Judgement))
	}
	if n > mostBad {
		s.line("  and %s more: beadline flag lists them", count(n-mostBad, "part"))
	}
}

type loggedJSON struct {
	Register    string        `json:"register"`
	Place       string        `json:"place"`
	Log         string        `json:"log"`
	SHA256      string        `json:"sha256"`
	First       string        `json:"first"`
	Last        string        `json:"last"`
	Readings    int           `json:"readings"`
	Batches     int           `json:"batches"`
	Parts       int           `json:"parts"`
	KnownBefore int           `json:"known-before"`
	StillThere  int           `json:"still-there"`
	OverlapFrom string        `json:"overlap-from,omitempty"`
	OverlapTo   string        `json:"overlap-to,omitempty"`
	Disagrees   bool          `json:"disagrees,omitempty"`
	Use         int           `json:"use"`
	Hold        int           `json:"hold"`
	Reject      int           `json:"reject"`
	Changed     []holdingJSON `json:"changed"`
	Notes       []string      `json:"notes"`
}

// LoggedJSON writes what a store's log has changed for programs.
func LoggedJSON(w io.Writer, d *storeroom.Logged) error {
	shape := loggedJSON{Register: d.Register, Place: d.Place, Log: d.Name, SHA256: d.SHA256.String(), First: d.First.Format(time.RFC3339), Last: d.Last.Format(time.RFC3339),
		Readings: d.Readings, Batches: d.Batches, Parts: d.Parts, KnownBefore: d.Known, StillThere: d.LastHere, Disagrees: d.Disagrees,
		Use: d.Use, Hold: d.Hold, Reject: d.Reject, Changed: []holdingJSON{}, Notes: list(d.Notes)}
	if !d.OverlapFrom.IsZero() {
		shape.OverlapFrom, shape.OverlapTo = d.OverlapFrom.Format(time.RFC3339), d.OverlapTo.Format(time.RFC3339)
	}
	for _, p := range d.Changed {
		shape.Changed = append(shape.Changed, holdingShape(p.Holding))
	}
	return writeJSON(w, shape)
}
