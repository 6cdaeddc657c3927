package catalog

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/cure"
	"beadline/cure/quantity"
)

// good is a class with every key the format has.
const good = `# a comment
- id: test-sealant
  name: Test sealant
  spec: ASTM C920
  kind: two-part
  parts: 2
  seals: [faying, fillet]
  apply: {part: 16..32C, rh: 40..85%, from: "assumed"}
  curves:
    application: {doubling: {ref: 25C, time: PT2H, step: 18F}, range: -1..49C, states: minimum, spread: -20..30%, cold-extends: {from: "sheet"}, from: "sheet"}
    assembly: {table: {ref: 25C, points: [[5C, 8h], [25C, 3h], [40C, 2h]]}, from: "sheet"}
    tack-free: {table: {ref: 25C, rh: 50%, points: [[10C, 30%, 90h], [10C, 50%, 80h], {temp: 25C, rh: 30%, time: 30h}, {temp: 25C, rh: 50%, time: 20h}]}, from: "sheet"}
    handling: {doubling: {ref: 25C, time: 30h, step: 10C}, range: 5..40C, humidity: {points: [[40%, 1.2], [50%, 1]], from: "sheet"}, from: "sheet"}
    cure: {arrhenius: {ref: 25C, time: 72h, ea: 52.95kJ/mol}, range: 5..40C, humidity: {power: 0.5, rh: 50%, from: "sheet"}, credit: {doubling: {ref: 25C, time: 72h, step: 20C}, max: 40C, from: "sheet"}, from: "sheet"}
    full-cure: {front: {ref: 25C, rh: 50%, time: 60 days, depth: 4mm, ea: 20kJ/mol}, range: 5..40C, rh: 20..95%, depth: 20mm, from: "sheet"}
  heat: {max: 40C, after: 30min, needs: all fasteners in, from: "assumed"}
  moisture: {min-rh: 40%, closed-film: by-witness, from: "assumed"}
  hardness: {at-cure: 30, final: 50, scale: A, from: "assumed"}
  shelf:
    unopened: 9 months
    opened: P3M
    store: ..27C
    rh: 0..65%
    bounds: ..35C
    hot: {above: 27C, use-within: 5 weeks}
    extension: half-original
    authority: USAF T.O. 1-1-700
    out-time: 10 days
    thaw-life: 2h
    refreeze: false
    convention: last-of-month
    from: "assumed"
  density: 1.65 g/ml
  kit: 8oz
  max-gap: 5mm
  seal-within: 8h
  cautions: [solvent, lead]
  from: "assumed"
`

func goodClass(t *testing.T) Class {
	t.Helper()
	classes, err := Read([]byte(good), "good.yaml")
	require.NoError(t, err)
	require.Len(t, classes, 1)
	return classes[0]
}

