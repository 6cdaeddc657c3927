package show

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/catalog/stock"
	"beadline/cmd/beadline/desk"
)

// The quick writing of a block is the sheet's, whatever the text.
func TestABlockAppendedIsTheBlockOfTheSheet(t *testing.T) {
	words := rapid.SampledFrom([]string{"a", "Opened", "1 October 2026;", "opened", "life", "ended", " ", "  ", "18 C", "4 to 27 C", "3 degrees C", "2 mm", "22 °C", "Küche",
		"\u00a0", "\u2003x", "\t", "one\u00a0word", strings.Repeat("long", 30), "half-" + strings.Repeat("original-", 12), "(common practice, no source)"})
	rapid.Check(t, func(t *rapid.T) {
		text := strings.Join(rapid.SliceOfN(words, 0, 30).Draw(t, "words"), " ")
		first := rapid.SampledFrom([]string{"", "  ", "      ", "      also: "}).Draw(t, "first")
		u := rapid.SampledFrom([]Units{SI, US}).Draw(t, "units")
		var want bytes.Buffer
		s := sheet{w: &want, u: u}
		s.block(first, text)
		require.NoError(t, s.err)
		require.Equal(t, want.String(), string(appendBlock([]byte("before\n"), first, text, u)[len("before\n"):]))
	})
}

// plainRow is flagRow in terms of the sheet.
func plainRow(r *desk.Flagged, u Units) string {
	var b bytes.Buffer
	s := sheet{w: &b, u: u}
	if r.Section == desk.NotReadable {
		head := fmt.Sprintf("line %d", r.Fault.Line)
		if r.Fault.Batch != "" {
			head += ", batch " + r.Fault.Batch
		}
		s.block("  ", head)
		s.block("      ", r.Fault.Reason)
		return b.String()
	}
	j := r.Judgement
	head := fmt.Sprintf("%-14s %-24s", r.Item.Batch, r.Item.Class)
	if days, dated := j.Governing.DaysLeft(j.On); dated {
		head += "  " + daysLeft(days)
	}
	s.line("  %s", head)
	s.block("      ", whereabouts(r))
	s.block("      ", j.Governing.Reason)
	for _, l := range j.Limits[1:] {
		if r.Section != desk.EndsSoon && l.Past && l.Counts {
			s.block("      also: ", l.Reason)
		}
	}
	return b.String()
}

func TestARowAppendedIsTheRowOfTheSheet(t *testing.T) {
	cell := rapid.SampledFrom([]string{"", "rack 2", "Küche", "cold room 4 C", " two  spaces ", strings.Repeat("far ", 12), "kit", "75 mm tins", "mm", "C"})
	rapid.Check(t, func(t *rapid.T) {
		var b bytes.Buffer
		w := csv.NewWriter(&b)
		require.NoError(t, w.Write([]string{"batch", "class", "dom", "expiry", "thawed", "location", "quantity", "unit", "held"}))
		for i := range 5 {
			require.NoError(t, w.Write([]string{fmt.Sprintf("S-%d", i), rapid.SampledFrom([]string{"polysulfide-b-2", "polysulfide-b-2-premixed", "grease-general", "none"}).Draw(t, "class"), "2026-10-01",
				rapid.SampledFrom([]string{"2027-03-10", "2027-02", "2026-01-01", "03/04/2027", ""}).Draw(t, "expiry"),
				rapid.SampledFrom([]string{"", "2027-03-01 2027-03-02"}).Draw(t, "thawed"), cell.Draw(t, "location"),
				rapid.SampledFrom([]string{"", "2.5", "1000000", "-1"}).Draw(t, "quantity"), cell.Draw(t, "unit"), cell.Draw(t, "held")}))
		}
		w.Flush()
		l, err := desk.NewList(strings.NewReader(b.String()), "s.csv", stock.Auto)
		require.NoError(t, err)
		f, err := desk.NewJudge(catalog.Builtin(), today).Flag(l, desk.FlagQuestion{Until: today.Add(30)})
		require.NoError(t, err)
		u := rapid.SampledFrom([]Units{SI, US}).Draw(t, "units")
		for _, s := range desk.Sections() {
			require.NoError(t, f.Each(f.Groups[0], s, func(r *desk.Flagged) error {
				require.Equal(t, plainRow(r, u), string(flagRow(nil, r, u)))
				return nil
			}))
		}
	})
}

