package cure

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Check values that are known and stand in no file, and why:
//
//   - An egg in boiling water (Cengel, example 4-3): from memory, and its Biot number
//     is 48. The part here is one lump, which holds below about 0.1; the program asks
//     for the time constant and cannot know a Biot number, so there is nothing to hold.
//   - Characteristic lengths (volume over surface) of the lumped examples: geometry
//     that the program does not do. The examples' rates and times are held.
//   - A two-part mix whose pot life falls by half above 90 °F (TM 1-1500-204-23-11):
//     the text does not say from which temperature.
//   - The activation energy of amine epoxy, 55 to 60 kJ/mol (Thermochimica Acta 447):
//     a parameter and not an answer.
//   - Times that are data of the built-in classes (dash numbers, 72 h × 0.20), and
//     flash-off before heat: held beside the classes, and by the checker of plans.
//   - Uncertainty (JCGM 101, GUM-5): no such calculation is in the program.
//   - Fits and certified regressions: beside the code that fits.

// sourced refuses a published table with a row that does not say where its value comes
// from and how that is known, and one with a quantity, by its first column, that rests
// on memory alone. Columns are found by their names: tables of other shapes are held
// to it too.
func sourced(records [][]string) error {
	if len(records) < 2 {
		return fmt.Errorf("no rows")
	}
	source, how := slices.Index(records[0], "source"), slices.Index(records[0], "how")
	switch {
	case source < 0:
		return fmt.Errorf("no source column")
	case how < 0:
		return fmt.Errorf("no how column")
	}
	stands := map[string]bool{} // whether more than memory speaks for it
	for i, f := range records[1:] {
		q, known := strings.TrimSpace(f[0]), strings.ToLower(strings.TrimSpace(f[how]))
		switch {
		case q == "":
			return fmt.Errorf("line %d: no quantity", i+2)
		case strings.TrimSpace(f[source]) == "":
			return fmt.Errorf("line %d: no source", i+2)
		case known == "":
			return fmt.Errorf("line %d: it is not said how it is known", i+2)
		}
		stands[q] = stands[q] || !strings.HasPrefix(known, "memory")
	}
	for q, ok := range stands {
		if !ok {
			return fmt.Errorf("%s rests on memory alone", q)
		}
	}
	return nil
}

func TestEveryPublishedTableSaysItsSources(t *testing.T) {
	files, err := filepath.Glob(publishedFolder + "/*.csv")
	require.NoError(t, err)
	for _, must := range []string{"air.csv", "cure.csv", "degree.csv", "kinetic.csv"} {
		assert.Contains(t, files, filepath.Join(publishedFolder, must))
	}
	for _, file := range files {
		f, err := os.Open(file)
		require.NoError(t, err)
		records, err := csv.NewReader(f).ReadAll()
		f.Close()
		require.NoError(t, err, file)
		assert.NoError(t, sourced(records), file)
	}
}

func TestTableWithoutSourcesIsRefused(t *testing.T) {
	for text, want := range map[string]string{
		"quantity,value,source,how":                             "no rows",
		"quantity,value,how\nq,1,read":                          "no source column",
		"quantity,value,source\nq,1,a book":                     "no how column",
		"quantity,source,how\nq, ,read":                         "line 2: no source",
		"quantity,source,how\nq,a book,read\nq,a book,":         "line 3: it is not said how it is known",
		"quantity,source,how\nq,a book,\"memory, high\"":        "q rests on memory alone",
		"quantity,source,how\nq,a book,Memory":                  "q rests on memory alone",
		"quantity,source,how\nq,a book,memory\np,a book,read":   "q rests on memory alone",
		"quantity,source,how\nq,a book,memory\nq,a sheet,read":  "",
		"quantity,at,value,source,how\nq,20C,1,a sheet,derived": "",
	} {
		records, err := csv.NewReader(strings.NewReader(text)).ReadAll()
		require.NoError(t, err)
		if err = sourced(records); want == "" {
			assert.NoError(t, err, text)
		} else {
			assert.ErrorContains(t, err, want, text)
		}
	}
}
