package desk

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog/shelf"
	"beadline/catalog/stock"
)

// worseLine is the first line on which a batch may not be used or cannot be read.
func worseLine(j *Judge, s *stock.Sheet, batch string) (line int) {
	for _, r := range s.List {
		if r.Item.Batch == batch && j.Full(r.Item).Verdict != shelf.Use && (line == 0 || r.Line < line) {
			line = r.Line
		}
	}
	for _, b := range s.Bad {
		if b.Batch == batch && (line == 0 || b.Line < line) {
			line = b.Line
		}
	}
	return line
}

func TestABatchOnSeveralRowsIsSaidAndMarkedToDraw(t *testing.T) {
	f := ask(t, `batch,class,dom,expiry,location,quantity
A1,polysulfide-b-2,2026-10-01,2027-05-31,rack 1,2
B1,polysulfide-b-2,2026-10-01,2027-05-31,rack 1,2
C1,polysulfide-b-2,2026-10-01,2027-06-30,rack 1,2
C1,polysulfide-b-2,2026-10-01,2027-06-30,rack 2,2
D1,polysulfide-b-2,2026-10-01,2027-06-30,rack 2,2
A1,polysulfide-b-2,2026-10-01,2027-05-31,rack 1,2
D1,polysulfide-b-2,2026-10-01,30/6/27,rack 2,2
A1,polysulfide-b-2,2026-01-01,2026-06-30,rack 9,2
`, FlagQuestion{Until: today, Draw: 9, Location: "rack 1"})
	assert.Equal(t, []string{"s.csv: 3 batch numbers stand on several rows (first: A1, lines 2 and 7 and 1 more): each row is judged on its own"}, f.Warnings)
	also := func(f told) string {
		all, err := f.Draw()
		require.NoError(t, err)
		said := ""
		for _, d := range all {
			for _, r := range d.Rows {
				said += fmt.Sprintf("%s:%d ", r.Item.Batch, r.Also)
			}
		}
		return said
	}
	assert.Equal(t, "A1:9 B1:0 A1:9 C1:0 ", also(f), "a row elsewhere counts, an equally good one does not")

	f = ask(t, "batch,class,expiry\nD1,polysulfide-b-2,2027-06-30\nD1,polysulfide-b-2,30/6/27\n", FlagQuestion{Until: today, Draw: 1})
	assert.Equal(t, []string{"s.csv: 1 batch number stands on several rows (D1, lines 2 and 3): each row is judged on its own"}, f.Warnings)
	assert.Equal(t, "D1:3 ", also(f))
	assert.Empty(t, ask(t, "batch,class,expiry\nD1,polysulfide-b-2,2027-06-30\nd1,polysulfide-b-2,\n", FlagQuestion{}).Warnings)
}

func TestRepeatedHashesAreThoseThatComeTwice(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// Few values, 0 and 1 and both ends of a bucket among them.
		all := rapid.SliceOf(rapid.SampledFrom([]uint64{0, 2, 3, 1 << 56, 1<<56 + 1, 1<<56 - 1, 1<<64 - 1, 7 << 60, 7<<60 + 16})).Draw(t, "hashes")
		cut := rapid.IntRange(0, len(all)).Draw(t, "cut")
		times := map[uint64]int{}
		var want []uint64
		for _, h := range all {
			if times[h]++; times[h] == 2 {
				want = append(want, h)
			}
		}
		slices.Sort(want)
		got := repeatedNumbers([]numberRun{newNumberRun(all[:cut]), newNumberRun(all[cut:])})
		assert.ElementsMatch(t, want, got)
	})
}

// repeating gives the rows of a list batch numbers that come again.
func repeating(list string) string {
	return regexp.MustCompile(`(?m)^B-\d+`).ReplaceAllStringFunc(list, func(b string) string {
		n, _ := strconv.Atoi(b[2:])
		return fmt.Sprintf("B-%d", n%2500)
	})
}

func TestRepeatedBatchesOverManyStretches(t *testing.T) {
	text := repeating(bigList(6000))
	s, err := stock.ReadCSV(strings.NewReader(text), "s.csv", today)
	require.NoError(t, err)
	lines := map[string][]int{}
	for _, r := range s.List {
		lines[r.Item.Batch] = append(lines[r.Item.Batch], r.Line)
	}
	for _, b := range s.Bad {
		if b.Batch != "" {
			lines[b.Batch] = append(lines[b.Batch], b.Line)
		}
	}
	n, first, on := 0, "", []int{1 << 30}
	for batch, at := range lines {
		if slices.Sort(at); len(at) > 1 {
			if n++; at[0] < on[0] {
				first, on = batch, at
			}
		}
	}
	require.Greater(t, n, 1)
	f := ask(t, text, FlagQuestion{Until: today, Draw: 4})
	want := fmt.Sprintf("s.csv: %d batch numbers stand on several rows (first: %s, lines %d and %d", n, first, on[0], on[1])
	assert.True(t, slices.ContainsFunc(f.Warnings, func(w string) bool { return strings.HasPrefix(w, want) }), "%s: %s", want, f.Warnings)
}
