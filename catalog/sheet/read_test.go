package sheet

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/cure"
)

func mustRead(t *testing.T, text string) *Sheet {
	t.Helper()
	s, err := Read([]byte(text), "s.csv", false)
	require.NoError(t, err)
	return s
}

// TestOneSheetReadsTheSameHoweverItIsSaved: order and case of columns, separator, byte
// order mark, line ends, quotes, scale and names of milestones do not matter.
func TestOneSheetReadsTheSameHoweverItIsSaved(t *testing.T) {
	usual := "milestone,temp,rh,time,bead,source\napplication,25C,50%,2h,3mm,a sheet\ntack-free,41F,,PT90M,,\n"
	want := mustRead(t, usual).Rows
	require.Len(t, want, 2)
	assert.Equal(t, Row{Line: 2, Milestone: cure.Application, TempC: 25, Temp: "25C", RH: 50, BeadMM: 3, Seconds: 7200, Time: "2h", Source: "a sheet"}, want[0])
	assert.Equal(t, Row{Line: 3, Milestone: cure.TackFree, TempC: 5, Temp: "41F", Seconds: 5400, Time: "PT90M"}, want[1])
	for what, text := range map[string]string{
		"BOM and CR LF":    "\ufeff" + strings.ReplaceAll(usual, "\n", "\r\n"),
		"bare CR":          strings.ReplaceAll(usual, "\n", "\r"),
		"semicolons":       strings.ReplaceAll(usual, ",", ";"),
		"tabs":             strings.ReplaceAll(usual, ",", "\t"),
		"spaces":           strings.ReplaceAll(usual, ",", " , "),
		"capitals":         "MILESTONE,Temp,RH,TIME,Bead,Source\nApplication,25C,50%,2h,3mm,a sheet\nTack-Free,41F,,PT90M,,\n",
		"other names":      "milestone,temperature,humidity,time,depth,source\npot life,25 °C,50 %,2 h,3 mm,a sheet\ntack free time,41 °F,,PT90M,,\n",
		"quotes":           "\"milestone\",\"temp\",\"rh\",\"time\",\"bead\",\"source\"\n\"application\",\"25C\",\"50%\",\"2h\",\"3mm\",\"a sheet\"\n\"tack-free\",\"41F\",\"\",\"PT90M\",\"\",\"\"\n",
		"a dash for none":  strings.ReplaceAll(usual, "41F,,PT90M,,", "41F,-,PT90M,–,"),
		"cells left off":   strings.ReplaceAll(usual, "PT90M,,", "PT90M"),
		"cells left empty": strings.ReplaceAll(usual, "PT90M,,", "PT90M,,,,"),
	} {
		got := mustRead(t, text).Rows
		require.Len(t, got, 2, what)
		for i := range got {
			got[i].Time = strings.ReplaceAll(got[i].Time, " ", "")
		}
		assert.Equal(t, want, got, what)
	}
	swapped := mustRead(t, "source,time,bead,temp,milestone,rh\na sheet,2h,3mm,25C,application,50%\n").Rows
	assert.Equal(t, want[0], swapped[0])
}

func TestColumnOfAnotherNameIsLeftAsideAndTold(t *testing.T) {
	s := mustRead(t, "milestone,temp,time,page\ncure,25C,2h,7\n")
	assert.Equal(t, []string{`s.csv:1: the column "page" is left aside`}, s.Notes)
}

