package stock

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"
	"time"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/charmap"
	"pgregory.net/rapid"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
)

func with(t *testing.T, text string, o Options) Sheet {
	t.Helper()
	o.Today = today
	s, err := ReadWith(strings.NewReader(text), "stock.csv", o)
	require.NoError(t, err)
	return s
}

func TestRowCarriesTheRareColumns(t *testing.T) {
	s := read(t, "batch,class,code,standard,polymer,best-before,received,thawed,refrozen,out-used,hot,condition,tested,result,tested-by,authority,reference,results,extended-to,gtin,container\n"+
		"S-1,b-2,4,ISO 2230,FKM,05/2027,2026-12-01,2027-03-01T08:00|2027-03-05 07:30,2027-03-01 14:00,36h,2027-02-03T15:00,damaged|cloudy,2027-01-05,pass,Lab 2,quality office,QR-7,Shore A 48,2027-07-05,629104150021 3,7 of 12\n"+
		"S-2,b-2,4,ISO 2230,FKM,05/2027,2026-12-01,2027-03-01T08:00|2027-03-05 07:30,2027-03-01 14:00,36h,2027-02-03T15:00,damaged|cloudy,2027-01-05,pass,Lab 2,quality office,QR-7,Shore A 48,2027-07-05,6291041500213,7 of 12\n")
	require.Len(t, s.Bad, 1, "%v", s.Bad)
	assert.Contains(t, s.Bad[0].Reason, `gtin "629104150021 3": write its digits alone`)
	require.Len(t, s.List, 1)
	r := s.List[0]
	it := r.Item
	assert.Equal(t, "4", it.Code)
	assert.Equal(t, shelf.StandardISO2230, it.Standard)
	assert.Equal(t, "FKM", it.Polymer)
	assert.Equal(t, "May 2027", it.BestBefore.String())
	assert.Equal(t, "1 December 2026", it.Received.On.String())
	require.Len(t, it.Thawed, 2)
	assert.Equal(t, "2027-03-01T08:00", it.Thawed[0].Canonical())
	assert.Equal(t, "2027-03-05T07:30", it.Thawed[1].Canonical())
	require.Len(t, it.Refrozen, 1)
	assert.Equal(t, "2027-03-01T14:00", it.Refrozen[0].Canonical())
	assert.Equal(t, 36*time.Hour, it.OutUsed)
	require.Len(t, it.Storage, 1)
	assert.Equal(t, "2027-02-03T15:00", it.Storage[0].HotFrom.Canonical())
	assert.Equal(t, shelf.Damaged|shelf.Cloudy, it.Condition)
	require.Len(t, it.Tests, 1)
	test := it.Tests[0]
	assert.True(t, test.Passed)
	assert.Equal(t, "5 January 2027", test.On.String())
	assert.Equal(t, []string{"Lab 2", "quality office", "QR-7", "Shore A 48", "2027-07-05"}, []string{test.By, test.Authority, test.Reference, test.Results, test.To.Canonical()})
	assert.Equal(t, "06291041500213", r.GTIN, "GS1's worked check digit, 629104150021 and 3, with a zero in front")
	assert.Equal(t, "7 of 12", it.Container)
	assert.False(t, r.Plain)
}

func TestWhatRareColumnsCannotMeanIsSaid(t *testing.T) {
	for cells, want := range map[string]string{
		"code:a":                         "codes are capital letters or digits: is it A?",
		"code:Z":                         "no such code",
		"standard:ISO 2203":              `standard "ISO 2203": not a standard for the storage of seals: write iso-2230 or sae-arp5316`,
		"out-used:36":                    `out-used "36": a span of time needs its unit`,
		"hot:yesterday":                  `hot "yesterday": not a date`,
		"condition:damged":               `condition "damged": not known: is it damaged?`,
		"condition:purple":               `condition "purple": not known: write damaged, cloudy, skinned, separated, label-gone`,
		"result:pass":                    `tested has no date, but result is "pass": write the day of the test`,
		"tested:2027-01-05":              `result is missing for the test of "2027-01-05": write pass or fail`,
		"tested:2027-01-05,result:maybe": `result "maybe": write pass or fail`,
		"gtin:6291041500214":             `gtin "6291041500214": the check digit is wrong`,
		"gtin:123":                       "it has 3 digits, and a trade item number 8 to 14",
		"gtin:6.29104E+12":               "write its digits alone",
		"best-before:2027-02-30":         "best-before \"2027-02-30\": no day 30 in February 2027",
		"received:03/04/2027":            "the order of day, month and year is not known",
		"opened:2027-03-05T25:00":        "opened \"2027-03-05T25:00\": no hour 25",
		"refrozen:never":                 `refrozen "never": not a date`,
	} {
		names, values := "batch,class", "S-1,b-2"
		for one := range strings.SplitSeq(cells, ",") {
			name, value, _ := strings.Cut(one, ":")
			names, values = names+","+name, values+","+value
		}
		s := read(t, names+"\n"+values+"\n")
		if assert.Len(t, s.Bad, 1, cells) {
			assert.Contains(t, s.Bad[0].Reason, want)
		}
	}
}

