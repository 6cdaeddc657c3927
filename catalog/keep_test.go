package catalog

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/rickb777/date/period"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/cure/quantity"
)

// goodFrozen is a class with every shelf rule that the other good class lacks.
const goodFrozen = `- id: test-frozen
  name: Test frozen
  kind: film-adhesive
  heat: {max: 43C, from: s}
  shelf:
    unopened: 8 years
    installed: 6 years
    store: ..-40C
    bounds: ..32C
    hot: {above: -18C, use-within: 5 weeks}
    extension: {by: half-original, max: 2}
    authority: a public order
    out-time: 10 days
    thaw-life: 2h
    thaw: {takes: 30min, in: 18..30C, life-from: thawed}
    thaws: 3
    refreeze: true
    receipt: {share: 75%, or-within: 1 year, over: 4 years}
    from: {unopened: u, installed: i, store: s, bounds: b, hot: h, extension: e, out-time: o, thaw-life: tl, thaw: the maker's sheet, thaws: n, refreeze: r, receipt: a clause}
  cautions: []
`

func keptBy(t *testing.T, text string) *Shelf {
	t.Helper()
	classes, err := Read([]byte(text), "x.yaml")
	require.NoError(t, err)
	return classes[0].Shelf
}

func TestEveryShelfKeyIsReadWithItsSource(t *testing.T) {
	require.Empty(t, Lint([]byte(goodFrozen), "x.yaml"))
	s := keptBy(t, goodFrozen)
	assert.Equal(t, Sourced[period.Period]{period.NewYMD(6, 0, 0), true, "i"}, s.Installed)
	assert.Equal(t, Sourced[quantity.Range]{quantity.Range{Lo: NoLowerBound, Hi: 32}, true, "b"}, s.Bounds)
	assert.Equal(t, Sourced[HotSpell]{HotSpell{-18, period.NewYMD(0, 0, 35)}, true, "h"}, s.Hot)
	assert.Equal(t, Sourced[Extension]{Extension{Kind: ExtendHalfOriginal, Max: 2, Authority: "a public order"}, true, "e"}, s.Extension)
	assert.Equal(t, Sourced[Thaw]{Thaw{30 * time.Minute, quantity.Range{Lo: 18, Hi: 30}, FromThawed}, true, "the maker's sheet"}, s.Thaw)
	assert.Equal(t, Sourced[int]{3, true, "n"}, s.Thaws)
	assert.Equal(t, Sourced[Receipt]{Receipt{0.75, period.NewYMD(1, 0, 0), period.NewYMD(4, 0, 0)}, true, "a clause"}, s.Receipt)
	classes, err := Read([]byte(goodFrozen), "x.yaml")
	require.NoError(t, err)
	for _, want := range []Source{{"shelf: thaw", "the maker's sheet"}, {"shelf: thaws", "n"}, {"shelf: installed", "i"}, {"shelf: receipt", "a clause"}} {
		assert.Contains(t, classes[0].Sources(), want)
	}
}

// The plain forms of earlier files stay readable and mean what they did.
func TestPlainFormsOfShelfRulesStayReadable(t *testing.T) {
	for text, want := range map[string]Extension{
		"none":                            {Kind: ExtendNone},
		"half-original":                   {Kind: ExtendHalfOriginal, Authority: "a public order"},
		"6 months":                        {Kind: ExtendByPeriod, By: period.NewYMD(0, 6, 0), Authority: "a public order"},
		"{by: 6 months}":                  {Kind: ExtendByPeriod, By: period.NewYMD(0, 6, 0), Authority: "a public order"},
		"{by: P6M, max: 1}":               {Kind: ExtendByPeriod, By: period.NewYMD(0, 6, 0), Max: 1, Authority: "a public order"},
		"{by: half-original, max: \"2\"}": {Kind: ExtendHalfOriginal, Max: 2, Authority: "a public order"},
	} {
		file := strings.Replace(goodFrozen, "{by: half-original, max: 2}", text, 1)
		if want.Authority == "" {
			file = strings.Replace(file, "    authority: a public order\n", "", 1)
		}
		assert.Equal(t, want, keptBy(t, file).Extension.Value, text)
	}
	for text, want := range map[string]Receipt{
		"85%":          {Share: 0.85},
		"{share: 85%}": {Share: 0.85},
	} {
		assert.Equal(t, want, keptBy(t, strings.Replace(goodFrozen, "{share: 75%, or-within: 1 year, over: 4 years}", text, 1)).Receipt.Value, text)
	}
	assert.Equal(t, FromFreezer, keptBy(t, strings.Replace(goodFrozen, ", life-from: thawed", "", 1)).Thaw.Value.LifeFrom, "the safe side where nothing is said")
}

