package catalog

import (
	"strconv"
	"testing"
	"time"

	"github.com/rickb777/date/period"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/cure"
	"beadline/cure/quantity"
)

func find(t *testing.T, id string) Class {
	t.Helper()
	c, err := Builtin().Find(id)
	require.NoError(t, err)
	return c
}

// plain is the plain curve in hours at a temperature as written and 50 % RH.
func plain(t *testing.T, c Class, m cure.Milestone, temp string, rh float64, b cure.Bead) float64 {
	t.Helper()
	tc, err := quantity.Temp(temp)
	require.NoError(t, err)
	cv, _, err := c.Curve(m)
	require.NoError(t, err)
	return cv.Plain(tc, rh, cure.Air{TempC: tc, RH: rh}.Vapour(), b) / 3600
}

// The 18 °F (10 °C) rule of trade articles: the rate doubles per 18 °F of warming.
// Rows by hand from the rule: 2 h at 77 °F.
func TestApplicationTimeFollowsThe18FahrenheitRule(t *testing.T) {
	for _, row := range []struct {
		temp  string
		hours float64
	}{{"77F", 2}, {"59F", 4}, {"95F", 1}, {"113F", 0.5}, {"40F", 8.314}} {
		assert.InDelta(t, row.hours, plain(t, find(t, "polysulfide-b-2"), cure.Application, row.temp, 50, cure.Bead{}), 0.0005, row.temp)
	}
}

// NAVEDTRA 14315, sealants chapter, fig. 5-44: the dash number is the application
// time in hours. AMS-S-8802 class list as quoted by practitioners: the bracket is the
// assembly time in hours.
func TestDashNumberIsTheApplicationTime(t *testing.T) {
	for _, row := range []struct {
		id                    string
		application, assembly float64
	}{
		{"polysulfide-a-half", 0.5, 0}, {"polysulfide-a-2", 2, 0}, {"polysulfide-b-half", 0.5, 0},
		{"polysulfide-b-1", 1, 0}, {"polysulfide-b-2", 2, 0}, {"polysulfide-b-4", 4, 0},
		{"polysulfide-c-8-20", 8, 20}, {"polysulfide-c-8-48", 8, 48}, {"polysulfide-c-24-80", 24, 80},
	} {
		c := find(t, row.id)
		assert.InDelta(t, row.application, plain(t, c, cure.Application, "77F", 50, cure.Bead{}), 1e-9, row.id)
		if row.assembly > 0 {
			assert.InDelta(t, row.assembly, plain(t, c, cure.Assembly, "77F", 50, cure.Bead{}), 1e-9, row.id)
		} else {
			assert.Nil(t, c.Curves[cure.Assembly], "%s: only faying classes publish an assembly time", row.id)
		}
	}
}

// Specification timings in hours from memory (AMS-S-8802): a guard against slips in
// the data file, not a proof of the figures.
func TestSpecificationTimingsAreAsRemembered(t *testing.T) {
	for _, row := range []struct {
		id             string
		tackFree, cure float64
	}{
		{"polysulfide-a-half", 10, 40}, {"polysulfide-a-2", 40, 72}, {"polysulfide-b-half", 10, 30},
		{"polysulfide-b-1", 20, 55}, {"polysulfide-b-2", 40, 72}, {"polysulfide-b-4", 48, 90},
	} {
		c := find(t, row.id)
		assert.InDelta(t, row.tackFree, plain(t, c, cure.TackFree, "25C", 50, cure.Bead{}), 1e-9, row.id)
		assert.InDelta(t, row.cure, plain(t, c, cure.Cured, "25C", 50, cure.Bead{}), 1e-9, row.id)
		assert.Equal(t, cure.Minimum, c.Curves[cure.Application].States, row.id)
		assert.Equal(t, cure.Maximum, c.Curves[cure.TackFree].States, row.id)
		assert.Equal(t, cure.Maximum, c.Curves[cure.Cured].States, row.id)
		assert.Contains(t, c.Curves[cure.Cured].From, "memory", row.id)
	}
}

// MIL-S-29574, scope: a rapid class cures in about 80 % less time than two-part
// polysulfide of equal application time. 72 h × 0.20 = 14.4 h.
func TestRapidClassCuresIn80PercentLess(t *testing.T) {
	for rapid, slow := range map[string]string{
		"polythioether-rapid-2": "polysulfide-b-2", "polythioether-rapid-half": "polysulfide-b-half",
		"low-adhesion-rapid-2": "low-adhesion-2",
	} {
		f, s := find(t, rapid), find(t, slow)
		assert.InDelta(t, plain(t, s, cure.Application, "25C", 50, cure.Bead{}), plain(t, f, cure.Application, "25C", 50, cure.Bead{}), 1e-9)
		assert.InDelta(t, 0.20*plain(t, s, cure.Cured, "25C", 50, cure.Bead{}), plain(t, f, cure.Cured, "25C", 50, cure.Bead{}), 1e-9, rapid)
	}
	assert.InDelta(t, 14.4, plain(t, find(t, "polythioether-rapid-2"), cure.Cured, "77F", 50, cure.Bead{}), 1e-9)
}