// A batch is judged for its use only if nothing was lost that might speak for it.
func TestWhatMightSpeakForABatchIsNotLeftOut(t *testing.T) {
	for cells, dated := range map[string]bool{"quantity:-1": true, "condition:purple": true, "gtin:1": true, "code:a": false, "tested:2027-01-05": false, "result:pass": false, "standard:x": false, "dom:x": false, "hot:x": false} {
		name, value, _ := strings.Cut(cells, ":")
		s := read(t, "batch,class,"+name+"\nS-1,b-2,"+value+"\n")
		require.Len(t, s.Bad, 1, cells)
		assert.Equal(t, dated, s.Bad[0].Dated, cells)
	}
}

func TestAnAuthorityWithoutATestIsKept(t *testing.T) {
	s := read(t, "batch,class,reference\nS-1,b-2,PO 77\n")
	require.Len(t, s.List, 1)
	assert.Empty(t, s.List[0].Item.Tests)
	assert.Equal(t, "PO 77", s.List[0].Cell("reference"))
}

// What Cell writes reads back as the same row.
func TestCellsReadBackAsTheSameRow(t *testing.T) {
	oneOf := func(all ...string) *rapid.Generator[string] { return rapid.SampledFrom(append(all, "", "")) }
	cells := map[string]*rapid.Generator[string]{
		"dom": oneOf("2026-09-01", "2Q26", "05/26"), "expiry": oneOf("2027-08", "31 AUG 2027", "2026-W53"), "inspect": oneOf("2027-06-01"),
		"opened": oneOf("2027-03-01", "2027-03-01T08:15"), "thawed": oneOf("2027-03-05 2027-03-01", "5 Mar 2027 08:00|1 Mar 2027", "2027-03-01 08:00"),
		"location": oneOf("Rack 4", "küche, \"2\""), "quantity": oneOf("2.5", "0", "7"), "unit": oneOf("kit"), "held": oneOf("dented tin", "yes", "no"),
		"code": oneOf("4", "A", "X", "0"), "standard": oneOf("iso 2230", "AS5316"), "polymer": oneOf("NBR"), "best-before": oneOf("2027-06"), "received": oneOf("2026-12-24"),
		"refrozen": oneOf("2027-03-02", "2027-03-02T07:00 2027-03-03T09:30"), "out-used": oneOf("36h", "90min", "1.5s", "PT2H30M"), "hot": oneOf("2027-02-01T12:00"),
		"condition": oneOf("damaged", "cloudy|skinned", "separated label-gone", "ok"), "gtin": oneOf("6291041500213"), "container": oneOf("7 of 12"),
		"tested": oneOf("2027-01-05"), "extended-to": oneOf("2027-09"), "authority": oneOf("quality office"), "results": oneOf("48 Shore A"),
	}
	rapid.Check(t, func(t *rapid.T) {
		values := map[string]string{"batch": "S-1", "class": "b-2"}
		for _, name := range Columns() {
			if g := cells[name]; g != nil {
				values[name] = g.Draw(t, name)
			}
		}
		if values["tested"] == "" {
			delete(values, "extended-to")
			delete(values, "results")
		} else {
			values["result"] = rapid.SampledFrom([]string{"pass", "fail"}).Draw(t, "result")
		}
		text := func(value func(string) string) string {
			var b bytes.Buffer
			w := csv.NewWriter(&b)
			var row []string
			for _, name := range Columns() {
				row = append(row, value(name))
			}
			require.NoError(t, w.WriteAll([][]string{Columns(), row}))
			return b.String()
		}
		s, err := ReadCSV(strings.NewReader(text(func(name string) string { return values[name] })), "f", today)
		require.NoError(t, err)
		require.Empty(t, s.Bad)
		first := s.List[0]
		s, err = ReadCSV(strings.NewReader(text(first.Cell)), "f", today)
		require.NoError(t, err)
		require.Empty(t, s.Bad)
		for _, name := range Columns() {
			require.Equal(t, first.Cell(name), s.List[0].Cell(name), name)
		}
		require.Equal(t, first.Item.Held == "", s.List[0].Item.Held == "")
		require.Len(t, s.List[0].Item.Thawed, len(first.Item.Thawed))
	})
}

