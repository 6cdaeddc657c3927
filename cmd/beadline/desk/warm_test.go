package desk

import (
	"encoding/csv"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/air"
	"beadline/cure/warmup"
)

func builtinClass(t require.TestingT, id string) *catalog.Class {
	c, err := catalog.Builtin().Find(id)
	require.NoError(t, err)
	return &c
}

// coldPack asks about a pack of 50 ml in a room of 21 °C and 50 % RH.
func coldPack(t require.TestingT, id string) WarmQuestion {
	return WarmQuestion{Class: builtinClass(t, id), Pack: warmup.Pack{Shape: warmup.Cartridge, VolumeML: 50},
		FromC: -40, Room: cure.Air{TempC: 21, RH: 50}, MarginC: 2, BathC: math.NaN(), ToC: math.NaN()}
}

func warmed(t require.TestingT, q WarmQuestion) *Warm {
	w, err := AskWarm(q)
	require.NoError(t, err)
	return w
}

func warmLine(t require.TestingT, w *Warm, name WarmName) WarmLine {
	l, ok := w.line(name)
	require.True(t, ok, "no line %s", name)
	return l
}

// Dew points as printed in the dew-point table of testdata/published/air.csv.
func TestPackOpensThreeDegreesAboveThePublishedDewPoint(t *testing.T) {
	f, err := os.Open("../../../testdata/published/air.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	tried := 0
	for _, r := range rows {
		m := regexp.MustCompile(`^t=(\d+) rh=(\d+)$`).FindStringSubmatch(r[1])
		if r[0] != "dew-point" || m == nil {
			continue
		}
		q := coldPack(t, "film-adhesive-frozen")
		q.Room.TempC, _ = strconv.ParseFloat(m[1], 64)
		q.Room.RH, _ = strconv.ParseFloat(m[2], 64)
		dew, err := strconv.ParseFloat(r[2], 64)
		require.NoError(t, err)
		w := warmed(t, q)
		assert.InDelta(t, dew, w.DewC, 0.1, r[1])
		assert.Equal(t, w.DewC+3, w.OpenC, "3 °C as in ISO 8502-4")
		tried++
	}
	assert.GreaterOrEqual(t, tried, 4)
}

// The likely line is the likely pack in the room as said, the safe one the pack at its
// slowest in a room 2 °C colder.
func TestWarmLinesAreThoseOfThePhysics(t *testing.T) {
	w := warmed(t, coldPack(t, "polysulfide-b-2-premixed"))
	for _, row := range []struct {
		body   warmup.Body
		around float64
		likely bool
	}{{w.Pack.Likely(warmup.StillAir), 21, true}, {w.Pack.Safe(warmup.StillAir), 19, false}} {
		b, err := warmup.New(row.body)
		require.NoError(t, err)
		for _, l := range []struct {
			name WarmName
			p    warmup.Place
			to   float64
		}{{WarmDry, warmup.Surface, w.OpenC}, {WarmOpen, warmup.Core, w.OpenC}, {WarmUse, warmup.Core, 16}} {
			want, ok, err := b.Reach(l.p, -40, row.around, l.to)
			require.True(t, ok && err == nil)
			got := warmLine(t, w, l.name)
			if row.likely {
				assert.InDelta(t, want.Seconds(), got.Likely.Seconds(), 0.5, l.name)
			} else {
				assert.InDelta(t, want.Seconds(), got.Span.Seconds(), 1, l.name)
				assert.GreaterOrEqual(t, got.Span, want, "rounded to the late side")
			}
		}
	}
}

func TestWarmTargetIsTheClassesOwnUnlessAsked(t *testing.T) {
	q := coldPack(t, "polysulfide-b-2")
	assert.Equal(t, 16.0, warmed(t, q).UseC, "the coldest part that it is laid on")
	q.ToC = 20
	assert.Equal(t, 20.0, warmed(t, q).UseC)
	w := warmed(t, coldPack(t, "film-adhesive-frozen"))
	assert.Equal(t, 18.0, w.UseC)
	assert.Contains(t, w.UseFrom.From, "assumed")
}

func TestWarmTargetBelowTheClassIsWarnedOf(t *testing.T) {
	q := coldPack(t, "polysulfide-b-2")
	q.ToC = 15.9
	assert.Contains(t, warmed(t, q).Mind, "15.9 C is colder than 16 C, the coldest part that the class is laid on: do not mix it so cold unless the maker's data sheet says so.")
	for _, c := range []float64{16, math.NaN()} {
		q.ToC = c
		for _, m := range warmed(t, q).Mind {
			assert.NotContains(t, m, "colder than")
		}
	}
}

func TestWarmNeverBeatsItsDoubts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := coldPack(t, rapid.SampledFrom([]string{"polysulfide-b-2-premixed", "polysulfide-b-2", "film-adhesive-frozen", "silicone-acetoxy"}).Draw(t, "class"))
		q.Pack = warmup.Pack{Shape: rapid.SampledFrom(warmup.Shapes()).Draw(t, "shape"), VolumeML: rapid.Float64Range(2, 2000).Draw(t, "ml")}
		q.FromC = rapid.Float64Range(-70, 10).Draw(t, "from")
		q.Room = cure.Air{TempC: rapid.Float64Range(10.1, 30).Draw(t, "room"), RH: rapid.Float64Range(0, 95).Draw(t, "rh")}
		q.Fan = rapid.Bool().Draw(t, "fan")
		base, err := askWarm(q)
		if err != nil {
			t.Fatal(err)
		}
		dry, open, use := warmLine(t, base, WarmDry), warmLine(t, base, WarmOpen), warmLine(t, base, WarmUse)
		for _, pair := range [][2]WarmLine{{dry, open}, {open, use}} {
			a, b := pair[0], pair[1]
			if b.Known && (!a.Known || a.Span > b.Span) || b.LikelyKnown && (!a.LikelyKnown || a.Likely > b.Likely) {
				t.Fatalf("%s is after %s", a.Name, b.Name)
			}
		}
		for _, l := range base.Lines[:3] {
			if l.Known && (!l.LikelyKnown || l.Likely > l.Span+time.Second) {
				t.Fatalf("%s: likely %v, safe %v", l.Name, l.Likely, l.Span)
			}
		}
		if end, ok := base.line(WarmEnd); ok && len(base.Stops) == 0 && use.Span >= end.Span {
			t.Fatalf("used from %v, its life ends %v, and nothing is said", use.Span, end.Span)
		}
		if len(base.Stops) == 0 && (!open.Known || !use.Known) {
			t.Fatal("no line, and nothing is said")
		}
		// More doubt, more damp, more cold and more in the pack make nothing sooner.
		for what, change := range map[string]func(*WarmQuestion){
			"margin": func(q *WarmQuestion) { q.MarginC++ }, "damp": func(q *WarmQuestion) { q.Room.RH += 5 },
			"cold": func(q *WarmQuestion) { q.FromC -= 10 }, "size": func(q *WarmQuestion) { q.Pack.VolumeML *= 1.5 },
			"no fan": func(q *WarmQuestion) { q.Fan = false },
		} {
			r := q
			change(&r)
			worse, err := askWarm(r)
			if err != nil {
				t.Fatal(err)
			}
			for i, l := range worse.Lines[:3] {
				if b := base.Lines[i]; l.Known && (!b.Known || l.Span < b.Span-time.Second) {
					t.Fatalf("%s: %s after %v, not %v", what, l.Name, l.Span, b.Span)
				}
			}
		}
	})
}

