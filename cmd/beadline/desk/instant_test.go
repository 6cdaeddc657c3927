package desk

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	require.NoError(t, err)
	return z
}

// The days on which clocks change are those of the IANA time-zone database.
func TestInstantReadsEveryForm(t *testing.T) {
	faroe, berlin, sao := zone(t, "Atlantic/Faroe"), zone(t, "Europe/Berlin"), zone(t, "America/Sao_Paulo")
	for _, c := range []struct {
		text string
		z    *time.Location
		want string
	}{
		{"2027-03-08T07:00", faroe, "2027-03-08T07:00:00Z"},
		{"2027-03-08 07:00", faroe, "2027-03-08T07:00:00Z"},
		{"  2027-07-08T07:00:30 ", faroe, "2027-07-08T07:00:30+01:00"},
		{"2027-03-08", berlin, "2027-03-08T00:00:00+01:00"},
		{"2027-03-08T07:00:00+05:00", berlin, "2027-03-08T03:00:00+01:00"},
		{"2027-03-08T07:00Z", berlin, "2027-03-08T08:00:00+01:00"},
		{"2027-03-28T03:00", berlin, "2027-03-28T03:00:00+02:00"},
		{"2027-03-28T01:59:59", berlin, "2027-03-28T01:59:59+01:00"},
		{"2018-11-04", sao, "2018-11-04T01:00:00-02:00"}, // the clocks skip 00:00
		{"2018-02-17", sao, "2018-02-17T00:00:00-02:00"},
	} {
		got, err := Instant(c.text, c.z)
		if assert.NoError(t, err, c.text) {
			assert.Equal(t, c.want, got.Format(time.RFC3339), c.text)
		}
	}
}

func TestAnOffsetThatIsWrittenIsKeptInTheMachinesZone(t *testing.T) {
	got, err := Instant("2027-03-08T07:00:00+05:45", time.Local)
	require.NoError(t, err)
	assert.Equal(t, "2027-03-08T07:00:00+05:45", got.Format(time.RFC3339))
}

func TestInstantRefusesWhatCannotBeMeant(t *testing.T) {
	berlin := zone(t, "Europe/Berlin")
	for text, says := range map[string]string{
		"":                          "not a moment",
		"soon":                      "not a moment",
		"08.03.2027 07:00":          "not a moment",
		"2027-02-30T07:00":          "no such day or hour",
		"2027-03-08T24:30":          "no such day or hour",
		"2027-13-01":                "no such day or hour",
		"2027-03-28T02:30":          "does not exist in Europe/Berlin",
		"2027-10-31T02:30":          "2027-10-31T02:30:00+02:00 or 2027-10-31T02:30:00+01:00",
		"0027-03-08T07:00":          "outside 1970 to 2199",
		"2927-03-08T07:00:00Z":      "outside 1970 to 2199",
		"2027-03-08T07:00:00+99:00": "not a moment",
	} {
		_, err := Instant(text, berlin)
		if assert.Error(t, err, text) {
			assert.Contains(t, err.Error(), says, text)
			assert.NotContains(t, err.Error(), "\n")
		}
	}
}

func TestInstantReadsBackWhatItWrote(t *testing.T) {
	names := []string{"UTC", "Atlantic/Faroe", "Australia/Lord_Howe", "America/St_Johns"}
	rapid.Check(t, func(t *rapid.T) {
		z, err := time.LoadLocation(rapid.SampledFrom(names).Draw(t, "zone"))
		require.NoError(t, err)
		at := time.Unix(rapid.Int64Range(86400, 7258032000).Draw(t, "seconds"), 0).In(z)
		got, err := Instant(at.Format(time.RFC3339), z)
		require.NoError(t, err)
		require.True(t, got.Equal(at))
		got, err = Instant(at.Format("2006-01-02T15:04:05"), z)
		if err != nil { // it comes twice
			require.Contains(t, err.Error(), "twice")
			require.Contains(t, err.Error(), at.Format(time.RFC3339))
			return
		}
		require.True(t, got.Equal(at))
	})
}

func FuzzInstant(f *testing.F) {
	for _, s := range []string{"2027-03-08", "2027-03-08T07:00", "2027-03-28 02:30", "2027-03-08T07:00:00+01:00", "x"} {
		f.Add(s)
	}
	z := zone(f, "Europe/Berlin")
	f.Fuzz(func(t *testing.T, s string) {
		at, err := Instant(s, z)
		if err == nil && (at.UTC().Year() < 1969 || at.UTC().Year() > 2200) {
			t.Fatalf("%q gave %s", s, at)
		}
	})
}
