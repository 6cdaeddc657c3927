package show

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk/storeroom"
)

// StockList writes what is in stock: by class, each part in a line or two, then totals.
func StockList(w io.Writer, l *storeroom.StockList, u Units) error {
	s := sheet{w: w, u: u}
	s.block("", fmt.Sprintf("STOCK on %s%s: %s", weekday(l.On), listedOf(l.Asked), plural(l.Parts, "part", "parts")))
	err := l.Each(func(p *storeroom.Listed) error {
		if p.FirstHere {
			s.line("")
			s.block("", p.Item.Class)
		}
		s.listed(p)
		return s.err
	})
	if err != nil {
		return err
	}
	s.totals(l)
	s.line("")
	s.block("Register ", l.Register)
	return s.err
}

func listedOf(q storeroom.ListQuestion) string {
	say := ""
	for _, f := range []struct{ word, text string }{{" of class ", q.Class}, {" at ", q.Place}, {", maker ", q.Maker}} {
		if f.text != "" {
			say += f.word + f.text
		}
	}
	if q.Gone {
		say += ", with what is gone"
	}
	return say
}

// listed writes a part: verdict, batch, amount, place, last day of use.
func (s *sheet) listed(p *storeroom.Listed) {
	batch := p.Item.Batch
	if m := p.Maker(); m != "" {
		batch += " of " + m
	}
	if p.Item.Container != "" {
		batch += " / " + p.Item.Container
	}
	amount := "not counted"
	if p.Counted {
		amount = register.Amount(p.Quantity*1000 + 0.5).Words(p.Unit)
	}
	if p.Gone {
		amount = "gone"
	}
	end := ""
	switch {
	case p.Dated && p.Verdict == shelf.Use:
		end = "to " + p.Last.Format("2 Jan 2006")
	case p.Verdict == shelf.Use:
		end = "no end"
	}
	first := fmt.Sprintf("  %-10s  ", loud[p.Verdict])
	if len([]rune(batch)) > 14 || len([]rune(amount)) > 12 || len([]rune(p.Location)) > 18 {
		say := batch + ": " + amount + atPlace(p.Location)
		if end != "" {
			say += ", " + end
		}
		s.block(first, say)
	} else {
		s.line("%s%-14s  %-12s  %-18s  %s", first, batch, amount, p.Location, end)
	}
	if p.Reason != "" {
		s.block("              ", p.Reason)
	}
	if len(p.Reserved) > 0 {
		s.block("              ", "reserved: "+reservedFor(p.Reserved))
	}
}

func reservedFor(all []register.Reserved) string {
	var say []string
	for _, r := range all {
		say = append(say, fmt.Sprintf("%s for job %s", r.Amount, r.Job))
	}
	return strings.Join(say, ", ")
}

// totals adds up the classes.
func (s *sheet) totals(l *storeroom.StockList) {
	if len(l.Classes) == 0 {
		return
	}
	s.line("")
	s.line("TOTALS by class")
	for _, c := range l.Classes {
		say := amountsWords(c.Amounts)
		if len(c.Amounts) == 0 {
			say = "nothing counted"
		}
		if c.Hold+c.Reject > 0 {
			say += fmt.Sprintf("; usable %s", orNone(amountsWords(c.Good)))
		}
		say += fmt.Sprintf(" (parts: use %d, hold %d, do not use %d)", c.Use, c.Hold, c.Reject)
		if c.Uncounted > 0 {
			say += fmt.Sprintf("; %d not counted", c.Uncounted)
		}
		s.column(c.Class, 26, say)
	}
}

func amountsWords(all []storeroom.Amount) string {
	var say []string
	for _, a := range all {
		say = append(say, a.Amount.Words(a.Unit))
	}
	return strings.Join(say, ", ")
}

// listedJSON is a row of `stock list`. end is the last day of use by the limit that
// decides.
type listedJSON struct {
	Batch     string       `json:"batch"`
	Maker     string       `json:"maker,omitempty"`
	Class     string       `json:"class"`
	Container string       `json:"container,omitempty"`
	Place     string       `json:"place"`
	Quantity  *float64     `json:"quantity"`
	Unit      string       `json:"unit"`
	Gone      bool         `json:"gone"`
	Verdict   string       `json:"verdict"`
	End       *string      `json:"end"`
	Reason    string       `json:"reason,omitempty"`
	Reserved  []forJobJSON `json:"reserved"`
}

type forJobJSON struct {
	Job      string  `json:"job"`
	Quantity float64 `json:"quantity"`
}

type classTotalJSON struct {
	Class     string       `json:"class"`
	Use       int          `json:"use"`
	Hold      int          `json:"hold"`
	Reject    int          `json:"reject"`
	Uncounted int          `json:"not-counted"`
	Amounts   []amountJSON `json:"amounts"`
	Good      []amountJSON `json:"usable"`
}

type amountJSON struct {
	Quantity float64 `json:"quantity"`
	Unit     string  `json:"unit"`
}

func amountShapes(all []storeroom.Amount) []amountJSON {
	out := []amountJSON{}
	for _, a := range all {
		out = append(out, amountJSON{a.Amount.Float(), a.Unit})
	}
	return out
}

func listedShape(p *storeroom.Listed) listedJSON {
	x := listedJSON{Batch: p.Item.Batch, Maker: p.Maker(), Class: p.Item.Class, Container: p.Item.Container, Place: p.Location, Unit: p.Unit, Gone: p.Gone,
		Verdict: p.Verdict.String(), End: dayOf(p.Last, p.Dated), Reason: p.Reason, Reserved: []forJobJSON{}}
	if p.Counted {
		x.Quantity = &p.Quantity
	}
	for _, r := range p.Reserved {
		x.Reserved = append(x.Reserved, forJobJSON{r.Job, r.Amount.Float()})
	}
	return x
}

// StockListJSON is StockList for programs. The parts are written one by one, each on a
// line, so that there may be any number of them.
func StockListJSON(w io.Writer, l *storeroom.StockList) error {
	out := bufio.NewWriter(w)
	head, err := json.Marshal(struct {
		Register string `json:"register"`
		On       string `json:"on"`
		Count    int    `json:"count"`
	}{l.Register, isoDay(l.On), l.Parts})
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "%s,\n\"parts\": [", strings.TrimSuffix(string(head), "}"))
	lead := "\n"
	err = l.Each(func(p *storeroom.Listed) error {
		b, err := json.Marshal(listedShape(p))
		if err == nil {
			_, err = fmt.Fprintf(out, "%s%s", lead, b)
		}
		lead = ",\n"
		return err
	})
	if err != nil {
		return err
	}
	totals := []classTotalJSON{}
	for _, c := range l.Classes {
		totals = append(totals, classTotalJSON{c.Class, c.Use, c.Hold, c.Reject, c.Uncounted, amountShapes(c.Amounts), amountShapes(c.Good)})
	}
	tail, err := json.Marshal(totals)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "\n],\n\"classes\": %s}\n", tail)
	return out.Flush()
}
