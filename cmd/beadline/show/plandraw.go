package show

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
	"beadline/cmd/beadline/desk"
	"beadline/cure/plan"
)

// What a plan draws from the shelf, and what is missing: as text, as parts of the JSON of
// a plan, and as a pick list in CSV.

// missing is what is short, near the top: who goes without, what to order, and why the
// rest of the list does not count.
func (s *sheet) missing(supply *desk.Supply) {
	if !supply.Short() {
		return
	}
	s.line("SHORT")
	for _, x := range supply.Shorts {
		s.block("  - ", fmt.Sprintf("%s: %s needed, %d good, short by %d, for %s. %s", x.Class+x.Item,
			stock.Amount(float64(x.Needed), x.Unit), x.Good, x.Missing, strings.Join(x.Who(s.z), ", "), x.Order(s.z)))
		if x.Freeable > 0 {
			s.block("    ", fmt.Sprintf("%s on hold would do, once that is settled:", stock.Amount(float64(x.Freeable), x.Unit)))
		}
		for _, why := range x.Why {
			s.block("      ", why)
		}
	}
	s.line("")
}

// toDraw is what to take from the shelf, pot by pot, and how much it is in all.
func (s *sheet) toDraw(p *plan.Plan, supply *desk.Supply) {
	s.line("")
	switch r := supply.Reserved; {
	case supply.List == "":
		s.line("TO DRAW")
	case r != nil && r.Not == "":
		s.line("TO DRAW   (first expired, first out; reserved for the job)")
	default:
		s.line("TO DRAW   (first expired, first out; nothing is reserved)")
	}
	s.pickList(supply)
	s.reserved(supply)
	for _, m := range p.Materials {
		s.column(m.Class, 28, materialWords(p, m, supply.Packs[m.Class]))
	}
	for _, b := range supply.Named {
		drawn := slices.ContainsFunc(supply.Draws, func(x desk.Drawn) bool { return x.Item.Batch == b.Batch })
		if b.Verdict != shelf.Use && !drawn {
			s.column("not "+b.Batch, 28, fmt.Sprintf("for the %s: %s. %s", b.Joint, loud[b.Verdict], b.Reason))
		}
	}
	for _, r := range p.Renew {
		s.column(r.Item, 28, fmt.Sprintf("%d new; used ones are scrapped", r.Count))
	}
	if len(supply.Missing) > 0 && supply.List != "" {
		s.block("  ", "Not looked for: "+strings.Join(supply.Missing, ", ")+". Hardware has no class, so it is not on a stock list: count it in its bin.")
	}
	s.line("  What carried a mark goes back to its own place.")
}

// pickList is a line for each row that something is drawn of, and one for each gap, in
// order of time.
func (s *sheet) pickList(supply *desk.Supply) {
	type pick struct {
		at  time.Time
		say string
	}
	var all []pick
	for i := range supply.Draws {
		x := &supply.Draws[i]
		all = append(all, pick{x.At, cmp.Or(x.Mix, x.For) + ": " + drawWords(x, supply.Register)})
	}
	for _, x := range supply.Shorts {
		for _, g := range x.Gaps {
			all = append(all, pick{g.At, fmt.Sprintf("%s: SHORT, %s of %s missing", g.What, stock.Amount(float64(g.Missing), x.Unit), x.Class+x.Item)})
		}
	}
	slices.SortStableFunc(all, func(a, b pick) int { return a.at.Compare(b.at) })
	for _, x := range all {
		s.block("  "+s.dayTime(x.at)+"  ", x.say)
	}
}

// reserved says what became of the wish to reserve what is drawn.
func (s *sheet) reserved(supply *desk.Supply) {
	r := supply.Reserved
	switch {
	case r == nil:
		return
	case r.Not != "":
		s.block("  ", "Nothing is reserved: "+r.Not)
		return
	case len(r.Parts) == 0:
		s.block("  ", "There is nothing to reserve.")
	case r.Same:
		s.block("  ", fmt.Sprintf("All of it is reserved for job %s already.", r.Job))
	default:
		s.block("  ", fmt.Sprintf("Reserved for job %s by %s in the register %s.", r.Job, r.By, supply.List))
	}
	if len(r.Parts) > 0 {
		s.block("  ", fmt.Sprintf("It stays so until it is drawn for the job, or beadline stock release %s gives it back.", quoted(r.Job)))
	}
	if len(r.Freed) > 0 {
		var all []string
		for _, p := range r.Freed {
			all = append(all, fmt.Sprintf("%s of %s", stock.Amount(p.Amount, p.Unit), p.Batch))
		}
		s.block("  ", "No longer reserved for it: "+strings.Join(all, ", ")+".")
	}
}

