package catalog

import (
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/cure"
)

func TestBuiltinSetLintsClean(t *testing.T) {
	assert.Empty(t, Lint([]byte(builtin), "builtin.yaml"))
}

func TestBuiltinSetHasEveryFamily(t *testing.T) {
	c := Builtin()
	assert.GreaterOrEqual(t, len(c.IDs()), 24)
	for _, id := range []string{
		"polysulfide-a-half", "polysulfide-a-2", "polysulfide-b-half", "polysulfide-b-1", "polysulfide-b-2",
		"polysulfide-b-4", "polysulfide-c-8-20", "polysulfide-c-8-48", "polysulfide-c-24-80",
		"polythioether-rapid-half", "polythioether-rapid-2", "corrosion-inhibiting-faying-12",
		"corrosion-inhibiting-faying-24", "polysulfide-b-2-premixed", "silicone-firewall", "silicone-acetoxy",
		"silicone-neutral", "polyurethane-one-part", "epoxy-paste", "anaerobic-threadlocker", "low-adhesion-2",
		"low-adhesion-rapid-half", "conductive-sealant-2", "adhesion-promoter", "epoxy-primer",
		"film-adhesive-frozen", "elastomer-iso-2230-a", "elastomer-iso-2230-b", "elastomer-iso-2230-c",
		"elastomer-as5316-nbr", "elastomer-as5316-fkm", "grease-general", "topcoat-polyurethane",
	} {
		_, err := c.Find(id)
		assert.NoError(t, err, id)
	}
	for _, k := range Kinds() {
		assert.NotEmpty(t, c.ByKind(k), "kind %s", k)
	}
}

// Reading one block alone must give what reading the whole file gives, line numbers
// included.
func TestBuiltinClassesReadAloneAsInTheWhole(t *testing.T) {
	whole, err := Read([]byte(builtin), BuiltinFile)
	require.NoError(t, err)
	assert.Equal(t, whole, Builtin().All())
}

var tag = regexp.MustCompile(`\b(read|derived|memory|common practice|assumed|own decision)\b`)

func TestEveryBuiltinNumberSaysWhereItComesFrom(t *testing.T) {
	for _, c := range Builtin().All() {
		sources := c.Sources()
		require.NotEmpty(t, sources, c.ID)
		for _, s := range sources {
			assert.Regexp(t, tag, s.From, "%s: %s", c.ID, s.What)
		}
		// Counted apart from Sources: every Known shelf value and every curve.
		known := 0
		for _, cv := range c.Curves {
			if cv != nil {
				known++
				assert.NotEmpty(t, cv.From, c.ID)
			}
		}
		if c.Shelf != nil {
			v := reflect.ValueOf(*c.Shelf)
			for i := range v.NumField() {
				f := v.Field(i)
				if f.Kind() == reflect.Struct && f.FieldByName("Known").Bool() {
					known++
					assert.NotEmpty(t, f.FieldByName("From").String(), "%s shelf %s", c.ID, v.Type().Field(i).Name)
				}
			}
		}
		assert.GreaterOrEqual(t, len(sources), known, c.ID)
		if c.Spec != "" || c.Density != 0 || c.KitML != 0 || c.MaxGapMM != 0 || c.SealWithin != 0 {
			assert.NotEmpty(t, c.From, c.ID)
		}
	}
}

// Names are generic: common words and the short names of standards and rubbers
// (ISO 1629), no proper names and no trade marks.
func TestBuiltinNamesAreGeneric(t *testing.T) {
	assert.NotContains(t, builtin, "®")
	assert.NotContains(t, builtin, "™")
	capital := regexp.MustCompile(`\b[A-Z][A-Za-z0-9]*\b`)
	allowed := strings.Fields("ISO AS5316 A B C NR IR BR SBR AU EU NBR HNBR CR IIR ACM ECO FKM FFKM VMQ FVMQ EPDM CSM PTFE I II III")
	for _, c := range Builtin().All() {
		for i, w := range capital.FindAllString(c.Name, -1) {
			first := i == 0 && strings.HasPrefix(c.Name, w)
			assert.True(t, first || slices.Contains(allowed, w), "%s: %s", c.ID, w)
		}
		assert.Regexp(t, `^$|^(AMS|MIL-|MMM-|ASTM |ISO |AS)`, c.Spec, c.ID)
	}
}

func TestBuiltinTwoPartSealantsTreatDryAirByTheirGrade(t *testing.T) {
	c := Builtin()
	for _, cl := range c.ByKind(TwoPart) {
		require.NotNil(t, cl.Moisture, cl.ID)
		assert.Equal(t, 40., cl.Moisture.MinRH, cl.ID)
	}
	for id, witness := range map[string]bool{
		"polysulfide-b-2": true, "polysulfide-a-2": true, "polythioether-rapid-2": true,
		"polysulfide-c-8-20": false, "polysulfide-c-24-80": false, "corrosion-inhibiting-faying-12": false,
		"low-adhesion-2": false, "low-adhesion-rapid-half": false, "conductive-sealant-2": false,
	} {
		cl, err := c.Find(id)
		require.NoError(t, err)
		assert.Equal(t, witness, cl.Moisture.ClosedWitness, id)
	}
}

