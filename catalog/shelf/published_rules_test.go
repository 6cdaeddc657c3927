package shelf

import (
	"encoding/csv"
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/label"
	"beadline/cure/quantity"
)

// Published rules that are held elsewhere, and why: how dates are read, ISO forms and
// the plain months of each code (package label); drawing by earliest expiry (the desk
// sorts by the days of these limits); records kept for two years and a pack left closed
// until it is dry (not limits); dew points (cure/air); the rules for temperature logs,
// of which package storage holds the rows.

// ruleRow is one row of shelf-rules.csv: what is known of a batch and its class, and
// the verdict, governing limit and last day that follow.
type ruleRow struct {
	line                int
	rule, value, source string
	inputs              map[string]string
}

// storageRows are the rules of the table that package storage holds.
var storageRows = []string{"ageing factor", "aged log", "mean kinetic"}

func ruleRows(t *testing.T) (rows []ruleRow) {
	t.Helper()
	f, err := os.Open("../../testdata/published/shelf-rules.csv")
	require.NoError(t, err)
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Equal(t, []string{"rule", "inputs", "value", "source", "how"}, records[0])
	for i, f := range records[1:] {
		row := ruleRow{line: i + 2, rule: f[0], value: f[2], source: f[3], inputs: map[string]string{}}
		for _, in := range strings.Fields(f[1]) {
			key, value, ok := strings.Cut(in, "=")
			require.True(t, ok, "line %d: %s", row.line, in)
			row.inputs[key] = value
		}
		rows = append(rows, row)
	}
	return rows
}

// take is an input, which is then used up.
func (r *ruleRow) take(key string) string {
	v := r.inputs[key]
	delete(r.inputs, key)
	return v
}

func (r *ruleRow) date(t *testing.T, key string) label.Date { return printedAs(t, r.take(key)) }

func (r *ruleRow) dates(t *testing.T, key string) []label.Date {
	return printedDates(t, strings.FieldsFunc(r.take(key), func(c rune) bool { return c == ';' })...)
}

func (r *ruleRow) life(t *testing.T, key string) Life {
	s := r.take(key)
	if s == "" {
		return Life{}
	}
	p, err := quantity.Life(s)
	require.NoError(t, err)
	return Life{Span: p, From: r.source}
}

func (r *ruleRow) temps(t *testing.T, key string) Store {
	s := r.take(key)
	if s == "" {
		return Store{}
	}
	if hi, ok := strings.CutPrefix(s, ".."); ok {
		return Store{Range: quantity.Range{Lo: noColdLimit, Hi: tempOf(t, hi)}, From: r.source}
	}
	got, err := quantity.TempRange(s)
	require.NoError(t, err)
	return Store{Range: got, From: r.source}
}

func tempOf(t *testing.T, s string) float64 {
	c, err := quantity.Temp(s)
	require.NoError(t, err)
	return c
}

// item reads what is known of the batch.
func (r *ruleRow) item(t *testing.T) Item {
	it := Item{DOM: r.date(t, "dom"), Expiry: r.date(t, "expiry"), Inspect: r.date(t, "inspect"), Opened: r.date(t, "opened"), Installed: r.date(t, "installed"),
		Code: r.take("code"), Standard: Standard(r.take("standard")), Polymer: r.take("polymer"), Received: Receipt{On: r.date(t, "received")},
		Thawed: r.dates(t, "thawed"), Refrozen: r.dates(t, "refrozen")}
	for _, s := range strings.FieldsFunc(r.take("tested"), func(c rune) bool { return c == ';' }) {
		on, passed := strings.CutSuffix(s, "+")
		it.Tests = append(it.Tests, Test{On: printedAs(t, strings.TrimSuffix(on, "-")), Passed: passed, By: "A. Hentze", Authority: "quality office", Reference: "QO-7", Results: "as found"})
	}
	if s := r.take("condition"); s != "" {
		c, err := ParseCondition(s)
		require.NoError(t, err)
		it.Condition = c
	}
	if s := r.take("stored"); s != "" {
		temps, on, _ := strings.Cut(s, "@")
		lo, hi, _ := strings.Cut(temps, "..")
		it.Storage = []Storage{{From: printedAs(t, on), Measured: true, MinC: tempOf(t, lo), MaxC: tempOf(t, hi)}}
	}
	return it
}

// rules reads what the class says.
func (r *ruleRow) rules(t *testing.T) Rules {
	u := Rules{Unopened: r.life(t, "unopened"), Opened: r.life(t, "life-opened"), Installed: r.life(t, "life-fitted"), Store: r.temps(t, "store"), Bounds: r.temps(t, "bounds")}
	if s := r.take("convention"); s != "" {
		c, err := ParseConvention(s)
		require.NoError(t, err)
		u.Convention = c
	}
	switch s := r.take("extension"); s {
	case "":
	case "half-original":
		u.Extension = Extension{Kind: HalfOriginal, From: r.source}
	default:
		p, err := quantity.Life(s)
		require.NoError(t, err)
		u.Extension = Extension{Kind: FixedExtension, Span: p, From: r.source}
	}
	if s := r.take("hot"); s != "" {
		above, within, _ := strings.Cut(s, "/")
		p, err := quantity.Life(within)
		require.NoError(t, err)
		u.Hot = Hot{AboveC: tempOf(t, above), Within: p, From: r.source}
	}
	if s := r.take("share"); s != "" {
		share, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		u.Receipt = ReceiptRule{Share: share, From: r.source, Within: r.life(t, "within").Span, Over: r.life(t, "over").Span}
	}
	if r.take("thaws") == "any" {
		u.Thaws = Thaws{Max: AnyThaws, From: r.source}
	}
	if s := r.take("out"); s != "" {
		d, err := quantity.Span(s)
		require.NoError(t, err)
		u.OutTime = Span{Max: d, From: r.source}
	}
	require.NoError(t, u.Check())
	return u
}

func TestPublishedRules(t *testing.T) {
	for _, row := range ruleRows(t) {
		if slices.Contains(storageRows, row.rule) {
			continue
		}
		t.Run(fmt.Sprintf("line %d %s", row.line, row.rule), func(t *testing.T) {
			on, it, rules := day(t, row.take("on")), row.item(t), row.rules(t)
			require.Empty(t, row.inputs, "inputs that mean nothing")
			j := Judge(it, rules, on)
			holdsTogether(t, j)
			g, end := j.Governing, "-"
			if g.Dated {
				end = label.DayOf(g.Date).Canonical()
				if g.Timed {
					end = label.At(g.Date, g.Minute).Canonical()
				}
			}
			assert.Equal(t, row.value, fmt.Sprintf("%s %s %s", j.Verdict, g.Name, end), "%s\n%s", row.source, g.Reason)
		})
	}
}
