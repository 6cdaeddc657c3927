package stock

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// found is all that reading a list says, in the form of EachWith.
type found struct {
	rows     []Row
	bad      []Bad
	warnings []string
	err      string
}

// inOrder reads a list from its start to its end.
func inOrder(text []byte, o Options) found {
	var f found
	report, err := EachWith(bytes.NewReader(text), "f.csv", o, func(r Row) error {
		f.rows = append(f.rows, r)
		return nil
	})
	f.bad, f.warnings = report.Bad, report.Warnings
	if err != nil {
		f.err = err.Error()
	}
	return f
}

// part collects the rows of a stretch; plain ones are read again by their offsets.
type part struct {
	t     require.TestingT
	file  *File
	rows  []Row
	bad   []Bad
	plain int
}

func (p *part) Plain(at At, r *Plain) {
	raw, err := p.file.Picker().Append(nil, at.Offset)
	require.NoError(p.t, err)
	row, bad, err := p.file.Parser().Parse(raw, at.Line)
	require.NoError(p.t, err)
	require.Nil(p.t, bad, "a plain row is a good one: %q", raw)
	require.True(p.t, row.Plain)
	same := row.Item
	same.Batch = ""
	require.Equal(p.t, same, r.Item)
	require.Equal(p.t, row.Item.Batch, string(r.Batch))
	require.Equal(p.t, row.Location, string(r.Location))
	require.Equal(p.t, row.Unit, string(r.Unit))
	require.Equal(p.t, row.Counted, r.Counted)
	require.Equal(p.t, row.Quantity, r.Quantity)
	p.rows = append(p.rows, row)
	p.plain++
}

func (p *part) Row(at At, r *Row) {
	p.again(at, r, nil)
	row := *r
	row.Line = at.Line
	p.rows = append(p.rows, row)
}

func (p *part) Bad(at At, b *Bad) {
	p.again(at, nil, b)
	bad := *b
	bad.Line = at.Line
	p.bad = append(p.bad, bad)
}

// again wants a row read again to say what it said.
func (p *part) again(at At, want *Row, wantBad *Bad) {
	raw, err := p.file.Picker().Append(nil, at.Offset)
	require.NoError(p.t, err)
	row, bad, err := p.file.Parser().Parse(raw, at.Line)
	require.NoError(p.t, err)
	if want != nil {
		require.Nil(p.t, bad)
		row.Line = want.Line
		require.Equal(p.t, *want, row)
		return
	}
	require.NotNil(p.t, bad)
	require.Equal(p.t, wantBad.Reason, bad.Reason)
	require.Equal(p.t, wantBad.Cells, bad.Cells)
}

func (p *part) End() {}

// inChunks reads a list in stretches of so many bytes.
func inChunks(t require.TestingT, text []byte, o Options, chunk int64, workers int) (f found, plain int) {
	file, err := Open(bytes.NewReader(text), int64(len(text)), "f.csv", o)
	if err != nil {
		return found{err: err.Error()}, 0
	}
	file.chunk = chunk
	f.warnings, err = file.Scan(workers, func(int) Visitor { return &part{t: t, file: file} }, func(v Visitor, before int) error {
		p := v.(*part)
		for _, r := range p.rows {
			r.Line += before
			f.rows = append(f.rows, r)
		}
		for _, b := range p.bad {
			b.Line, b.Row.Line = b.Line+before, b.Line+before
			f.bad = append(f.bad, b)
		}
		plain += p.plain
		return nil
	})
	if err != nil {
		f.err = err.Error()
	}
	return f, plain
}

// pieces of lists that are hard to cut: quotes that open, close and do neither, fields
// over several lines, blank lines, bytes that are no UTF-8.
var pieces = []string{
	"S-1,b-2,2027-08,Rack 1\n", "S-2,b-2,2027-08-31,\n", "S-3 , b-2 ,05/27,\" Rack 1\"\n", "\n", ",,,\n", "\r\n", "\"S-4\",b-2,,\r\n",
	"S-5,b-2,,\"over\ntwo lines\"\n", "S-6,b-2,2027-08,\"note\n\nS-9,b-2,2027-08,Rack 9\n\"\n", "S-7,b-2,\"open\n", "S-8,b-2,,5\" tin\n",
	"S-10,b-2,,a\"\n", "S-11,b-2,03/04/2027,\n", "S-12,b-2\n", "S-13,b-2,,K\xfcche\n", "S-14,b-2,,K\x81che\n", "S-15,b-2,,Küche\n",
	"\"", ",", "\n", "S-16,b-2,,\"a \"\"b\"\" c\"\n", "S-17,b-2,,\"" + strings.Repeat("x\n", 25), "\x00\n", "S-18,,2027-08,\n", "S-19,b-2,2027-02-30,\n",
}

