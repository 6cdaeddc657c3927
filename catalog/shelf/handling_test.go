package shelf

import (
	"math"
	"testing"
	"time"

	"github.com/rickb777/date/period"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/label"
	"beadline/cure/quantity"
)

// limitOf finds a limit by its name.
func limitOf(t *testing.T, j Judgement, name Name) Limit {
	t.Helper()
	for _, l := range j.Limits {
		if l.Name == name {
			return l
		}
	}
	require.Fail(t, "no such limit", "%s in %+v", name, j.Limits)
	return Limit{}
}

func minute(hm int) int { return hm/100*60 + hm%100 }

func TestTimeOutIsJudgedToTheMinute(t *testing.T) {
	r := Rules{ThawLife: Span{Max: 2 * hour, From: "test"}}
	it := Item{Expiry: printedAs(t, "2027-06"), Thawed: printedDates(t, "2027-03-08T07:00")}
	at := func(hm int) Judgement { return JudgeFor(&it, &r, Question{On: base, At: minute(hm), Timed: true}) }
	assert.Equal(t, Use, at(900).Verdict)
	assert.Equal(t, "First thawed 8 March 2027 07:00, good for 2 h from then: usable until 8 March 2027 09:00.", at(800).Governing.Reason)
	assert.Equal(t, Reject, at(901).Verdict)
	assert.Equal(t, "First thawed 8 March 2027 07:00, good for 2 h from then: it ended 8 March 2027 09:00.", at(901).Governing.Reason)
	whole := Judge(it, r, base)
	assert.Equal(t, Hold, whole.Verdict)
	assert.True(t, whole.Governing.ByHour && whole.Governing.Timed)
	assert.Contains(t, whole.Governing.Reason, "until 8 March 2027 09:00, within the day judged")
	// The hour it was thawed is not on record: it counts from the start of the day, and
	// later on that day a person must say.
	it.Thawed = printedDates(t, "2027-03-08")
	assert.Equal(t, Use, at(200).Verdict)
	assert.Equal(t, Hold, at(201).Verdict)
	assert.Contains(t, at(900).Governing.Who, "Whoever thawed it must say")
	assert.Equal(t, Hold, at(659).Verdict)
}

// Where clocks go forward or back the time out is elapsed time; of an hour that comes
// twice a thaw is taken for the first, and now for the second.
func TestClockChangesDoNotLengthenTimeOut(t *testing.T) {
	zone, err := time.LoadLocation("Atlantic/Faroe") // forward 28 March 2027 01:00, back 31 October 02:00
	require.NoError(t, err)
	for _, c := range []struct{ thawed, end string }{
		{"2027-03-27T20:00", "2027-03-28T07:00"}, // 10 h over an hour that there is not
		{"2027-10-30T20:00", "2027-10-31T05:00"}, // 10 h over an hour that there is twice
		{"2027-10-31T01:30", "2027-10-31T10:30"}, // in that hour: the earlier
		{"2027-10-30T15:30", "2027-10-31T00:59"}, // ends in its first pass: the clock cannot tell the two apart
	} {
		r := Rules{OutTime: Span{Max: 10 * hour, From: "test"}}
		it := Item{Expiry: printedAs(t, "2028-06"), Thawed: printedDates(t, c.thawed)}
		l := limitOf(t, JudgeFor(&it, &r, Question{On: it.Thawed[0].First(), Zone: zone}), LimitOutTime)
		assert.Equal(t, c.end, label.At(l.Date, l.Minute).Canonical(), c.thawed)
	}
}

// Back in the freezer after its last thaw it cannot be used without one too many ("second
// thaw: reject", common practice, no source).
func TestBackInTheFreezerAfterItsLastThawIsHeld(t *testing.T) {
	it := Item{Expiry: printedAs(t, "2027-12"), Thawed: printedDates(t, "2027-03-05T08:00")}
	thaws := func(n int) *Rules {
		return &Rules{OutTime: Span{Max: 240 * hour, From: "test"}, Thaws: Thaws{Max: n, From: "test"}}
	}
	assert.Equal(t, Use, Judge(it, *thaws(1), base).Verdict, "out, and never back")
	it.Refrozen = printedDates(t, "2027-03-05T09:00")
	j := Judge(it, *thaws(1), base)
	assert.Equal(t, Hold, j.Verdict)
	assert.Equal(t, LimitThaw, j.Governing.Name)
	assert.Equal(t, "Thawed once (5 March 2027 08:00) and back in the freezer: to use it, it would be thawed once more, and it may be thawed once and never refrozen.", j.Governing.Reason)
	glance, _, _ := Glance(&it, thaws(1), base)
	assert.Equal(t, Hold, glance)
	assert.Equal(t, Use, Judge(it, *thaws(2), base).Verdict, "one thaw is left")
	assert.Equal(t, Use, Judge(it, *thaws(AnyThaws), base).Verdict)
}

