package shelf

import (
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/rickb777/date/period"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog/label"
)

var base = date.New(2027, time.March, 8)

// anyDate is no date or one of some precision within the days before and after
// the base.
func anyDate(t *rapid.T, name string, before, after int) label.Date {
	if rapid.IntRange(0, 2).Draw(t, name+"?") == 0 {
		return label.Date{}
	}
	d := base.Add(date.PeriodOfDays(rapid.IntRange(-before, after).Draw(t, name)))
	form := label.DayOf(d).Canonical()
	if rapid.Bool().Draw(t, name+" by month") {
		form = form[:7]
	}
	got, err := label.Parse(form, base)
	require.NoError(t, err)
	return got
}

func anyItem(t *rapid.T, future int) Item {
	it := Item{
		DOM:       anyDate(t, "dom", 900, future),
		Expiry:    anyDate(t, "expiry", 400, 400),
		Inspect:   anyDate(t, "inspect", 400, 400),
		Opened:    anyDate(t, "opened", 400, future),
		ThawCount: rapid.SampledFrom([]int{0, 0, 0, 1, 2, 4}).Draw(t, "count"),
		OutUsed:   time.Duration(rapid.SampledFrom([]int{0, 0, 5, 30, 400}).Draw(t, "used")) * hour,
		Held:      rapid.SampledFrom([]string{"", "", "", "dented"}).Draw(t, "held"),
	}
	for range rapid.IntRange(0, 3).Draw(t, "thaws") {
		if d := anyDate(t, "thawed", 300, future); !d.IsZero() {
			it.Thawed = append(it.Thawed, d)
		}
	}
	return it
}

func anyRules(t *rapid.T) Rules {
	life := func(name string) Life {
		switch rapid.IntRange(0, 4).Draw(t, name+"?") {
		case 0:
			return Life{}
		case 1:
			return Life{Unlimited: true, From: "test"}
		}
		return Life{Span: period.NewYMD(rapid.IntRange(0, 2).Draw(t, name+" years"), rapid.IntRange(0, 12).Draw(t, name+" months"), rapid.IntRange(0, 40).Draw(t, name+" days")), From: "test"}
	}
	return Rules{
		Unopened:   life("unopened"),
		Opened:     life("opened"),
		Extension:  Extension{Kind: ExtensionKind(rapid.IntRange(0, 1).Draw(t, "extension")), From: "test"},
		OutTime:    Span{Max: time.Duration(rapid.SampledFrom([]int{0, 1, 24, 240, 720}).Draw(t, "out")) * hour, From: "test"},
		ThawLife:   Span{Max: time.Duration(rapid.SampledFrom([]int{0, 0, 2, 48, 720}).Draw(t, "thaw life")) * hour, From: "test"},
		Thaws:      Thaws{Max: rapid.IntRange(AnyThaws, 3).Draw(t, "thaws max"), From: "test"},
		Convention: Convention(rapid.IntRange(0, 2).Draw(t, "convention")),
	}
}

func anyDay(t *rapid.T) date.Date {
	return base.Add(date.PeriodOfDays(rapid.IntRange(0, 800).Draw(t, "on")))
}

func TestJudgingLaterNeverImprovesTheVerdict(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		it, r, on := anyItem(t, 0), anyRules(t), anyDay(t)
		later := on.Add(date.PeriodOfDays(rapid.IntRange(0, 800).Draw(t, "later")))
		a, b := Judge(it, r, on), Judge(it, r, later)
		require.GreaterOrEqual(t, b.Verdict, a.Verdict)
		if a.Verdict == b.Verdict && a.Verdict == Reject && a.Governing.Dated && b.Governing.Dated {
			require.Equal(t, a.Governing.Date, b.Governing.Date, "the earliest reason to reject stays the earliest")
		}
	})
}

