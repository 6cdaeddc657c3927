package desk

import (
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/catalog/shelf"
)

var today = date.New(2027, time.March, 8)

func judge() *Judge { return NewJudge(catalog.Builtin(), today) }

func day(t testing.TB, s string) label.Date {
	t.Helper()
	d, err := label.Parse(s, today)
	require.NoError(t, err)
	return d
}

func TestRulesOfEveryBuiltInClassAreSound(t *testing.T) {
	for _, c := range catalog.Builtin().All() {
		r := Rules(&c)
		assert.NoError(t, r.Check(), c.ID)
		if c.Shelf != nil {
			assert.Equal(t, c.Shelf.Unopened.Known || c.Shelf.Unlimited, r.Unopened.Known(), c.ID)
			assert.Equal(t, c.Shelf.Opened.Known, r.Opened.Known(), c.ID)
			assert.Equal(t, string(c.Shelf.Convention.Value), r.Convention.String(), c.ID)
		}
	}
}

// One provenance for a whole block of shelf rules is no rule of what it leaves out.
func TestOneProvenanceForAllMakesNoRuleOfWhatIsNotGiven(t *testing.T) {
	cl := class(t, `
- id: bare
  name: Bare
  kind: grease
  cautions: []
  shelf: {unopened: 12 months, from: test}
`, "bare")
	r := Rules(cl)
	require.NoError(t, r.Check())
	assert.False(t, r.Opened.Known())
	assert.Zero(t, r.Thaws.Max)
	assert.True(t, r.Unopened.Known())
}

func TestFrozenClassesAreNotRefrozenUnlessTheySaySo(t *testing.T) {
	assert.Equal(t, 1, Rules(class(t, "", "polysulfide-b-2-premixed")).Thaws.Max)
	assert.Equal(t, shelf.AnyThaws, Rules(class(t, "", "film-adhesive-frozen")).Thaws.Max)
}

// ISO 2230 group B: 7 years, extension 3 years; a cure date by quarter counts from
// the quarter's end (seal suppliers' pages).
func TestASealPastItsLifeIsHeldForAnExtension(t *testing.T) {
	v := judge().Full(shelf.Item{Batch: "O-1", Class: "elastomer-iso-2230-b", DOM: day(t, "4Q2019")})
	assert.Equal(t, shelf.Hold, v.Verdict)
	assert.Equal(t, date.New(2026, time.December, 31), v.Governing.Date)
	assert.Contains(t, v.Governing.Reason, "ISO 2230")
	v = judge().Full(shelf.Item{Batch: "O-2", Class: "elastomer-iso-2230-b", DOM: day(t, "1Q2020")})
	assert.Equal(t, shelf.Use, v.Verdict)
	assert.Equal(t, date.New(2027, time.March, 31), v.Governing.Date)
}

func TestAClassThatIsNotKnownHoldsWhateverTheDates(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) label.Date {
			if !rapid.Bool().Draw(t, "has "+name) {
				return label.Date{}
			}
			return label.DayOf(today.Add(date.PeriodOfDays(rapid.IntRange(-2000, 2000).Draw(t, name))))
		}
		it := shelf.Item{Batch: "x", Class: "polysulfid-b-2", DOM: draw("dom"), Expiry: draw("expiry"), Inspect: draw("inspect"), Opened: draw("opened")}
		if d := draw("thawed"); !d.IsZero() {
			it.Thawed = []label.Date{d, d}
		}
		j := judge()
		v := j.Full(it)
		require.Equal(t, shelf.Hold, v.Verdict)
		require.Equal(t, LimitUnknownClass, v.Governing.Name)
		require.Equal(t, LimitUnknownClass, v.Limits[0].Name)
		require.Contains(t, v.Governing.Reason, "polysulfide-b-2")
		g, _, dated := j.Glance(&it)
		require.Equal(t, shelf.Hold, g)
		require.False(t, dated)
	})
}

func TestGlanceSaysWhatFullSays(t *testing.T) {
	j := judge()
	ids := j.catalog.IDs()
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) label.Date {
			n := rapid.IntRange(-3000, 3000).Draw(t, name)
			if n > 1500 {
				return label.Date{}
			}
			return label.DayOf(today.Add(date.PeriodOfDays(n)))
		}
		it := shelf.Item{Batch: "x", Class: rapid.SampledFrom(ids).Draw(t, "class"), DOM: draw("dom"), Expiry: draw("expiry"), Inspect: draw("inspect"), Opened: draw("opened")}
		v, last, dated := j.Glance(&it)
		full := j.Full(it)
		require.Equal(t, full.Verdict, v)
		require.Equal(t, full.Governing.Dated, dated)
		if dated {
			require.Equal(t, full.Governing.Date, last)
		}
	})
}