func TestReturnsThatDoNotPairHoldTheBatch(t *testing.T) {
	for name, c := range map[string]struct {
		thawed, refrozen []string
		pairs            bool
	}{
		"two outings, the second goes on": {[]string{"2027-03-05T08:00", "2027-03-01T08:00"}, []string{"2027-03-02T08:00"}, true},
		"both ended":                      {[]string{"2027-03-05T08:00", "2027-03-01T08:00"}, []string{"2027-03-06T08:00", "2027-03-02T08:00"}, true},
		"days may be the same":            {[]string{"2027-03-05", "2027-03-05"}, []string{"2027-03-05", "2027-03-05"}, true},
		"back before it left":             {[]string{"2027-03-05T08:00"}, []string{"2027-03-05T07:00"}, false},
		"left twice before it was back":   {[]string{"2027-03-05T08:00", "2027-03-05T09:00"}, []string{"2027-03-05T10:00"}, false},
		"back twice":                      {[]string{"2027-03-05T08:00"}, []string{"2027-03-05T10:00", "2027-03-06T10:00"}, false},
		"back, and never left":            {nil, []string{"2027-03-05T10:00"}, false},
	} {
		it := Item{Expiry: printedAs(t, "2027-12"), Thawed: printedDates(t, c.thawed...), Refrozen: printedDates(t, c.refrozen...)}
		r := Rules{OutTime: Span{Max: 240 * hour, From: "test"}, Thaws: Thaws{Max: AnyThaws, From: "test"}}
		j := Judge(it, r, base)
		if c.pairs {
			assert.Equal(t, Use, j.Verdict, name)
			continue
		}
		assert.Equal(t, LimitDatesContradict, j.Governing.Name, name)
		assert.Equal(t, "The freezer's records contradict: what left it and what went back do not pair.", j.Governing.Reason)
		if len(it.Thawed) > 0 { // it has no more time than if it had been out since the first thaw
			l := limitOf(t, j, LimitOutTime)
			assert.LessOrEqual(t, wall(l.Date, l.Minute), wall(day(t, "2027-03-15"), minute(800)), name)
		}
	}
}

func TestKitPartsBelongTogether(t *testing.T) {
	kit := Item{Expiry: printedAs(t, "2027-12"), Parts: []Part{
		{Name: "base", Lot: "B-1", Kit: "B-1", From: "7"}, {Name: "accelerator", Lot: "A-2", Kit: "A-1", From: "8"}}}
	j := Judge(kit, sealant, base)
	assert.Equal(t, Hold, j.Verdict)
	assert.Equal(t, "Do not mix these two: accelerator is of lot A-2, and the kit's label names lot A-1.", j.Limits[0].Reason)
	assert.Equal(t, "Do not mix these two: base is from kit 7, accelerator from kit 8.", j.Limits[1].Reason)
	kit.Parts[1].Kit, kit.Parts[1].From = " A-2 ", "7"
	assert.Equal(t, Use, Judge(kit, sealant, base).Verdict)
	// Each part ends by its own label; the first ends the kit.
	kit.Parts[1].Expiry = printedAs(t, "02/27")
	j = Judge(kit, sealant, base)
	assert.Equal(t, Reject, j.Verdict)
	assert.Equal(t, "Accelerator has an expiry of its own, February 2027: it ended 28 February 2027. Its life cannot be extended.", j.Governing.Reason)
	// A kit may carry its dates on its parts alone.
	kit = Item{Parts: []Part{{Expiry: printedAs(t, "06/27")}, {DOM: printedAs(t, "2026-07-01")}}}
	assert.Equal(t, LimitUndated, Judge(kit, Rules{}, base).Governing.Name, "one part has no end")
	kit.Parts[1].Expiry = printedAs(t, "05/27")
	j = Judge(kit, Rules{}, base)
	assert.Equal(t, Use, j.Verdict)
	assert.Equal(t, "Part 2 has an expiry of its own, May 2027: usable through 31 May 2027.", j.Governing.Reason)
	kit = Item{DOM: printedAs(t, "2026-12-01"), Parts: []Part{{Name: "accelerator", DOM: printedAs(t, "2026-07-01")}}}
	j = Judge(kit, sealant, base)
	assert.Equal(t, "Accelerator was made 1 July 2026, life 9 months: usable through 1 April 2027.", j.Governing.Reason)
}