func TestARowOfARegisterAppendedIsTheRowOfTheSheet(t *testing.T) {
	cell := rapid.SampledFrom([]string{"", "rack 2", "Küche", "C", "mm", "cold room 4 C", "two  spaces", strings.TrimSpace(strings.Repeat("far ", 12)), "kit", "75 mm tins", "Caps"})
	rapid.Check(t, func(t *rapid.T) {
		text := []byte(stock.RegisterHeader + "\n")
		for i := range 5 {
			r := stock.Row{Location: cell.Draw(t, "location"), Unit: cell.Draw(t, "unit"), Extra: stock.ByMaker(cell.Draw(t, "maker"))}
			r.Quantity = rapid.SampledFrom([]float64{-1, 0, 2.5, 75, 999_999_999.9996, 1e9}).Draw(t, "quantity")
			if r.Counted = r.Quantity >= 0; !r.Counted {
				r.Quantity = 0
			}
			r.Item.Batch, r.Item.Class = fmt.Sprintf("S-%d", i), rapid.SampledFrom([]string{"polysulfide-b-2", "none"}).Draw(t, "class")
			r.Item.Expiry = label.DayOf(today.Add(date.PeriodOfDays(rapid.IntRange(-9, 9).Draw(t, "days"))))
			r.Item.Container, r.Item.Held = rapid.SampledFrom([]string{"", "", "3"}).Draw(t, "container"), cell.Draw(t, "held")
			var err error
			text, err = stock.AppendRow(text, &r)
			require.NoError(t, err)
		}
		l, err := desk.NewRegisterList("r", func(w io.Writer) error {
			_, err := w.Write(text)
			return err
		})
		require.NoError(t, err)
		defer l.Close()
		f, err := desk.NewJudge(catalog.Builtin(), today).Flag(l, desk.FlagQuestion{Until: today.Add(30)})
		require.NoError(t, err)
		require.Equal(t, 5, f.Counts.Rows)
		u := rapid.SampledFrom([]Units{SI, US}).Draw(t, "units")
		for _, s := range desk.Sections() {
			require.NoError(t, f.Each(f.Groups[0], s, func(r *desk.Flagged) error {
				require.Equal(t, plainRow(r, u), string(flagRow(nil, r, u)))
				return nil
			}))
		}
	})
}

func TestALongBatchNumberIsFolded(t *testing.T) {
	f := flagOf(t, "batch,class,expiry,location\n"+strings.Repeat("S-1 ", 40)+",polysulfide-b-2,2026-01-01,"+strings.Repeat("rack ", 30)+"\n", desk.FlagQuestion{Until: today})
	within80(t, written(t, func(w io.Writer) error { return Flag(w, f, SI) }))
}

// What encoding/csv writes is the measure.
func TestARecordAppendedIsThatOfTheStandardLibrary(t *testing.T) {
	cell := rapid.OneOf(rapid.StringOf(rapid.SampledFrom([]rune("ab,;\"\n\r é\t\\."))), rapid.SampledFrom([]string{`\.`, "", " x", "\u00a0x"}))
	rapid.Check(t, func(t *rapid.T) {
		cells := rapid.SliceOfN(cell, 2, 6).Draw(t, "cells")
		var want bytes.Buffer
		w := csv.NewWriter(&want)
		require.NoError(t, w.Write(cells))
		w.Flush()
		require.Equal(t, want.String(), string(appendRecord(nil, cells)))
	})
}