func TestEveryKeyOfTheFormatIsRead(t *testing.T) {
	c := goodClass(t)
	assert.Equal(t, "good.yaml", c.File)
	assert.Equal(t, 2, c.Line)
	assert.Equal(t, TwoPart, c.Kind)
	assert.True(t, c.MixByHand)
	assert.Equal(t, []cure.Seal{cure.Faying, cure.Fillet}, c.Seals)
	a := c.Curves[cure.Application]
	assert.Equal(t, cure.Doubling{RefC: 25, Time: 7200, StepC: 10}, a.Form, "18 °F is a step of 10 °C")
	assert.Equal(t, cure.Minimum, a.States)
	assert.Equal(t, []float64{0.2, 0.3}, []float64{a.Shorter, a.Longer})
	assert.Equal(t, "sheet", a.ColdExtends)
	assert.Equal(t, quantity.Range{Lo: 5, Hi: 40}, c.Curves[cure.Assembly].Temp, "a table's range is that of its points")
	assert.Equal(t, quantity.Range{Lo: 30, Hi: 50}, c.Curves[cure.TackFree].RH)
	assert.Equal(t, []cure.HumidityPoint{{RH: 40, Factor: 1.2}, {RH: 50, Factor: 1}}, c.Curves[cure.Handling].Humidity.Points)
	assert.Equal(t, 0.5, c.Curves[cure.Cured].Humidity.Power)
	assert.InDelta(t, 72*3600, c.Curves[cure.Cured].Rated(cure.Bead{}), 1e-6)
	assert.Equal(t, 40.0, c.Curves[cure.Cured].Credit.MaxC)
	assert.Equal(t, 20.0, c.Curves[cure.FullCure].MaxDepth)
	assert.Equal(t, 40.0, c.Heat.MaxC)
	assert.Equal(t, &Hardness{30, 50, "A", "assumed"}, c.Hardness)
	assert.True(t, c.Moisture.ClosedWitness)
	s := c.Shelf
	assert.Equal(t, 9, s.Unopened.Value.Months())
	assert.Equal(t, 3, s.Opened.Value.Months())
	assert.Equal(t, quantity.Range{Lo: NoLowerBound, Hi: 27}, s.Store.Value)
	assert.Equal(t, ExtendHalfOriginal, s.Extension.Value.Kind)
	assert.Equal(t, "USAF T.O. 1-1-700", s.Extension.Value.Authority)
	assert.Equal(t, LastOfMonth, s.Convention.Value)
	assert.True(t, s.Refreeze.Known)
	assert.False(t, s.Refreeze.Value)
	assert.InDelta(t, 8*28.349523125/1.65, c.KitML, 1e-9, "a mass is turned into a volume by the density")
	assert.Equal(t, []string{"solvent", "lead"}, c.Cautions)
}

