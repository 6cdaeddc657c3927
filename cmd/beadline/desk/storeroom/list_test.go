package storeroom

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/shelf"
	"beadline/catalog/stock"
)

func (b *bench) list(r *Room, q ListQuestion) (l *StockList, lines []string) {
	b.Helper()
	l, err := r.StockList(background, q)
	require.NoError(b, err)
	b.Cleanup(l.Close)
	require.NoError(b, l.Each(func(p *Listed) error {
		line := fmt.Sprintf("%s %s %g %s", p.Verdict, p.Item.Batch, p.Quantity, p.Location)
		if m := p.Maker(); m != "" {
			line += " of " + m
		}
		for _, v := range p.Reserved {
			line += fmt.Sprintf(" (%s for %s)", v.Amount, v.Job)
		}
		if p.Verdict != shelf.Use && p.Reason == "" {
			b.Errorf("%s: no reason", line)
		}
		lines = append(lines, line)
		return nil
	}))
	return l, lines
}

// stocked is a register with something of every verdict.
func (b *bench) stocked() *Room {
	r := b.room()
	b.receive(r, "S-1", "2", "North / rack 1", day(2024, 6, 30))
	b.receive(r, "S-2", "1", "North / rack 2", day(2024, 4, 30))
	b.receive(r, "S-3", "3", "South / rack 1", day(2024, 2, 29))
	b.receive(r, "S-4", "4", "South / rack 1", day(2024, 6, 30), func(a *Arrival) { a.Receipt.Certificate = "" })
	b.receive(r, "S-5", "5", "North / rack 1", day(2024, 7, 31), func(a *Arrival) { a.Item.Opened = day(2024, 3, 1) })
	b.receive(r, "S-5", "6", "North / rack 1", day(2024, 8, 31), func(a *Arrival) { a.Maker = "Other works" })
	b.receive(r, "P-1", "500", "North / rack 1", day(2024, 6, 30), func(a *Arrival) { a.Item.Class, a.Said.Unit = "adhesion-promoter", "ml" })
	b.receive(r, "S-6", "1", "North / rack 1", day(2024, 6, 30))
	b.draw(r, "S-6")
	b.reserve(r, "S-1", "North / rack 1", "1", "J1")
	return r
}

func TestListGoesByClassThenByWhatIsDrawnFirst(t *testing.T) {
	b := newBench(t)
	r := b.stocked()
	l, lines := b.list(r, ListQuestion{})
	assert.Equal(t, []string{
		"use P-1 500 North / rack 1",
		"use S-5 5 North / rack 1",
		"use S-2 1 North / rack 2",
		"use S-1 2 North / rack 1 (1 for J1)",
		"use S-5 6 North / rack 1 of Other works",
		"hold S-4 4 South / rack 1",
		"reject S-3 3 South / rack 1",
	}, lines)
	require.Len(t, l.Classes, 2)
	assert.Equal(t, ClassTotal{Class: "polysulfide-b-2", Use: 4, Hold: 1, Reject: 1, Amounts: []Amount{{21000, "kit"}}, Good: []Amount{{14000, "kit"}}}, l.Classes[1])
}

func TestListIsNarrowed(t *testing.T) {
	b := newBench(t)
	r := b.stocked()
	for _, c := range []struct {
		q ListQuestion
		n int
	}{
		{ListQuestion{Place: "north"}, 5}, {ListQuestion{Place: "North / rack 2"}, 1}, {ListQuestion{Class: "adhesion-promoter"}, 1},
		{ListQuestion{Maker: "other works"}, 1}, {ListQuestion{Gone: true}, 8}, {ListQuestion{Class: "polysulfide-b-2", Place: "South"}, 2},
		{ListQuestion{Class: "polysulfide-b-4"}, 0}, {ListQuestion{Maker: "Other works", Place: "South"}, 0},
	} {
		_, lines := b.list(r, c.q)
		assert.Len(t, lines, c.n, "%+v", c.q)
		var csv bytes.Buffer
		require.NoError(t, r.WriteRows(background, c.q, &csv))
		assert.Equal(t, c.n+1, strings.Count(csv.String(), "\n"), "%+v", c.q)
	}
	for _, c := range []struct {
		q   ListQuestion
		say string
	}{{ListQuestion{Place: "Nort"}, "North"}, {ListQuestion{Class: "polysulfid-b-2"}, "polysulfide-b-2"}, {ListQuestion{Maker: "Other work"}, "Other works"}} {
		_, err := r.StockList(background, c.q)
		assert.ErrorContains(t, err, c.say)
		assert.ErrorContains(t, r.WriteRows(background, c.q, &bytes.Buffer{}), c.say)
	}
}

// The rows written are a stock list, read back as any other.
func TestRowsAreAStockList(t *testing.T) {
	b := newBench(t)
	r := b.stocked()
	var csv bytes.Buffer
	require.NoError(t, r.WriteRows(background, ListQuestion{}, &csv))
	sheet, err := stock.ReadCSV(&csv, "stock", r.Judge.On)
	require.NoError(t, err)
	assert.Empty(t, sheet.Bad)
	got := map[string]shelf.Verdict{}
	for _, row := range sheet.List {
		got[row.Item.Batch], _, _ = r.Judge.Glance(&row.Item)
	}
	assert.Equal(t, map[string]shelf.Verdict{"P-1": shelf.Use, "S-1": shelf.Use, "S-2": shelf.Use, "S-3": shelf.Reject, "S-4": shelf.Hold, "S-5": shelf.Use}, got)
}
