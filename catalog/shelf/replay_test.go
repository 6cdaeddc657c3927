package shelf

import (
	"encoding/binary"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/rickb777/date/period"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog/label"
)

func TestEventsBecomeTheInputsOfLimits(t *testing.T) {
	at := func(s string) label.Date { return printedAs(t, s) }
	tin := Item{Batch: "S-2207", Class: "polysulfide-b-2", DOM: at("2026-09-01"), Expiry: at("2027-06-30")}
	events := []Event{
		{Kind: EventOpened, When: at("2027-03-14"), By: "A. Hentze"},
		{Kind: EventReceived, When: at("2026-09-20")},
		{Kind: EventDrawn, When: at("2027-03-14"), Note: "60 ml"},
		{Kind: EventStored, When: at("2027-01-10"), Note: "ramp", Storage: Storage{MaxC: 41, MinC: 30, Measured: true}},
		{Kind: EventHeld, When: at("2027-01-10"), Note: "left on the ramp at 41 C"},
		{Kind: EventFreed, When: at("2027-01-12"), Limit: LimitHeld, By: "B. Olsen", Authority: "quality office", Reference: "QO-7", Note: "sample sound"},
		{Kind: EventCounted, When: at("2027-02-01")},
	}
	it, said := Replay(tin, events)
	assert.Empty(t, said)
	assert.Equal(t, at("2026-09-20"), it.Received.On)
	assert.Equal(t, at("2027-03-14"), it.Opened)
	assert.Equal(t, "left on the ramp at 41 C", it.Held)
	assert.Equal(t, at("2027-01-10"), it.Storage[0].From)
	assert.Equal(t, "ramp", it.Storage[0].Where)
	assert.Len(t, it.Freed, 1)
	assert.Zero(t, tin.Opened, "the label itself is not touched")

	r := sealant
	r.Hot = fiveWeeks
	j := Judge(it, r, day(t, "2027-02-01"))
	assert.Equal(t, LimitDatesContradict, j.Governing.Name, "opened after the day judged")
	it.Opened = label.Date{}
	j = Judge(it, r, day(t, "2027-02-01"))
	assert.Equal(t, Use, j.Verdict)
	assert.Equal(t, "It was above 27 °C (ramp) first on 10 January 2027: to be used within 5 weeks, usable through 14 February 2027. No test extends that.", j.Governing.Reason)
	held := j.Limits[len(j.Limits)-1]
	for _, l := range j.Limits {
		if l.Name == LimitHeld {
			held = l
		}
	}
	assert.True(t, held.Freed)
	assert.False(t, held.Counts)
	assert.Equal(t, "Set aside 10 January 2027: left on the ramp at 41 C. Freed by B. Olsen on 12 January 2027 (quality office, reference QO-7): sample sound.", held.Reason)
}

