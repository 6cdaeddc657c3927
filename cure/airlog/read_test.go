package airlog

import (
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the zones the tests name, on any machine

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	loc, err := time.LoadLocation(name)
	require.NoError(t, err)
	return loc
}

// read reads a log that must be good.
func read(t testing.TB, csv string, in *time.Location) Log {
	t.Helper()
	log, err := Read([]byte(csv), "hangar.csv", Options{Zone: in})
	require.NoError(t, err)
	require.Equal(t, "hangar.csv", log.Name)
	return log
}

// say writes samples plainly: RFC 3339 in UTC, °C, %.
func say(samples []Sample) []string {
	var out []string
	for _, s := range samples {
		out = append(out, s.At.UTC().Format(time.RFC3339Nano)+" "+decimal(s.TempC)+" "+decimal(s.RH))
	}
	return out
}

func TestColumnsAreFoundByName(t *testing.T) {
	want := []string{"2027-03-08T06:00:00Z 18.5 45", "2027-03-08T06:10:00Z -5 46"}
	for name, csv := range map[string]string{
		"plain":              "time,temp_c,rh_pct\n2027-03-08T06:00:00Z,18.5,45\n2027-03-08T06:10:00Z,-5,46\n",
		"no last line end":   "time,temp_c,rh_pct\n2027-03-08T06:00:00Z,18.5,45\n2027-03-08T06:10:00Z,-5,46",
		"other order":        "rh_pct,time,temp_c\n45,2027-03-08T06:00:00Z,18.5\n46,2027-03-08T06:10:00Z,-5\n",
		"capitals, spaces":   " Time , TEMP_C,Rh_Pct \n 2027-03-08T06:00:00Z , 18.5 ,\t45\n2027-03-08T06:10:00Z,-5,46\n",
		"fahrenheit":         "time,temp_f,rh_pct\n2027-03-08T06:00:00Z,65.3,45\n2027-03-08T06:10:00Z,23,46\n",
		"byte order mark":    "\ufefftime,temp_c,rh_pct\n2027-03-08T06:00:00Z,18.5,45\n2027-03-08T06:10:00Z,-5,46\n",
		"CRLF":               "time,temp_c,rh_pct\r\n2027-03-08T06:00:00Z,18.5,45\r\n2027-03-08T06:10:00Z,-5,46\r\n",
		"CR CR LF":           "time,temp_c,rh_pct\r\r\n2027-03-08T06:00:00Z,18.5,45\r\r\n2027-03-08T06:10:00Z,-5,46\r\r\n",
		"semicolons, point":  "time;temp_c;rh_pct\n2027-03-08T06:00:00Z;18.5;45\n2027-03-08T06:10:00Z;-5;46\n",
		"semicolons, comma":  "time;temp_c;rh_pct\n2027-03-08T06:00:00Z;18,5;45,0\n2027-03-08T06:10:00Z;-5;46\n",
		"blank lines":        "\n \r\ntime,temp_c,rh_pct\n\n2027-03-08T06:00:00Z,18.5,45\n  \n,,\n2027-03-08T06:10:00Z,-5,46\n\n\n",
		"quotes":             "\"time\",\"temp_c\",\"rh_pct\"\n\"2027-03-08T06:00:00Z\",\"18.5\",45\n2027-03-08T06:10:00Z, \"-5\" ,46\n",
		"quotes, semicolons": "\"time\";temp_c;rh_pct\n\"2027-03-08T06:00:00Z\";\"18,5\";45\n2027-03-08T06:10:00Z;-5;46\n",
		"true minus sign":    "time,temp_c,rh_pct\n2027-03-08T06:00:00Z,18.5,45\n2027-03-08T06:10:00Z,−5,46\n",
		"exponents":          "time,temp_c,rh_pct\n2027-03-08T06:00:00Z,1.85e1,4.5E+1\n2027-03-08T06:10:00Z,-5e0,46\n",
		"plus, zeros":        "time,temp_c,rh_pct\n2027-03-08T06:00:00Z,+18.50,045\n2027-03-08T06:10:00Z,-0000000000000000005.0,46.\n",
	} {
		log, err := Read([]byte(csv), "hangar.csv", Options{})
		if assert.NoError(t, err, name) {
			assert.Equal(t, want, say(log.Samples), name)
			assert.Empty(t, log.Notes, name)
		}
	}
}