// Each row changes one thing of the good class; the line that comes back first must
// name place, thing and remedy.
func TestBadShelfRulesGetOneClearLineAtTheirPlace(t *testing.T) {
	for _, row := range []struct{ name, old, new, want string }{
		{"installed unit", "installed: 6 years", "installed: 6", `x.yaml:7:16: class test-frozen, shelf: installed: "6": a shelf life needs its unit`},
		{"installed nothing", "installed: 6 years", "installed: 0 years", "must be more than zero"},
		{"extension key", "max: 2", "mix: 2", `x.yaml:11:36: class test-frozen, shelf, extension: unknown key "mix": did you mean "max"?`},
		{"extension without by", "by: half-original, ", "", `class test-frozen, shelf, extension: the key "by" is missing`},
		{"extension word", "by: half-original", "by: sometimes", `x.yaml:11:21: class test-frozen, shelf, extension: by: "sometimes": write none, half-original or a span such as 6 months`},
		{"extension of none", "by: half-original", "by: none", "by: none is no extension to count: write extension: none"},
		{"negative max", "max: 2", "max: -1", `x.yaml:11:41: class test-frozen, shelf, extension: max: "-1": write how often, a whole number from 1 to 20`},
		{"no max", "max: 2", "max: 0", `"0": write how often`},
		{"part of a time", "max: 2", "max: 1.5", `"1.5": write how often`},
		{"max without end", "max: 2", "max: 99", `"99": write how often`},
		{"max as a word", "max: 2", "max: twice", `"twice": write how often`},
		{"authority missing", "    authority: a public order\n", "", "x.yaml:11:17: class test-frozen, shelf: extension: an extension needs the document that allows it"},
		{"thaw word", "thaw: {takes: 30min, in: 18..30C, life-from: thawed}", "thaw: 30min", "x.yaml:15:11: class test-frozen, shelf, thaw: not a block of keys"},
		{"thaw unit", "takes: 30min", "takes: 30", `x.yaml:15:19: class test-frozen, shelf, thaw: takes: "30": a span of time needs its unit`},
		{"thaw of no time", "takes: 30min", "takes: 0min", "must be more than zero"},
		{"thaw where", ", in: 18..30C", "", `class test-frozen, shelf, thaw: the key "in" is missing`},
		{"thaw range", "in: 18..30C", "in: 30..18C", "the range runs backwards"},
		{"life-from", "life-from: thawed", "life-from: thaw", `x.yaml:15:50: class test-frozen, shelf, thaw: life-from: "thaw" is not known: did you mean "thawed"?`},
		{"thaw source", "thaw: the maker's sheet, ", "", `x.yaml:15:12: class test-frozen, shelf: thaw: nothing says where the number comes from: add thaw: "…" to the from block`},
		{"thaws", "thaws: 3", "thaws: 0", `"0": write how often`},
		{"receipt percent", "share: 75%", "share: 0.75", `x.yaml:18:22: class test-frozen, shelf, receipt: share: "0.75": write a percentage like 45%`},
		{"receipt of nothing", "share: 75%", "share: 0%", "a share of the life lies above 0% and is at most 100%"},
		{"receipt of more than all", "share: 75%", "share: 120%", "at most 100%"},
		{"receipt word", "{share: 75%, or-within: 1 year, over: 4 years}", "most", `x.yaml:18:14: class test-frozen, shelf: receipt: "most": write a percentage`},
		{"receipt without over", ", over: 4 years", "", "class test-frozen, shelf, receipt: or-within and over go together"},
		{"receipt without or-within", ", or-within: 1 year", "", "or-within and over go together"},
		{"receipt without share", "share: 75%, ", "", `the key "share" is missing`},

		{"store outside the bounds", "bounds: ..32C", "bounds: -60..32C", "x.yaml:1:1: class test-frozen: shelf: the bounds -60..32C do not hold the store range up to -40 °C"},
		{"hot above the bounds", "above: -18C", "above: 35C", "a hot spell above 35 °C begins outside the bounds up to 32 °C: there it is held already"},
		{"hot at the bounds", "above: -18C", "above: 32C", "begins outside the bounds"},
		{"hot in the store range", "above: -18C", "above: -50C", "begins inside the store range up to -40 °C"},
		{"thaw past its life", "takes: 30min", "takes: 2h", "shelf: thawing takes 2 h, and the thaw-life is 2 h: the pack would be past it as it is thawed"},
		{"thaw past its out time", "out-time: 10 days", "out-time: 30min", "the out-time is 30 min"},
		{"thaw in the freezer", "in: 18..30C", "in: -45..30C", "thawing in -45..30C begins where it is stored, up to -40 °C"},
		{"thaw over the ceiling", "heat: {max: 43C", "heat: {max: 25C", "thawing in 18..30C goes above the ceiling of heat, 25 °C"},
		{"thaw over the bounds", "bounds: ..32C", "bounds: ..25C", "thawing in 18..30C leaves the bounds up to 25 °C"},
		{"thawed again, never refrozen", "refreeze: true", "refreeze: false", "thaws: 3 does not go with refreeze: false"},
		{"thawed once, refrozen", "thaws: 3", "thaws: 1", "thaws: 1 does not go with refreeze: true"},
		{"share of no limit", "unopened: 8 years", "unopened: unlimited", "an unlimited life needs no extension"},
		{"receipt past the life", "or-within: 1 year", "or-within: 4 years", "receipt within 4 years of manufacture, for lives over 4 years"},
	} {
		t.Run(row.name, func(t *testing.T) {
			require.Contains(t, goodFrozen, row.old)
			_, err := Read([]byte(strings.Replace(goodFrozen, row.old, row.new, 1)), "x.yaml")
			var problems Problems
			require.ErrorAs(t, err, &problems)
			assert.Contains(t, problems[0].String(), row.want)
			for _, p := range problems {
				assert.NotContains(t, p.String(), "\n")
				assert.Positive(t, p.Line)
			}
		})
	}
}