func TestWhatArrivesIsAskedForItsLife(t *testing.T) {
	it := Item{DOM: printedAs(t, "2026-04-30"), Expiry: printedAs(t, "2027-12"), Received: Receipt{On: printedAs(t, "2027-01-05")}}
	info := limitOf(t, Judge(it, Rules{}, base), LimitReceipt)
	assert.Equal(t, "Received 5 January 2027 with 59 % of its life left (30 April 2026 to 31 December 2027). For information: the class asks for no share.", info.Reason)
	assert.False(t, info.Counts)
	r := Rules{Unopened: months(20), Receipt: ReceiptRule{Share: 0.85, From: "MIL-DTL-5516D §6.5"}}
	held := Judge(it, r, base)
	assert.Equal(t, Hold, held.Verdict)
	assert.Equal(t, "Received 5 January 2027 with 59 % of its life left (30 April 2026 to 31 December 2027); it was to have 85 %.", held.Governing.Reason)
	it.DOM = label.Date{} // the class's life is counted back from the expiry
	j := Judge(it, r, base)
	assert.Contains(t, j.Governing.Reason, "(30 April 2026 to 31 December 2027)")
	assert.Contains(t, j.Assumed, "When it was made is not known: its life is counted back from the expiry by that of its class.")
	r.Unopened = Life{}
	assert.Contains(t, Judge(it, r, base).Governing.Reason, "how much was left cannot be counted")
	it.Received = Receipt{NoPapers: true}
	assert.Contains(t, Judge(it, r, base).Governing.Reason, "It came in without papers")
}

func TestAHoldIsFreedOnlyByAuthority(t *testing.T) {
	full := Freed{Limit: LimitHeld, On: printedAs(t, "2027-03-05"), By: "B. Olsen", Authority: "quality office", Reference: "QO-9", Why: "sample sound"}
	change := func(f func(*Freed)) Freed {
		c := full
		f(&c)
		return c
	}
	for name, c := range map[string]struct {
		freed Freed
		want  Verdict
		said  string
	}{
		"all on record":       {full, Use, ""},
		"no authority":        {change(func(f *Freed) { f.Authority = " " }), Hold, "not on record: the authority."},
		"no reference":        {change(func(f *Freed) { f.Reference = "" }), Hold, "not on record: the reference."},
		"nobody":              {change(func(f *Freed) { f.By = "" }), Hold, "not on record: who freed it."},
		"before it came up":   {change(func(f *Freed) { f.On = printedAs(t, "2027-03-04") }), Hold, "it came up again on 5 March 2027 10:00."},
		"earlier on that day": {change(func(f *Freed) { f.On = printedAs(t, "2027-03-05T09:59") }), Hold, "it came up again on 5 March 2027 10:00."},
		"later on that day":   {change(func(f *Freed) { f.On = printedAs(t, "2027-03-05T10:00") }), Use, ""},
		"not yet":             {change(func(f *Freed) { f.On = printedAs(t, "2027-03-09") }), Hold, "it counts only from its day on."},
		"another hold":        {change(func(f *Freed) { f.Limit = LimitReceipt }), Hold, ""},
	} {
		it := Item{Expiry: printedAs(t, "2027-12"), Held: "dented", HeldOn: printedAs(t, "2027-03-05T10:00"), Freed: []Freed{c.freed}}
		j := Judge(it, sealant, base)
		assert.Equal(t, c.want, j.Verdict, name)
		if c.said != "" {
			require.Len(t, j.Assumed, 1, name)
			assert.Contains(t, j.Assumed[0], c.said, name)
		}
		l := limitOf(t, j, LimitHeld)
		assert.Equal(t, c.want == Use, l.Freed, name)
		assert.Equal(t, c.want == Hold, l.Counts, name)
		if l.Freed {
			assert.Contains(t, l.Reason, "Freed by B. Olsen on 5 March 2027", name)
			assert.Contains(t, l.Reason, "(quality office, reference QO-9): sample sound.", name)
		}
	}
}