func TestFurtherColumnsArePassedOverWithANote(t *testing.T) {
	log := read(t, "door,time,remark,temp_c,rh_pct,\n"+
		"open,2027-03-08T06:00:00Z,\"two\nlines, \"\"quoted\"\"\",18.5,45,\n"+
		"shut,2027-03-08T06:10:00Z,5\" pipe,18.4,46,x\n", nil)
	assert.Equal(t, []string{"2027-03-08T06:00:00Z 18.5 45", "2027-03-08T06:10:00Z 18.4 46"}, say(log.Samples))
	assert.Equal(t, []string{`columns not used: "door", "remark", the unnamed number 6`}, log.Notes)
}

func TestLineNumbersCountLineEndsWithinQuotes(t *testing.T) {
	_, err := Read([]byte("time,temp_c,rh_pct,remark\n2027-03-08T06:00:00Z,18,45,\"a\nb\nc\"\n\n2027-03-08T06:10:00Z,warm,45,\n"), "h.csv", Options{})
	assert.ErrorContains(t, err, "h.csv:6: temp_c")
	_, err = Read([]byte("time,temp_c,rh_pct,remark\n2027-03-08T06:00:00Z,18,45,\"a\nb\nc\"\n\n2027-03-08T06:00:00Z,18,45,\n"), "h.csv", Options{})
	assert.ErrorContains(t, err, "h.csv:6: the same time as line 2")
}

func TestTimesAreReadWithTheirOffset(t *testing.T) {
	// RFC 3339, section 5.8, gives the first three examples; years moved where the
	// original is from before 1970 or on a leap second.
	for in, want := range map[string]string{
		"1985-04-12T23:20:50.52Z":     "1985-04-12T23:20:50.52Z",
		"1996-12-19T16:39:57-08:00":   "1996-12-20T00:39:57Z",
		"1987-01-01T12:00:27.87+0020": "1987-01-01T11:40:27.87Z",
		"2027-03-08T07:00:00+01:00":   "2027-03-08T06:00:00Z",
		"2027-03-08t07:00:00z":        "2027-03-08T07:00:00Z",
		"2027-03-08 07:00:00Z":        "2027-03-08T07:00:00Z",
		"2027-03-08T07:00Z":           "2027-03-08T07:00:00Z",
		"2027-03-08T07:00-03:30":      "2027-03-08T10:30:00Z",
		"2027-03-08T07:00:00-00:00":   "2027-03-08T07:00:00Z",
		"2028-02-29T23:59:59Z":        "2028-02-29T23:59:59Z",
	} {
		log := read(t, "time,temp_c,rh_pct\n"+in+",18,45\n", nil)
		assert.Equal(t, want, log.Samples[0].At.UTC().Format(time.RFC3339Nano), in)
	}
}

func TestTimesKeepTheOffsetTheyWereWrittenWith(t *testing.T) {
	log := read(t, "time,temp_c,rh_pct\n2027-03-08T07:00:00+01:00,18,45\n2027-03-08T07:00:00Z,18,45\n2027-03-08T03:40:00-03:30,18,45\n", nil)
	var got []string
	for _, s := range log.Samples {
		got = append(got, s.At.Format("15:04 MST"))
	}
	assert.Equal(t, []string{"07:00 UTC+01:00", "07:00 UTC", "03:40 UTC-03:30"}, got)
	log = read(t, "time,temp_c,rh_pct\n2027-03-08T07:00:00Z,18,45\n", zone(t, "Europe/Berlin"))
	assert.Equal(t, "08:00 CET", log.Samples[0].At.Format("15:04 MST"), "in Options.Zone if given")
}

func TestLocalTimesAreReadInTheZone(t *testing.T) {
	log := read(t, "time,temp_c,rh_pct\n2027-03-08T07:00,18,45\n2027-03-08 07:10,18,45\n2027-03-08 07:10:05,18,45\n2027-07-08T07:10:05.5,18,45\n", zone(t, "Atlantic/Faroe"))
	assert.Equal(t, []string{"2027-03-08T07:00:00Z 18 45", "2027-03-08T07:10:00Z 18 45", "2027-03-08T07:10:05Z 18 45", "2027-07-08T06:10:05.5Z 18 45"}, say(log.Samples))
}

