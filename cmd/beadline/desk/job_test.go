package desk

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/cure/plan/job"
)

// The clocks of the Faroes go from 01:00 to 02:00 on 28 March 2027 (IANA time zone
// database): from Saturday 07:00 to Monday 07:00 are 47 h.
func TestAStartThatHasPassedIsSaid(t *testing.T) {
	faroe, err := time.LoadLocation("Atlantic/Faroe")
	require.NoError(t, err)
	at := func(day, hour, minute int) time.Time { return time.Date(2027, 3, day, hour, minute, 0, 0, faroe) }
	j := &job.Job{File: "job.yaml", Zone: faroe, Start: at(27, 7, 0), ReadyBy: at(29, 12, 0)}
	for _, c := range []struct {
		now  time.Time
		want string
	}{
		{at(27, 6, 59), ""},
		{at(27, 7, 0), ""},
		{at(27, 7, 0).Add(59 * time.Second), ""},
		{at(27, 7, 1), "The start of the job, Sat 27 Mar 2027 07:00 WET, was 1 minute ago; now it is Sat 27 Mar 2027 07:01 WET."},
		{at(27, 9, 5), "The start of the job, Sat 27 Mar 2027 07:00 WET, was 2 h 05 min ago;"},
		{at(27, 10, 0), "The start of the job, Sat 27 Mar 2027 07:00 WET, was 3 hours ago;"},
		{at(29, 7, 0), "The start of the job, Sat 27 Mar 2027 07:00 WET, was 1 day 23 hours ago; now it is Mon 29 Mar 2027 07:00 WEST."},
		{at(29, 8, 0), "The start of the job, Sat 27 Mar 2027 07:00 WET, was 2 days ago;"},
	} {
		got := Passed(j, c.now)
		assert.True(t, len(got) >= len(c.want) && got[:len(c.want)] == c.want, "%s: %s", c.now, got)
		assert.Equal(t, c.want == "", got == "")
		assert.NotContains(t, got, "wanted by")
	}
	assert.Contains(t, Passed(j, at(29, 12, 0)), " The time it is wanted by, Mon 29 Mar 2027 12:00 WEST, has passed too. To plan from here on, write start: 2027-03-29T12:01 in job.yaml, and take out what is done.")
}