// Each row changes one thing of the good class; the one line that comes back must
// name place, thing and remedy.
func TestBadInputGetsOneClearLineAtItsPlace(t *testing.T) {
	for _, row := range []struct{ name, old, new, want string }{
		{"misspelt key", "curves:\n    application: {doubling: {ref", "curves:\n    application: {doublng: {ref", `x.yaml:10:19: class test-sealant, application: unknown key "doublng": did you mean "doubling"?`},
		{"misspelt milestone", "tack-free:", "tackfree:", `x.yaml:12:5: class test-sealant, curves: unknown key "tackfree": did you mean "tack-free"?`},
		{"misspelt class key", "  spec:", "  spek:", `x.yaml:4:3: class test-sealant: unknown key "spek": did you mean "spec"?`},
		{"key like nothing", "  spec:", "  zzzzzzz:", `unknown key "zzzzzzz": the keys here are id, name, kind`},
		{"missing key", "  name: Test sealant\n", "", `x.yaml:2:3: class test-sealant: the key "name" is missing`},
		{"missing provenance", `states: minimum, spread: -20..30%, cold-extends: {from: "sheet"}, from: "sheet"`, `states: minimum`, `class test-sealant, application: the key "from" is missing: say where the numbers come from`},
		{"key twice", "  kind: two-part\n", "  kind: two-part\n  kind: grease\n", `x.yaml:6:3: class test-sealant: the key "kind" is there twice: keep one of them`},
		{"no unit", "time: PT2H", "time: 2", `x.yaml:10:46: class test-sealant, application, doubling: time: "2": a span of time needs its unit`},
		{"wrong unit", "ref: 25C, time: PT2H", "ref: 25min, time: PT2H", `x.yaml:10:35: class test-sealant, application, doubling: ref: "25min": a temperature cannot be in "min"`},
		{"zero time", "time: PT2H", "time: 0s", `"0s": the time must be more than zero`},
		{"range backwards", "range: -1..49C", "range: 49..-1C", "the range runs backwards"},
		{"no range", "range: -1..49C, ", "", `class test-sealant, application: the key "range" is missing: say between which temperatures`},
		{"two forms", "{doubling: {ref: 25C, time: PT2H, step: 18F}", "{doubling: {ref: 25C, time: PT2H, step: 18F}, front: {}", "doubling and front are both given: write exactly one of doubling, arrhenius, table, front"},
		{"no form", "{doubling: {ref: 25C, time: PT2H, step: 18F}, range", "{range", "no curve is given: write exactly one of"},
		{"negative step", "step: 18F", "step: -10C", `step: "-10C"`},
		{"silly step", "step: 18F", "step: 1C", "outside 3C..60C"},
		{"spread without sign", "-20..30%", "20..30%", "write the shorter side with a minus"},
		{"states", "states: minimum", "states: least", "write minimum, typical or maximum"},
		{"cold without source", `cold-extends: {from: "sheet"}`, "cold-extends: true", "needs its source"},
		{"table hole", "[10C, 50%, 80h], ", "", "the points must fill the grid"},
		{"table mixed", "[10C, 30%, 90h]", "[10C, 90h]", "some points give a humidity and some do not"},
		{"table rises", "[25C, 3h]", "[25C, 9h]", "the time does not fall from 5C to 25C"},
		{"table reference", "{table: {ref: 25C, points: [[5C", "{table: {ref: 20C, points: [[5C", "is not one of the table's points"},
		{"humidity word", `humidity: {power: 0.5, rh: 50%, from: "sheet"}`, "humidity: some", `"some" is not known: write none, {power`},
		{"humidity both", "power: 0.5, rh: 50%", "power: 0.5, points: [[1%, 1], [2%, 1]]", "either a power (with rh) or points"},
		{"humidity percent", "min-rh: 40%", "min-rh: 40", "write a relative humidity like 45%"},
		{"humidity above 100", "rh: 40..85%", "rh: 40..850%", "between 0% and 100%"},
		{"points fall", "[[40%, 1.2], [50%, 1]]", "[[50%, 1.2], [40%, 1]]", "the humidities do not rise"},
		{"credit too good", "step: 20C}, max", "step: 5C}, max", "the credit is shorter than the curve"},
		{"credit elsewhere", "time: 72h, step: 20C", "time: 60h, step: 20C", "give both the same time at the curve's reference"},
		{"credit max", "max: 40C, from: \"sheet\"}, from: \"sheet\"}\n    full", "max: 20C, from: \"sheet\"}, from: \"sheet\"}\n    full", "gives nothing at or below the reference 25 °C"},
		{"kind", "kind: two-part", "kind: twopart", `"twopart" is not known: did you mean "two-part"?`},
		{"seal", "[faying, fillet]", "[faying, filet]", `did you mean "fillet"?`},
		{"caution", "[solvent, lead]", "[solvant, lead]", `did you mean "solvent"?`},
		{"caution twice", "[solvent, lead]", "[lead, lead]", `"lead" is there twice`},
		{"id", "id: test-sealant", "id: Test Sealant", "write an id in small letters, digits and hyphens"},
		{"hardness falls", "final: 50", "final: 20", "hardness only rises"},
		{"hardness range", "at-cure: 30", "at-cure: 300", `"300" lies outside 0…100`},
		{"extension without authority", "    authority: USAF T.O. 1-1-700\n", "", "an extension needs the document that allows it"},
		{"authority without extension", "half-original", "none", "there is no extension to authorise"},
		{"extension word", "half-original", "sometimes", "write none, half-original or a span such as 6 months"},
		{"shelf life unit", "unopened: 9 months", "unopened: 9", "a shelf life needs its unit"},
		{"shelf life too long for its unit", "unopened: 9 months", "unopened: 1200 weeks", "write it in months or years"},
		{"convention", "last-of-month", "last-of-moon", `did you mean "last-of-month"?`},
		{"refreeze", "refreeze: false", "refreeze: perhaps", "write true or false"},
		{"density", "1.65 g/ml", "1.65", "write a density like 1.65g/ml"},
		{"kit", "kit: 8oz", "kit: large", "write a volume like 130ml"},
		{"empty value", "spec: ASTM C920", "spec:", "nothing is written behind the key"},
		{"block for a value", "spec: ASTM C920", "spec: {a: b}", "one value is wanted here"},
		{"value for a block", `heat: {max: 40C, after: 30min, needs: all fasteners in, from: "assumed"}`, "heat: 40C", "not a block of keys"},
		{"control characters", "name: Test sealant", `name: "Test \x1b[31m"`, "cannot be printed"},
		{"long name", "name: Test sealant", "name: " + strings.Repeat("a", 200), "at most 120"},
		{"anchor", "spec: ASTM C920", "spec: &a ASTM", "x.yaml:4:9: anchors and aliases (& * <<) are not allowed"},
		{"alias", "spec: ASTM C920", "spec: *a", "anchors and aliases"},
		{"merge", "  spec: ASTM C920", "  <<: {spec: ASTM}", "anchors and aliases"},
		{"tag", "spec: ASTM C920", "spec: !!str ASTM", "tags and directives"},
		{"no provenance of the class", "  cautions: [solvent, lead]\n  from: \"assumed\"\n", "  cautions: [solvent, lead]\n", `density: nothing says where the number comes from: add from:`},
		{"hot below store", "above: 27C", "above: 20C", "begins inside the store range"},
		{"reference outside", "range: -1..49C", "range: 30..49C", "the reference 25 °C lies outside the range 30..49C"},
		{"unopened unlimited", "unopened: 9 months", "unopened: unlimited", "an unlimited life needs no extension"},
		{"part too cold", "part: 16..32C", "part: 60..70C", "nothing of the part range 60..70C lies in the range"},
	} {
		t.Run(row.name, func(t *testing.T) {
			require.Contains(t, good, row.old)
			_, err := Read([]byte(strings.Replace(good, row.old, row.new, 1)), "x.yaml")
			require.Error(t, err)
			assert.Contains(t, err.(Problems)[0].String(), row.want)
			for _, p := range err.(Problems) {
				assert.NotContains(t, p.String(), "\n")
				assert.Positive(t, p.Line)
			}
		})
	}
}