// quoted is a word as it is typed on a command line.
func quoted(s string) string {
	if strings.ContainsFunc(s, func(r rune) bool {
		return !(r == '-' || r == '_' || r == '.' || r >= '0' && r <= '9' || r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z')
	}) {
		return strconv.Quote(s)
	}
	return s
}

// dayTime is an instant with day and month, in one width.
func (s *sheet) dayTime(t time.Time) string { return t.In(s.z).Format("Mon _2 Jan 15:04") }

// drawWords are what to take and where it is: "1 kit of S-2207 (bench cabinet, line 2),
// 18 of 75 ml; usable through 31 August 2027".
func drawWords(x *desk.Drawn, register bool) string {
	batch := x.Item.Batch
	if m := x.Maker(); register && m != "" {
		batch += " of " + m
	}
	if x.Item.Container != "" {
		batch += ", container " + x.Item.Container
	}
	say := batch
	switch {
	case x.Packs > 0:
		say = packsOf(x) + " of " + batch
	case x.Take > 0:
		say = fmt.Sprintf("%s of %s", stock.Amount(math.Ceil(x.Take), measuredIn(x)), batch)
	}
	if x.Opened {
		say += ", opened"
	}
	switch where := "line " + strconv.Itoa(x.Line); {
	case register && x.Location != "":
		say += " (" + x.Location + ")"
	case register:
	case x.Location != "":
		say += " (" + x.Location + ", " + where + ")"
	default:
		say += " (" + where + ")"
	}
	if x.OfML > 0 && x.ML > 0 {
		say += fmt.Sprintf(", %.0f of %.0f ml", math.Ceil(x.ML), x.OfML)
	}
	if u := usable(x); u != "" {
		say += "; " + u
	}
	if x.Named {
		say += "; the job names it"
	}
	return say
}

// packsOf is how many packs: "1 kit", "2 cartridges"; kits, where the list has no unit.
func packsOf(x *desk.Drawn) string {
	unit := x.Unit
	if strings.TrimSpace(unit) == "" {
		unit = "kit"
		if x.For != "" {
			unit = "pack"
		}
	}
	return stock.Amount(float64(x.Packs), unit)
}

// measuredIn is the unit of what is measured out: g of a list in g or kg, else ml.
func measuredIn(x *desk.Drawn) string {
	if x.Grams > 0 && x.Take == x.Grams {
		return "g"
	}
	return "ml"
}

// usable is until when it may be used, as it stands on the shelf; "" where nothing ends
// it.
func usable(x *desk.Drawn) string {
	l := x.Last
	switch {
	case l.Timed:
		return "usable until " + label.At(l.Date, l.Minute).String()
	case l.Dated:
		return "usable through " + label.FormatDay(l.Date)
	}
	return ""
}

// materialWords are what the pots of one class take in all.
func materialWords(p *plan.Plan, m plan.Material, k desk.Packs) string {
	say, ml := plural(m.Pots, "mix", "mixes"), 0.0 // ml: of the pots as they are listed, so that the sums agree
	switch {
	case m.ML > 0:
		for _, x := range p.Mixes {
			if x.Class == m.Class {
				ml += math.Ceil(x.ML)
			}
		}
		say += fmt.Sprintf(", %.0f ml with waste", ml)
		if m.Part {
			say += ", and more: not every amount is stated"
		}
	default:
		say += ", amount not stated"
	}
	say += ": " + stock.Amount(float64(k.Count), "kit")
	if k.SizeML > 0 {
		say += fmt.Sprintf(" of %g ml", k.SizeML)
	}
	if v := scrapped(k); v != nil {
		left := math.Floor(*v)
		if all := float64(k.Count) * k.SizeML; m.ML > 0 && ml < all { // so that the figures that stand here add up
			left = min(left, math.Floor(all-ml))
		}
		say += fmt.Sprintf(", %.0f ml scrapped", left)
	}
	return say
}

// scrapped is what is left in the packs of a class and scrapped, or null where that is
// not known or nothing is.
func scrapped(k desk.Packs) *float64 {
	if k.SizeML == 0 || k.Keeps {
		return nil
	}
	return known(k.ScrapML)
}

type pickJSON struct {
	Mix       *string   `json:"mix"`
	For       *string   `json:"for"`
	At        time.Time `json:"at"`
	Until     time.Time `json:"until"`
	Class     string    `json:"class"`
	Batch     string    `json:"batch"`
	Container *string   `json:"container"`
	Kits      *int      `json:"kits"`
	Unit      *string   `json:"unit"`
	Opened    bool      `json:"opened"`
	Named     bool      `json:"named"`
	Place     *string   `json:"place"`
	Line      *int      `json:"line"` // null for the stock of a register
	Maker     *string   `json:"maker,omitempty"`
	Usable    *string   `json:"usable-through"`
	UsableAt  *string   `json:"usable-until"`
	ML        *float64  `json:"ml"`
	Grams     *float64  `json:"grams"`
	Scrapped  *float64  `json:"scrapped-ml"`
}

// pickOf is the shape of one row of the pick list. usable-through is a day; where it
// ends at an hour, usable-until is that, on the clocks of the job.
func pickOf(x *desk.Drawn, register bool, z *time.Location) pickJSON {
	o := pickJSON{Mix: said(x.Mix), For: said(x.For), At: x.At.In(z), Until: x.Until.In(z), Class: x.Item.Class, Batch: x.Item.Batch, Container: said(x.Item.Container),
		Unit: said(x.Unit), Opened: x.Opened, Named: x.Named, Place: said(x.Location),
		Usable: dayOf(x.Last.Date, x.Last.Dated), ML: known(x.ML), Grams: known(x.Grams)}
	if register {
		o.Maker = said(x.Maker())
	} else {
		o.Line = &x.Line
	}
	if x.Packs > 0 {
		o.Kits = &x.Packs
	}
	if x.Last.Timed {
		o.UsableAt = said(label.At(x.Last.Date, x.Last.Minute).Canonical())
	}
	if x.ScrapKnown {
		o.Scrapped = &x.ScrapML
	}
	return o
}

// said is a text, or null where there is none.
func said(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

// tenth is a nullable amount in CSV, rounded to a tenth: up, where it must be enough.
func tenth(v *float64, round func(float64) float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(round(*v*10)/10, 'f', 1, 64)
}

type shortJSON struct {
	Class   *string   `json:"class"`
	Item    *string   `json:"item"`
	Needed  int       `json:"needed"`
	Good    int       `json:"good"`
	Short   int       `json:"short"`
	Unit    string    `json:"unit"`
	OnHold  int       `json:"on-hold"`
	Without []string  `json:"without"`
	By      time.Time `json:"by"`
	Until   time.Time `json:"until"`
	Why     []string  `json:"why"`
}

func shortOf(x desk.Short, z *time.Location) shortJSON {
	return shortJSON{said(x.Class), said(x.Item), x.Needed, x.Good, x.Missing, x.Unit, x.Freeable, list(x.Who(z)), x.By.In(z), x.Until.In(z), list(x.Why)}
}

// keptJSON is what was reserved for the job; null where nobody asked for it. until is
// always "drawn or released".
type keptJSON struct {
	Register string         `json:"register"`
	Job      string         `json:"job"`
	By       string         `json:"by"`
	Same     bool           `json:"same"` // it was reserved before
	Not      *string        `json:"not"`  // why nothing is reserved; null: it is
	Until    string         `json:"until"`
	Batches  []keptPartJSON `json:"batches"`
	Freed    []keptPartJSON `json:"no-longer"`
}

type keptPartJSON struct {
	Batch     string  `json:"batch"`
	Maker     string  `json:"maker,omitempty"`
	Container string  `json:"container,omitempty"`
	Place     string  `json:"place"`
	Mix       string  `json:"mix,omitempty"`
	Quantity  float64 `json:"quantity"`
	Unit      string  `json:"unit"`
}

func keptShape(supply *desk.Supply) *keptJSON {
	r := supply.Reserved
	if r == nil {
		return nil
	}
	parts := func(all []desk.Part) []keptPartJSON {
		out := []keptPartJSON{}
		for _, p := range all {
			out = append(out, keptPartJSON{p.Batch, p.Maker, p.Container, p.Place, p.Mix, p.Amount, p.Unit})
		}
		return out
	}
	return &keptJSON{supply.List, r.Job, r.By, r.Same, said(r.Not), "drawn or released", parts(r.Parts), parts(r.Freed)}
}

// PickCSV writes the pick list for a spreadsheet or a printer: a line for each row of the
// stock list that something is drawn of, in order of time; of a register also by whom it
// was made, and whether it is reserved now.
func PickCSV(w io.Writer, p *desk.Planned) error {
	header := []string{"at", "mix", "for", "class", "batch", "container", "kits", "unit", "place", "line", "usable-through", "ml", "grams", "scrapped-ml", "named"}
	text := func(s *string) string {
		if s == nil {
			return ""
		}
		return *s
	}
	var rows [][]string
	for i := range p.Supply.Draws {
		o := pickOf(&p.Supply.Draws[i], p.Supply.Register, p.Job.Zone)
		rows = append(rows, []string{instantCell(o.At), text(o.Mix), text(o.For), o.Class, o.Batch, text(o.Container), cell(o.Kits), text(o.Unit),
			text(o.Place), cell(o.Line), text(o.Usable), tenth(o.ML, math.Ceil), tenth(o.Grams, math.Ceil), tenth(o.Scrapped, math.Floor), yes(o.Named)})
	}
	if p.Supply.Register {
		header = append(header, "maker", "reserved")
		for i := range rows {
			rows[i] = append(rows[i], p.Supply.Draws[i].Maker(), yes(p.Supply.IsReserved(&p.Supply.Draws[i])))
		}
	}
	return writeCSV(w, header, rows)
}