// TestBadSheetIsRefusedInOneLineEach: what, where, and what would be right.
func TestBadSheetIsRefusedInOneLineEach(t *testing.T) {
	const head = "milestone,temp,rh,time,bead,source,states\n"
	for _, c := range []struct{ text, want string }{
		{"", "s.csv: the sheet is empty: write a header"},
		{head, "s.csv: the sheet has no rows: write one"},
		{"\xff\xfe", "s.csv: not plain text"},
		{"a\x00b", "s.csv: not plain text"},
		{strings.Repeat("x", MaxFile+1), "s.csv: the sheet has 1048577 bytes: at most 1 MB"},
		{"milestone,temp\ncure,25C\n", "s.csv:1: the header has no column time: write a header"},
		{"milestone,tmp,time\n", `s.csv:1: no column is called "tmp": did you mean temp?`},
		{"milestone,temp,temp,time\n", "s.csv:1: the column temp is there twice"},
		{"\"milestone,temp\n", "s.csv:1: the quotes in the header do not close"},
		{head + "cure,25C,,\"2h,,,\n", "s.csv:2: a quote"},
		{head + "cure,25C,,2h,,,,x\n", "s.csv:2: 8 cells under 7 columns"},
		{head + "cured,25C,,2h,,,\n", `s.csv:2: milestone: "cured" is not known: did you mean cure?`},
		{head + ",25C,,2h,,,\n", `s.csv:2: milestone: "" is not known: write one of application`},
		{head + "cure,25,,2h,,,\n", `s.csv:2: temp: "25": a temperature needs its unit`},
		{head + "cure,,,2h,,,\n", "s.csv:2: temp: nothing is written: write it like 25C"},
		{head + "cure,NaNC,,2h,,,\n", `s.csv:2: temp: "NaNC": not a temperature`},
		{head + "cure,300C,,2h,,,\n", "s.csv:2: temp: 300C is no temperature to cure at"},
		{head + "cure,-70C,,2h,,,\n", "s.csv:2: temp: -70C is no temperature to cure at"},
		{head + "cure,25C,50,2h,,,\n", `s.csv:2: rh: "50": write a relative humidity like 45%`},
		{head + "cure,25C,0%,2h,,,\n", `s.csv:2: rh: "0%": no air is quite dry`},
		{head + "cure,25C,120%,2h,,,\n", `s.csv:2: rh: "120%": a relative humidity lies between`},
		{head + "cure,25C,,2,,,\n", `s.csv:2: time: "2": a span of time needs its unit`},
		{head + "cure,25C,,,,,\n", "s.csv:2: time: nothing is written: write it like 20min"},
		{head + "cure,25C,,0h,,,\n", `s.csv:2: time: "0h": the time must be more than zero`},
		{head + "cure,25C,,-2h,,,\n", "s.csv:2: time: "},
		{head + "cure,25C,,9 months,,,\n", "s.csv:2: time: \"9 months\": months and years have no fixed length"},
		{head + "cure,25C,,2h-3h,,,\n", "s.csv:2: time: "},
		{head + "cure,25C,,2-3h,,,\n", `s.csv:2: time: "2-3h": one value is wanted: give each end a row of its own`},
		{head + "cure,25C,,2 years,,,\n", "s.csv:2: time: "},
		{head + "cure,25C,,400 days,,,\n", "s.csv:2: time: \"400 days\" is no time for cure: it lies between 1s and 365 days"},
		{head + "application,25C,,100 days,,,\n", "is no time for application: it lies between 1s and 90 days"},
		{head + "cure,25C,,2h,3,,\n", `s.csv:2: bead: "3": a length needs its unit`},
		{head + "cure,25C,,2h,1m,,\n", "s.csv:2: bead: 1000 mm is no bead"},
		{head + "cure,25C,,2h,,,least\n", `s.csv:2: states: "least": write minimum, typical or maximum`},
		{head + "cure,25C,,2h,,a\u200bb,\n", "s.csv:2: source: U+200B cannot be printed"},
		{head + "cure,25C,,2h,," + strings.Repeat("x", 201) + ",\n", "s.csv:2: source: 201 letters are too many"},
		{"milestone;temp;time\ncure;25C;1,5h\n", `s.csv:2: time: "1,5h": write decimals with a point`},
		{head + "cure,25C,,2h,,,minimum\ncure,35C,,1h,,,\n", "s.csv:3: states: nothing here and minimum on line 2: the rows of cure must all state the same"},
		{head + strings.Repeat("cure,25C,,2h,,,\n", MaxRows+1), "s.csv:1002: more than 1000 rows"},
	} {
		_, err := Read([]byte(c.text), "s.csv", false)
		if !assert.Error(t, err, c.text) {
			continue
		}
		assert.Contains(t, err.Error(), c.want)
		assert.NotContains(t, err.Error(), "\n", "more than one line")
	}
}

