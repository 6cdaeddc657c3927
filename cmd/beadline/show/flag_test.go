package show

import (
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog"
	"beadline/cmd/beadline/desk"
)

const stockList = `batch,class,dom,expiry,opened,thawed,location,quantity,unit,po,po
S-1,polysulfide-b-2,2026-09-01,2027-03-20,,,rack 2,4,kit,A,"x, y"
S-2,polysulfide-b-2,2026-05-01,02/2027,,,rack 2,2.5,kit,B,
S-3,polysulfide-b-2-premixed,2027-03-07,,,2027-03-08,freezer,2,cartridge,C,
S-4,polysulfide-b-2,03/04/2027,,,,,,,D,
S-5,polysulfide-b-2,,,,,,,,E,
`

func flagOf(t testing.TB, text string, q desk.FlagQuestion) *desk.Flags {
	t.Helper()
	l, err := desk.NewList(strings.NewReader(text), "stock.csv", q.Stock.Encoding)
	require.NoError(t, err)
	f, err := desk.NewJudge(catalog.Builtin(), today).Flag(l, q)
	require.NoError(t, err)
	return f
}

func flagged(t testing.TB) *desk.Flags {
	t.Helper()
	return flagOf(t, stockList, desk.FlagQuestion{Until: today.Add(30), Draw: 3})
}

func TestFlagTextGoesFromSetAsideToUseFirst(t *testing.T) {
	text := written(t, func(w io.Writer) error { return Flag(w, flagged(t), SI) })
	within80(t, text)
	at := -1
	for _, heading := range []string{"SET ASIDE TODAY (1)", "HOLD, A PERSON MUST DECIDE (2)", "NOT READABLE, CORRECT THE LIST (1)", "ENDS SOON, USE FIRST (1)", "5 rows: 1 to set aside"} {
		i := strings.Index(text, heading)
		assert.Greater(t, i, at, heading)
		at = i
	}
	assert.Contains(t, text, "line 5, batch S-4")
}

func TestFlagWithNothingToDoSaysSo(t *testing.T) {
	f := flagOf(t, "batch,class,expiry\nS-1,polysulfide-b-2,2027-06-30\n", desk.FlagQuestion{Until: today})
	text := written(t, func(w io.Writer) error { return Flag(w, f, SI) })
	assert.Contains(t, text, "Nothing to do.")
	assert.NotContains(t, text, "no rows")
	f = flagOf(t, "batch,class\n", desk.FlagQuestion{Until: today})
	text = written(t, func(w io.Writer) error { return Flag(w, f, SI) })
	assert.Contains(t, text, "\nThe list has no rows.\n")
	assert.NotContains(t, text, "Nothing to do.")
	v := decoded(t, written(t, func(w io.Writer) error { return FlagJSON(w, f) }))
	assert.Equal(t, []any{}, v["rows"])
}

func TestFlagJSONHasTheAgreedKeysAndKeepsExtraColumns(t *testing.T) {
	v := decoded(t, written(t, func(w io.Writer) error { return FlagJSON(w, flagged(t)) }))
	assert.Subset(t, keys(v), []string{"on", "rows", "counts"})
	r := v["rows"].([]any)
	require.Len(t, r, 4)
	first, last := r[0].(map[string]any), r[3].(map[string]any)
	assert.Subset(t, keys(first), []string{"batch", "class", "verdict", "governing", "days-left"})
	assert.Equal(t, "S-2", first["batch"])
	assert.Equal(t, -8., first["days-left"])
	assert.Equal(t, map[string]any{"po": "A", "po (2)": "x, y"}, last["extra"])
	assert.Equal(t, 5., v["counts"].(map[string]any)["rows"])
}

func TestUnreadableRowsKeepWhatCanBeRead(t *testing.T) {
	v := decoded(t, written(t, func(w io.Writer) error { return FlagJSON(w, flagged(t)) }))
	u := v["unreadable"].([]any)[0].(map[string]any)
	assert.Equal(t, "S-4", u["batch"])
	assert.Equal(t, "polysulfide-b-2", u["class"])
	assert.Equal(t, "03/04/2027", u["fields"].(map[string]any)["dom"])
	assert.Equal(t, "D", u["fields"].(map[string]any)["po"])
}

func TestFlagCSVKeepsEveryColumn(t *testing.T) {
	r := rows(t, written(t, func(w io.Writer) error { return FlagCSV(w, flagged(t)) }))
	require.Len(t, r, 6)
	at := map[string]int{}
	for i, name := range r[0] {
		if _, again := at[name]; !again {
			at[name] = i
		}
	}
	thawed := r[2]
	assert.Equal(t, "S-3", thawed[at["batch"]])
	assert.Equal(t, "polysulfide-b-2-premixed", thawed[at["class"]])
	assert.Equal(t, "2027-03-07", thawed[at["dom"]])
	assert.Equal(t, "2027-03-08", thawed[at["thawed"]])
	assert.Equal(t, "freezer", thawed[at["location"]])
	assert.Equal(t, "cartridge", thawed[at["unit"]])
	assert.Equal(t, "C", thawed[at["po"]])
	assert.Equal(t, []string{"A", "x, y"}, r[4][at["po"]:])
	assert.Equal(t, "2027-02", r[1][at["expiry"]], "a month stays a month")
	assert.Equal(t, "2.5", r[1][at["quantity"]])
	assert.Equal(t, "unreadable", r[5][0])
	assert.Equal(t, "S-4", r[5][at["batch"]])
	assert.Equal(t, "polysulfide-b-2", r[5][at["class"]])
	assert.Equal(t, "03/04/2027", r[5][at["dom"]], "as it is written")
	assert.Equal(t, []string{"D", ""}, r[5][at["po"]:])
}

func TestABatchToDrawSaysWhereElseItStandsAndIsWorse(t *testing.T) {
	f := flagOf(t, "batch,class,expiry,location\nS-1,polysulfide-b-2,2027-06-30,rack 1\nS-1,polysulfide-b-2,2027-01-31,rack 2\nS-2,polysulfide-b-2,2027-06-30,\n",
		desk.FlagQuestion{Until: today, Draw: 3})
	text := written(t, func(w io.Writer) error { return Flag(w, f, SI) })
	text = strings.Join(strings.Fields(text), " ")
	assert.Contains(t, text, "S-1, usable through 30 June 2027: rack 1, line 2; also on line 3, worse or not readable S-2, usable through 30 June 2027: line 4 ")
	_, words, _, _ := boardOf(t, f, SI, boardPages)
	assert.Equal(t, 1, strings.Count(words, "also on line 3, worse or not readable"))
	v := decoded(t, written(t, func(w io.Writer) error { return FlagJSON(w, f) }))
	drawn := v["draw-first"].([]any)[0].(map[string]any)["batches"].([]any)
	assert.Equal(t, 3., drawn[0].(map[string]any)["also-on-line"])
	assert.NotContains(t, drawn[1], "also-on-line")
}