// A premixed pack's pot life runs from leaving the freezer as in the warmest it may lie
// in; the first of it and the thaw life counts.
func TestPotLifeOfAPremixedPackRunsFromTheFreezer(t *testing.T) {
	q := coldPack(t, "polysulfide-b-2-premixed")
	w := warmed(t, q)
	assert.Equal(t, 2*time.Hour, warmLine(t, w, WarmEnd).Span, "at 23 °C it is never longer than rated, and the thaw life is 2 h")
	q.BathC = 43
	// The 10 °C rule from 2 h at 25 °C: at 45 °C a quarter.
	end := warmLine(t, warmed(t, q), WarmEnd)
	assert.Equal(t, 30*time.Minute, end.Span)
	assert.Contains(t, end.Why, "at 45 C")
	_, ok := warmed(t, coldPack(t, "polysulfide-b-2")).line(WarmEnd)
	assert.False(t, ok, "a kit that is not mixed has no clock running")
	assert.Equal(t, 240*time.Hour, warmLine(t, warmed(t, coldPack(t, "film-adhesive-frozen")), WarmEnd).Span)
}

const thawedClass = `- id: frozen
  name: Frozen
  kind: premixed-frozen
  seals: [fillet]
  cautions: []
  curves:
    application: {doubling: {ref: 25C, time: 2h, step: 10C}, range: 0..50C, from: "sheet"}
    tack-free: {doubling: {ref: 25C, time: 10h, step: 10C}, range: 0..50C, from: "sheet"}
    cure: {doubling: {ref: 25C, time: 72h, step: 10C}, range: 5..40C, from: "sheet"}
  shelf: {store: ..-40C, thaw-life: 8h, thaw: {takes: 90min, in: 18..30C, life-from: thawed}, from: "the maker's sheet"}
`

