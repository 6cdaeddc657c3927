package shelf

import (
	"go/ast"
	"go/parser"
	"go/token"
	"strconv"
	"strings"
	"testing"

	"github.com/rickb777/date/period"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/label"
	"beadline/cure/quantity"
)

// What each limit is checked by: published means that a row of shelf-rules.csv is
// decided by it; otherwise its source itself says what it is.
const (
	published = "published"
	common    = "common practice, no source"
	own       = "own decision"
)

// checks are all limits, with the kind of their check, and an item whose judgement on
// 8 March 2027 shows it.
var checks = map[Name]struct {
	kind  string
	it    Item
	rules Rules
}{
	LimitHeld:            {common, Item{Held: "dented"}, Rules{}},
	LimitScrapped:        {common, Item{Scrapped: "leaked"}, Rules{}},
	LimitDatesContradict: {own, Item{DOM: label.DayOf(base.Add(3))}, Rules{}},
	LimitUndated:         {published, Item{}, Rules{}},
	LimitUnknownLife:     {published, Item{DOM: label.DayOf(base)}, Rules{}},
	LimitFarDate:         {own, Item{DOM: label.DayOf(base), Expiry: label.DayOf(base.Add(4000))}, sealant},
	LimitLabelExpiry:     {published, Item{Expiry: label.DayOf(base)}, Rules{}},
	LimitInspectDate:     {published, Item{Inspect: label.DayOf(base)}, Rules{}},
	LimitBestBefore:      {own, Item{BestBefore: label.DayOf(base.Add(-1))}, Rules{}},
	LimitClassLife:       {published, Item{DOM: label.DayOf(base)}, sealant},
	LimitCodeLife:        {published, Item{DOM: label.DayOf(base), Code: "4"}, sealant},
	LimitOpenedLife:      {published, Item{Opened: label.DayOf(base)}, Rules{}},
	LimitInstalledLife:   {published, Item{Installed: label.DayOf(base)}, Rules{}},
	LimitThaw:            {common, Item{ThawCount: 2}, Rules{}},
	LimitThawLife:        {own, Item{ThawCount: 1}, Rules{ThawLife: Span{Max: hour, From: "test"}}},
	LimitOutTime:         {published, Item{ThawCount: 1}, frozen},
	LimitFailedTest:      {published, Item{Tests: []Test{{On: label.DayOf(base)}}}, Rules{}},
	LimitHotStorage:      {published, Item{Storage: []Storage{{HotFrom: label.DayOf(base)}}}, Rules{Hot: fiveWeeks}},
	LimitStorageBounds:   {published, Item{Storage: []Storage{{Measured: true, MinC: 50, MaxC: 60}}}, Rules{Store: Store{Range: quantity.Range{Lo: 4, Hi: 27}, From: "test"}}},
	LimitStoreRange: {own, Item{Storage: []Storage{{Measured: true, MinC: 20, MaxC: 28}}},
		Rules{Store: Store{Range: quantity.Range{Lo: 4, Hi: 27}, From: "test"}, Bounds: Store{Range: quantity.Range{Lo: 4, Hi: 35}, From: "test"}}},
	LimitStorageLife: {published, Item{Expiry: label.DayOf(base), Storage: []Storage{{Spent: hour}}}, Rules{}},
	LimitMeanKinetic: {published, Item{Storage: []Storage{{Measured: true, Readings: 9, MinC: 2, MaxC: 8, MeanKineticC: 6.25}}}, Rules{}},
	LimitKitParts:    {common, Item{Parts: []Part{{Name: "accelerator", Lot: "A", Kit: "B"}}}, Rules{}},
	LimitPartExpiry:  {own, Item{Parts: []Part{{Name: "accelerator", Expiry: label.DayOf(base)}}}, Rules{}},
	LimitReceipt:     {published, Item{Received: Receipt{NoPapers: true}}, Rules{}},
	LimitCondition:   {published, Item{Condition: Skinned}, Rules{}},
	LimitStandard:    {own, Item{Polymer: "NBR"}, Rules{}},
	LimitOutlast:     {own, Item{Expiry: label.DayOf(base)}, Rules{}},
}

// byStorage are the limits whose published rows package storage holds.
var byStorage = map[Name]string{LimitStorageLife: "aged log", LimitMeanKinetic: "mean kinetic"}

// limitNames are the limits declared in shelf.go.
func limitNames(t *testing.T) (names []Name) {
	t.Helper()
	f, err := parser.ParseFile(token.NewFileSet(), "shelf.go", nil, 0)
	require.NoError(t, err)
	ast.Inspect(f, func(n ast.Node) bool {
		if v, ok := n.(*ast.ValueSpec); ok && len(v.Names) == 1 && strings.HasPrefix(v.Names[0].Name, "Limit") {
			s, err := strconv.Unquote(v.Values[0].(*ast.BasicLit).Value)
			require.NoError(t, err)
			names = append(names, Name(s))
		}
		return true
	})
	return names
}

