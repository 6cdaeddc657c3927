package airlog

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestLocalTimeThatDoesNotExistIsRefused(t *testing.T) {
	// IANA time-zone data: 02:00 to 03:00 is missing on 28 March 2027 in
	// Europe/Berlin, 01:00 to 02:00 in Atlantic/Faroe.
	const head = "time,temp_c,rh_pct\n"
	_, err := Read([]byte(head+"2027-03-28T01:59,18,45\n2027-03-28T02:00,18,45\n"), "h.csv", Options{Zone: zone(t, "Europe/Berlin")})
	assert.EqualError(t, err, `h.csv:3: the time "2027-03-28T02:00" does not exist in Europe/Berlin: the clocks went forward past it; check --zone; the times of a logger that never changes its clock need their offset from UTC`)
	_, err = Read([]byte(head+"2027-03-28 01:59:59,18,45\n"), "h.csv", Options{Zone: zone(t, "Atlantic/Faroe")})
	assert.ErrorContains(t, err, "does not exist in Atlantic/Faroe")
	for _, good := range []string{"2027-03-28T01:59:59", "2027-03-28T03:00"} {
		_, err = Read([]byte(head+good+",18,45\n"), "h.csv", Options{Zone: zone(t, "Europe/Berlin")})
		assert.NoError(t, err, good)
	}
	// Samoa crossed the date line: it had no 30 December 2011 (IANA time-zone data).
	_, err = Read([]byte(head+"2011-12-30T12:00,18,45\n"), "h.csv", Options{Zone: zone(t, "Pacific/Apia")})
	assert.ErrorContains(t, err, "does not exist in Pacific/Apia")
}

func TestLocalTimeThatOccursTwiceIsReadByOrder(t *testing.T) {
	// IANA time-zone data: on 31 October 2027 Europe/Berlin has 02:00 to 03:00 twice.
	berlin := zone(t, "Europe/Berlin")
	const head = "time,temp_c,rh_pct\n"
	const night = "the clocks went back on Sun 31 Oct 2027 in Europe/Berlin and show "
	for _, tc := range []struct {
		name  string
		local string // times of the rows
		utc   string
		note  string
	}{
		{"both passes", "01:30 02:00 02:30 02:00 02:30 03:00", "23:30 00:00 00:30 01:00 01:30 02:00", "02:00 to 02:30 twice: by the order of the rows, 2 rows taken as the first pass, 2 as the second"},
		{"hourly", "01:00 02:00 02:00 03:00", "23:00 00:00 01:00 02:00", "02:00 twice: by the order of the rows, 1 row taken as the first pass, 1 as the second"},
		{"one pass", "02:30 03:30", "00:30 02:30", "02:30 twice: by the order of the rows, 1 row taken as the first pass"},
		{"second behind an offset", "01:10Z 02:30", "01:10 01:30", "02:30 twice: by the order of the rows, 1 row taken as the second pass"},
	} {
		csv := head
		for l := range strings.FieldsSeq(tc.local) {
			csv += "2027-10-31T" + l + ",18,45\n"
		}
		log, err := Read([]byte(csv), "h.csv", Options{Zone: berlin})
		require.NoError(t, err, tc.name)
		var utc []string
		for _, s := range log.Samples {
			utc = append(utc, s.At.UTC().Format("15:04"))
		}
		assert.Equal(t, tc.utc, strings.Join(utc, " "), tc.name)
		require.NotEmpty(t, log.Notes, tc.name)
		assert.Equal(t, night+tc.note, log.Notes[0], tc.name)
	}
	_, err := Read([]byte(head+"2027-10-31T02:30,18,45\n2027-10-31T02:20,18,45\n2027-10-31T02:10,18,45\n"), "h.csv", Options{Zone: berlin})
	assert.ErrorContains(t, err, "h.csv:4: the time goes backwards", "a third pass there is not")
}

func TestEachAutumnHasItsOwnNote(t *testing.T) {
	log := read(t, "time,temp_c,rh_pct\n2026-10-25T02:30,18,45\n2027-10-31T02:30,18,45\n", zone(t, "Europe/Berlin"))
	require.Len(t, log.Notes, 3)
	assert.Contains(t, log.Notes[0], "Sun 25 Oct 2026")
	assert.Contains(t, log.Notes[1], "Sun 31 Oct 2027")
	assert.Contains(t, log.Notes[2], "no reading from")
}

func TestDaysOfChangeHave23And25Hours(t *testing.T) {
	// IANA time-zone data, Europe/Paris: 28 March 2027 has 23 h, 31 October 25 h.
	paris := zone(t, "Europe/Paris")
	for day, hours := range map[int]int{time.Date(2027, 3, 28, 0, 0, 0, 0, paris).YearDay(): 23, time.Date(2027, 10, 31, 0, 0, 0, 0, paris).YearDay(): 25} {
		start := time.Date(2027, 1, day, 0, 0, 0, 0, paris)
		end := time.Date(2027, 1, day+1, 0, 0, 0, 0, paris)
		csv := "time,temp_c,rh_pct\n"
		n := 0
		for at := start; !at.After(end); at = at.Add(10 * time.Minute) {
			csv += at.Format("2006-01-02 15:04") + ",18,45\n"
			n++
		}
		log := read(t, csv, paris)
		require.Len(t, log.Samples, n)
		assert.Equal(t, time.Duration(hours)*time.Hour, log.Samples[n-1].At.Sub(log.Samples[0].At))
		for i := 1; i < n; i++ {
			require.Equal(t, 10*time.Minute, log.Samples[i].At.Sub(log.Samples[i-1].At))
		}
	}
}