func TestLifeCountsFromTheThawOnlyWhereTheClassSaysSo(t *testing.T) {
	ask := func(text string, change func(*WarmQuestion)) *Warm {
		classes, err := catalog.Read([]byte(text), "x.yaml")
		require.NoError(t, err)
		q := coldPack(t, "polysulfide-b-2")
		q.Class = &classes[0]
		q.Pack.VolumeML = 10
		if change != nil {
			change(&q)
		}
		return warmed(t, q)
	}
	end := warmLine(t, ask(thawedClass, nil), WarmEnd)
	assert.Equal(t, 90*time.Minute+2*time.Hour, end.Span)
	assert.Contains(t, end.From, "the maker's sheet")
	assert.Contains(t, end.Why, "from the end of the thaw")
	end = warmLine(t, ask(strings.Replace(thawedClass, ", life-from: thawed", "", 1), nil), WarmEnd)
	assert.Equal(t, 2*time.Hour, end.Span)
	end = warmLine(t, ask(strings.Replace(thawedClass, "thaw-life: 8h", "thaw-life: 3h", 1), nil), WarmEnd)
	assert.Equal(t, 3*time.Hour, end.Span, "the thaw life still runs from leaving the freezer")

	// The maker's way of thawing is not undercut, and its temperatures hold.
	use := warmLine(t, ask(thawedClass, func(q *WarmQuestion) { q.Fan, q.ToC = true, 10 }), WarmUse)
	assert.Equal(t, 90*time.Minute, use.Span)
	assert.Equal(t, "the maker's thaw takes 1 h 30 min", use.Why)
	slow := ask(thawedClass, func(q *WarmQuestion) { q.Pack.VolumeML = 50 })
	assert.Greater(t, warmLine(t, slow, WarmUse).Span, 90*time.Minute, "nor is physics")
	cool := ask(thawedClass, func(q *WarmQuestion) { q.Room.TempC = 17.9 })
	require.NotEmpty(t, cool.Stops)
	assert.Equal(t, "This class is thawed in 18 to 30 C, and here it lies in 17.9 C.", cool.Stops[0])
}

