package shelf

import (
	"time"

	"github.com/rickb777/date"
	"github.com/rickb777/date/period"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog/label"
	"beadline/cure/quantity"
)

// Items and classes drawn at random, for the properties.

var base = date.New(2027, time.March, 8)

// anyDate is no date, or one of some precision within the days before and after the
// base.
func anyDate(t *rapid.T, name string, before, after int) label.Date {
	if rapid.IntRange(0, 2).Draw(t, name+"?") == 0 {
		return label.Date{}
	}
	return someDate(t, name, before, after)
}

func someDate(t *rapid.T, name string, before, after int) label.Date {
	d := base.Add(date.PeriodOfDays(rapid.IntRange(-before, after).Draw(t, name)))
	form := label.DayOf(d).Canonical()
	switch rapid.IntRange(0, 5).Draw(t, name+" as") {
	case 0:
		form = form[:7]
	case 1, 2:
		return label.At(d, rapid.IntRange(0, 24*60-1).Draw(t, name+" minute"))
	}
	got, err := label.Parse(form, base)
	require.NoError(t, err)
	return got
}

// exactDate is a day or a minute on or before the base: what is surely past on any
// later day.
func exactDate(t *rapid.T, name string, before, after int) label.Date {
	d := base.Add(date.PeriodOfDays(rapid.IntRange(-before, after).Draw(t, name)))
	if rapid.Bool().Draw(t, name+" by minute") {
		return label.At(d, rapid.IntRange(0, 24*60-1).Draw(t, name+" minute"))
	}
	return label.DayOf(d)
}

func word(t *rapid.T, name string) string {
	return rapid.SampledFrom([]string{"", "QO-7", "A. Hentze", "quality office"}).Draw(t, name)
}

func aSpan(t *rapid.T, name string) period.Period {
	if rapid.IntRange(0, 2).Draw(t, name+"?") > 0 {
		return period.Period{}
	}
	return period.NewYMD(0, rapid.IntRange(0, 20).Draw(t, name+" months"), rapid.IntRange(0, 40).Draw(t, name+" days"))
}

func anyTest(t *rapid.T, future int) Test {
	x := Test{On: exactDate(t, "tested", 400, future), Passed: rapid.IntRange(0, 4).Draw(t, "passed") > 0,
		By: "A. Hentze", Authority: "quality office", Reference: "QO-7", Results: "Shore A 48 at 72 h", Span: aSpan(t, "for")}
	switch rapid.IntRange(0, 5).Draw(t, "test lacks") {
	case 0:
		x.By = word(t, "by")
	case 1:
		x.Authority, x.Results = word(t, "authority"), word(t, "results")
	case 2:
		x.On = label.Date{}
	}
	if rapid.IntRange(0, 2).Draw(t, "to?") == 0 {
		x.To = someDate(t, "to", 300, 900)
	}
	if rapid.IntRange(0, 3).Draw(t, "given later?") == 0 {
		x.Given = exactDate(t, "given", 400, future)
	}
	return x
}

func anyStorage(t *rapid.T, future int) Storage {
	st := Storage{From: anyDate(t, "stored from", 300, future), To: anyDate(t, "stored to", 300, future),
		Measured: rapid.Bool().Draw(t, "measured"), Readings: rapid.SampledFrom([]int{0, 0, 100}).Draw(t, "readings"),
		Spent: time.Duration(rapid.SampledFrom([]int{0, 0, -5, 1, 30, 2000}).Draw(t, "spent")) * hour,
		MinC:  rapid.SampledFrom([]float64{-60, 2, 4, 20}).Draw(t, "min"), MaxC: rapid.SampledFrom([]float64{20, 27, 30, 60}).Draw(t, "max")}
	if rapid.IntRange(0, 2).Draw(t, "hot?") == 0 {
		st.HotFrom = someDate(t, "hot from", 300, future)
	}
	return st
}

func anyFreed(t *rapid.T, future int) Freed {
	return Freed{Limit: rapid.SampledFrom([]Name{LimitHeld, LimitHeld, LimitCondition, LimitStorageBounds, LimitReceipt, LimitLabelExpiry, LimitThaw}).Draw(t, "frees"),
		On: exactDate(t, "freed", 300, future), By: "A. Hentze", Authority: rapid.SampledFrom([]string{"quality office", "quality office", ""}).Draw(t, "freed under"),
		Reference: "QO-9"}
}

func anyPart(t *rapid.T, future int) Part {
	return Part{Name: rapid.SampledFrom([]string{"base", "accelerator", ""}).Draw(t, "part"),
		Lot: rapid.SampledFrom([]string{"", "A", "B"}).Draw(t, "lot"), Kit: rapid.SampledFrom([]string{"", "A"}).Draw(t, "kit's lot"),
		From: rapid.SampledFrom([]string{"", "7", "8"}).Draw(t, "from kit"),
		DOM:  anyDate(t, "part made", 900, future), Expiry: anyDate(t, "part expiry", 400, 400)}
}

// several draws up to n of something, most often none.
func several[T any](t *rapid.T, name string, n int, draw func() T) (all []T) {
	for range rapid.SampledFrom([]int{0, 0, 0, 1, n}).Draw(t, name+"s") {
		all = append(all, draw())
	}
	return all
}