func TestOneBadShelfRuleIsOneProblem(t *testing.T) {
	for _, change := range [][2]string{
		{"max: 2", "max: -1"}, {"by: half-original", "by: often"}, {"{by: half-original, max: 2}", "often"}, {"share: 75%", "share: 0%"}, {"takes: 30min", "takes: soon"}, {", over: 4 years", ""},
	} {
		_, err := Read([]byte(strings.Replace(goodFrozen, change[0], change[1], 1)), "x.yaml")
		var problems Problems
		require.ErrorAs(t, err, &problems, change[1])
		assert.Len(t, problems, 1, "%v", problems)
	}
}

func TestReceiptOfAnUnlimitedLifeIsRefused(t *testing.T) {
	text := strings.NewReplacer("unopened: 8 years", "unopened: unlimited", "    extension: {by: half-original, max: 2}\n    authority: a public order\n", "").Replace(goodFrozen)
	_, err := Read([]byte(text), "x.yaml")
	assert.ErrorContains(t, err, "an unlimited life has no share to be left on receipt: leave receipt out")
}

// What a file says is what is read: written out from values drawn at random, read back.
func TestShelfRulesReadBackAsWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := func(what string, lo, hi int) int { return rapid.IntRange(lo, hi).Draw(t, what) }
		minutes, lo, wide := in("takes", 1, 119), in("in", -39, 20), in("width", 1, 12)
		share, within, more := in("share", 1, 100), in("or-within", 1, 40), in("more", 1, 40)
		times, years, thaws := in("max", 1, 20), in("by", 1, 30), in("thaws", 2, 20)
		from := rapid.SampledFrom([]LifeFrom{FromFreezer, FromThawed}).Draw(t, "life-from")
		s := strings.NewReplacer(
			"takes: 30min, in: 18..30C, life-from: thawed", fmt.Sprintf("takes: %dmin, in: %d..%dC, life-from: %s", minutes, lo, lo+wide, from),
			"share: 75%, or-within: 1 year, over: 4 years", fmt.Sprintf("share: %d%%, or-within: %d months, over: %d months", share, within, within+more),
			"by: half-original, max: 2", fmt.Sprintf("by: %d years, max: %d", years, times),
			"thaws: 3", fmt.Sprintf("thaws: %d", thaws)).Replace(goodFrozen)
		classes, err := Read([]byte(s), "x.yaml")
		if err != nil {
			t.Fatal(err)
		}
		got := classes[0].Shelf
		if w := (Thaw{time.Duration(minutes) * time.Minute, quantity.Range{Lo: float64(lo), Hi: float64(lo + wide)}, from}); got.Thaw.Value != w {
			t.Fatalf("thaw %+v, not %+v", got.Thaw.Value, w)
		}
		if w := (Receipt{float64(share) / 100, period.NewYMD(0, within, 0), period.NewYMD(0, within+more, 0)}); days(w.OrWithin) != days(got.Receipt.Value.OrWithin) || days(w.Over) != days(got.Receipt.Value.Over) || got.Receipt.Value.Share != w.Share {
			t.Fatalf("receipt %+v, not %+v", got.Receipt.Value, w)
		}
		if e := got.Extension.Value; e.Kind != ExtendByPeriod || e.By.Years() != years || e.Max != times || got.Thaws.Value != thaws {
			t.Fatalf("extension %+v, thaws %d", e, got.Thaws.Value)
		}
	})
}

// A thaw counts its life from the end of it only where a source says so; no builtin has
// one, so all of them count from leaving the freezer.
func TestNoBuiltinCountsItsLifeFromTheThawWithoutASource(t *testing.T) {
	for _, c := range Builtin().All() {
		if c.Shelf != nil && c.Shelf.Thaw.Known {
			assert.Contains(t, c.Shelf.Thaw.From, "read", c.ID)
		}
	}
}

// The head of the built-in file is where the keys are written down.
func TestHeadOfTheBuiltinFileNamesEveryShelfKey(t *testing.T) {
	head, _, ok := strings.Cut(builtin, "\n- id: ")
	require.True(t, ok)
	for _, key := range shelfKeys {
		assert.Contains(t, head, "\n#   "+key+": ", key)
	}
}
