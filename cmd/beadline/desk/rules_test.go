package desk

import (
	"testing"

	"github.com/rickb777/date/period"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog"
	"beadline/catalog/shelf"
	"beadline/cure/quantity"
)

func rulesOf(t *testing.T, text string) shelf.Rules {
	t.Helper()
	classes, err := catalog.Read([]byte(text), "x.yaml")
	require.NoError(t, err)
	require.Len(t, classes, 1)
	return Rules(&classes[0])
}

func TestRulesOfEveryBuiltinAreSound(t *testing.T) {
	for _, c := range catalog.Builtin().All() {
		r := Rules(&c)
		assert.NoError(t, r.Check(), c.ID)
	}
}

const ruled1 = `- id: x
  name: X
  kind: elastomer
  cautions: []
  shelf:
    unopened: 7 years
    opened: 3 months
    installed: 6 years
    store: 4..27C
    bounds: 4..35C
    hot: {above: 27C, use-within: 5 weeks}
    extension: {by: 3 years, max: 1}
    authority: "ISO 2230:2002, after inspection"
    out-time: 10 days
    thaw-life: 2h
    thaws: 2
    receipt: {share: 75%, or-within: 1 year, over: 4 years}
    convention: end-of-quarter
    from: "test"
`

func TestRulesPassOnEveryShelfRuleOfTheClass(t *testing.T) {
	r := rulesOf(t, ruled1)
	require.NoError(t, r.Check())
	assert.Equal(t, shelf.Life{Span: period.NewYMD(7, 0, 0), From: "test"}, r.Unopened)
	assert.Equal(t, shelf.Life{Span: period.NewYMD(0, 3, 0), From: "test"}, r.Opened)
	assert.Equal(t, shelf.Life{Span: period.NewYMD(6, 0, 0), From: "test"}, r.Installed)
	assert.Equal(t, shelf.Store{Range: quantity.Range{Lo: 4, Hi: 27}, From: "test"}, r.Store)
	assert.Equal(t, shelf.Store{Range: quantity.Range{Lo: 4, Hi: 35}, From: "test"}, r.Bounds)
	assert.Equal(t, shelf.Hot{AboveC: 27, Within: period.NewYMD(0, 0, 35), From: "test"}, r.Hot)
	assert.Equal(t, shelf.Extension{Kind: shelf.FixedExtension, Span: period.NewYMD(3, 0, 0), Max: 1, From: "ISO 2230:2002, after inspection"}, r.Extension)
	assert.Equal(t, shelf.ReceiptRule{Share: 0.75, Within: period.NewYMD(1, 0, 0), Over: period.NewYMD(4, 0, 0), From: "test"}, r.Receipt)
	assert.Equal(t, shelf.Thaws{Max: 2, From: "test"}, r.Thaws)
	assert.Equal(t, shelf.EndOfQuarter, r.Convention)
}

// One source may stand for the whole block; it makes no rule of what is not there.
func TestAClassThatSaysLittleGivesFewRules(t *testing.T) {
	r := rulesOf(t, "- {id: x, name: X, kind: grease, cautions: [], shelf: {unopened: 9 months, from: test}}\n")
	assert.Equal(t, shelf.Rules{Unopened: shelf.Life{Span: period.NewYMD(0, 9, 0), From: "test"}}, r)
	assert.Equal(t, shelf.Rules{}, rulesOf(t, "- {id: x, name: X, kind: grease, cautions: []}\n"))
	assert.Equal(t, shelf.Life{Unlimited: true, From: "test"}, rulesOf(t, "- {id: x, name: X, kind: grease, cautions: [], shelf: {unopened: unlimited, from: test}}\n").Unopened)
}

func TestRefreezingSaysHowOftenItMayBeThawed(t *testing.T) {
	for text, want := range map[string]int{"refreeze: false": 1, "refreeze: true": shelf.AnyThaws, "thaws: 4": 4, "thaws: 4, refreeze: true": 4, "unopened: 1 year": 0} {
		r := rulesOf(t, "- {id: x, name: X, kind: grease, cautions: [], shelf: {"+text+", from: test}}\n")
		assert.Equal(t, want, r.Thaws.Max, text)
		assert.NoError(t, r.Check())
	}
}
