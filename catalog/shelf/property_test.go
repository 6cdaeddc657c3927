package shelf

import (
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog/label"
)

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

// In minutes as in days: the verdict of a whole day lies between that of its first
// minute and that of its last.
func TestJudgingALaterMinuteNeverImprovesTheVerdict(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		it, r := anyItem(t, 0), anyRules(t)
		q := Question{On: base.Add(date.PeriodOfDays(rapid.IntRange(1, 60).Draw(t, "on"))), Timed: true, Zone: anyZone(t),
			At: rapid.IntRange(0, minutesOfDay-1).Draw(t, "at")}
		later := q
		later.At = rapid.IntRange(q.At, minutesOfDay-1).Draw(t, "later")
		require.GreaterOrEqual(t, JudgeFor(&it, &r, later).Verdict, JudgeFor(&it, &r, q).Verdict)
		first, last, whole := q, q, q
		first.At, last.At, whole.Timed = 0, minutesOfDay-1, false
		day := JudgeFor(&it, &r, whole).Verdict
		require.GreaterOrEqual(t, day, JudgeFor(&it, &r, first).Verdict)
		require.LessOrEqual(t, day, JudgeFor(&it, &r, last).Verdict)
	})
}

// The last day of use is a day of use, the day after is not.
func TestLimitsAreInclusive(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		it, r := anyItem(t, 0), anyRules(t)
		j := Judge(it, r, anyDay(t))
		for _, l := range j.Limits {
			if !l.Dated || l.Timed || l.Freed {
				continue
			}
			if l.Date.After(base) { // earlier, some of the records lie in the future
				for _, k := range Judge(it, r, l.Date).Limits {
					if k.Name == l.Name && k.Dated && k.Date == l.Date {
						require.False(t, k.Past && !k.ByHour, "%s on its last day", l.Name)
					}
				}
			}
			if l.Date.Before(base) {
				continue
			}
			after := Judge(it, r, l.Date.Add(1))
			for _, k := range after.Limits {
				if k.Name == l.Name && k.Dated && k.Date == l.Date {
					require.True(t, k.Past, "%s on the day after", l.Name)
				}
			}
			if l.Counts {
				require.GreaterOrEqual(t, after.Verdict, l.Verdict)
			}
		}
	})
}

// The last minute of use is one of use, the minute after is not.
func TestLimitsAreInclusiveToTheMinute(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		it, r, zone := anyItem(t, 0), anyRules(t), anyZone(t)
		j := JudgeFor(&it, &r, Question{On: base.Add(1), Zone: zone})
		for _, l := range j.Limits {
			if !l.Timed || !l.Date.After(base) {
				continue
			}
			q := Question{On: l.Date, At: l.Minute, Timed: true, Zone: zone}
			for _, k := range JudgeFor(&it, &r, q).Limits {
				if k.Name == l.Name && k.Timed && k.Date == l.Date && k.Minute == l.Minute {
					require.False(t, k.Past, "%s in its last minute", l.Name)
				}
			}
			if q.At++; q.At == minutesOfDay {
				continue
			}
			require.GreaterOrEqual(t, JudgeFor(&it, &r, q).Verdict, Hold, "%s in the minute after", l.Name)
		}
	})
}

// The verdict, worked out again from the listed limits by the plain rule.
func TestVerdictFollowsFromTheLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		it, r, on := anyItem(t, 60), anyRules(t), anyDay(t).Add(-30)
		j := Judge(it, r, on)
		holdsTogether(t, j)
		v, last, dated := Glance(&it, &r, on)
		require.Equal(t, j.Verdict, v)
		require.Equal(t, j.Governing.Dated, dated)
		if dated {
			require.Equal(t, j.Governing.Date, last)
		}
	})
}

// holdsTogether holds a judgement to the rules of limits and verdict.
func holdsTogether(t require.TestingT, j Judgement) {
	require.NotEmpty(t, j.Limits)
	require.Equal(t, j.Limits[0], j.Governing)
	worst, g := Use, j.Governing
	for _, l := range j.Limits {
		if l.Past && l.Counts && l.Verdict > worst {
			worst = l.Verdict
		}
		require.NotEmpty(t, l.Reason, l.Name)
		require.NotContains(t, l.Reason+l.Source+l.Who+l.Evidence, "%!")
		if l.Counts && l.Past && l.Verdict == Hold {
			require.NotEmpty(t, l.Who, l.Name)
			require.NotEmpty(t, l.Evidence, l.Name)
		}
		if l.Verdict == Reject {
			require.Empty(t, l.Who, l.Name)
		}
		if l.Counts && l.Past == g.Past && (!g.Past || l.Verdict == g.Verdict) && l.Dated && g.Dated {
			require.False(t, l.Date.Before(g.Date), "%s is earlier than the governing %s", l.Name, g.Name)
		}
	}
	require.Equal(t, worst, j.Verdict)
	require.True(t, g.Counts)
	require.Equal(t, j.Verdict != Use, g.Past)
}