func TestEveryLimitHasAPublishedOrAMarkedCheck(t *testing.T) {
	names := limitNames(t)
	require.Len(t, checks, len(names), "every limit, and no other")
	rows := ruleRows(t)
	for _, name := range names {
		c, ok := checks[name]
		require.True(t, ok, name)
		j := JudgeFor(&c.it, &c.rules, Question{On: base, Until: label.DayOf(base.Add(30))})
		var shown *Limit
		for i := range j.Limits {
			if j.Limits[i].Name == name {
				shown = &j.Limits[i]
			}
		}
		require.NotNil(t, shown, name)
		assert.NotEmpty(t, shown.Source, name)
		if c.kind != published {
			assert.Contains(t, shown.Source, c.kind, name)
			continue
		}
		held := false
		for _, r := range rows {
			held = held || strings.Contains(r.value, " "+string(name)+" ") || byStorage[name] != "" && r.rule == byStorage[name]
		}
		assert.True(t, held, "no row of shelf-rules.csv is decided by %s", name)
	}
}

// Each condition says what it rests on: the pack, the label and what has separated are
// common practice.
func TestEveryConditionSaysWhatItRestsOn(t *testing.T) {
	for bit, want := range map[Condition]struct {
		verdict Verdict
		source  string
	}{
		Damaged: {Hold, common}, Cloudy: {Reject, "T.O. 1-1-700"}, Skinned: {Reject, "T.O. 1-1-700"}, Separated: {Hold, common}, LabelGone: {Hold, common},
	} {
		j := Judge(Item{Expiry: label.DayOf(base), Condition: bit}, Rules{}, base)
		assert.Equal(t, want.verdict, j.Verdict, bit)
		assert.Equal(t, LimitCondition, j.Governing.Name)
		assert.Contains(t, j.Governing.Source, want.source)
		back, err := ParseCondition(bit.String())
		require.NoError(t, err)
		assert.Equal(t, bit, back)
	}
	_, err := ParseCondition("dirty")
	assert.EqualError(t, err, `"dirty" is not a condition: damaged, cloudy, skinned, separated or label-gone`)
	assert.Equal(t, "damaged, label-gone", (Damaged | LabelGone).String())
}

func TestRulesOfStorageAndReceiptThatNoClassCanMeanAreRefused(t *testing.T) {
	for want, r := range map[string]Rules{
		"installed: a shelf life without its source":   {Installed: Life{Span: period.NewYMD(1, 0, 0)}},
		"bounds: a temperature range without":          {Bounds: Store{Range: quantity.Range{Lo: 4, Hi: 27}}},
		"bounds: 10 to 27 C do not hold the store":     {Store: Store{Range: quantity.Range{Lo: 4, Hi: 27}, From: "x"}, Bounds: Store{Range: quantity.Range{Lo: 10, Hi: 27}, From: "x"}},
		"store: a temperature range from 27 to 4 C":    {Store: Store{Range: quantity.Range{Lo: 27, Hi: 4}, From: "x"}},
		"hot: without its source":                      {Hot: Hot{AboveC: 27, Within: period.NewYMD(0, 0, 35)}},
		"hot: a span of":                               {Hot: Hot{AboveC: 27, Within: period.NewYMD(0, 0, -35), From: "x"}},
		"receipt: a share of 85":                       {Receipt: ReceiptRule{Share: 85, From: "x"}},
		"receipt: without its source":                  {Receipt: ReceiptRule{Share: 0.85}},
		"receipt: an exception without the share":      {Receipt: ReceiptRule{Within: period.NewYMD(1, 0, 0), Over: period.NewYMD(4, 0, 0), From: "x"}},
		"receipt: received within so long, of a life":  {Receipt: ReceiptRule{Share: 0.75, Within: period.NewYMD(1, 0, 0), From: "x"}},
		"receipt: a span of life cannot be negative":   {Receipt: ReceiptRule{Share: 0.75, Within: period.NewYMD(-1, 0, 0), Over: period.NewYMD(4, 0, 0), From: "x"}},
		"standard: \"iso\" is not a standard for seal": {Standard: "iso"},
	} {
		assert.ErrorContains(t, r.Check(), want)
	}
	whole := Rules{Hot: fiveWeeks, Receipt: ReceiptRule{Share: 0.75, Within: period.NewYMD(1, 0, 0), Over: period.NewYMD(4, 0, 0), From: "x"}, Standard: StandardISO2230}
	assert.NoError(t, whole.Check())
}