func TestFreeingLiftsNoRejectAndNoDate(t *testing.T) {
	free := func(l Name) []Freed {
		return []Freed{{Limit: l, On: label.DayOf(base), By: "B. Olsen", Authority: "quality office", Reference: "QO-9"}}
	}
	for name, c := range map[Name]struct {
		it   Item
		want Verdict
	}{
		LimitLabelExpiry:   {Item{Expiry: printedAs(t, "02/2027")}, Reject},
		LimitInspectDate:   {Item{Inspect: printedAs(t, "02/2027")}, Hold},
		LimitUndated:       {Item{}, Hold},
		LimitScrapped:      {Item{Expiry: printedAs(t, "12/2027"), Scrapped: "leaked"}, Reject},
		LimitKitParts:      {Item{Expiry: printedAs(t, "12/2027"), Parts: []Part{{Lot: "A", Kit: "B"}}}, Hold},
		LimitCondition:     {Item{Expiry: printedAs(t, "12/2027"), Condition: Cloudy | Damaged}, Reject},
		LimitStandard:      {Item{Expiry: printedAs(t, "12/2027"), Polymer: "NBR"}, Hold},
		LimitFailedTest:    {Item{Expiry: printedAs(t, "12/2027"), Tests: []Test{{On: label.DayOf(base)}}}, Reject},
		LimitStorageBounds: {Item{Expiry: printedAs(t, "12/2027"), Storage: []Storage{{From: label.DayOf(base), MaxC: 50, Measured: true}}}, Use},
		LimitReceipt:       {Item{Expiry: printedAs(t, "12/2027"), Received: Receipt{NoPapers: true}}, Use},
	} {
		c.it.Freed = free(name)
		r := Rules{Bounds: Store{Range: quantity.Range{Lo: -10, Hi: 35}, From: "test"}}
		assert.Equal(t, c.want, Judge(c.it, r, base).Verdict, name)
	}
}

func TestABatchMustOutlastTheJob(t *testing.T) {
	it := Item{Expiry: printedAs(t, "2027-03-08T13:20")}
	ask := func(until string) Judgement {
		return JudgeFor(&it, &sealant, Question{On: base, At: minute(1000), Timed: true, Until: printedAs(t, until)})
	}
	assert.Equal(t, Use, ask("2027-03-08T13:20").Verdict)
	j := ask("2027-03-08T14:00")
	assert.Equal(t, Hold, j.Verdict)
	assert.Equal(t, LimitOutlast, j.Governing.Name)
	assert.Equal(t, "It ends 13:20, before the work is done at 14:00: take another batch.", j.Governing.Reason)
	assert.Equal(t, Hold, ask("2027-03-08").Verdict, "of a job known by its day it must last the day")
	assert.Contains(t, ask("2027-03-08T09:00").Governing.Reason, "The work would be done 8 March 2027 09:00, which lies before the moment judged")
	it.Expiry = printedAs(t, "2027-03-08")
	assert.Equal(t, Use, ask("2027-03-08").Verdict)
	assert.Equal(t, "It ends 8 March 2027, before the work is done (9 March 2027 14:00): take another batch.", ask("2027-03-09T14:00").Governing.Reason)
}