func TestOneMistakeIsOneProblem(t *testing.T) {
	for _, change := range [][2]string{
		{"  kind: two-part", "  knid: two-part"},
		{"doubling: {ref: 25C, time: PT2H", "doubling: {ref: 25C, time: 2"},
		{"store: ..27C", "store: 4..27"},
	} {
		_, err := Read([]byte(strings.Replace(good, change[0], change[1], 1)), "x.yaml")
		var problems Problems
		require.ErrorAs(t, err, &problems, change[1])
		assert.Len(t, problems, 1, "%v", problems)
	}
}

func TestWholeFileRefusals(t *testing.T) {
	for _, row := range []struct{ name, data, want string }{
		{"empty", "", "x.yaml: the file holds no class"},
		{"comments only", "# nothing\n", "the file holds no class"},
		{"a mapping", "id: x", "x.yaml:1:1: the file is not a list of classes"},
		{"a word", "hello", "the file is not a list of classes"},
		{"a list of words", "- a\n- b", "class without id: not a block of keys"},
		{"two documents", "- id: a\n---\n- id: b", "a second document in the file"},
		{"unclosed quote", "- id: \"a", "not readable as YAML"},
		{"bad indent", "- id: a\n b: c\n   d: e", "x.yaml:"},
		{"not UTF-8", "- id: a\n  name: \xff", "x.yaml:2:9: not plain text"},
		{"NUL", "- id: \x00", "x.yaml:1:7: not plain text"},
		{"too large", strings.Repeat("#", MaxFile+1), "a class file has at most 4 MB"},
		{"deep brackets", "- id: " + strings.Repeat("[", 100000), "nested too deep"},
		{"deep dashes", strings.Repeat("- ", 100000) + "a", "nested too deep"},
		{"endless keys", "- id: a\n" + strings.Repeat("  k: b\n", 100000), "too many keys without a new class"},
		{"endless keys in brackets", "- {" + strings.Repeat("k: b, ", 100000), "too many keys without a new class"},
		{"brackets side by side", strings.Repeat("[]", 100000), "not readable as YAML"},
		{"complex key", "- ? a\n  : b", "“?” keys are not allowed"},
		{"directive", "%YAML 1.2\n---\n- id: a", "tags and directives"},
	} {
		classes, err := Read([]byte(row.data), "x.yaml")
		require.Error(t, err, row.name)
		assert.Empty(t, classes)
		assert.Contains(t, err.Error(), row.want, row.name)
		assert.NotContains(t, err.Error(), "\n", row.name)
	}
}