func TestBadLogIsRefusedInOneLineWithPlaceAndRemedy(t *testing.T) {
	const head = "time,temp_c,rh_pct\n"
	const row = "2027-03-08T06:00:00Z,18.5,45\n"
	for _, tc := range []struct{ name, csv, want string }{
		{"empty", "", "h.csv: the file is empty; it needs the header time,temp_c,rh_pct (or temp_f) and a row for each reading"},
		{"blank", "\n  \r\n\n", "h.csv: the file is empty; "},
		{"separators only", "\n,,\n,", "h.csv: the file is empty; "},
		{"mark only", "\ufeff", "h.csv: the file is empty; "},
		{"header only", head, "h.csv: a header but no readings; give at least one row of time,temp_c,rh_pct"},
		{"header only, °F", "time;temp_f;rh_pct", "h.csv: a header but no readings; give at least one row of time;temp_f;rh_pct"},
		{"no header", row, "h.csv:1: no header; put the line time,temp_c,rh_pct (or temp_f) on top"},
		{"wrong names", "\ndate,temp_c,humidity\n" + row, `h.csv:2: no column time, no column rh_pct; the header must be time,temp_c,rh_pct (or temp_f); it is "date,temp_c,humidity"`},
		{"open quote in header", "time,\"temp_c,rh_pct\n", "h.csv:1: a quote opens and never closes; "},
		{"mixed separators", "time;temp_c,rh_pct\n" + row, `h.csv:1: no column temp_c or temp_f, no column rh_pct; `},
		{"tabs", "time\ttemp_c\trh_pct\n", "h.csv:1: the columns are separated by tabs; use commas or semicolons"},
		{"twice", "time,temp_c,temp_c,rh_pct\n", "h.csv:1: the column temp_c stands there twice; "},
		{"both scales", "time,temp_c,temp_f,rh_pct\n", "h.csv:1: temp_c and temp_f are both there; rename the one not to use"},
		{"bare CR", "time,temp_c,rh_pct\r2027-03-08T06:00:00Z,18,45\r", "h.csv: lines end with a bare CR (carriage return); save it with line ends LF or CRLF"},
		{"bare CR, then LF", "time,temp_c,rh_pct\r2027-03-08T06:00:00Z,18,45\r\n", "h.csv:1: lines end with a bare CR (carriage return); "},
		{"bare CR in rows", head + "2027-03-08T06:00:00Z,18,45\r2027-03-08T06:10:00Z,18,45\n", "h.csv:2: lines end with a bare CR (carriage return); "},
		{"UTF-16", "\xff\xfet\x00i\x00m\x00e\x00", "h.csv: not plain text, perhaps UTF-16 or a spreadsheet; save it as CSV in UTF-8"},
		{"spreadsheet", "PK\x03\x04\x14\x00\x06\x00", "h.csv: not plain text, perhaps UTF-16 or a spreadsheet; save it as CSV in UTF-8"},
		{"too few", head + row + "2027-03-08T06:10:00Z,18\n", "h.csv:3: 2 fields where the header has 3; separate the columns with commas, as in the header"},
		{"rows with semicolons", head + "2027-03-08T06:10:00Z;18;45\n", "h.csv:2: 1 field where the header has 3; separate the columns with commas, as in the header"},
		{"rows with commas", "time;temp_c;rh_pct\n" + row, "h.csv:2: 1 field where the header has 3; separate the columns with semicolons, as in the header"},
		{"decimal comma", head + "2027-03-08T06:10:00Z,18,5,45\n", "h.csv:2: 4 fields where the header has 3; with commas between columns write 18.5, not 18,5"},
		{"open quote", head + row + "2027-03-08T06:10:00Z,\"18,45\n", "h.csv:3: a quote opens and never closes; close it or take it out"},
		{"text behind quote", head + "\"2027-03-08\"T06:10:00Z,18,45\n", "h.csv:2: text behind a closing quote; "},
		{"no number", head + row + "2027-03-08T06:10:00Z,warm,45\n", `h.csv:3: temp_c is "warm", not a number; write the number alone, like 18.5; delete the row if the sensor failed`},
		{"unit in field", head + "2027-03-08T06:10:00Z,18C,45\n", `h.csv:2: temp_c is "18C", not a number; `},
		{"NaN", head + "2027-03-08T06:10:00Z,NaN,45\n", `h.csv:2: temp_c is "NaN", not a number; `},
		{"Inf", head + "2027-03-08T06:10:00Z,18,+Inf\n", `h.csv:2: rh_pct is "+Inf", not a number; `},
		{"too big for a float", head + "2027-03-08T06:10:00Z,1e999,45\n", `h.csv:2: temp_c is "1e999", not a number; `},
		{"hex", head + "2027-03-08T06:10:00Z,0x12p0,45\n", `h.csv:2: temp_c is "0x12p0", not a number; `},
		{"sign alone", head + "2027-03-08T06:10:00Z,-,45\n", `h.csv:2: temp_c is "-", not a number; `},
		{"two points", head + "2027-03-08T06:10:00Z,1.8.5,45\n", `h.csv:2: temp_c is "1.8.5", not a number; `},
		{"quoted decimal comma", head + "2027-03-08T06:10:00Z,\"18,5\",45\n", `h.csv:2: temp_c is "18,5", not a number; `},
		{"thousands", "time;temp_c;rh_pct\n2027-03-08T06:10:00Z;1,018.5;45\n", `h.csv:2: temp_c is "1,018.5", not a number; `},
		{"empty field", head + "2027-03-08T06:10:00Z,,45\n", "h.csv:2: temp_c is empty; give it, or delete the row"},
		{"empty humidity", head + "2027-03-08T06:10:00Z,18, \n", "h.csv:2: rh_pct is empty; give it, or delete the row"},
		{"empty time", head + " ,18,45\n", "h.csv:2: the time is empty; give it, or delete the row"},
		{"too cold", head + "2027-03-08T06:10:00Z,-60.1,45\n", "h.csv:2: temp_c is -60.1; air lies between -60 and 90 C (-76 and 194 F); check the sensor or delete the row"},
		{"sensor value", head + "2027-03-08T06:10:00Z,850,45\n", "h.csv:2: temp_c is 850; air lies between -60 and 90 C (-76 and 194 F); check the sensor or delete the row"},
		{"too hot in °F", "time,temp_f,rh_pct\n2027-03-08T06:10:00Z,195,45\n", "h.csv:2: temp_f is 195; air lies between"},
		{"°F as °C", head + row + "2027-03-08T06:10:00Z,77,45\n", "h.csv:3: temp_c is 77: a hangar at 77 C? If the logger writes °F, name the column temp_f"},
		{"negative humidity", head + "2027-03-08T06:10:00Z,18,-1\n", "h.csv:2: rh_pct is -1; relative humidity lies between 0 and 100; check the sensor or delete the row"},
		{"humidity too high", head + "2027-03-08T06:10:00Z,18,105.1\n", "h.csv:2: rh_pct is 105.1; "},
		{"out of order", head + "2027-03-08T06:10:00Z,18,45\n\n" + row, "h.csv:4: the time goes backwards: Mon 8 Mar 2027 06:00 UTC after Mon 8 Mar 2027 06:10 UTC on line 2; put the rows in order of time, and check --zone if the times are local"},
		{"duplicate", head + row + row, "h.csv:3: the same time as line 2, Mon 8 Mar 2027 06:00 UTC; delete one of the two rows"},
		{"duplicate in another offset", head + row + "2027-03-08T07:00:00+01:00,18,45\n", "h.csv:3: the same time as line 2, "},
		{"order before a later fault", head + row + row + "x,y,z\n", "h.csv:3: the same time as line 2"},
		{"fault before a later order", head + row + "x,y,z\n" + row, "h.csv:3: not a time: \"x\"; "},
		{"local, no zone", head + "2027-03-08T06:10,18,45\n", `h.csv:2: the time "2027-03-08T06:10" does not say its offset from UTC; give --zone, like --zone Europe/Berlin, or write the offset: 2027-03-08T07:00+01:00`},
		{"day first", head + "08.03.2027 06:10,18,45\n", `h.csv:2: not a time: "08.03.2027 06:10"; write it like 2027-03-08T07:00 or 2027-03-08T07:00:00+01:00`},
		{"slashes", head + "2027/03/08 06:10,18,45\n", `h.csv:2: not a time: "2027/03/08 06:10"; `},
		{"date alone", head + "2027-03-08,18,45\n", `h.csv:2: not a time: "2027-03-08"; `},
		{"seconds since 1970", head + "1804489800,18,45\n", `h.csv:2: not a time: "1804489800"; `},
		{"half a second field", head + "2027-03-08T06:10:5,18,45\n", "h.csv:2: not a time"},
		{"empty fraction", head + "2027-03-08T06:10:05.Z,18,45\n", "h.csv:2: not a time"},
		{"wrong offset", head + "2027-03-08T06:10:00+1,18,45\n", "h.csv:2: not a time"},
		{"offset too wide", head + "2027-03-08T06:10:00+24:00,18,45\n", "h.csv:2: not a time"},
		{"30 February", head + "2027-02-30T06:10:00Z,18,45\n", `h.csv:2: no such day: "2027-02-30"; write year-month-day, like 2027-03-08`},
		{"month 13", head + "2027-13-01T06:10:00Z,18,45\n", `h.csv:2: no such day: "2027-13-01"; `},
		{"29 February, no leap year", head + "2027-02-29T06:10:00Z,18,45\n", `h.csv:2: no such day`},
		{"24 h", head + "2027-03-08T24:00:00Z,18,45\n", `h.csv:2: no such time of day: "2027-03-08T24:00:00Z"; hours run from 00 to 23, minutes and seconds from 00 to 59`},
		{"leap second", head + "2027-03-08T23:59:60Z,18,45\n", `h.csv:2: no such time of day`},
		{"year", head + "0207-03-08T23:59:00Z,18,45\n", `h.csv:2: the year is 0207; check the logger's clock`},
	} {
		_, err := Read([]byte(tc.csv), "h.csv", Options{})
		if !assert.Error(t, err, tc.name) {
			continue
		}
		assert.True(t, strings.HasPrefix(err.Error(), tc.want), "%s:\n got %s\nwant %s", tc.name, err, tc.want)
		assert.NotContains(t, err.Error(), "\n", tc.name)
		var e *Error
		assert.ErrorAs(t, err, &e, tc.name)
	}
}