// anyItem has records up to so many days after the base. What gives or frees anything
// is known to the day.
func anyItem(t *rapid.T, future int) Item {
	it := Item{
		DOM:        anyDate(t, "dom", 900, future),
		Expiry:     anyDate(t, "expiry", 400, 400),
		Inspect:    anyDate(t, "inspect", 400, 400),
		BestBefore: anyDate(t, "best before", 400, 400),
		Opened:     anyDate(t, "opened", 400, future),
		Installed:  rapid.SampledFrom([]label.Date{{}, {}, {}, label.DayOf(base.Add(-40))}).Draw(t, "installed"),
		Code:       rapid.SampledFrom([]string{"", "", "", "", "D", "4", "0", "X", "I"}).Draw(t, "code"),
		Standard:   rapid.SampledFrom([]Standard{"", "", "", StandardISO2230, StandardSAE5316, "other"}).Draw(t, "standard"),
		Polymer:    rapid.SampledFrom([]string{"", "", "", "NBR", "FKM", "SBR", "XYZ"}).Draw(t, "polymer"),
		ThawCount:  rapid.SampledFrom([]int{0, 0, 0, 1, 2, 4}).Draw(t, "count"),
		OutUsed:    time.Duration(rapid.SampledFrom([]int{0, 0, 5, 30, 400}).Draw(t, "used")) * hour,
		Held:       rapid.SampledFrom([]string{"", "", "", "dented"}).Draw(t, "held"),
		Scrapped:   rapid.SampledFrom([]string{"", "", "", "", "", "", "leaked"}).Draw(t, "scrapped"),
		Condition:  Condition(rapid.SampledFrom([]int{0, 0, 0, 0, 1, 2, 9, 16, 63}).Draw(t, "condition")),
	}
	if it.Held != "" {
		it.HeldOn = anyDate(t, "held on", 300, 0)
	}
	it.Received = Receipt{On: anyDate(t, "received", 300, future), NoPapers: rapid.IntRange(0, 9).Draw(t, "papers") == 0}
	it.Thawed = several(t, "thaw", 3, func() label.Date { return someDate(t, "thawed", 300, future) })
	if len(it.Thawed) > 0 {
		it.Refrozen = several(t, "refreeze", 2, func() label.Date { return someDate(t, "refrozen", 300, future) })
	}
	it.Tests = several(t, "test", 3, func() Test { return anyTest(t, future) })
	it.Storage = several(t, "spell", 2, func() Storage { return anyStorage(t, future) })
	it.Freed = several(t, "freeing", 2, func() Freed { return anyFreed(t, future) })
	it.Parts = several(t, "part", 2, func() Part { return anyPart(t, future) })
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
	r := Rules{
		Unopened:   life("unopened"),
		Opened:     life("opened"),
		Installed:  life("installed"),
		OutTime:    Span{Max: time.Duration(rapid.SampledFrom([]int{0, 1, 24, 240, 720}).Draw(t, "out")) * hour, From: "test"},
		ThawLife:   Span{Max: time.Duration(rapid.SampledFrom([]int{0, 0, 2, 48, 720}).Draw(t, "thaw life")) * hour, From: "test"},
		Thaws:      Thaws{Max: rapid.IntRange(AnyThaws, 3).Draw(t, "thaws max"), From: "test"},
		Convention: Convention(rapid.IntRange(0, 2).Draw(t, "convention")),
		Standard:   rapid.SampledFrom([]Standard{"", "", StandardISO2230}).Draw(t, "class standard"),
	}
	switch rapid.IntRange(0, 3).Draw(t, "extension") {
	case 0:
		r.Extension = Extension{Kind: HalfOriginal, Max: rapid.IntRange(0, 2).Draw(t, "most"), From: "test"}
	case 1:
		r.Extension = Extension{Kind: FixedExtension, Span: period.NewYMD(0, rapid.IntRange(1, 9).Draw(t, "by"), 0), Max: rapid.IntRange(0, 2).Draw(t, "most"), From: "test"}
	}
	if rapid.Bool().Draw(t, "store?") {
		r.Store = Store{Range: quantity.Range{Lo: 4, Hi: 27}, From: "test"}
	}
	if rapid.Bool().Draw(t, "bounds?") {
		r.Bounds = Store{Range: quantity.Range{Lo: 0, Hi: 35}, From: "test"}
	}
	if rapid.Bool().Draw(t, "hot?") {
		r.Hot = Hot{AboveC: 27, Within: period.NewYMD(0, 0, 35), From: "test"}
	}
	if rapid.Bool().Draw(t, "receipt?") {
		r.Receipt = ReceiptRule{Share: 0.75, From: "test", Within: period.NewYMD(1, 0, 0), Over: period.NewYMD(4, 0, 0)}
	}
	return r
}

func anyDay(t *rapid.T) date.Date {
	return base.Add(date.PeriodOfDays(rapid.IntRange(0, 800).Draw(t, "on")))
}

// zones have clocks that are put forward and back at the hours drawn, or never.
var zones = []string{"UTC", "Atlantic/Faroe", "America/New_York", "Australia/Lord_Howe"}

func anyZone(t *rapid.T) *time.Location {
	z, err := time.LoadLocation(rapid.SampledFrom(zones).Draw(t, "zone"))
	require.NoError(t, err)
	return z
}