// A public data sheet of building-grade two-part polysulfide (ASTM C920 M-25): full
// cure 14 d at 25 °C, 7 d at 40 °C, where the 10 °C rule would promise 4.95 d.
func TestWarmthIsCreditedNoFasterThanTheSheet(t *testing.T) {
	c := find(t, "polysulfide-b-2")
	full := c.Curves[cure.FullCure]
	air := cure.Air{TempC: 40, RH: 50}
	assert.InDelta(t, 7, full.Credit.Form.Seconds(40, 50, air.Vapour(), cure.Bead{})/86400, 1e-9)
	assert.InDelta(t, 4.95, full.Plain(40, 50, air.Vapour(), cure.Bead{})/86400, 0.005)
	for m := cure.TackFree; m < cure.NumMilestones; m++ {
		require.NotNil(t, c.Curves[m].Credit, m)
		assert.LessOrEqual(t, c.Curves[m].Credit.MaxC, 40.0, "no credit beyond the sheet's warmest point")
	}
}

// US Army TM 10-8110-201-14&P §5-14: usable 20, 15, 10 min at 5, 15, 25 °C (41, 59,
// 77 °F); opened life 6 months; store at 30 °C or less.
func TestElastomerPatchCompoundIsExactAtItsPoints(t *testing.T) {
	c := find(t, "elastomer-patch-compound")
	for temp, minutes := range map[string]float64{"5C": 20, "15C": 15, "25C": 10, "41F": 20, "59F": 15, "77F": 10} {
		assert.InDelta(t, minutes/60, plain(t, c, cure.Application, temp, 50, cure.Bead{}), 1e-9, temp)
	}
	assert.NotEmpty(t, c.Curves[cure.Application].ColdExtends, "its table itself says that cold lengthens the time")
	assert.Equal(t, 6, c.Shelf.Opened.Value.Months())
	assert.Equal(t, 30.0, c.Shelf.Store.Value.Hi)
}

// Two-part epoxies: US Army TM 1-1520-240 series (Adhesive System No. 5); TM
// 55-1520-240-23-4 (paste); a county public record (pot life of pipe epoxy).
func TestEpoxiesAreExactAtTheirPoints(t *testing.T) {
	for _, row := range []struct {
		id, temp string
		m        cure.Milestone
		hours    float64
	}{
		{"epoxy-adhesive-heat-resistant", "70F", cure.Cured, 24},
		{"epoxy-adhesive-heat-resistant", "104F", cure.Cured, 11},
		{"epoxy-adhesive-heat-resistant", "120F", cure.Cured, 8},
		{"epoxy-adhesive-heat-resistant", "170F", cure.Cured, 2},
		{"epoxy-paste", "70F", cure.Cured, 36},
		{"epoxy-paste", "110F", cure.Cured, 16},
		{"epoxy-paste", "60F", cure.Application, 0.75},
		{"epoxy-paste", "100F", cure.Application, 8. / 60},
	} {
		assert.InDelta(t, row.hours, plain(t, find(t, row.id), row.m, row.temp, 50, cure.Bead{}), 1e-6, "%s %s", row.id, row.temp)
	}
}

// A generic data sheet of one-part acetoxy silicone: 2 mm in 24 h at 25 °C and 50 %
// RH, at most 6 mm. Depth grows with the root of time (J. Comyn, Int. J. Adhesion &
// Adhesives 18 (1998) 247), so 3 mm takes 54 h and 6 mm 216 h; by vapour pressure
// alone 25 % RH takes 48 h and 80 % 15 h.
func TestAcetoxySiliconeCuresByTheFront(t *testing.T) {
	c := find(t, "silicone-acetoxy")
	for _, row := range []struct{ depth, rh, hours float64 }{
		{2, 50, 24}, {3, 50, 54}, {6, 50, 216}, {2, 25, 48}, {2, 80, 15},
	} {
		assert.InDelta(t, row.hours, plain(t, c, cure.Cured, "25C", row.rh, cure.Bead{DepthMM: row.depth}), 1e-6, "%+v", row)
	}
	cv := c.Curves[cure.Cured]
	assert.Equal(t, 6.0, cv.MaxDepth)
	// The window of a trade association text.
	assert.Equal(t, quantity.Range{Lo: 5, Hi: 40}, cv.Temp)
	assert.Equal(t, quantity.Range{Lo: 5, Hi: 95}, cv.RH)
}