func TestDatesAreReadInTheOrderGiven(t *testing.T) {
	for order, want := range map[label.Order]string{label.DMY: "3 April 2027", label.MDY: "4 March 2027"} {
		s := with(t, "batch,class,expiry\nS-1,b-2,03/04/2027\nS-2,b-2,2027-08-31\n", Options{Order: order})
		require.Empty(t, s.Bad)
		assert.Equal(t, want, s.List[0].Item.Expiry.String())
		assert.Equal(t, "31 August 2027", s.List[1].Item.Expiry.String(), "ISO dates need no order")
	}
	got, plain := inChunks(t, []byte("batch,class,expiry\nS-1,b-2,03/04/2027\n"), Options{Order: label.DMY, Today: today}, 10, 1)
	assert.Equal(t, "3 April 2027", got.rows[0].Item.Expiry.String())
	assert.Equal(t, 1, plain)
}

func TestOtherHeadingsAreMapped(t *testing.T) {
	m, err := ParseMap("Lot No=batch,Exp = expiry", "Sealant, grade=Class,expiry=-")
	require.NoError(t, err)
	assert.Equal(t, Map{{"Lot No", "batch"}, {"Exp", "expiry"}, {"Sealant, grade", "class"}, {"expiry", Unused}}, m)
	s := with(t, "lot no,\"Sealant, grade\",EXP,Expiry\nS-1,b-2,2027-08,see label\n", Options{Map: m})
	require.Empty(t, s.Bad)
	assert.Empty(t, s.Warnings)
	assert.Equal(t, "S-1", s.List[0].Item.Batch)
	assert.Equal(t, "August 2027", s.List[0].Item.Expiry.String())
	assert.Equal(t, []Field{{"Expiry", "see label"}}, s.List[0].Extra)
	assert.Equal(t, []string{"batch", "class", "expiry", ""}, s.Means)
}

func TestAMapThatCannotBeMeantIsRefused(t *testing.T) {
	for text, want := range map[string]string{
		"Lot No":                     `"Lot No": write the heading of the list, an equals sign and the column`,
		"Lot=batch,rest":             `"rest": write the heading`,
		"=batch":                     "before the equals sign stands the heading",
		"Lot=bach":                   `"Lot=bach": there is no column "bach" to read it as: the nearest are batch`,
		"Lot=wheel":                  "the columns are batch, class, dom",
		"Lot=batch,No=batch":         `column batch is mapped twice, from "Lot" and from "No": keep one`,
		"Lot=batch,lot=expiry":       `"lot" is mapped twice, to batch and to expiry: keep one`,
		"Lot=batch,Exp=expiry,Exp=-": "is mapped twice",
		"":                           `"": write the heading`,
	} {
		_, err := ParseMap(text)
		if assert.Error(t, err, text) {
			assert.Contains(t, err.Error(), want)
			assert.NotContains(t, err.Error(), "\n")
		}
	}
}

func FuzzParseMap(f *testing.F) {
	f.Add("Lot No=batch,Exp=expiry")
	f.Add("a,b=class,=,-=-,x=-")
	f.Fuzz(func(t *testing.T, text string) {
		m, err := ParseMap(text)
		if err != nil {
			if strings.Contains(err.Error(), "\n") {
				t.Fatalf("not one line: %q", err)
			}
			return
		}
		for _, r := range m {
			if r.Heading == "" || r.Column == "" {
				t.Fatalf("impossible %+v", r)
			}
		}
	})
}

func TestAMapThatDoesNotFitTheListIsRefused(t *testing.T) {
	for text, want := range map[string]string{
		"lot,class\n":                        `stock.csv:1: the map says "Lot No=batch", but no column is called "Lot No": the nearest are lot`,
		"x,y\n":                              `no column is called "Lot No": the list has x, y`,
		"lot no,class,Lot No\n":              `but columns 1 and 3 are both called so: rename one`,
		"batch,class,lot no\n":               `columns 1, "batch", and 3, "lot no", would both be the batch: map one away, like "batch=-"`,
		"lot no,class,lot no,expiry,expiry,": "are both called so",
	} {
		m, err := ParseMap("Lot No=batch")
		require.NoError(t, err)
		_, err = ReadWith(strings.NewReader(text), "stock.csv", Options{Map: m, Today: today})
		assert.ErrorContains(t, err, want, text)
	}
}