// What cannot be is said, and never helps the batch.
func TestWhatCannotBeIsSaidAndTakenOnTheSafeSide(t *testing.T) {
	at := func(s string) label.Date { return printedAs(t, s) }
	half := sealant
	half.Extension = Extension{Kind: HalfOriginal, From: "the standard, test"}
	full := Freed{Limit: LimitHeld, On: at("2027-02-02"), By: "B. Olsen", Authority: "quality office", Reference: "QO-7"}
	for _, c := range []struct {
		name    string
		label   Item
		rules   Rules
		events  []Event
		said    string
		verdict Verdict
	}{
		{"freed without authority", Item{}, sealant, []Event{{Kind: EventHeld, When: at("2027-02-01"), Note: "dented"}, {Kind: EventFreed, When: at("2027-02-02"), Limit: LimitHeld, By: "B. Olsen", Reference: "QO-7"}},
			"Freed 2 February 2027 (held), which does not count: not on record: the authority.", Hold},
		{"freed without a day", Item{}, sealant, []Event{{Kind: EventHeld, When: at("2027-02-01"), Note: "dented"}, {Kind: EventFreed, Limit: LimitHeld, By: "B. Olsen", Authority: "quality office", Reference: "QO-7"}},
			"Freed (held), which does not count: its day is not recorded.", Hold},
		{"an expiry freed", Item{Expiry: at("2027-01-31")}, half, []Event{{Kind: EventFreed, When: at("2027-02-02"), Limit: LimitLabelExpiry, By: "B. Olsen", Authority: "quality office", Reference: "QO-7"}},
			"Freed 2 February 2027, but label-expiry is not lifted so: that takes a test or a corrected record, or nothing.", Hold},
		{"held again after it was freed", Item{Held: "dented", HeldOn: at("2027-02-01"), Freed: []Freed{full}}, sealant, []Event{{Kind: EventHeld, When: at("2027-02-03"), Note: "leaks"}},
			"", Hold},
		{"held, nobody knows when, and freed", Item{}, sealant, []Event{{Kind: EventHeld, Note: "dented"}, {Kind: EventFreed, When: at("2027-02-02"), Limit: LimitHeld, By: "B. Olsen", Authority: "quality office", Reference: "QO-7"}},
			"Freed on 2 February 2027 (held), but when it was last held is not recorded: the hold stands.", Hold},
		{"damaged, nobody knows when, and freed", Item{}, sealant, []Event{{Kind: EventCondition, Condition: Damaged}, {Kind: EventFreed, When: at("2027-02-02"), Limit: LimitCondition, By: "B. Olsen", Authority: "quality office", Reference: "QO-7"}},
			"Freed on 2 February 2027 (condition), but when it was last held is not recorded: the hold stands.", Hold},
		{"wrong in a way that is not said", Item{}, sealant, []Event{{Kind: EventCondition, When: at("2027-02-01")}},
			"Condition 1 February 2027, but what is wrong is not recorded: the batch is held.", Hold},
		{"refrozen, nobody knows when", Item{}, frozen, []Event{{Kind: EventThawed, When: at("2027-03-01")}, {Kind: EventRefrozen}},
			"Refrozen, but when is not recorded: it counts as still out.", Reject},
		{"refrozen while not out", Item{}, frozen, []Event{{Kind: EventRefrozen, When: at("2027-03-01")}},
			"What left the freezer and what went back do not pair: the batch is held.", Hold},
		{"refrozen before it was thawed", Item{}, frozen, []Event{{Kind: EventRefrozen, When: at("2027-03-01")}, {Kind: EventThawed, When: at("2027-03-08")}},
			"What left the freezer and what went back do not pair: the batch is held.", Hold},
		{"thawed, nobody knows when", Item{}, frozen, []Event{{Kind: EventThawed}},
			"Thawed, but when is not recorded: it counts as one thaw more, of unknown length.", Hold},
		{"opened, nobody knows when", Item{}, sealant, []Event{{Kind: EventOpened}},
			"Opened, but when is not recorded: the batch is held.", Hold},
		{"extended without a test", Item{Expiry: at("2027-01-31"), DOM: at("2026-04-30")}, half, []Event{{Kind: EventExtended, When: at("2027-02-02"), Authority: "quality office", Reference: "QO-7", To: at("2027-05-31")}},
			"Extended 2 February 2027, but no test passed before it is on record: it gives no more life.", Hold},
		{"extended twice on one test", Item{Expiry: at("2027-01-31"), DOM: at("2026-04-30")}, half, []Event{
			{Kind: EventTested, When: at("2027-02-01"), Passed: true, By: "A. Hentze", Results: "48 Shore A"},
			{Kind: EventExtended, When: at("2027-02-02"), Authority: "quality office", Reference: "QO-7", To: at("2027-02-28")},
			{Kind: EventExtended, When: at("2027-02-03"), Authority: "quality office", Reference: "QO-8", To: at("2027-05-31")}},
			"Extended 3 February 2027, but the last test had given its extension already: it gives no more life.", Hold},
		{"extended by nobody", Item{Expiry: at("2027-01-31"), DOM: at("2026-04-30")}, half, []Event{
			{Kind: EventTested, When: at("2027-02-01"), Passed: true, By: "A. Hentze", Results: "48 Shore A"}, {Kind: EventExtended, When: at("2027-02-02")}},
			"Extended 2 February 2027, but it gives no more life: not on record: the authority, the reference.", Hold},
		{"a test passed, nobody knows when", Item{Expiry: at("2027-01-31"), DOM: at("2026-04-30")}, half, []Event{{Kind: EventTested, Passed: true, By: "A. Hentze", Authority: "q", Reference: "r", Results: "s"}},
			"Test passed, but when is not recorded: it gives no more life.", Hold},
		{"a test failed, nobody knows when", Item{}, sealant, []Event{{Kind: EventTested, Results: "soft"}}, "", Reject},
		{"used after it was scrapped", Item{}, sealant, []Event{{Kind: EventScrapped, When: at("2027-02-01"), Note: "leaked"}, {Kind: EventDrawn, When: at("2027-02-02")}},
			"Drawn 2 February 2027, though it was scrapped.", Reject},
		{"an event that is none", Item{}, sealant, []Event{{Kind: "borrowed", When: at("2027-02-01")}},
			`"borrowed" 1 February 2027 is no event that is known: the batch is held.`, Hold},
		{"received twice", Item{}, sealant, []Event{{Kind: EventReceived, When: at("2027-02-01")}, {Kind: EventReceived, When: at("2027-02-09")}},
			"Received more than once: the last counts.", Use},
		{"stored hot, nobody knows when", Item{}, Rules{Hot: fiveWeeks}, []Event{{Kind: EventStored, Storage: Storage{MaxC: 40, Measured: true}}},
			"Stored, but when is not recorded.", Hold},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.label.Expiry.IsZero() {
				c.label.Expiry = at("2027-12-31")
			}
			it, said := Replay(c.label, c.events)
			if c.said == "" {
				assert.Empty(t, said)
			} else {
				assert.Contains(t, said, c.said)
			}
			j := Judge(it, c.rules, day(t, "2027-03-08"))
			assert.Equal(t, c.verdict, j.Verdict, "%+v", j.Limits)
		})
	}
}