func TestASealKeepsByTheStandardThatGovernsIt(t *testing.T) {
	class := Rules{Unopened: Life{Span: period.NewYMD(15, 0, 0), From: "class"}, Standard: StandardSAE5316}
	for _, c := range []struct {
		name   string
		it     Item
		rules  Rules
		reason string
	}{
		{"no standard", Item{Polymer: "NBR"}, Rules{}, "Which standard governs? It is a seal of NBR, and none is named for it."},
		{"class and item disagree", Item{Polymer: "NBR", Standard: StandardISO2230}, class, "Which standard governs? It is recorded under ISO 2230, and its class keeps to SAE ARP5316."},
		{"the class says another life", Item{Polymer: "FKM"}, class, "Which is right? FKM by SAE ARP5316 keeps without limit, and its class says 15 years."},
		{"no polymer", Item{Standard: StandardISO2230}, Rules{}, "Of which polymer is it? It is recorded under ISO 2230, and that gives each its own life."},
		{"no such polymer", Item{Polymer: "XYZ", Standard: StandardISO2230}, Rules{}, `How long does it keep? "XYZ" is not a polymer in the table of ISO 2230: it has NR, IR,`},
		{"no such standard", Item{Polymer: "NBR", Standard: "other"}, Rules{}, `How long does it keep? "other" is not a standard for seals: iso-2230 or sae-arp5316.`},
	} {
		c.it.DOM = printedAs(t, "4Q20")
		j := Judge(c.it, c.rules, base)
		assert.Equal(t, Hold, j.Verdict, c.name)
		assert.Equal(t, LimitStandard, j.Governing.Name, c.name)
		assert.Contains(t, j.Governing.Reason, c.reason, c.name)
	}
	j := Judge(Item{DOM: printedAs(t, "4Q20"), Polymer: " nbr "}, class, base)
	assert.Equal(t, Use, j.Verdict, "the class's standard will do")
	assert.Equal(t, day(t, "2035-12-31"), j.Governing.Date)
	assert.Equal(t, Use, Judge(Item{DOM: printedAs(t, "4Q20"), Standard: StandardSAE5316}, class, base).Verdict, "its class knows the life")
	assert.Len(t, SealPolymers(StandardISO2230), 18)
	assert.Empty(t, SealPolymers("other"))
	s, err := Seal(StandardISO2230, "fkm")
	require.NoError(t, err)
	assert.Equal(t, "C", s.Group)
}

func TestStorageOutsideWhatIsKnownIsHeld(t *testing.T) {
	store := Store{Range: quantity.Range{Lo: 4, Hi: 27}, From: "test"}
	for name, c := range map[string]struct {
		rules Rules
		st    Storage
		want  Verdict
		limit Name
	}{
		"warm, no bounds, noticed":        {Rules{Store: store}, Storage{MinC: 20, MaxC: 30, Measured: true}, Hold, LimitStorageBounds},
		"warm, no bounds, logged":         {Rules{Store: store}, Storage{MinC: 20, MaxC: 30, Measured: true, Readings: 9, Spent: hour}, Use, LimitStoreRange},
		"warm, no bounds, one reading":    {Rules{Store: store}, Storage{MinC: 30, MaxC: 30, Measured: true, Readings: 1}, Hold, LimitStorageBounds},
		"written the wrong way round":     {Rules{Store: store, Hot: fiveWeeks}, Storage{From: printedAs(t, "2027-01-10"), MinC: 30, MaxC: 20, Measured: true}, Reject, LimitHotStorage},
		"cold, no bounds":                 {Rules{Store: store}, Storage{MinC: 2, MaxC: 20, Measured: true, Readings: 9}, Hold, LimitStorageBounds},
		"not measured":                    {Rules{Store: store}, Storage{MinC: -90, MaxC: 90}, Use, LimitLabelExpiry},
		"inside the bounds":               {Rules{Store: store, Bounds: Store{Range: quantity.Range{Lo: 0, Hi: 35}, From: "test"}}, Storage{MinC: 2, MaxC: 35, Measured: true}, Use, LimitStoreRange},
		"hot, and when is not known":      {Rules{Store: store, Hot: fiveWeeks}, Storage{MinC: 20, MaxC: 30, Measured: true}, Hold, LimitHotStorage},
		"at the hot limit":                {Rules{Store: store, Hot: fiveWeeks}, Storage{MinC: 20, MaxC: 27, Measured: true}, Use, LimitLabelExpiry},
		"a temperature that is no number": {Rules{}, Storage{MinC: 20, MaxC: math.NaN(), Measured: true}, Hold, LimitStorageBounds},
	} {
		j := Judge(Item{Expiry: printedAs(t, "2027-12"), Storage: []Storage{c.st}}, c.rules, base)
		assert.Equal(t, c.want, j.Verdict, name)
		l := limitOf(t, j, c.limit)
		assert.NotContains(t, l.Reason, "NaN", name)
	}
	j := Judge(Item{Expiry: printedAs(t, "2027-12"), Storage: []Storage{{Spent: hour, From: printedAs(t, "2027-02-01")}, {Spent: 23*hour + 1, From: printedAs(t, "2027-02-02")}}}, Rules{}, base)
	assert.Equal(t, day(t, "2027-12-29"), limitOf(t, j, LimitStorageLife).Date, "the sum is rounded up to days")
}