// What the sources refuse: a part at 55 °F (light-aircraft manual ch. 20-10, USAF
// T.O. 1-1-700 §12.5.1.2), a surface at 100 °F (§12.5.1.3), heat above 110 °F (US Army
// TM 1-1500-204-23-6 §6-1d) or within 30 min (T.O. 1-1-700), an anaerobic gap over
// 0.76 mm (adhesives handbooks).
func TestPublishedLimitsAreInTheClasses(t *testing.T) {
	b2 := find(t, "polysulfide-b-2")
	for temp, ok := range map[string]bool{"55F": false, "60F": false, "61F": true, "77F": true, "89F": true, "100F": false} {
		c, err := quantity.Temp(temp)
		require.NoError(t, err)
		assert.Equal(t, ok, b2.Apply.Part.Contains(c), temp)
	}
	ceiling, _ := quantity.Temp("110F")
	assert.LessOrEqual(t, b2.Heat.MaxC, ceiling)
	assert.Equal(t, 30*time.Minute, b2.Heat.After)
	assert.Equal(t, 0.76, find(t, "anaerobic-threadlocker").MaxGapMM)
}

// ISO 2230:2002, read in two copies: first storage period and extension in years by
// group, the extension once and after inspection; 25 °C or less, under 65 % RH.
func TestISO2230Groups(t *testing.T) {
	for id, years := range map[string][2]int{"a": {5, 2}, "b": {7, 3}, "c": {10, 5}} {
		s := find(t, "elastomer-iso-2230-"+id).Shelf
		assert.Equal(t, years[0], s.Unopened.Value.Years(), id)
		assert.Equal(t, Extension{Kind: ExtendByPeriod, By: period.NewYMD(years[1], 0, 0), Max: 1, Authority: "ISO 2230:2002, after inspection"}, s.Extension.Value, id)
		assert.Equal(t, quantity.Range{Lo: NoLowerBound, Hi: 25}, s.Store.Value)
		assert.Equal(t, 65.0, s.StoreRH.Value.Hi)
		assert.Equal(t, EndOfQuarter, s.Convention.Value)
	}
}

// SAE ARP5316/AS5316, read in copies: years from cure; 0 is unlimited. SBR is 3 or 15
// by source: the shorter is taken. Stored under 38 °C: 38 °C itself is outside. The
// copies give no extension.
func TestAS5316PolymerGroups(t *testing.T) {
	for id, years := range map[string]int{"au-eu": 5, "nbr": 15, "cr": 15, "acm": 15, "sbr": 3, "fkm": 0, "silicone": 0, "epdm": 0, "ptfe": 0} {
		s := find(t, "elastomer-as5316-"+id).Shelf
		assert.Equal(t, years, s.Unopened.Value.Years(), id)
		assert.Equal(t, years == 0, s.Unlimited, id)
		assert.True(t, s.Store.Value.Contains(37.8) && !s.Store.Value.Contains(38), id) // 37.8 °C is 100 °F
		assert.Equal(t, ExtendNone, s.Extension.Value.Kind, id)
	}
}

// MMM-A-1617B §3.4.1: types I and III may be extended by 6 months, type II by 3.
func TestRubberAdhesiveExtensions(t *testing.T) {
	for typ, months := range map[int]int{1: 6, 2: 3, 3: 6} {
		e := find(t, "rubber-adhesive-type-"+strconv.Itoa(typ)).Shelf.Extension.Value
		assert.Equal(t, months, e.By.Months(), typ)
		assert.Equal(t, "MMM-A-1617B §3.4.1", e.Authority)
	}
}

// A light-aircraft maintenance manual ch. 20-10: 40-80 °F, never above 95 °F, once
// above 80 °F use within five weeks. MIL-S-29574 scope: 12 months below 80 °F.
func TestPublishedStorageRules(t *testing.T) {
	s := find(t, "polysulfide-b-2").Shelf
	assert.InDelta(t, (80.-32)*5/9, s.Store.Value.Hi, 0.5)
	assert.InDelta(t, (40.-32)*5/9, s.Store.Value.Lo, 0.5)
	assert.InDelta(t, (95.-32)*5/9, s.Bounds.Value.Hi, 0.01)
	assert.Equal(t, 35, s.Hot.Value.Within.Days())
	months := find(t, "polythioether-rapid-2").Shelf.Unopened.Value
	assert.Equal(t, 12, 12*months.Years()+months.Months())
}