func TestWarmLogAsksForItsScale(t *testing.T) {
	const head = "time,temp_c,rh_pct\n"
	_, err := Read([]byte(head+"2027-03-08T06:00:00Z,44,45\n2027-03-08T06:10:00Z,46,45\n2027-03-08T06:20:00Z,58.5,45\n"), "h.csv", Options{})
	assert.EqualError(t, err, "h.csv:1: temp_c is above 45 in 2 of 3 rows: a hangar at 58.5 C? If the logger writes °F, name the column temp_f")
	log := read(t, head+"2027-03-08T06:00:00Z,44,45\n2027-03-08T06:10:00Z,45,45\n2027-03-08T06:20:00Z,60,45\n", nil)
	assert.Len(t, log.Samples, 3)
	log = read(t, "time,temp_f,rh_pct\n2027-03-08T06:00:00Z,122,45\n", nil)
	assert.Equal(t, 50.0, log.Samples[0].TempC, "named, the scale is believed")
}

func TestHumidityJustAbove100IsTakenAs100WithANote(t *testing.T) {
	log := read(t, "time,temp_c,rh_pct\n2027-03-08T06:00:00Z,8,102.4\n2027-03-08T06:10:00Z,8,100\n2027-03-08T06:20:00Z,8,105\n", nil)
	for _, s := range log.Samples {
		assert.Equal(t, 100.0, s.RH)
	}
	assert.Equal(t, []string{"humidity above 100 % in 2 rows (highest 105 %): taken as 100 %"}, log.Notes)
}