func TestDuplicateIdIsRefused(t *testing.T) {
	one := "- {id: a, name: A, kind: grease, cautions: []}\n"
	_, err := Read([]byte(one+one), "x.yaml")
	assert.EqualError(t, err, "x.yaml:2:1: class a is already defined on line 1: give one of them another id")
}

func TestWarningsDoNotStopAFile(t *testing.T) {
	data := []byte("- {id: a, name: A, kind: grease}\n")
	classes, err := Read(data, "x.yaml")
	require.NoError(t, err)
	assert.Len(t, classes, 1)
	problems := Lint(data, "x.yaml")
	require.Len(t, problems, 1)
	assert.Equal(t, Warning, problems[0].Severity)
	assert.Contains(t, problems[0].String(), "x.yaml:1:1: warning: class a lists no cautions")
}

func TestByteOrderMarkAndWindowsLinesAreRead(t *testing.T) {
	classes, err := Read([]byte("\ufeff- id: a\r\n  name: A\r\n  kind: grease\r\n  cautions: []\r\n"), "x.yaml")
	require.NoError(t, err)
	assert.Equal(t, "A", classes[0].Name)
}

func TestShelfProvenanceByKeyMustCoverEachNumber(t *testing.T) {
	_, err := Read([]byte("- {id: a, name: A, kind: grease, cautions: [], shelf: {unopened: 9 months, opened: 3 months, from: {unopened: sheet}}}"), "x.yaml")
	require.Error(t, err)
	assert.Contains(t, err.Error(), `opened: nothing says where the number comes from: add opened: "…" to the from block`)
}

func TestAKindWithoutItsCurveIsRefused(t *testing.T) {
	base := "- {id: a, name: A, kind: %s, seals: [fillet], cautions: []%s}"
	for _, row := range []struct{ kind, rest, want string }{
		{"two-part", "", "a class of kind two-part needs a curve for application"},
		{"promoter", "", "needs a curve for tack-free"},
		{"adhesive", ", curves: {application: {doubling: {ref: 25C, time: 1h, step: 10C}, range: 0..40C, from: s}}", "needs a curve for cure"},
		{"one-part-moisture", ", curves: {cure: {doubling: {ref: 25C, time: 24h, step: 10C}, range: 0..40C, from: s}}", "its cure must be a front"},
		{"premixed-frozen", "", "nothing says how long it may be out of the freezer"},
	} {
		_, err := Read(fmt.Appendf(nil, base, row.kind, row.rest), "x.yaml")
		require.Error(t, err)
		var all []string
		for _, p := range err.(Problems) {
			all = append(all, p.String())
		}
		assert.Contains(t, strings.Join(all, "\n"), row.want)
	}
	_, err := Read([]byte("- {id: a, name: A, kind: anaerobic, cautions: [], curves: {cure: {doubling: {ref: 25C, time: 1h, step: 10C}, range: 0..40C, from: s}}}"), "x.yaml")
	assert.NoError(t, err)
}

func TestHeatAboveEveryCurveIsWarnedOf(t *testing.T) {
	problems := Lint([]byte(strings.Replace(good, "heat: {max: 40C", "heat: {max: 60C", 1)), "x.yaml")
	require.Len(t, problems, 1)
	assert.Equal(t, Warning, problems[0].Severity)
	assert.Contains(t, problems[0].Text, "heat: 60 °C lies above the range of every curve of cure")
}

func twoSlopes(app, cureTime string, s1, s2, lo, hi float64) string {
	return fmt.Sprintf(`
- id: a
  name: A
  kind: adhesive
  cautions: []
  curves:
    tack-free: {doubling: {ref: 25C, time: %s, step: %.3fC}, range: %.2f..%.2fC, from: s}
    cure: {doubling: {ref: 25C, time: %s, step: %.3fC}, range: %.2f..%.2fC, from: s}
    application: {doubling: {ref: 25C, time: 1s, step: 60C}, range: 24..26C, from: s}
`, app, s1, lo, hi, cureTime, s2, lo, hi)
}

