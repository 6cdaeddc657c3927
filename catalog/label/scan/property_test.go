package scan

import (
	"fmt"
	"strings"
	"testing"
	"time"
	"unicode"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog/label"
)

// lasting is a scan without what a repair leaves: the warnings that its printed form
// has no more reason for. Doubt and Swallowed depend on the form of the scan, so they go too, and so does what an
// address has beside GS1's fields.
func lasting(s Scan) Scan {
	var ws []Warning
	for _, w := range s.Warnings {
		if w.Trouble != Repaired && w.Trouble != Swallowed && !strings.Contains(w.Text, "not GS1's") && !strings.HasPrefix(w.Text, "Format") {
			ws = append(ws, w)
		}
	}
	s.Warnings, s.Doubt = ws, false
	return s
}

const cset = `!"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz`

func anyText(most int) *rapid.Generator[string] {
	return rapid.StringOfN(rapid.RuneFrom([]rune(cset)), 1, most, most).Filter(func(s string) bool {
		_, names := unspell(s)
		return names == ""
	})
}

func checked(t *rapid.T, digits int) string {
	s := rapid.StringOfN(rapid.RuneFrom([]rune("0123456789")), digits, digits, digits).Draw(t, "digits")
	return s + string(label.CheckDigit(s))
}

// anyElement is a field that the standard allows, and whose value Parse keeps.
func anyElement(t *rapid.T, id string) string {
	at := time.Date(2017+rapid.IntRange(0, 29).Draw(t, "year"), 1, rapid.IntRange(1, 365).Draw(t, "day"), 13, 7, 0, 0, time.UTC)
	switch s := specOf(id); {
	case id == "00":
		return checked(t, 17)
	case id == "01":
		return checked(t, 13)
	case id == "7003":
		return at.Format("0601021504")
	case id == "7011":
		return at.Format(rapid.SampledFrom([]string{"060102", "0601021504"}).Draw(t, "form"))
	case len(id) == 2 && id[0] == '1' && id != "10":
		return at.Format(rapid.SampledFrom([]string{"060102", "060100"}).Draw(t, "form"))
	case s == nil:
		return rapid.StringMatching(`[0-9]{4,9}`).Draw(t, "unknown")
	case id[:2] == "43":
		return rapid.StringMatching(`00[0-9]{4}-?`).Draw(t, "temperature")
	case s.numeric:
		return rapid.StringOfN(rapid.RuneFrom([]rune("0123456789")), s.min, s.max, s.max).Draw(t, "number")
	default:
		return anyText(s.max).Draw(t, "text")
	}
}

// anyFields are some GS1 fields in any order, each identifier once, and none that
// contradict each other.
func anyFields(t *rapid.T) (fields []Field) {
	chosen := rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"00", "01", "10", "11", "13", "15", "16", "17", "20", "21", "22", "240", "241", "30",
		"3103", "4331", "4332", "7004", "7011", "90", "99", "400"}), 1, 8, rapid.ID[string]).Draw(t, "identifiers")
	for _, id := range chosen {
		fields = append(fields, Field{ID: id, Value: anyElement(t, id)})
	}
	return fields
}

func bare(fields []Field) (out []string) {
	for _, f := range fields {
		out = append(out, f.ID+" "+f.Value)
	}
	return out
}

func TestEveryElementStringReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Scan{Standard: GS1, Symbology: rapid.SampledFrom([]string{"", "]C1", "]d2", "]Q3"}).Draw(t, "symbology"), Fields: anyFields(t)}
		read, err := Parse(s.ElementString(), now)
		require.NoError(t, err, "%q", s.ElementString())
		require.Equal(t, bare(s.Fields), bare(read.Fields))
		require.Equal(t, s.Symbology, read.Symbology)
		again, err := Parse(read.ElementString(), now)
		require.NoError(t, err)
		require.Equal(t, read, again, "with its warnings and its doubt")
		people, err := Parse(read.String(), now)
		require.NoError(t, err, read.String())
		people.Symbology = read.Symbology
		require.Equal(t, lasting(read), lasting(people), read.String())
		require.True(t, Looks(read.ElementString()) || s.Symbology == "" && !strings.Contains(read.ElementString(), "\x1d"))
	})
}

func TestEveryLinkReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Scan{Standard: Link, Stem: "https://id.gs1.org", Fields: []Field{{ID: "01", Value: checked(t, 13)}}}
		for _, f := range anyFields(t) {
			if f.ID != "01" {
				s.Fields = append(s.Fields, f)
			}
		}
		read, err := Parse(s.ElementString(), now)
		require.NoError(t, err, s.ElementString())
		require.Equal(t, bare(s.Fields), bare(read.Fields), s.ElementString())
		again, err := Parse(read.String(), now)
		require.NoError(t, err)
		require.Equal(t, read, again)
		require.True(t, Looks(read.String()))
	})
}

func TestEveryEnvelopeReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := time.Date(2017+rapid.IntRange(0, 29).Draw(t, "year"), 1, rapid.IntRange(1, 365).Draw(t, "day"), 0, 0, 0, 0, time.UTC)
		lot := strings.Trim(anyText(30).Draw(t, "lot")+rapid.SampledFrom([]string{"", " B", "|C", "#", "\\"}).Draw(t, "more"), " ")
		s := Scan{Standard: ISO15434}
		for _, id := range rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"1T", "T", "1P", "P", "Q", "S", "14D", "17D", "D", "3D", "7D", "9D", "2E", "3E", "9N", "4L"}), 1, 6, rapid.ID[string]).Draw(t, "identifiers") {
			value := lot
			if layout, ok := map[string]string{"14D": "20060102", "17D": "02012006", "D": "060102", "7D": "0106"}[id]; ok {
				value = at.Format(layout)
			}
			switch id {
			case "Q", "2E":
				value = rapid.StringMatching(`[0-9]{1,3}(\.[0-9]{1,2})?`).Draw(t, "amount")
			case "3E":
				value = rapid.StringMatching(`[-+]?[0-9]{1,2}`).Draw(t, "degrees")
			case "3D":
				value = fmt.Sprintf("%d%03d", at.Year()%10, at.YearDay())
			}
			s.Fields = append(s.Fields, Field{ID: id, Value: value})
		}
		alone := len(s.Fields)
		if rapid.Bool().Draw(t, "both formats") {
			s.Fields = append(s.Fields, Field{ID: "01", Value: checked(t, 13)}, Field{ID: "13", Value: at.Format("060102")})
		}
		read, err := Parse(s.ElementString(), now)
		require.NoError(t, err, "%q", s.ElementString())
		require.Equal(t, bare(s.Fields), bare(read.Fields))
		again, err := Parse(read.ElementString(), now)
		require.NoError(t, err)
		require.Equal(t, read, again)
		if alone == len(s.Fields) {
			people, err := Parse(read.String(), now)
			require.NoError(t, err, read.String())
			require.Equal(t, lasting(read), lasting(people))
		}
	})
}

// A separator lost between a lot and its expiry never goes unnoticed, whatever the
// lot, unless lot and date are too long together: then the scan is refused.
func TestLostSeparatorBeforeADateIsAlwaysNoticed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lot := anyText(20).Draw(t, "lot")
		at := now.Add(date.PeriodOfDays(rapid.IntRange(-9*365, 19*365).Draw(t, "days")))
		id := rapid.SampledFrom([]string{"11", "13", "15", "16", "17", "7011", "7003"}).Draw(t, "identifier")
		form := "060102"
		if id == "7003" {
			form = "0601021504"
		}
		text := "0105412345000013" + "10" + lot + id + at.Format(form)
		s, err := Parse(text, now)
		if len(lot) > 20-len(id+form) {
			require.ErrorContains(t, err, "separator (GS)", text)
			return
		}
		require.NoError(t, err, text)
		require.True(t, s.Doubt, text)
	})
}

// Few lots are doubted that have no date in them: the share is counted on nine random
// digits, the worst case, because letters end the search.
func TestFewOrdinaryLotsAreDoubted(t *testing.T) {
	doubted, n := 0, uint64(88172645463325252)
	const lots = 100000
	for range lots {
		n ^= n << 13 // Marsaglia's xorshift: the same lots in every run
		n ^= n >> 7
		n ^= n << 17
		s, err := Parse(fmt.Sprintf("10%09d", n%1e9), now)
		require.NoError(t, err)
		if s.Doubt {
			doubted++
		}
	}
	assert.Positive(t, doubted)
	assert.Less(t, doubted, lots/1000)
	t.Logf("%d of %d lots of nine digits are doubted", doubted, lots)
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{
		"]d2010541234500001310ABC123<GS>17290331", "(01)38425876095074(17)260400(10)123456", swallowedDate, "70030701021415",
		"https://id.gs1.org/01/09520123456788/10/ABC1/21/12345?17=180426", "[)><RS>06<GS>9N112097776020<GS>1TABC123<GS>D290331<RS><EOT>",
		"[)><RS>05<GS>10A<RS>06<GS>1TB<RS><EOT>", "(1T)A\\(D)B\\\\(14D)20290331", "06<GS>1TA", "[)>|06|1TA||", "10A\\x1d17290331", "10A␝17290331", "4331001850-",
		"]C0(10)A(B)C", "http://x/00/054123450000000013?99=%28", "10A|17290331#21B",
	} {
		f.Add(c(s), 2026)
		f.Add(s, 2051)
	}
	f.Fuzz(func(t *testing.T, text string, year int) {
		today := date.New(2000+year%100, time.June, 1)
		Looks(text)
		Plain(text)
		s, err := Parse(text, today)
		if err != nil {
			if len(s.Fields) > 0 || s.Standard != 0 {
				t.Fatalf("%q: a scan with an error", text)
			}
			oneLine(t, text, err.Error())
			return
		}
		for _, w := range s.Warnings {
			oneLine(t, text, w.Text)
		}
		oneLine(t, text, s.String())
		if s.Standard == 0 || len(s.Fields) == 0 {
			t.Fatalf("%q: an empty scan", text)
		}
		again, err := Parse(s.ElementString(), today)
		if err != nil {
			t.Fatalf("%q: %q does not read back: %v", text, s.ElementString(), err)
		}
		assert.Equal(t, lasting(s), lasting(again), "%q", text)
		twice, err := Parse(again.ElementString(), today)
		if err != nil {
			t.Fatal(err)
		}
		assert.Equal(t, again, twice, "%q", text)
		people, err := Parse(s.String(), today)
		both := false
		for _, f := range s.Fields {
			both = both || isNumber(f.ID) != isNumber(s.Fields[0].ID)
		}
		if !both {
			if err != nil {
				t.Fatalf("%q: %q does not read back: %v", text, s.String(), err)
			}
			assert.Equal(t, bare(s.Fields), bare(people.Fields), "%q", text)
		}
	})
}

func oneLine(t *testing.T, text, line string) {
	for _, r := range line {
		if !unicode.IsPrint(r) {
			t.Fatalf("%q: a line that does not print: %q", text, line)
		}
	}
}