// However a list is cut into stretches, and however many go through it, it says what
// it says read from start to end: no row is lost, none comes twice, lines are right.
func TestStretchesOfAnySizeReadAsTheWholeList(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := "batch,class,expiry,location\n" + strings.Join(rapid.SliceOfN(rapid.SampledFrom(pieces), 0, 60).Draw(t, "pieces"), "")
		o := Options{Today: today, Encoding: rapid.SampledFrom([]Encoding{Auto, UTF8, Windows1252}).Draw(t, "encoding")}
		want := inOrder([]byte(text), o)
		got, _ := inChunks(t, []byte(text), o, rapid.Int64Range(1, 200).Draw(t, "chunk"), rapid.IntRange(1, 4).Draw(t, "workers"))
		require.Equal(t, want, got)
	})
}

// A list of notes over several lines, each of which looks like a row, is the worst for
// guessing where a stretch may start.
func TestAStretchThatStartsInsideANoteIsReadAgain(t *testing.T) {
	var text strings.Builder
	text.WriteString("batch,class,expiry,location,note\n")
	for i := range 200 {
		fmt.Fprintf(&text, "S-%d,b-2,2027-08,Rack %d,\"seen:\nX-%d,b-2,2027-08,Rack 1,gone\nX-%d,b-2,2027-08,Rack 1,gone\n\"\n", i, i%7, i, i)
	}
	want := inOrder([]byte(text.String()), Options{Today: today})
	require.Len(t, want.rows, 200)
	for _, chunk := range []int64{1, 17, 50, 64, 300, 5000} {
		got, _ := inChunks(t, []byte(text.String()), Options{Today: today}, chunk, 3)
		require.Equal(t, want, got, chunk)
	}
}

func TestRowsWithoutQuotesGoTheQuickWay(t *testing.T) {
	text := list(2000)
	want := inOrder([]byte(text), Options{Today: today})
	got, plain := inChunks(t, []byte(text), Options{Today: today}, 1000, 2)
	require.Equal(t, want, got)
	require.Equal(t, 2000, plain)
}

// What the quick way reads of a row is what the full way reads, whatever stands in it.
func TestTheQuickWayReadsWhatTheFullWayReads(t *testing.T) {
	dates := rapid.SampledFrom([]string{"", " ", "2027-08-31", "2027-02-29", "2028-02-29", "1989-12-31", "2080-01-01", "2027-13-01", "05/27", "2Q26", "31 AUG 2027", " 2027-08-31 ",
		"2027-8-31", "2027-08-3x", "03/04/2027", "2026-W53", "2027-08-31T00:00", "2027-08-31T23:59", "2027-08-31T24:00", "2027-02-29T08:00", "2027-08-31T08:60", "2027-08-31 08:00", "2027-08-31T08:00", "20270831", "never"})
	amounts := rapid.SampledFrom([]string{"", "1", "2.5", "0", "-0", "-1", "+1", ".5", "5.", ".", "1e3", "123456789012345", "1234567890", "0.1", "3.14159265358979", "1,5", "many", " 7 "})
	words := rapid.OneOf(rapid.SampledFrom([]string{"", " ", "S-1", "b-2", " b-2", "Rack 4", "~", "ü"}), rapid.StringOfN(rapid.RuneFrom([]rune("ab 1~\t")), 0, 6, -1))
	rare := rapid.SampledFrom([]string{"", "", "", " ", "x", "no"})
	head := "batch,class,dom,expiry,inspect,opened,received,location,quantity,unit,held,note"
	rapid.Check(t, func(t *rapid.T) {
		order := rapid.SampledFrom([]string{",", ";", "\t"}).Draw(t, "separator")
		text := strings.ReplaceAll(head, ",", order) + "\n"
		for range rapid.IntRange(1, 5).Draw(t, "rows") {
			cells := []string{words.Draw(t, "batch"), words.Draw(t, "class"), dates.Draw(t, "dom"), dates.Draw(t, "expiry"), dates.Draw(t, "inspect"), dates.Draw(t, "opened"), dates.Draw(t, "received"),
				words.Draw(t, "location"), amounts.Draw(t, "quantity"), words.Draw(t, "unit"), rare.Draw(t, "held"), words.Draw(t, "note")}
			text += strings.Join(cells, order) + rapid.SampledFrom([]string{"\n", "\r\n"}).Draw(t, "end")
		}
		want := inOrder([]byte(text), Options{Today: today})
		got, _ := inChunks(t, []byte(text), Options{Today: today}, 30, 1)
		require.Equal(t, want, got)
	})
}