// Two doubling curves a·2^((25−T)/p) and b·2^((25−T)/q) cross at
// 25 − log2(b/a)/(1/p − 1/q), found by hand; the lint must refuse exactly the classes
// whose crossing lies inside the range.
func TestCrossingSlopesAreCaught(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.IntRange(1, 24).Draw(t, "a")
		k := rapid.IntRange(0, 4).Draw(t, "log2(b/a)")
		p := float64(rapid.IntRange(6, 30).Draw(t, "p"))
		q := float64(rapid.IntRange(6, 30).Draw(t, "q"))
		lo := float64(rapid.IntRange(-20, 20).Draw(t, "lo"))
		hi := float64(rapid.IntRange(30, 60).Draw(t, "hi"))
		_, err := Read([]byte(twoSlopes(fmt.Sprintf("%dh", a), fmt.Sprintf("%dh", a<<k), p, q, lo, hi)), "x.yaml")
		cross := 25 - float64(k)/(1/p-1/q) // ±Inf or NaN when parallel
		crosses := p != q && (cross > lo+1e-6 && cross < hi-1e-6 || k == 0)
		touches := p != q && !crosses && (cross > lo-1e-6 && cross < hi+1e-6)
		switch {
		case touches:
		case crosses:
			if err == nil {
				t.Fatalf("crosses at %g, not caught", cross)
			}
			assert.Contains(t, err.Error(), "tack-free comes before cure")
		default:
			if err != nil {
				t.Fatalf("crosses at %g outside %g..%g, but: %v", cross, lo, hi, err)
			}
		}
	})
}

// 10 h halving per 8 °C and 20 h halving per 16 °C meet at 25 − 1/(1/8 − 1/16) = 9 °C.
func TestOrderFailureNamesTheNearestTemperature(t *testing.T) {
	_, err := Read([]byte(twoSlopes("10h", "20h", 8, 16, 0, 40)), "x.yaml")
	require.Error(t, err)
	assert.Contains(t, err.Error(), "x.yaml:2:1: class a: at 8.5 °C tack-free takes 41 h")
}

func TestOrderIsCheckedOverHumidityToo(t *testing.T) {
	data := `
- id: a
  name: A
  kind: one-part-moisture
  seals: [fillet]
  cautions: []
  curves:
    application: {doubling: {ref: 25C, time: 10min, step: 30C}, range: 5..40C, from: s}
    tack-free: {doubling: {ref: 25C, time: 15h, step: 60C}, range: 20..30C, from: s}
    cure: {front: {ref: 25C, rh: 50%, time: 24h, depth: 2mm}, range: 20..30C, rh: 20..HIGH%, from: s}
`
	_, err := Read([]byte(strings.Replace(data, "HIGH", "50", 1)), "x.yaml")
	assert.NoError(t, err)
	_, err = Read([]byte(strings.Replace(data, "HIGH", "90", 1)), "x.yaml")
	require.Error(t, err)
	assert.Regexp(t, `class a: at .* and \d+% RH tack-free takes .* and cure only`, err.Error())
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(good))
	f.Add([]byte(goodEpoxy))
	f.Add([]byte(goodFrozen))
	f.Add([]byte(builtin[:4000]))
	for _, s := range []string{"", "- id: a", "- {id: a, curves: {cure: {table: {points: [[]]}}}}", "a: &b [*b]", "- id: a\n  shelf: {hot: 1, from: {}}", "- []", "- {}", "- id:\n- id: 3\n  from: {}", "? ", "- - -"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		classes, err := Read(data, "fuzz.yaml")
		if err != nil {
			if classes != nil {
				t.Fatal("classes and an error")
			}
			for _, p := range err.(Problems) {
				if p.Text == "" || strings.ContainsAny(p.String(), "\n\x1b") {
					t.Fatalf("not one clear line: %q", p)
				}
			}
			return
		}
		for _, c := range classes {
			if c.ID == "" || c.Name == "" {
				t.Fatal("a class without id or name")
			}
			for m, cv := range c.Curves {
				if cv == nil {
					continue
				}
				if s := cv.Rated(cure.Bead{}); !(s > 0) || !number(s) || cv.From == "" {
					t.Fatalf("%s: rated %v, from %q", cure.Milestone(m), s, cv.From)
				}
			}
		}
	})
}