func TestAKindOfEventIsFoundByItsWord(t *testing.T) {
	for _, k := range eventKinds {
		back, err := ParseEventKind(string(k))
		require.NoError(t, err)
		assert.Equal(t, k, back)
	}
	_, err := ParseEventKind("lost")
	assert.ErrorContains(t, err, `"lost" is not an event: received, stored,`)
}

func TestATestThatIsExtendedLaterCountsFromThen(t *testing.T) {
	at := func(s string) label.Date { return printedAs(t, s) }
	r := Rules{Extension: Extension{Kind: HalfOriginal, From: "test"}}
	it, said := Replay(Item{DOM: at("2026-01-31"), Expiry: at("2027-01-31")}, []Event{
		{Kind: EventExtended, When: at("2027-02-20"), Authority: "quality office", Reference: "QO-7", To: at("2027-06-30")},
		{Kind: EventTested, When: at("2027-02-10"), Passed: true, By: "A. Hentze", Results: "48 Shore A"},
	})
	require.Empty(t, said)
	assert.Equal(t, Hold, Judge(it, r, day(t, "2027-02-19")).Verdict)
	j := Judge(it, r, day(t, "2027-02-20"))
	assert.Equal(t, Use, j.Verdict)
	assert.Equal(t, "30 June 2027", label.FormatDay(j.Governing.Date))
}

func TestTimeOnTheContainerCoversWhatWasThawedBefore(t *testing.T) {
	at := func(s string) label.Date { return printedAs(t, s) }
	r := Rules{OutTime: Span{Max: 240 * hour, From: "test"}, Thaws: Thaws{Max: AnyThaws, From: "test"}}
	tin := Item{Expiry: at("2027-12"), Thawed: []label.Date{at("2027-03-01T08:00")}, OutUsed: 100 * hour}
	// 100 h by the container, then out since 1 March: an event of another thaw gives
	// nothing back of the time from there.
	it, _ := Replay(tin, []Event{{Kind: EventThawed, When: at("2027-03-05T08:00")}})
	before, after := Judge(tin, r, base.Add(-5)).Limits, Judge(it, r, base.Add(-5)).Limits
	find := func(ls []Limit) Limit {
		for _, l := range ls {
			if l.Name == LimitOutTime && l.Dated {
				return l
			}
		}
		return Limit{}
	}
	assert.Equal(t, find(before).Date, find(after).Date)
	assert.Equal(t, day(t, "2027-03-07"), find(before).Date) // 140 h from 1 March 08:00
	// Nothing on the label says that it was out: then all that events record comes on top.
	it, _ = Replay(Item{Expiry: at("2027-12"), OutUsed: 100 * hour}, []Event{
		{Kind: EventThawed, When: at("2027-03-01T08:00")}, {Kind: EventRefrozen, When: at("2027-03-02T08:00")}, {Kind: EventThawed, When: at("2027-03-05T08:00")}})
	o := outingsOf(&it, &asked{})
	assert.Equal(t, 124*hour, o.used)
}