func TestScanningStopsWhenTheReceiverSaysSo(t *testing.T) {
	text := list(500)
	file, err := Open(strings.NewReader(text), int64(len(text)), "f.csv", Options{Today: today})
	require.NoError(t, err)
	file.chunk = 100
	stop, n := errors.New("enough"), 0
	_, err = file.Scan(2, func(int) Visitor { return &part{t: t, file: file} }, func(Visitor, int) error {
		if n++; n == 3 {
			return stop
		}
		return nil
	})
	assert.ErrorIs(t, err, stop)
	assert.Equal(t, 3, n)
}

func TestALineTooLongEndsTheScanWithItsLine(t *testing.T) {
	text := "batch,class\nS-1,b-2\nS-2,b-2\n" + strings.Repeat("x", maxLine+1) + "\nS-3,b-2\n"
	want := inOrder([]byte(text), Options{Today: today})
	got, _ := inChunks(t, []byte(text), Options{Today: today}, 10, 2)
	assert.Contains(t, got.err, "f.csv:4: a line longer than")
	assert.Equal(t, want.err, got.err)
}

// shrunk is a list that was cut short after its size was asked for.
type shrunk struct{ *strings.Reader }

func TestAListCutShortIsNoCrash(t *testing.T) {
	text := list(100)
	file, err := Open(shrunk{strings.NewReader(text[:len(text)/2])}, int64(len(text)), "f.csv", Options{Today: today})
	require.NoError(t, err)
	file.chunk = 200
	rows := 0
	_, err = file.Scan(2, func(int) Visitor { return &part{t: t, file: file} }, func(v Visitor, _ int) error {
		rows += len(v.(*part).rows)
		return nil
	})
	require.NoError(t, err)
	assert.InDelta(t, 50, rows, 2)
	_, err = file.Picker().Append(nil, int64(len(text)-10))
	assert.Error(t, err)
	_, _, err = file.Parser().Parse(nil, 7)
	assert.ErrorIs(t, err, ErrNoRow)
}

func FuzzStretches(f *testing.F) {
	for i := range pieces {
		f.Add([]byte("batch,class,expiry,location\n"+pieces[i]+pieces[(i*7+3)%len(pieces)]+"S-99,b-2,2027-08,Rack 1\n"), uint8(i))
	}
	f.Add([]byte("\ufeffbatch;class;dom\n\"S-1\";b-2;05/27\n"), uint8(3))
	f.Add([]byte("batch\tclass\topened\nS-1\tb-2\t2027-03-01\n"), uint8(9))
	f.Fuzz(func(t *testing.T, text []byte, chunk uint8) {
		o := Options{Today: today}
		if IsUTF16(text) {
			o.Encoding = UTF8
		}
		want := inOrder(text, o)
		got, _ := inChunks(t, text, o, int64(chunk)+1, 2)
		require.Equal(t, want, got)
	})
}

// BenchmarkScan goes through a list without looking at its rows.
func BenchmarkScan(b *testing.B) {
	text := list(100_000)
	file, err := Open(strings.NewReader(text), int64(len(text)), "f.csv", Options{Today: today})
	require.NoError(b, err)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		_, err := file.Scan(1, func(int) Visitor { return idle{} }, func(Visitor, int) error { return nil })
		require.NoError(b, err)
	}
}

type idle struct{}

func (idle) Plain(At, *Plain) {}
func (idle) Row(At, *Row)     {}
func (idle) Bad(At, *Bad)     {}
func (idle) End()             {}
