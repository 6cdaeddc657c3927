package desk

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
	"beadline/cure/plan"
)

// shelfRow is a row of a list made up, with what the checks below need of it.
type shelfRow struct {
	batch, expiry, opened, held string
	kits                        int
}

// drawCase is a plan for one class and a list for it.
type drawCase struct {
	p    *plan.Plan
	rows []shelfRow
	list string
}

// drawCases makes a week of pots of polysulfide-b-2 and a shelf that is about enough, with
// batches that end before, in and after that week.
func drawCases(t *rapid.T, mostML float64) drawCase {
	monday := time.Date(2027, 3, 8, 0, 0, 0, 0, time.UTC)
	var pots []pot
	for range rapid.IntRange(1, 4).Draw(t, "pots") {
		at := monday.Add(time.Duration(rapid.IntRange(7*60, 5*24*60).Draw(t, "minute")) * time.Minute)
		pots = append(pots, pot{at.Format("2006-01-02T15:04"), time.Duration(rapid.IntRange(0, 110).Draw(t, "takes")) * time.Minute, rapid.Float64Range(1, mostML).Draw(t, "ml")})
	}
	slices.SortFunc(pots, func(a, b pot) int { return strings.Compare(a.at, b.at) })
	c := drawCase{p: potsOf("polysulfide-b-2", pots...), list: "batch,class,expiry,opened,held,quantity,unit\n"}
	day := func(from, to int, what string) string {
		return monday.AddDate(0, 0, rapid.IntRange(from, to).Draw(t, what)).Format(time.DateOnly)
	}
	for i := range rapid.IntRange(0, 5).Draw(t, "rows") {
		r := shelfRow{batch: fmt.Sprintf("S-%d", i), expiry: day(-2, 9, "expiry"), kits: rapid.IntRange(0, 3).Draw(t, "kits")}
		if rapid.IntRange(0, 3).Draw(t, "is opened") == 0 {
			r.opened = day(-95, -1, "opened")
		}
		if rapid.IntRange(0, 6).Draw(t, "is held") == 0 {
			r.held = "left on a ramp"
		}
		c.rows = append(c.rows, r)
		c.list += fmt.Sprintf("%s,polysulfide-b-2,%s,%s,%s,%d,kit\n", r.batch, r.expiry, r.opened, r.held, r.kits)
	}
	return c
}

// judged asks package shelf alone, and not the desk, about a row for a pot.
func (r shelfRow) judged(t require.TestingT, rules shelf.Rules, n *need) shelf.Judgement {
	read := func(s string) label.Date {
		if s == "" {
			return label.Date{}
		}
		at, err := time.Parse(time.DateOnly, s)
		require.NoError(t, err)
		return label.DayOf(date.NewAt(at))
	}
	it := shelf.Item{Batch: r.batch, Class: "polysulfide-b-2", Expiry: read(r.expiry), Opened: read(r.opened), Held: r.held}
	at := func(m time.Time) (date.Date, int) { return date.NewAt(m), m.Hour()*60 + m.Minute() }
	on, minute := at(n.at)
	last, end := at(n.until)
	return shelf.JudgeFor(&it, &rules, shelf.Question{On: on, At: minute, Timed: true, Until: label.At(last, end)})
}