func TestOtherNamesOfColumnsAreAskedAbout(t *testing.T) {
	_, err := ReadCSV(strings.NewReader("Lot No,class\n"), "stock.csv", today)
	assert.ErrorContains(t, err, `the header has no column batch: is column 1, "Lot No", meant? The headings are Lot No, class: rename them or map them, like --map "Lot No=batch"`)
	s := read(t, "batch,class,Qty,Bin no\nS-1,b-2,3,4\n")
	assert.Equal(t, []string{`stock.csv:1: column 3, "Qty", is not known and is kept as it is: did you mean quantity?`}, s.Warnings)
}

// The table against that of golang.org/x/text.
func TestEveryByteOfWindows1252(t *testing.T) {
	for c := range 256 {
		want := charmap.Windows1252.DecodeByte(byte(c))
		if got := fromWindows1252(byte(c)); c == 0 || got != 0 {
			assert.Equal(t, want, got, "%02x", c)
		} else {
			assert.Equal(t, utf8.RuneError, want, "%02x has no character", c)
		}
	}
}

func TestLinesThatAreNoUTF8AreWindows1252(t *testing.T) {
	const list = "batch,class,location\nS-1,b-2,Rack\nS-2,b-2,Küche\nS-3,b-2,K\xfcche\nS-4,b-2,\x84B\xe4ck\x93\n"
	s := with(t, list, Options{})
	require.Empty(t, s.Bad)
	assert.Equal(t, "Küche", s.List[1].Location)
	assert.Equal(t, "Küche", s.List[2].Location)
	assert.Equal(t, "„Bäck“", s.List[3].Location)
	assert.Equal(t, []string{"stock.csv:4: this line is not UTF-8 text; it, and any other like it, is read as Windows-1252"}, s.Warnings)

	s = with(t, list, Options{Encoding: UTF8})
	require.Len(t, s.Bad, 2)
	assert.Contains(t, s.Bad[0].Reason, "column 3 is not UTF-8 text: save the list as UTF-8")
	assert.Empty(t, s.Warnings)

	s = with(t, list, Options{Encoding: Windows1252})
	require.Empty(t, s.Bad)
	assert.Equal(t, "KÃ¼che", s.List[1].Location, "as told")
	assert.Empty(t, s.Warnings, "what was asked for is not news")

	s = with(t, "\ufeff"+list, Options{})
	require.Len(t, s.Bad, 2, "a list that says it is UTF-8 is taken at its word")

	s = with(t, "batch,class,K\xfcche\nS-1,b-2,x\n", Options{})
	assert.Equal(t, []string{"batch", "class", "Küche"}, s.Columns)
	_, err := ReadWith(strings.NewReader("batch,class,K\xfcche\n"), "stock.csv", Options{Encoding: UTF8})
	assert.ErrorContains(t, err, "is not plain UTF-8 text")
	_, err = ReadWith(strings.NewReader("\ufeffbatch,class\n"), "stock.csv", Options{Encoding: Windows1252})
	assert.ErrorContains(t, err, "starts with the mark of UTF-8")
}

// UTF-16 written by the standard library.
func TestUTF16WithItsMarkIsRead(t *testing.T) {
	text := "\ufeffbatch;class;location\r\nS-1;b-2;Küche 𝟛\r\n"
	for _, big := range []bool{true, false} {
		var b []byte
		for _, u := range utf16.Encode([]rune(text)) {
			if big {
				b = append(b, byte(u>>8), byte(u))
			} else {
				b = append(b, byte(u), byte(u>>8))
			}
		}
		require.True(t, IsUTF16(b))
		s := with(t, string(b), Options{})
		require.Empty(t, s.Bad)
		assert.Equal(t, "Küche 𝟛", s.List[0].Location)
		_, err := ReadWith(bytes.NewReader(b), "stock.csv", Options{Encoding: UTF8})
		assert.ErrorContains(t, err, "stock.csv:1: this is UTF-16 text: save the list as CSV UTF-8")
		_, err = Open(bytes.NewReader(b), int64(len(b)), "stock.csv", Options{})
		assert.ErrorContains(t, err, "this is UTF-16 text")
	}
}

func TestEncodingsHaveTheirWords(t *testing.T) {
	for _, e := range []Encoding{Auto, UTF8, Windows1252} {
		back, err := ParseEncoding(" " + strings.ToUpper(e.String()))
		require.NoError(t, err)
		assert.Equal(t, e, back)
	}
	_, err := ParseEncoding("latin")
	assert.EqualError(t, err, `"latin": not an encoding read here: auto, utf-8 or windows-1252`)
}

func TestTabsPartFieldsToo(t *testing.T) {
	s := read(t, "batch\tclass\texpiry\tlocation\nS-1\tb-2\t2027-08\tRack 1, shelf 2\n")
	require.Empty(t, s.Bad)
	assert.Equal(t, "Rack 1, shelf 2", s.List[0].Location)
}