// The object written field by field is the object written whole.
func TestFlagJSONIsLaidOutAsAllJSONIs(t *testing.T) {
	lists := map[string]desk.FlagQuestion{stockList: {Until: today.Add(30), Draw: 2}, "batch,class\n": {Until: today}, stockList + " ": {Until: today.Add(30), ByLocation: true}}
	for text, q := range lists {
		got := written(t, func(w io.Writer) error { return FlagJSON(w, flagOf(t, text, q)) })
		var want bytes.Buffer
		require.NoError(t, json.Indent(&want, []byte(got), "", "  "))
		require.Equal(t, want.String(), got)
	}
	v := decoded(t, written(t, func(w io.Writer) error { return FlagJSON(w, flagged(t)) }))
	assert.Subset(t, keys(v), []string{"on", "until", "rows", "unreadable", "counts", "next", "draw-first", "warnings"})
	next := v["next"].([]any)
	require.Len(t, next, 3)
	assert.Equal(t, map[string]any{"days": 30., "until": "2027-04-07", "rows": 1.}, next[0])
	draw := v["draw-first"].([]any)
	require.Len(t, draw, 1)
	first := draw[0].(map[string]any)["batches"].([]any)[0].(map[string]any)
	assert.Equal(t, map[string]any{"batch": "S-1", "opened": nil, "until": "2027-03-20", "days-left": 12., "location": "rack 2", "quantity": 4., "unit": "kit", "line": 2.}, first)
}

func TestFlagByLocationHasEachPlaceWithItsSections(t *testing.T) {
	f := flagOf(t, stockList, desk.FlagQuestion{Until: today.Add(30), ByLocation: true, Draw: 1})
	text := written(t, func(w io.Writer) error { return Flag(w, f, SI) })
	within80(t, text)
	at := -1
	for _, part := range []string{"Location: rack 2\n", "SET ASIDE TODAY (1)", "ENDS SOON, USE FIRST (1)", "No location\n", "NOT READABLE", "DRAW FIRST, OF EACH CLASS", "5 rows"} {
		i := strings.Index(text, part)
		assert.Greater(t, i, at, "%s\n%s", part, text)
		at = i
	}
	r := rows(t, written(t, func(w io.Writer) error { return FlagCSV(w, f) }))
	assert.Len(t, r, 6, "the same rows, place by place")
}

func TestFlagSaysWhatEndsNext(t *testing.T) {
	text := written(t, func(w io.Writer) error { return Flag(w, flagged(t), SI) })
	flat := strings.Join(strings.Fields(text), " ")
	assert.Contains(t, flat, "Of the good ones end 1 in 30 days (by 7 April 2027), 1 in 60 days (by 7 May 2027), 1 in 90 days (by 6 June 2027).")
	assert.Contains(t, flat, "polysulfide-b-2, 1 good S-1, usable through 20 March 2027: rack 2, 4 kits, line 2")
}

// A column that few lists have is written where the list has it, in one form; the
// headings of a mapped list do not come back as columns of its own.
func TestFlagCSVHasTheRareColumnsOfTheList(t *testing.T) {
	m, err := stock.ParseMap("Lot=batch")
	require.NoError(t, err)
	f := flagOf(t, "Lot,class,expiry,container,gtin,po\nS-1,polysulfide-b-2,2026-01,7 of 12,6291041500213,77\n", desk.FlagQuestion{Until: today, Stock: stock.Options{Map: m}})
	r := rows(t, written(t, func(w io.Writer) error { return FlagCSV(w, f) }))
	require.Len(t, r, 2)
	assert.Equal(t, append(append([]string{"verdict", "days-left", "limit", "date", "reason", "line"}, stock.UsualColumns()...), "gtin", "container", "po"), r[0])
	assert.Equal(t, []string{"06291041500213", "7 of 12", "77"}, r[1][len(r[1])-3:])
	assert.Equal(t, "S-1", r[1][6])
	v := decoded(t, written(t, func(w io.Writer) error { return FlagJSON(w, f) }))
	row := v["rows"].([]any)[0].(map[string]any)
	assert.Equal(t, "7 of 12", row["container"])
	assert.Equal(t, map[string]any{"po": "77"}, row["extra"])
}