// anyEvent is one that cannot give life, unless more is asked for.
func anyEvent(t *rapid.T, gives bool) Event {
	kinds := []EventKind{EventReceived, EventStored, EventThawed, EventOpened, EventInstalled, EventCondition, EventHeld, EventDrawn, EventCounted, EventScrapped, EventTested, "lost"}
	if gives {
		kinds = append(kinds, EventRefrozen, EventExtended, EventFreed)
	}
	e := Event{Kind: rapid.SampledFrom(kinds).Draw(t, "kind"), When: anyDate(t, "when", 300, 0), Note: word(t, "note"), NoPapers: rapid.Bool().Draw(t, "papers")}
	x := anyTest(t, 0)
	e.By, e.Authority, e.Reference, e.Results, e.To, e.Span = x.By, x.Authority, x.Reference, x.Results, x.To, x.Span
	e.Passed = gives && x.Passed
	e.Storage = anyStorage(t, 0)
	e.Limit = anyFreed(t, 0).Limit
	e.Condition = Condition(rapid.IntRange(0, 31).Draw(t, "condition"))
	return e
}

// No event that cannot extend moves a limit to a later day, or helps the verdict.
func TestNoEventMovesALimitLater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tin, r, on := anyItem(t, 0), anyRules(t), anyDay(t).Add(1)
		var events []Event
		for range rapid.IntRange(0, 4).Draw(t, "events") {
			events = append(events, anyEvent(t, true))
		}
		it, _ := Replay(tin, events)
		if len(it.Refrozen) > 0 && outingsOf(&it, &asked{}).unpaired {
			t.Skip("a thaw that was missing would put the record right")
		}
		more, _ := Replay(tin, append(events, anyEvent(t, false)))
		a, b := Judge(it, r, on), Judge(more, r, on)
		require.GreaterOrEqual(t, b.Verdict, a.Verdict)
		ends := firstEnds(b)
		for name, end := range firstEnds(a) {
			if late, ok := ends[name]; ok && late.After(end) {
				t.Fatalf("%s moved from %s to %s\n%+v\n%+v", name, end, late, it, more)
			}
		}
	})
}

// firstEnds are the earliest days of the limits that count, by name.
func firstEnds(j Judgement) map[Name]date.Date {
	ends := map[Name]date.Date{}
	for _, l := range j.Limits {
		if e, ok := ends[l.Name]; l.Counts && l.Dated && (!ok || l.Date.Before(e)) {
			ends[l.Name] = l.Date
		}
	}
	return ends
}

func TestOrderOfEventsDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tin, r, on := anyItem(t, 0), anyRules(t), anyDay(t)
		var events []Event
		for range rapid.IntRange(0, 6).Draw(t, "events") {
			events = append(events, anyEvent(t, true))
		}
		a, said := Replay(tin, events)
		b, also := Replay(tin, rapid.Permutation(events).Draw(t, "order"))
		require.Equal(t, said, also)
		require.Equal(t, Judge(a, r, on), Judge(b, r, on))
	})
}

// FuzzReplay decodes bytes to a label, rules and events: whatever they are, there is no
// panic, and the judgement holds together.
func FuzzReplay(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte("made, thawed, refrozen, opened, tested, extended, freed, and out again"))
	seed := make([]byte, 0, 512)
	for i := range 512 {
		seed = append(seed, byte(i*37))
	}
	f.Add(seed)
	f.Fuzz(func(t *testing.T, data []byte) {
		d := decoder{data}
		it, r := d.item(), d.rules()
		var events []Event
		for len(d.data) > 0 && len(events) < 40 {
			events = append(events, d.event())
		}
		it, said := Replay(it, events)
		for _, s := range said {
			require.NotContains(t, s, "%!")
		}
		zone, err := time.LoadLocation(zones[int(d.byte())%len(zones)])
		require.NoError(t, err)
		q := Question{On: d.day(), At: int(d.byte())*7 - 50, Timed: d.byte()%2 == 0, Until: d.date(), Zone: zone}
		holdsTogether(t, JudgeFor(&it, &r, q))
		v, last, dated := Glance(&it, &r, q.On)
		j := Judge(it, r, q.On)
		require.Equal(t, j.Verdict, v)
		require.True(t, j.Governing.Dated == dated && (!dated || j.Governing.Date == last))
	})
}

// decoder makes things of bytes; of none left it makes zeros.
type decoder struct{ data []byte }

func (d *decoder) byte() byte {
	if len(d.data) == 0 {
		return 0
	}
	b := d.data[0]
	d.data = d.data[1:]
	return b
}