func TestWarmthAboveTheCeilingIsRefused(t *testing.T) {
	for id, want := range map[string]struct {
		c   float64
		why string
	}{
		"polysulfide-b-2-premixed": {43, "ceiling for heat"}, // TM 1-1500-204-23-6 §6-1d: 110 °F
		"polysulfide-b-2":          {35, "never have left"},  // a light-aircraft manual ch. 20-10: never above 95 °F
	} {
		c, why := WarmCeiling(builtinClass(t, id))
		assert.Equal(t, want.c, c, id)
		assert.Contains(t, why, want.why, id)
		q := coldPack(t, id)
		q.BathC = want.c
		_, err := AskWarm(q)
		assert.NoError(t, err)
		q.BathC = want.c + 0.1
		_, err = AskWarm(q)
		assert.ErrorContains(t, err, "is not warmed above", id)
		q = coldPack(t, id)
		q.Room.TempC = want.c + 1
		_, err = AskWarm(q)
		assert.ErrorContains(t, err, "is not warmed above", id)
	}
	c, _ := WarmCeiling(builtinClass(t, "film-adhesive-frozen"))
	assert.True(t, math.IsInf(c, 1))
}

func TestWarmRefusesWhatCannotBe(t *testing.T) {
	for want, change := range map[string]func(*WarmQuestion){
		"there is nothing to wait for": func(q *WarmQuestion) { q.FromC = 22 },
		"the room: temperature":        func(q *WarmQuestion) { q.FromC, q.Room.TempC = -60, -44 },
		"the room: humidity":           func(q *WarmQuestion) { q.Room.RH = 101 },
		"is no shape of a pack":        func(q *WarmQuestion) { q.Pack.Shape = "box" },
		"packs of 1 ml to 20 l":        func(q *WarmQuestion) { q.Pack.VolumeML = 1e5 },
	} {
		q := coldPack(t, "polysulfide-b-2")
		change(&q)
		_, err := AskWarm(q)
		require.ErrorContains(t, err, want)
		assert.NotContains(t, err.Error(), "\n")
	}
	q := coldPack(t, "film-adhesive-frozen")
	q.Pack = warmup.Pack{}
	_, err := AskWarm(q)
	assert.ErrorContains(t, err, "says nothing of how large a pack is")
}

// Each thing that would do does, asked by itself, and one step less does not.
func TestWhatWouldDoDoes(t *testing.T) {
	number := func(s, pattern string) float64 {
		m := regexp.MustCompile(pattern).FindStringSubmatch(s)
		require.NotNil(t, m, "%q does not say %s", s, pattern)
		v, err := strconv.ParseFloat(m[1], 64)
		require.NoError(t, err)
		return v
	}
	stops := func(q WarmQuestion) bool { return len(warmed(t, q).Stops) > 0 }
	seen := map[string]bool{}
	for _, q := range []WarmQuestion{
		coldPack(t, "polysulfide-b-2-premixed"),
		func() WarmQuestion { q := coldPack(t, "polysulfide-b-2"); q.Room.RH = 75; return q }(),
		func() WarmQuestion { q := coldPack(t, "polysulfide-b-2"); q.Room.TempC = 15; return q }(),
		func() WarmQuestion { q := coldPack(t, "polysulfide-b-2-premixed"); q.Pack.VolumeML = 20; return q }(),
		func() WarmQuestion {
			q := coldPack(t, "polysulfide-b-2-premixed")
			q.Pack.VolumeML, q.Fan, q.Room.TempC = 60, true, 22
			return q
		}(),
	} {
		w := warmed(t, q)
		require.NotEmpty(t, w.Stops)
		for _, fix := range w.Fixes {
			less, more := q, q
			pv := q.Room.Vapour()
			room := func(c float64) cure.Air { return cure.Air{TempC: c, RH: air.Humidity(c, pv)} }
			switch {
			case strings.HasPrefix(fix, "A fan on it from all sides: "):
				seen["fan"] = true
				more.Fan = true
			case strings.HasPrefix(fix, "A fan"):
				seen["fan and room"] = true
				c := number(fix, `room of (\d+) C`)
				more.Fan, less.Fan, more.Room, less.Room = true, true, room(c), room(c-1)
			case strings.HasPrefix(fix, "A room"):
				seen["room"] = true
				c := number(fix, `room of (\d+) C`)
				more.Room, less.Room = room(c), room(c-1)
			case strings.HasPrefix(fix, "Drier air"):
				seen["air"] = true
				rh := number(fix, `air, (\d+) %`)
				more.Room.RH, less.Room.RH = rh, rh+1
			case strings.HasPrefix(fix, "A water bath"):
				seen["bath"] = true
				c := number(fix, `bath of (\d+) C`)
				more.BathC, less.BathC = c, max(c-1, q.Room.TempC)
				more.Fan, less.Fan = false, false
				if c-1 <= q.Room.TempC {
					less = q // the first bath looked at
				}
			case strings.HasPrefix(fix, "Packs of"):
				seen["packs"] = true
				ml := number(fix, `Packs of (\d+) ml`)
				more.Pack.VolumeML, less.Pack.VolumeML = ml, min(ml+5, q.Pack.VolumeML)
			default:
				t.Fatalf("an unknown fix: %s", fix)
			}
			assert.False(t, stops(more), fix)
			assert.True(t, stops(less), "less would do: %s", fix)
		}
	}
	for _, kind := range []string{"fan", "room", "air", "bath", "packs"} {
		assert.True(t, seen[kind], "no case has %s", kind)
	}
}

