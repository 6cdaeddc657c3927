package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
	"beadline/catalog/stock/register"
	"beadline/catalog/stock/store"
)

// listed is a batch as it is written to a list and received into a register.
type listed struct {
	row  stock.Row
	when register.When
}

func anyListed(t *rapid.T, n int) listed {
	day := func(name string, from, to int) label.Date {
		return label.DayOf(millionToday.Add(date.PeriodOfDays(rapid.IntRange(from, to).Draw(t, name))))
	}
	it := shelf.Item{Batch: fmt.Sprintf("S-%d", n), Class: rapid.SampledFrom([]string{"polysulfide-b-2", "polysulfide-a-2", "silicone-neutral", "elastomer-iso-2230-b", "no-such-class"}).Draw(t, "class")}
	some := func(name string) bool { return rapid.Bool().Draw(t, name+"?") }
	if some("dom") {
		it.DOM = day("dom", -500, -60)
	}
	if some("expiry") {
		it.Expiry = day("expiry", -40, 200)
	}
	if some("inspect") {
		it.Inspect = day("inspect", -40, 200)
	}
	if some("opened") {
		it.Opened = day("opened", -50, -30)
	}
	if rapid.IntRange(0, 4).Draw(t, "odd") == 0 {
		it.Received.NoPapers = some("no papers")
		it.BestBefore = day("best", -40, 200)
		it.Condition = rapid.SampledFrom([]shelf.Condition{0, shelf.Damaged}).Draw(t, "condition")
		it.Parts = []shelf.Part{{Name: "base", Lot: "A"}}
	}
	at := millionToday.Add(-date.PeriodOfDays(rapid.IntRange(1, 58).Draw(t, "received")))
	when := register.OnDay(at)
	if some("hour") {
		y, m, d := at.Date()
		when = register.AtInstant(time.Date(y, m, d, rapid.IntRange(0, 23).Draw(t, "h"), rapid.IntRange(0, 59).Draw(t, "min"), 0, 0, time.UTC))
	}
	it.Received.On = when.Label(time.UTC)
	r := stock.Row{Item: it, Location: rapid.SampledFrom([]string{"", "bench", "North / cold store"}).Draw(t, "place"), Unit: "kit", Counted: true, Quantity: float64(rapid.IntRange(1, 5).Draw(t, "quantity"))}
	if some("container") {
		r.Item.Container = "7"
	}
	return listed{r, when}
}

// runAt is one command, on the day and in the zone of the test.
func runAt(args ...string) (out, errs string, code int) {
	var o, e bytes.Buffer
	a := &app{in: strings.NewReader(""), out: &o, err: &e, clock: func() time.Time { return time.Date(2027, 3, 29, 6, 0, 0, 0, time.UTC) }}
	code = a.run(append(args, "--at", "2027-03-29", "--zone", "UTC"))
	return o.String(), e.String(), code
}

// The same batches give the same answers, from a file and from a register: which rows are
// flagged, in which order and why; and what is said of each.
func TestARegisterIsFlaggedAndCheckedAsTheSameList(t *testing.T) {
	dir := t.TempDir()
	round := 0
	rapid.Check(t, func(t *rapid.T) {
		round++
		name, file := filepath.Join(dir, fmt.Sprintf("%d.db", round)), filepath.Join(dir, "stock.csv")
		s, err := store.Open(t.Context(), name, store.Options{Create: true})
		require.NoError(t, err)
		r := &register.Register{Store: s, Clock: func() time.Time { return time.Date(2027, 3, 29, 6, 0, 0, 0, time.UTC) }}
		text := []byte(stock.RegisterHeader + "\n")
		n := rapid.IntRange(1, 6).Draw(t, "batches")
		for i := range n {
			l := anyListed(t, i)
			text, err = stock.AppendRow(text, &l.row)
			require.NoError(t, err)
			amount := register.Amount(l.row.Quantity * 1000)
			e := &register.Event{Kind: register.KindReceived, At: l.when, By: "Tech 1", Container: l.row.Item.Container, Place: l.row.Location, Amount: &amount, Unit: "kit",
				Receipt: &register.Receipt{Label: l.row.Item, Certificate: "C-1"}}
			_, err = r.Append(t.Context(), register.Batch{Number: l.row.Item.Batch}.Key(), func(*register.State) ([]*register.Event, error) { return []*register.Event{e}, nil })
			require.NoError(t, err)
		}
		require.NoError(t, s.Close())
		require.NoError(t, os.WriteFile(file, text, 0o600))

		want, _, wantCode := runAt("flag", file, "--format", "csv")
		got, errs, gotCode := runAt("flag", "--register", name, "--format", "csv")
		require.Empty(t, errs)
		require.Equal(t, wantCode, gotCode)
		require.Equal(t, withoutLines(t, want), withoutLines(t, got))
		for i := range n {
			batch := fmt.Sprintf("S-%d", i)
			want, _, wantCode := runAt("check", batch, "--stock", file, "--format", "json")
			got, errs, gotCode := runAt("check", batch, "--register", name, "--format", "json")
			require.Empty(t, errs)
			require.Equal(t, wantCode, gotCode)
			require.Equal(t, withoutPlace(t, want), withoutPlace(t, got))
		}
	})
}

// withoutLines are the records of a flagged list without the line of each.
func withoutLines(t require.TestingT, text string) [][]string {
	all, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	require.NoError(t, err)
	for _, r := range all[1:] {
		r[5] = ""
	}
	return all
}

// withoutPlace is an answer of check without where the batch is listed.
func withoutPlace(t require.TestingT, text string) (v map[string]any) {
	require.NoError(t, json.Unmarshal([]byte(text), &v))
	delete(v, "listed")
	delete(v, "in-stock")
	return v
}