// A record added to a batch can only shorten its life: an opening, a thaw, time
// out, a person's doubt.
func TestAnotherRecordNeverImprovesTheVerdict(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		it, r, on := anyItem(t, 0), anyRules(t), anyDay(t)
		before := Judge(it, r, on).Verdict
		more := it
		switch rapid.IntRange(0, 7).Draw(t, "record") {
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
			more.Held, more.Freed = "dented", nil
		case 3:
			if more.Inspect.IsZero() && more.Code == "" && (!more.DOM.IsZero() && r.Unopened.Known() || !more.Expiry.IsZero()) {
				more.Inspect = anyDate(t, "new inspect", 400, 400)
				more.Tests = nil // half of the original life may be known now
				untested := it
				untested.Tests = nil
				before = Judge(untested, r, on).Verdict
			}
		case 4:
			if more.OutUsed > 0 {
				more.OutUsed += hour
			}
		case 5:
			more.Storage = append([]Storage{anyStorage(t, 0)}, it.Storage...)
			more.Freed, before = nil, Judge(withoutFreed(it), r, on).Verdict
		case 6:
			more.Condition |= Condition(1 << rapid.IntRange(0, 4).Draw(t, "new condition"))
		case 7:
			more.Scrapped = "leaked"
		}
		require.GreaterOrEqual(t, Judge(more, r, on).Verdict, before)
	})
}

func withoutFreed(it Item) Item {
	it.Freed = nil
	return it
}

func TestOrderOfRecordsDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		it, r, on := anyItem(t, 60), anyRules(t), anyDay(t)
		other := it
		other.Thawed = rapid.Permutation(it.Thawed).Draw(t, "thaws")
		other.Refrozen = rapid.Permutation(it.Refrozen).Draw(t, "returns")
		other.Tests = rapid.Permutation(it.Tests).Draw(t, "tests")
		other.Storage = rapid.Permutation(it.Storage).Draw(t, "spells")
		other.Freed = rapid.Permutation(it.Freed).Draw(t, "freed")
		require.Equal(t, Judge(it, r, on), Judge(other, r, on))
		v, last, dated := Glance(&it, &r, on)
		w, end, also := Glance(&other, &r, on)
		require.Equal(t, v, w)
		require.Equal(t, dated, also)
		require.True(t, !dated || last == end)
	})
}

// A test moves what is printed and what is counted from manufacture, and nothing else.
func TestNoTestMovesALimitOfHandling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		it, r, on := anyItem(t, 0), anyRules(t), anyDay(t)
		untested := it
		untested.Tests = nil
		require.Equal(t, handling(Judge(untested, r, on)), handling(Judge(it, r, on)))
	})
}

// handling are the limits that no test may move.
func handling(j Judgement) (all []Limit) {
	for _, l := range j.Limits {
		switch l.Name {
		case LimitOpenedLife, LimitThaw, LimitThawLife, LimitOutTime, LimitHotStorage, LimitInstalledLife:
			all = append(all, l)
		}
	}
	return all
}

// Once rejected, a batch stays so: neither a test passed later nor a hold freed brings
// it back.
func TestARejectIsForGood(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		it, r, on := anyItem(t, 0), anyRules(t), anyDay(t).Add(1)
		if Judge(it, r, on).Verdict != Reject {
			t.Skip("not rejected")
		}
		later := on.Add(date.PeriodOfDays(rapid.IntRange(0, 500).Draw(t, "later")))
		more := it
		more.Tests = append([]Test{{On: label.DayOf(on), Passed: true, By: "A. Hentze", Authority: "quality office", Reference: "QO-7",
			Results: "sound", To: label.DayOf(later.Add(400))}}, it.Tests...)
		for _, l := range []Name{LimitHeld, LimitCondition, LimitLabelExpiry, LimitThaw, LimitReceipt, LimitStorageBounds, LimitFailedTest} {
			more.Freed = append(more.Freed, Freed{Limit: l, On: label.DayOf(on), By: "A. Hentze", Authority: "quality office", Reference: "QO-7"})
		}
		require.Equal(t, Reject, Judge(more, r, later).Verdict)
	})
}