// The last day of use is a day of use, the day after is not.
func TestLimitsAreInclusive(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		it, r := anyItem(t, 0), anyRules(t)
		j := Judge(it, r, anyDay(t))
		for _, l := range j.Limits {
			if !l.Dated {
				continue
			}
			for _, k := range Judge(it, r, l.Date).Limits {
				if k.Name == l.Name && k.Dated {
					require.False(t, k.Past, "%s on its last day", l.Name)
				}
			}
			after := Judge(it, r, l.Date.Add(1))
			for _, k := range after.Limits {
				if k.Name == l.Name && k.Dated {
					require.True(t, k.Past, "%s on the day after", l.Name)
				}
			}
			if l.Counts {
				require.GreaterOrEqual(t, after.Verdict, l.Verdict)
			}
		}
	})
}

// The verdict, worked out again from the listed limits by the plain rule.
func TestVerdictFollowsFromTheLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		it, r, on := anyItem(t, 60), anyRules(t), anyDay(t).Add(-30)
		j := Judge(it, r, on)
		worst := Use
		for _, l := range j.Limits {
			if l.Past && l.Counts && l.Verdict > worst {
				worst = l.Verdict
			}
		}
		require.Equal(t, worst, j.Verdict)
		g := j.Governing
		require.True(t, g.Counts)
		require.Equal(t, j.Verdict != Use, g.Past)
		for _, l := range j.Limits {
			if l.Counts && l.Past == g.Past && (!g.Past || l.Verdict == g.Verdict) && l.Dated && g.Dated {
				require.False(t, l.Date.Before(g.Date), "%s is earlier than the governing %s", l.Name, g.Name)
			}
		}
		v, last, dated := Glance(&it, &r, on)
		require.Equal(t, j.Verdict, v)
		require.Equal(t, g.Dated, dated)
		if dated {
			require.Equal(t, g.Date, last)
		}
	})
}

// A record added to a batch can only shorten its life: an opening, a thaw, time
// out, a person's doubt.
func TestAnotherRecordNeverImprovesTheVerdict(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		it, r, on := anyItem(t, 0), anyRules(t), anyDay(t)
		before := Judge(it, r, on).Verdict
		more := it
		switch rapid.IntRange(0, 4).Draw(t, "record") {
		case 0:
			if more.Opened.IsZero() {
				more.Opened = label.DayOf(base)
			}
		case 1:
			if more.OutUsed > 0 { // else a later thaw says nothing of the time before
				return
			}
			more.Thawed = append([]label.Date{label.DayOf(base)}, it.Thawed...)
			more.ThawCount = max(more.ThawCount, len(more.Thawed)) + 1
		case 2:
			more.Held = "dented"
		case 3:
			if more.Inspect.IsZero() && (!more.DOM.IsZero() && r.Unopened.Known() || !more.Expiry.IsZero()) {
				more.Inspect = anyDate(t, "new inspect", 400, 400)
			}
		case 4:
			if more.OutUsed > 0 {
				more.OutUsed += hour
			}
		}
		require.GreaterOrEqual(t, Judge(more, r, on).Verdict, before)
	})
}

func TestOrderOfThawsDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		it, r, on := anyItem(t, 60), anyRules(t), anyDay(t)
		other := it
		other.Thawed = rapid.Permutation(it.Thawed).Draw(t, "thaws")
		a, b := Judge(it, r, on), Judge(other, r, on)
		require.Equal(t, a.Verdict, b.Verdict)
		require.Equal(t, a.Governing.Name, b.Governing.Name)
		require.Equal(t, a.Governing.Date, b.Governing.Date)
	})
}

func TestAGlanceAllocatesNothing(t *testing.T) {
	it := Item{DOM: label.DayOf(base.Add(-100)), Expiry: label.DayOf(base.Add(100)), Opened: label.DayOf(base), Thawed: []label.Date{label.DayOf(base)}}
	require.Zero(t, testing.AllocsPerRun(100, func() { Glance(&it, &frozen, base) }))
}

func BenchmarkGlance(b *testing.B) {
	it := Item{DOM: label.DayOf(base.Add(-100)), Expiry: label.DayOf(base.Add(100))}
	for b.Loop() {
		Glance(&it, &sealant, base)
	}
}

func BenchmarkJudge(b *testing.B) {
	it := Item{DOM: label.DayOf(base.Add(-100)), Expiry: label.DayOf(base.Add(100))}
	for b.Loop() {
		Judge(it, sealant, base)
	}
}