func (d *decoder) day() date.Date {
	n := int32(binary.LittleEndian.Uint16([]byte{d.byte(), d.byte()}))
	if d.byte() > 250 { // far away
		n *= 20
	}
	return base.Add(date.PeriodOfDays(n - 32768))
}

func (d *decoder) date() label.Date {
	switch k := d.byte(); k % 4 {
	case 0:
		return label.Date{}
	case 1:
		return label.At(d.day(), int(d.byte())*6)
	case 2:
		got, err := label.Parse(label.DayOf(base.Add(date.PeriodOfDays(d.byte()))).Canonical()[:7], base)
		if err == nil {
			return got
		}
	}
	return label.DayOf(base.Add(date.PeriodOfDays(int(d.byte()) - 200)))
}

func (d *decoder) text() string {
	return []string{"", " ", "a", "NBR", "%s", "quality office"}[int(d.byte())%6]
}

func (d *decoder) span() time.Duration {
	return time.Duration(int64(binary.LittleEndian.Uint64([]byte{d.byte(), d.byte(), d.byte(), d.byte(), d.byte(), d.byte(), d.byte(), d.byte()})))
}

func (d *decoder) life() period.Period {
	return period.NewYMD(int(d.byte()%20), int(d.byte()), int(d.byte()))
}

func (d *decoder) storage() Storage {
	return Storage{From: d.date(), To: d.date(), Measured: d.byte()%2 == 0, MinC: float64(int8(d.byte())), MaxC: float64(d.byte()), HotFrom: d.date(),
		Spent: d.span(), Readings: int(d.byte() % 3), Where: d.text()}
}

func (d *decoder) item() Item {
	it := Item{DOM: d.date(), Expiry: d.date(), Inspect: d.date(), BestBefore: d.date(), Code: d.text(), Standard: Standard(d.text()), Polymer: d.text(),
		Opened: d.date(), Installed: d.date(), ThawCount: int(d.byte()) - 2, OutUsed: d.span(), OutAsOf: d.date(), Condition: Condition(d.byte()), Held: d.text(), HeldOn: d.date()}
	for range d.byte() % 4 {
		it.Parts = append(it.Parts, Part{Name: d.text(), Lot: d.text(), Kit: d.text(), From: d.text(), DOM: d.date(), Expiry: d.date()})
	}
	return it
}

func (d *decoder) rules() Rules {
	r := Rules{Unopened: Life{Span: d.life()}, Opened: Life{Span: d.life()}, Extension: Extension{Kind: ExtensionKind(d.byte() % 3), Span: d.life(), Max: int(d.byte() % 3)},
		OutTime: Span{Max: d.span()}, ThawLife: Span{Max: d.span()}, Thaws: Thaws{Max: int(d.byte()%5) - 1}, Convention: Convention(d.byte() % 3)}
	if d.byte()%2 == 0 {
		r.Hot, r.Receipt = fiveWeeks, ReceiptRule{Share: float64(d.byte()) / 255}
		r.Store.Range.Hi = float64(d.byte())
	}
	return r
}

func (d *decoder) event() Event {
	k := int(d.byte()) % (len(eventKinds) + 1)
	e := Event{Kind: "other"}
	if k < len(eventKinds) {
		e.Kind = eventKinds[k]
	}
	e.When, e.By, e.Authority, e.Reference, e.Note, e.Results = d.date(), d.text(), d.text(), d.text(), d.text(), d.text()
	e.Passed, e.NoPapers, e.Condition = d.byte()%2 == 0, d.byte()%8 == 0, Condition(d.byte())
	if e.Kind == EventStored {
		e.Storage = d.storage()
	}
	e.To, e.Span, e.Limit = d.date(), d.life(), append(Freeable(), LimitThaw, "")[int(d.byte())%(len(Freeable())+2)]
	return e
}

// A date far off is a doubt of the label's, which a person with authority settles: on the
// record as at the bench.
func TestFarDateIsFreedOnTheRecordToo(t *testing.T) {
	for _, l := range Freeable() {
		it, said := Replay(Item{}, []Event{{Kind: EventFreed, Limit: l, When: label.DayOf(date.New(2027, 3, 8)), By: "QA", Authority: "quality office", Reference: "QN 12"}})
		assert.Empty(t, said, l)
		assert.Len(t, it.Freed, 1, l)
	}
}