func TestEveryBadCellIsListed(t *testing.T) {
	_, err := Read([]byte("milestone,temp,rh,time\ncure,25,50,2\nkure,25C,50%,2h\ncure,25C,50%,2h\ncure,25C,50%,0h\n"), "s.csv", false)
	require.Error(t, err)
	assert.Len(t, strings.Split(err.Error(), "\n"), 5)
}

// TestWrongScaleIsAskedAbout: a sheet in °F with C behind its numbers, and one in °C
// with F.
func TestWrongScaleIsAskedAbout(t *testing.T) {
	const head = "milestone,temp,time\n"
	for _, c := range []struct{ text, want string }{
		{"application,59C,4h\napplication,77C,2h\n", "s.csv:3: temp: 77C for application: is that 77F (25 °C)? Write F for °F; say --as-written if 77C is meant"},
		{"cure,60C,4h\ncure,80C,2h\n", "s.csv:2: temp: 60C for cure: is that 60F (16 °C)?"},
		{"tack-free,5F,4h\ntack-free,25F,2h\n", "s.csv:3: temp: no row of tack-free is warmer than 25F (-4 °C): is that 25C?"},
	} {
		_, err := Read([]byte(head+c.text), "s.csv", false)
		if assert.Error(t, err) {
			assert.Contains(t, err.Error(), c.want)
			assert.NotContains(t, err.Error(), "\n")
		}
		_, err = Read([]byte(head+c.text), "s.csv", true)
		assert.NoError(t, err)
	}
	for _, text := range []string{"cure,25C,4h\ncure,77C,1h\n", "application,5C,4h\napplication,40C,1h\n", "application,40F,4h\napplication,77F,1h\n", "cure,5C,4h\n"} {
		mustRead(t, head+text)
	}
}

// FuzzRead: whatever the bytes, rows that make sense or faults on one line each, and
// whatever the rows, a class file or refusals on one line each.
func FuzzRead(f *testing.F) {
	f.Add([]byte("milestone,temp,rh,time,bead,source,states\napplication,25C,50%,2h,3mm,x,minimum\napplication,35C,50%,1h,3mm,x,minimum\n"), "two-part")
	f.Add([]byte("milestone;temp;time\r\ncure;41F;3 days\r\ncure;77F;1 day\r\n"), "adhesive")
	f.Add([]byte("\ufeffmilestone\ttemp\ttime\n\"cure\"\t\"5C\"\tP1D\n"), "anaerobic")
	f.Add([]byte("milestone,temp,rh,bead,time\ncure,10C,50%,2mm,60h\ncure,23C,50%,2mm,27h\ncure,23C,80%,4mm,70h\n"), "one-part-moisture")
	f.Fuzz(func(t *testing.T, data []byte, kind string) {
		s, err := Read(data, "s.csv", true)
		if err != nil {
			for line := range strings.SplitSeq(err.Error(), "\n") {
				assert.True(t, strings.HasPrefix(line, "s.csv:"), line)
			}
			return
		}
		require.NotEmpty(t, s.Rows)
		for _, r := range s.Rows {
			require.Greater(t, r.Seconds, 0.)
			require.True(t, r.TempC >= coldest && r.TempC <= hottest)
		}
		if len(s.Rows) > 60 {
			return // the fits are tried on sheets of a size that people write
		}
		r := s.Fit(Options{ID: "x", Name: "x", Kind: kind})
		for _, text := range r.Refused() {
			assert.NotContains(t, text, "\n")
			assert.True(t, strings.HasPrefix(text, "s.csv:"), text)
		}
		if len(r.Refused()) == 0 {
			checkClass(t, r)
		}
	})
}
