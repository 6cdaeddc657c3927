package main

import (
	"bufio"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rickb777/date"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/cmd/beadline/desk"
)

// millionToday is the day that the list of a million rows is judged for.
var millionToday = date.New(2027, time.March, 29)

// kind is what the rows of a generated list are like.
type kind int

const (
	likely     kind = iota // 3 % expired, 3 % within 30 days, 0.1 % bad, a few held or opened
	allExpired             // every row is to be set aside
	allBad                 // no row can be read
	allApart               // as likely, with every date drawn by itself: no two batches alike
)

// writeStock writes a list of n rows, 63 bytes each on the average: batches of the
// built-in classes that have a life of their own, expiring a life after manufacture as
// their makers would print it, four fifths to the day and the others some days before.
func writeStock(w io.Writer, n int, k kind) error {
	rng := rand.New(rand.NewPCG(1, 2))
	type lived struct {
		id   string
		days int
	}
	var classes []lived
	for _, c := range livedClasses() {
		span := desk.Rules(&c).Unopened.Span
		classes = append(classes, lived{c.ID, int(label.AddLife(millionToday, span).Sub(millionToday))})
	}
	if len(classes) < 5 {
		return fmt.Errorf("only %d classes to make a list of", len(classes))
	}
	b := bufio.NewWriterSize(w, 1<<20)
	b.WriteString("batch,class,dom,expiry,opened,location,quantity,unit\n")
	iso := func(d date.Date) string { return label.DayOf(d).Canonical() }
	for i := range n {
		c := classes[rng.IntN(len(classes))]
		left := 31 + rng.IntN(c.days-60)
		switch p := rng.IntN(1000); {
		case k == allExpired || p < 30:
			left = -1 - rng.IntN(60)
		case p < 60:
			left = rng.IntN(31)
		}
		expiry := millionToday.Add(date.PeriodOfDays(left))
		dom := expiry.Add(-date.PeriodOfDays(c.days))
		if k == allApart || rng.IntN(5) == 0 {
			dom = dom.Add(-date.PeriodOfDays(rng.IntN(40)))
		}
		opened, quantity := "", fmt.Sprint(1+rng.IntN(12))
		switch p := rng.IntN(10_000); {
		case k == allBad:
			quantity = "many"
			expiry = millionToday.Add(date.PeriodOfDays(60))
		case p < 10:
			quantity = []string{"-3", "4 kits", "2x", "many"}[rng.IntN(4)]
		case p < 15:
			c.id = "polysulfid-b-2" // not known
		case p < 115:
			opened = iso(millionToday.Add(-date.PeriodOfDays(rng.IntN(20))))
		}
		fmt.Fprintf(b, "S-%06d,%s,%s,%s,%s,bay %d,%s,kit\n", i, c.id, iso(dom), iso(expiry), opened, 1+rng.IntN(60), quantity)
	}
	return b.Flush()
}

// stockFile is a list in a file; BEADLINE_STOCK names a file to write it to and keep,
// for the peers in testdata/peers.
func stockFile(t testing.TB, n int, k kind) string {
	name := os.Getenv("BEADLINE_STOCK")
	if name == "" || k != likely {
		name = filepath.Join(t.TempDir(), "stock.csv")
	}
	f, err := os.Create(name)
	if err == nil {
		err = writeStock(f, n, k)
	}
	if err == nil {
		err = f.Close()
	}
	if err == nil {
		err = os.WriteFile(name+".lives", lives(), 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
	return name
}

// lives are the shelf lives of the built-in classes in months, as the peers need them.
func lives() []byte {
	b := []byte("class,unopened,opened,extendable\n")
	months := func(l shelf.Life) int { return 12*l.Span.Years() + l.Span.Months() }
	for _, c := range livedClasses() {
		r := desk.Rules(&c)
		extendable := 0
		if r.Extension.Kind != shelf.NoExtension {
			extendable = 1
		}
		b = fmt.Appendf(b, "%s,%d,%d,%d\n", c.ID, months(r.Unopened), months(r.Opened), extendable)
	}
	return b
}

// livedClasses are the built-in classes with an unopened life of four months to two
// years and a life once opened, each in whole months, and no other shelf rule that a
// list of dates could meet.
func livedClasses() []catalog.Class {
	var all []catalog.Class
	for _, c := range catalog.Builtin().All() {
		r := desk.Rules(&c)
		u, o := r.Unopened, r.Opened
		months := 12*u.Span.Years() + u.Span.Months()
		if u.Known() && !u.Unlimited && o.Known() && !o.Unlimited && u.Span.Days() == 0 && o.Span.Days() == 0 && !o.Span.IsZero() &&
			months >= 4 && months <= 24 && r.Convention == shelf.FirstOfMonth {
			all = append(all, c)
		}
	}
	return all
}

// BenchmarkFlagMillion flags a list of a million rows from its file, as one run of the
// command does it but for starting the process: text sorted by urgency.
func BenchmarkFlagMillion(b *testing.B) {
	for _, c := range []struct {
		name string
		kind kind
	}{{"likely", likely}, {"apart", allApart}, {"all expired", allExpired}, {"all bad", allBad}} {
		name := stockFile(b, 1_000_000, c.kind)
		for _, format := range []string{"text", "csv", "json"} {
			if format != "text" && c.kind != likely {
				continue
			}
			b.Run(c.name+" "+format, func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					a := &app{in: strings.NewReader(""), out: io.Discard, err: os.Stderr, clock: time.Now}
					if code := a.run([]string{"flag", name, "--at", "2027-03-29", "--format", format}); code != exitReject && code != exitHold {
						b.Fatal(code)
					}
				}
			})
		}
	}
}
