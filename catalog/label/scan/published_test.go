package scan

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/label"
)

// now is the day that the strings of the published table are read on.
var now = date.New(2026, time.November, 25)

// swallowedDate is the one published string that has lost a separator.
const swallowedDate = "010703206980498810032915210526"

var controls = strings.NewReplacer("<GS>", "\x1d", "<RS>", "\x1e", "<EOT>", "\x04")

// TestPublishedScans holds every row of label-barcodes.csv, where each row names its
// source and how it is known.
func TestPublishedScans(t *testing.T) {
	f, err := os.Open(filepath.Join("..", "..", "..", "testdata", "published", "label-barcodes.csv"))
	require.NoError(t, err)
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	require.Equal(t, []string{"quantity", "input", "field", "value", "source", "how"}, records[0])
	checks := map[string]func(t *testing.T, input, field, value string){
		"check-digit": func(t *testing.T, input, _, value string) { assert.Equal(t, value, string(label.CheckDigit(input))) },
		"scan":        holdScan, "refused": holdRefusal, "fixed": holdFixed, "format": holdFormat,
	}
	seen := map[string]bool{}
	for i, r := range records[1:] {
		check := checks[r[0]]
		require.NotNil(t, check, "line %d: nothing checks %s", i+2, r[0])
		require.NotEmpty(t, r[4])
		require.NotEmpty(t, r[5])
		seen[r[0]] = true
		t.Run(fmt.Sprintf("line %d %s %s", i+2, r[1], r[2]), func(t *testing.T) { check(t, controls.Replace(r[1]), r[2], r[3]) })
	}
	assert.Len(t, seen, len(checks), "rows were lost")
}

func holdScan(t *testing.T, input, field, value string) {
	s, err := Parse(input, now)
	require.NoError(t, err)
	assert.Equal(t, input == swallowedDate, s.Doubt)
	for _, f := range s.Fields {
		if f.ID == field {
			assert.Equal(t, value, f.Value)
			return
		}
	}
	temperature := func(c Temperature) string {
		require.True(t, c.Known)
		return strconv.FormatFloat(c.C, 'g', 6, 64)
	}
	switch field {
	case "symbology":
		assert.Equal(t, value, s.Symbology)
	case "standard":
		assert.Equal(t, value, s.Standard.String())
	case "lot":
		assert.Equal(t, value, s.Lot)
	case "customer-lot":
		assert.Equal(t, value, s.CustomerLot)
	case "part":
		assert.Equal(t, value, s.Part)
	case "customer-part":
		assert.Equal(t, value, s.CustomerPart)
	case "serial":
		assert.Equal(t, value, s.Serial)
	case "quantity":
		assert.Equal(t, value, strconv.FormatFloat(s.Quantity, 'g', -1, 64))
	case "net-kg":
		assert.Equal(t, value, strconv.FormatFloat(s.NetKg, 'g', -1, 64))
	case "min-c":
		assert.Equal(t, value, temperature(s.MinC))
	case "max-c":
		assert.Equal(t, value, temperature(s.MaxC))
	case "doubt":
		require.True(t, s.Doubt)
		require.Len(t, s.Warnings, 1)
		assert.Equal(t, Swallowed, s.Warnings[0].Trouble)
		assert.Contains(t, s.Warnings[0].Text, value)
	case "expiry-last":
		assert.Equal(t, value, label.DayOf(s.Expiry.Last()).Canonical())
	default:
		d, ok := map[string]label.Date{"expiry": s.Expiry, "dom": s.DOM, "packed": s.Packed, "best-before": s.BestBefore,
			"sell-by": s.SellBy, "test-by": s.TestBy, "unstated": s.Unstated}[field]
		require.True(t, ok, "no field %q in the scan", field)
		assert.Equal(t, value, d.Canonical())
	}
}

func holdRefusal(t *testing.T, input, _, value string) {
	s, err := Parse(input, now)
	assert.ErrorContains(t, err, value)
	assert.Zero(t, s)
}

// holdFixed asks for the length that needs no separator, by the first two digits of
// an identifier.
func holdFixed(t *testing.T, input, _, value string) {
	assert.Equal(t, value, strconv.Itoa(fixedLength(input)))
}

// holdFormat asks for the format of an identifier as the standard writes it: N6 is
// six digits, N..8 up to eight, X..20 up to twenty characters.
func holdFormat(t *testing.T, input, _, value string) {
	s := specOf(input)
	require.NotNil(t, s)
	kind := "X"
	if s.numeric {
		kind = "N"
	}
	if s.min == s.max {
		assert.Equal(t, value, kind+strconv.Itoa(s.max))
		if n := fixedLength(input); n != 0 {
			assert.Equal(t, n, s.max)
		}
		return
	}
	assert.Equal(t, 1, s.min)
	assert.Zero(t, fixedLength(input))
	assert.Equal(t, value, kind+".."+strconv.Itoa(s.max))
}