func TestUnknownClassNamesItsNearest(t *testing.T) {
	for _, row := range []struct{ id, want string }{
		{"polysulphide-b-2", `class "polysulphide-b-2" does not exist: the nearest are polysulfide-b-2, `},
		{"silicone", "silicone-"},
		{"b-2", "polysulfide-b-2"},
		{"xyzzy", "beadline class list names the"},
	} {
		_, err := Builtin().Find(row.id)
		require.Error(t, err)
		assert.Contains(t, err.Error(), row.want)
		assert.LessOrEqual(t, strings.Count(err.Error(), ", "), 2, "three names at most")
	}
}

const seal = `
- id: %s
  name: Test seal
  kind: elastomer
  cautions: []
  shelf: {unopened: %s, from: "assumed"}
`

func TestLaterClassWinsAndTheClashIsReported(t *testing.T) {
	write := func(id, life string) []byte {
		return []byte(strings.NewReplacer("%s", id).Replace(strings.Replace(seal, "unopened: %s", "unopened: "+life, 1)))
	}
	c := Builtin()
	n := len(c.IDs())

	clashes, err := c.Add(write("my-seal", "2 years"), "a.yaml")
	require.NoError(t, err)
	assert.Empty(t, clashes)
	assert.Len(t, c.IDs(), n+1)

	clashes, err = c.Add(write("my-seal", "3 years"), "b.yaml")
	require.NoError(t, err)
	assert.Equal(t, []string{"b.yaml:2: class my-seal replaces the one of a.yaml:2"}, clashes)
	got, err := c.Find("my-seal")
	require.NoError(t, err)
	assert.Equal(t, 3, got.Shelf.Unopened.Value.Years())
	assert.Equal(t, "b.yaml", got.File)

	clashes, err = c.Add(write("grease-general", "1 years"), "c.yaml")
	require.NoError(t, err)
	assert.Equal(t, []string{"c.yaml:2: class grease-general replaces the one of the built-in set"}, clashes)
	assert.Len(t, c.IDs(), n+1)
	assert.Empty(t, c.ByKind(Grease), "the replacement is an elastomer")

	_, err = c.Add([]byte("- id: x"), "d.yaml")
	var problems Problems
	require.ErrorAs(t, err, &problems)
	assert.Len(t, c.IDs(), n+1, "nothing of a faulty file is added")
}

func TestEmptyCatalogFindsNothing(t *testing.T) {
	var c Catalog
	_, err := c.Find("polysulfide-b-2")
	assert.Error(t, err)
	_, err = c.Add([]byte(strings.NewReplacer("%s", "x").Replace(strings.Replace(seal, "%s, from", "1 years, from", 1))), "x.yaml")
	require.NoError(t, err)
	assert.Equal(t, []string{"x"}, c.IDs())
}

func TestEveryCautionWordHasASentence(t *testing.T) {
	for _, w := range CautionWords() {
		s, ok := Caution(w)
		assert.True(t, ok && strings.HasSuffix(s, "."), w)
	}
	_, ok := Caution("sunshine")
	assert.False(t, ok)
	b2, err := Builtin().Find("polysulfide-b-2")
	require.NoError(t, err)
	all := strings.Join(append(b2.CautionSentences(), GeneralCautions()...), "\n")
	for _, want := range []string{"chromate", "gloves", "eye protection", "ventilate", "50 ft", "approved maintenance data"} {
		assert.Contains(t, all, want)
	}
}

func TestPartsFollowTheKindUnlessSaid(t *testing.T) {
	c := Builtin()
	for id, mixed := range map[string]bool{
		"polysulfide-b-2": true, "polysulfide-b-2-premixed": false, "silicone-acetoxy": false,
		"epoxy-paste": true, "rubber-adhesive-type-1": false, "anaerobic-threadlocker": false,
	} {
		cl, err := c.Find(id)
		require.NoError(t, err)
		assert.Equal(t, mixed, cl.MixByHand, id)
	}
}

func TestWhatAKindNeedsIsThere(t *testing.T) {
	for _, c := range Builtin().All() {
		rule, ok := ruleOf(c.Kind)
		require.True(t, ok)
		for _, m := range rule.needs {
			assert.True(t, c.Has(m), "%s: %s", c.ID, m)
		}
	}
	b2, _ := Builtin().Find("polysulfide-b-2")
	assert.True(t, b2.Takes(cure.Faying))
	assert.False(t, b2.Takes(cure.FormedGasket))
}

func BenchmarkFindOneBuiltin(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Builtin().Find("polysulfide-b-2"); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkReadAllBuiltin(b *testing.B) {
	for b.Loop() {
		if len(Builtin().All()) == 0 {
			b.Fatal("empty")
		}
	}
}

func BenchmarkLintBuiltin(b *testing.B) {
	for b.Loop() {
		Lint([]byte(builtin), "builtin.yaml")
	}
}
