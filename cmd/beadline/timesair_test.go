package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/cmd/beadline/desk"
	"beadline/cure"
)

// asked runs times with flags and gives the exit code and both outputs.
func asked(args ...string) (code int, out, errs string) {
	var o, e bytes.Buffer
	a := &app{in: strings.NewReader(""), out: &o, err: &e, clock: func() time.Time { return time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC) }}
	code = a.run(append([]string{"times"}, args...))
	return code, o.String(), e.String()
}

// held checks what every answer keeps to: an answer, or one line that is the error.
func held(t require.TestingT, code int, out, errs string) {
	switch code {
	case exitYes, exitHold:
		require.NotEmpty(t, out)
	case exitFailure, exitUsage:
		require.Empty(t, out)
		require.Equal(t, 1, strings.Count(errs, "\n"), errs)
		require.True(t, strings.HasPrefix(errs, "error: "), errs)
	default:
		require.Fail(t, "exit code", "%d", code)
	}
}

func writeLog(t testing.TB) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "log.csv")
	require.NoError(t, os.WriteFile(name, []byte("time,temp_c,rh_pct\n2027-03-08T06:00Z,18,50\n2027-03-08T08:00Z,19,52\n2027-03-08T10:00Z,21,50\n"), 0o600))
	return name
}

// Any of the flags with any of the others: an answer or one clear line.
func TestAnyMixOfAirFlagsIsAnsweredOrRefusedInOneLine(t *testing.T) {
	log := writeLog(t)
	choices := []struct {
		flag   string
		values []string
	}{
		{"temp", []string{"18C", "65F", "-20C", "77C"}}, {"rh", []string{"45", "0", "100"}},
		{"air", []string{log}}, {"forecast", []string{log}}, {"swing", []string{"9C..16C", "50..70F", "20..50C"}},
		{"warmest", []string{"15:00", "25:00"}}, {"dew", []string{"6C", "-5C", "30C"}}, {"then", []string{"18C", "60C"}},
		{"margin", []string{"0C", "2C", "4F", "90C"}}, {"pot", []string{"23C"}}, {"part", []string{"-4C", "20C"}},
		{"warms-in", []string{"3h", "1s", "0s", "31 days"}}, {"warm-to", []string{"20C", "300C"}},
		{"heat", []string{"40C", "60C"}}, {"heat-from", []string{"2027-03-08T09:00Z", "2027-03-08T07:10Z"}},
		{"from", []string{"2027-03-08T07:00Z", "now"}}, {"laid", []string{"2027-03-08T08:00Z", "2027-03-08T06:00Z"}},
		{"format", []string{"json", "csv", "text"}}, {"units", []string{"us"}},
	}
	const from = "--from=2027-03-08T07:00Z"
	whole := [][]string{ // questions that can be answered; the flags come on top
		{"--temp=18C", "--rh=50"}, {"--air=" + log, from}, {"--forecast=" + log, from}, {"--swing=9C..16C", "--dew=6C", from},
		{"--air=" + log, "--then=18C", "--rh=50", from}, {"--temp=18C", "--rh=50", "--warms-in=3h", from}, {},
	}
	codes := map[int]int{}
	rapid.Check(t, func(t *rapid.T) {
		args := []string{rapid.SampledFrom([]string{"polysulfide-b-half", "epoxy-paste", "adhesion-promoter"}).Draw(t, "class")}
		args = append(args, rapid.SampledFrom(whole).Draw(t, "question")...)
		for _, k := range rapid.SliceOfNDistinct(rapid.IntRange(0, len(choices)-1), 0, 3, rapid.ID[int]).Draw(t, "flags") {
			c := choices[k]
			args = append(args, "--"+c.flag+"="+rapid.SampledFrom(c.values).Draw(t, c.flag))
		}
		code, out, errs := asked(args...)
		held(t, code, out, errs)
		codes[code]++
	})
	assert.Greater(t, codes[exitYes]+codes[exitHold], 0, "all were refused: %v", codes)
}

// FuzzAirFlags reads what a person may write behind the flags for air.
func FuzzAirFlags(f *testing.F) {
	for _, s := range [][5]string{
		{"9C..16C", "15:00", "6C", "2C", "3h"}, {"48..61F", "", "40F", "4F", "PT3H"}, {"16..9C", "24:00", "", "-2C", "0h"},
		{"-5C..-1C", "07:30", "-7C", "0C", "90s"}, {"NaN..5C", "1e3", "∞", "%", "\n"}, {"50..70C", "3pm", "6", "1000C", "9999999 days"},
	} {
		f.Add(s[0], s[1], s[2], s[3], s[4])
	}
	c, _, err := desk.Catalog(nil)
	require.NoError(f, err)
	cl, err := c.Find("polysulfide-b-half")
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, swing, warmest, dew, margin, warmsIn string) {
		var flags timesFlags
		flags.from, flags.swing, flags.warmest, flags.dew, flags.margin, flags.warmsIn = "2027-03-08T07:00Z", swing, warmest, dew, margin, warmsIn
		a := &app{units: "si", zone: "Atlantic/Faroe"}
		q, err := a.timesQuestion(&cl, flags)
		if err != nil {
			assert.NotContains(t, err.Error(), "\n")
			return
		}
		require.Len(t, q.Pieces, 1)
		_, err = cure.NewHistory(q.Pieces, q.From, q.From.Add(24*time.Hour))
		require.NoError(t, err, "what was read cannot be laid out")
		require.True(t, q.Part.Tau >= 0 && q.Part.Tau <= longestLag)
	})
}

func TestTimeOfDayIsReadStrictly(t *testing.T) {
	for text, want := range map[string]time.Duration{"15:00": 15 * time.Hour, "00:00": 0, "23:59": 23*time.Hour + 59*time.Minute, " 07:30 ": 7*time.Hour + 30*time.Minute} {
		got, err := timeOfDay(text)
		require.NoError(t, err, text)
		assert.Equal(t, want, got, text)
	}
	for _, text := range []string{"", "15", "24:00", "15:60", "15:00:00", "3pm", "-1:00", "15.00"} {
		_, err := timeOfDay(text)
		assert.ErrorContains(t, err, "write it like 15:00", text)
	}
}

// A figure in °C that is a hangar's in °F is asked about, and no other.
func TestTemperatureThatIsMoreLikelyFahrenheitIsAskedAbout(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.Float64Range(-50, 200).Draw(t, "c")
		var f timesFlags
		asked := f.plausible("temp", "1C", c) != nil
		require.Equal(t, c > hotHangarC && c <= hotHangarF, asked)
		require.NoError(t, f.plausible("temp", "1F", c), "the unit is said to be °F")
		f.oven = true
		require.NoError(t, f.plausible("temp", "1C", c), "--oven insists")
	})
}