func TestWarmSaysWhereEverythingComesFrom(t *testing.T) {
	for _, id := range []string{"polysulfide-b-2-premixed", "film-adhesive-frozen", "polysulfide-b-2", "elastomer-iso-2230-a"} {
		w := warmed(t, coldPack(t, id))
		for _, r := range w.RestsOn {
			assert.NotEmpty(t, r.From, "%s: %s", id, r.What)
			assert.NotEmpty(t, r.What, "%s: %s", id, r.From)
		}
		cautions := strings.Join(w.Cautions, "\n")
		for _, want := range []string{"burn the skin", "microwave", "wipe it dry", "approved maintenance data", "not a release"} {
			assert.Contains(t, cautions, want)
		}
	}
}

func TestWarmInstantsCountFromLeavingTheCold(t *testing.T) {
	q := coldPack(t, "film-adhesive-frozen")
	q.Left = time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)
	for _, l := range warmed(t, q).Lines {
		assert.Equal(t, q.Left.Add(l.Span), l.At, l.Name)
		assert.Equal(t, q.Left.Add(l.Likely), l.LikelyAt, l.Name)
	}
}

func TestSpansOfAWarmUpAreWholeMinutesOnTheSafeSide(t *testing.T) {
	for _, c := range []struct {
		span                     time.Duration
		before, likely, notAfter string
	}{
		{time.Second, "1 min", "1 min", "1 s"},
		{45*time.Minute + 3*time.Second, "46 min", "45 min", "45 min"},
		{59*time.Minute + 31*time.Second, "1 h", "1 h", "59 min"},
		{3*time.Hour + 15*time.Minute, "3 h 15 min", "3 h 15 min", "3 h 15 min"},
		{2*time.Hour + 30*time.Second, "2 h 01 min", "2 h 01 min", "2 h"},
		{48*time.Hour + time.Second, "2 d 1 h", "2 d", "2 d"},
	} {
		assert.Equal(t, c.before, WarmSpan(c.span, cure.NotBefore), c.span)
		assert.Equal(t, c.likely, WarmSpan(c.span, cure.Likely), c.span)
		assert.Equal(t, c.notAfter, WarmSpan(c.span, cure.NotAfter), c.span)
	}
}

func BenchmarkAskWarmWithFixes(b *testing.B) {
	q := coldPack(b, "polysulfide-b-2-premixed")
	for b.Loop() {
		if w, err := AskWarm(q); err != nil || len(w.Fixes) == 0 {
			b.Fatal(err)
		}
	}
}