// Whatever the plan and the shelf: no kit is promised twice; nothing is drawn that is not
// good at the minute of its mix and until its work is done; a pot is of one batch, and
// whole unless it is said to be short; what ends first is drawn first, opened ones before
// all; and no more pots go without than the best sharing out leaves without.
func TestWhatIsDrawnHoldsItsRules(t *testing.T) {
	cl, err := catalog.Builtin().Find("polysulfide-b-2")
	require.NoError(t, err)
	rules := Rules(&cl)
	rapid.Check(t, func(t *rapid.T) {
		c := drawCases(t, rapid.SampledFrom([]float64{130, 300}).Draw(t, "most ml"))
		l, err := NewList(strings.NewReader(c.list), "stock.csv", stock.Auto)
		require.NoError(t, err)
		s, err := Supplies(c.p, l, stock.Options{}, catalog.Builtin())
		require.NoError(t, err)

		left := map[string]int{}
		good := map[string]map[string]shelf.Judgement{} // mix, batch
		packs := map[string]int{}
		for _, m := range c.p.Mixes {
			n := &need{at: m.At, until: workEnd(c.p, m)}
			packs[m.ID] = int(math.Ceil(m.ML / 130))
			good[m.ID] = map[string]shelf.Judgement{}
			for _, r := range c.rows {
				left[r.batch] = r.kits
				if j := r.judged(t, rules, n); j.Verdict == shelf.Use {
					good[m.ID][r.batch] = j
				}
			}
		}
		best := fewestWithout(c.p.Mixes, packs, left, good)
		strict := !slices.ContainsFunc(c.p.Assumptions, func(a string) bool { return strings.Contains(a, "not drawn strictly") })

		missing, without := 0, 0
		for _, m := range c.p.Mixes {
			took, from := 0, ""
			for _, x := range s.Draws {
				if x.Mix != m.ID {
					continue
				}
				require.Contains(t, good[m.ID], x.Item.Batch, "%s is not good for %s", x.Item.Batch, m.ID)
				require.True(t, from == "" || from == x.Item.Batch, "%s is of two batches", m.ID)
				took, from = took+x.Packs, x.Item.Batch
			}
			if took == packs[m.ID] && strict {
				require.Equal(t, firstToDraw(c.rows, left, good[m.ID], packs[m.ID]), from, m.ID)
			}
			left[from] -= took
			require.GreaterOrEqual(t, left[from], 0, "%s is promised twice", from)
			require.LessOrEqual(t, took, packs[m.ID])
			if missing += packs[m.ID] - took; took < packs[m.ID] {
				without++
			}
		}
		require.Equal(t, best, without, "pots without")
		sum := 0
		for _, x := range s.Shorts {
			require.Equal(t, x.Needed, x.Good+x.Missing)
			require.Len(t, x.Gaps, without)
			sum += x.Missing
		}
		require.Equal(t, missing, sum)
		require.Nil(t, c.p.Infeasible)
	})
}

// However few rows of a class are kept from a long list, the answer is that of all rows.
func TestAListCutShortDrawsTheSame(t *testing.T) {
	usual := looks
	defer func() { looks = usual }()
	draw := func(c drawCase, keep []int) (draws []Drawn, shorts []Short, assumed []string) {
		looks = keep
		p := *c.p
		l, err := NewList(strings.NewReader(c.list), "stock.csv", stock.Auto)
		require.NoError(t, err)
		s, err := Supplies(&p, l, stock.Options{}, catalog.Builtin())
		require.NoError(t, err)
		for i := range s.Shorts {
			s.Shorts[i].Why = nil // a few reasons stand for all
		}
		return s.Draws, s.Shorts, p.Assumptions
	}
	rapid.Check(t, func(t *rapid.T) {
		c := drawCases(t, 300)
		draws, shorts, assumed := draw(c, []int{math.MaxInt})
		few, fewShorts, fewAssumed := draw(c, []int{1, 2, math.MaxInt})
		require.Equal(t, draws, few)
		require.Equal(t, shorts, fewShorts)
		require.Equal(t, assumed, fewAssumed)
	})
}

// firstToDraw is the batch that the rule of the store takes first: opened, then by the
// end, then as listed; of those that hold enough.
func firstToDraw(rows []shelfRow, left map[string]int, good map[string]shelf.Judgement, packs int) string {
	var can []shelfRow
	for _, r := range rows {
		if _, ok := good[r.batch]; ok && left[r.batch] >= packs {
			can = append(can, r)
		}
	}
	slices.SortStableFunc(can, func(a, b shelfRow) int {
		shut := func(r shelfRow) int { return cmp.Compare("a", "a"+r.opened) }
		return cmp.Or(cmp.Compare(shut(a), shut(b)), int(good[a.batch].Governing.Date.Sub(good[b.batch].Governing.Date)))
	})
	if len(can) == 0 {
		return ""
	}
	return can[0].batch
}

// fewestWithout tries every way to share the kits out.
func fewestWithout(mixes []plan.Mix, packs, left map[string]int, good map[string]map[string]shelf.Judgement) int {
	if len(mixes) == 0 {
		return 0
	}
	m := mixes[0]
	best := 1 + fewestWithout(mixes[1:], packs, left, good)
	for b := range good[m.ID] {
		if left[b] < packs[m.ID] {
			continue
		}
		left[b] -= packs[m.ID]
		best = min(best, fewestWithout(mixes[1:], packs, left, good))
		left[b] += packs[m.ID]
	}
	return best
}