// A batch that must outlast a job is judged no better for it.
func TestAskingForALastingBatchNeverImprovesTheVerdict(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		it, r, q := anyItem(t, 0), anyRules(t), Question{On: anyDay(t)}
		plain := JudgeFor(&it, &r, q).Verdict
		q.Until = label.DayOf(q.On.Add(date.PeriodOfDays(rapid.IntRange(0, 300).Draw(t, "until"))))
		near := JudgeFor(&it, &r, q)
		holdsTogether(t, near)
		require.GreaterOrEqual(t, near.Verdict, plain)
		q.Until = label.DayOf(q.Until.First().Add(date.PeriodOfDays(rapid.IntRange(0, 300).Draw(t, "and longer"))))
		require.GreaterOrEqual(t, JudgeFor(&it, &r, q).Verdict, near.Verdict)
	})
}

// The end of an outing, on the wall clock, is the last minute that surely lies within
// the time allowed, whatever the clocks do on the way.
func TestOutTimeIsElapsedTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		zone := anyZone(t)
		start := label.At(date.New(2027, time.Month(rapid.IntRange(1, 12).Draw(t, "month")), rapid.IntRange(1, 28).Draw(t, "day")), rapid.IntRange(0, minutesOfDay-1).Draw(t, "minute"))
		most := time.Duration(rapid.IntRange(1, 5000).Draw(t, "minutes")) * time.Minute
		r := Rules{OutTime: Span{Max: most, From: "test"}}
		it := Item{Expiry: label.DayOf(date.New(2030, 1, 1)), Thawed: []label.Date{start}}
		var l Limit
		for _, k := range JudgeFor(&it, &r, Question{On: start.First(), Zone: zone}).Limits {
			if k.Name == LimitOutTime {
				l = k
			}
		}
		require.True(t, l.Dated)
		end := wall(l.Date, l.Minute)
		if !l.Timed {
			end = wall(l.Date.Add(1), 0)
		}
		began, _ := instants(wall(start.First(), minuteOf(start)), zone)
		_, over := instants(end, zone)
		require.LessOrEqual(t, time.Duration(over-began)*time.Second, most, "the latest instant of the last minute")
		// A minute more may be too long; where an hour comes twice it may be two hours.
		_, more := instants(end+60, zone)
		require.Greater(t, time.Duration(more-began)*time.Second, most)
	})
}

func minuteOf(d label.Date) int {
	m, _ := d.Clock()
	return m
}

func TestAGlanceAllocatesNothing(t *testing.T) {
	it := Item{DOM: label.DayOf(base.Add(-100)), Expiry: label.DayOf(base.Add(100)), Opened: label.DayOf(base), Thawed: []label.Date{label.DayOf(base)},
		Refrozen: []label.Date{label.DayOf(base)}, Held: "dented", Condition: Separated, Received: Receipt{On: label.DayOf(base.Add(-9))},
		Tests:   []Test{{On: label.DayOf(base), Passed: true}, {On: label.DayOf(base), Passed: true, By: "a", Authority: "b", Reference: "c", Results: "d"}},
		Storage: []Storage{{MaxC: 60, Measured: true, Spent: hour}}, Freed: []Freed{{Limit: LimitHeld, On: label.DayOf(base), By: "a", Authority: "b", Reference: "c"}},
		Parts: []Part{{Lot: "a", Kit: "b"}}}
	rules := frozen
	rules.Hot, rules.Extension, rules.Receipt = fiveWeeks, Extension{Kind: HalfOriginal, Max: 1, From: "x"}, ReceiptRule{Share: 0.85, From: "x"}
	require.Zero(t, testing.AllocsPerRun(100, func() { Glance(&it, &rules, base) }))
}

func BenchmarkGlance(b *testing.B) {
	plain := Item{DOM: label.DayOf(base.Add(-100)), Expiry: label.DayOf(base.Add(100))}
	opened, thawed := plain, plain
	opened.Opened, thawed.Thawed = label.DayOf(base), []label.Date{label.DayOf(base)}
	for name, c := range map[string]struct {
		it    Item
		rules *Rules
	}{"plain": {plain, &sealant}, "opened": {opened, &sealant}, "thawed": {thawed, &frozen}, "no expiry": {Item{DOM: plain.DOM}, &sealant}} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Glance(&c.it, c.rules, base)
			}
		})
	}
}

func BenchmarkJudge(b *testing.B) {
	it := Item{DOM: label.DayOf(base.Add(-100)), Expiry: label.DayOf(base.Add(100))}
	for b.Loop() {
		Judge(it, sealant, base)
	}
}
