package airlog

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// rowsOf writes n rows, step apart, from Mon 8 Mar 2027 00:00 UTC; each row is what
// value gives for its number.
func rowsOf(n int, step time.Duration, value func(i int) string) string {
	var b strings.Builder
	b.WriteString("time,temp_c,rh_pct\n")
	for i := range n {
		at := time.Date(2027, 3, 8, 0, 0, 0, 0, time.UTC).Add(time.Duration(i) * step)
		fmt.Fprintf(&b, "%s,%s\n", at.Format(time.RFC3339), value(i))
	}
	return b.String()
}

func TestOneReadingIsALogWithANote(t *testing.T) {
	log := read(t, "time,temp_c,rh_pct\n2027-03-08T06:00:00Z,18,45\n", nil)
	assert.Len(t, log.Samples, 1)
	assert.Equal(t, []string{"one reading only, Mon 8 Mar 2027 06:00 UTC"}, log.Notes)
}

func TestGapOfMoreThanTwoHoursIsNoted(t *testing.T) {
	log := read(t, "time,temp_c,rh_pct\n2027-03-08T06:00:00Z,18,45\n2027-03-08T08:00:00Z,18,45\n2027-03-08T11:10:00Z,18,45\n2027-03-08T13:10:00.001Z,18,45\n", nil)
	assert.Equal(t, []string{
		"no reading from Mon 8 Mar 2027 08:00 UTC to Mon 8 Mar 2027 11:10 UTC (3 h 10 min)",
		"no reading from Mon 8 Mar 2027 11:10 UTC to Mon 8 Mar 2027 13:10 UTC (2 h)",
	}, log.Notes, "two hours exactly is no gap; a millisecond more is")
}

func TestGapAcrossASpringNightHasItsTrueLength(t *testing.T) {
	// IANA time-zone data: clocks in Europe/Berlin go from 02:00 to 03:00 on
	// 28 March 2027, so 01:30 to 04:40 is 2 h 10 min.
	log := read(t, "time,temp_c,rh_pct\n2027-03-28T01:30,18,45\n2027-03-28T04:40,18,45\n", zone(t, "Europe/Berlin"))
	assert.Equal(t, []string{"no reading from Sun 28 Mar 2027 01:30 CET to Sun 28 Mar 2027 04:40 CEST (2 h 10 min)"}, log.Notes)
}

func TestManyGapsAreSummedUp(t *testing.T) {
	log := read(t, rowsOf(20, 3*time.Hour, func(i int) string { return fmt.Sprintf("%d,45", i) }), nil)
	require.Len(t, log.Notes, 9)
	assert.Equal(t, "11 more such gaps, the longest 3 h", log.Notes[8])
}

func TestHumidityStuckAt100IsNoted(t *testing.T) {
	at100 := func(from, to int) func(int) string {
		return func(i int) string {
			if i >= from && i <= to {
				return fmt.Sprintf("%d,100", i%3)
			}
			return fmt.Sprintf("%d,%d", i%3, 60+i%5)
		}
	}
	log := read(t, rowsOf(60, 10*time.Minute, at100(6, 42)), nil)
	assert.Empty(t, log.Notes, "six hours exactly")
	log = read(t, rowsOf(60, 10*time.Minute, at100(6, 43)), nil)
	assert.Equal(t, []string{"humidity at 100 % from Mon 8 Mar 2027 01:00 UTC to Mon 8 Mar 2027 07:10 UTC (6 h 10 min): wet air, or a wet or stuck sensor"}, log.Notes)
	log = read(t, rowsOf(60, 10*time.Minute, at100(6, 60)), nil)
	assert.Equal(t, []string{"humidity at 100 % from Mon 8 Mar 2027 01:00 UTC to Mon 8 Mar 2027 09:50 UTC (8 h 50 min): wet air, or a wet or stuck sensor"}, log.Notes, "up to the end of the log")
}

func TestReadingStuckForTwoDaysIsNoted(t *testing.T) {
	changing := func(i int) string { return fmt.Sprintf("18,%d", 40+i%7) }
	log := read(t, rowsOf(49, time.Hour, changing), nil)
	assert.Empty(t, log.Notes, "48 h exactly")
	log = read(t, rowsOf(50, time.Hour, changing), nil)
	assert.Equal(t, []string{"temperature exactly 18 C from Mon 8 Mar 2027 00:00 UTC to Wed 10 Mar 2027 01:00 UTC (2 d 1 h): the sensor may be stuck"}, log.Notes)
	log = read(t, rowsOf(50, time.Hour, func(i int) string { return fmt.Sprintf("%d,45.5", i%7) }), nil)
	assert.Equal(t, []string{"humidity exactly 45.5 % from Mon 8 Mar 2027 00:00 UTC to Wed 10 Mar 2027 01:00 UTC (2 d 1 h): the sensor may be stuck"}, log.Notes)
}

func TestSparseReadingsThatAgreeAreNotStuck(t *testing.T) {
	log := read(t, rowsOf(40, 2*time.Hour, func(i int) string { return "18,45" }), nil)
	assert.Empty(t, log.Notes, "every two hours the same whole number is chance")
}

func TestWhatMakesASensorSuspectIsMarkedAmongTheNotes(t *testing.T) {
	log := read(t, rowsOf(60, 10*time.Minute, func(i int) string { return fmt.Sprintf("%d,100", i%3) }), nil)
	assert.Equal(t, log.Notes, log.Suspect)
	log = read(t, rowsOf(20, 3*time.Hour, func(i int) string { return fmt.Sprintf("%d,45", i) }), nil)
	assert.NotEmpty(t, log.Notes)
	assert.Empty(t, log.Suspect, "a gap is no fault of the sensor")
}

// 10 °C is 50 °F, 14 °C is 57.2 °F.
func TestALogThatIsPartlyInFahrenheitIsSuspect(t *testing.T) {
	mixed := func(head string, temps ...float64) Log {
		s := head + "\n"
		for i, c := range temps {
			s += fmt.Sprintf("2027-03-08T%02d:00:00Z,%g,45\n", i, c)
		}
		return read(t, s, nil)
	}
	log := mixed("time,temp_c,rh_pct", 10, 10, 10, 10, 50, 50, 10)
	assert.Equal(t, []string{
		"temperature from 10 to 50 C within 1 h at Mon 8 Mar 2027 04:00 UTC, as from one unit to the other: if the logger changed between °C and °F, split the log there",
		"temperature from 50 to 10 C within 1 h at Mon 8 Mar 2027 06:00 UTC, as from one unit to the other: if the logger changed between °C and °F, split the log there",
	}, log.Suspect)
	assert.Len(t, mixed("time,temp_f,rh_pct", 57, 57.2, 14, 14).Suspect, 1, "and the other way round")
	for _, plain := range [][]float64{{10, 30, 10}, {10, 24.9}, {0, 14.9}, {-40, -40, -25}} {
		assert.Empty(t, mixed("time,temp_c,rh_pct", plain...).Suspect, "%v", plain)
	}
}
