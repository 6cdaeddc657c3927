package stock

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/shelf"
)

// bothWays reads a line as the quick reader and as the full one has it.
func bothWays(t *testing.T, head, line string) (quick bool) {
	f, err := Open(bytes.NewReader([]byte(head+"\n")), int64(len(head)+1), "f.csv", Options{Today: today})
	require.NoError(t, err)
	w := newWholeReader(f.head)
	if !w.read([]byte(line)) {
		return false
	}
	in := newRecords(strings.NewReader(line), f.head.how)
	in.sep = f.head.sep
	rec, err := in.next()
	require.NoError(t, err)
	_, err = in.next()
	require.Error(t, err, "one row")
	row, bad := f.head.row(rec)
	require.Nil(t, bad, "the full way has it in trouble: %s", line)
	w.row.Line = row.Line
	require.Equal(t, row, w.row, line)
	return true
}

// What a register writes in printable ASCII is read the quick way, but for a maker or a
// place in quotes, and says what the full way says.
func TestRowsOfARegisterAreReadTheQuickWay(t *testing.T) {
	it := shelf.Item{Batch: "S-2207", Class: "polysulfide-b-2", Container: "2", DOM: someDay, Expiry: someMonth, Held: `it said "wet, cold"`}
	it.Tests = []shelf.Test{{On: someDay, Passed: true, By: "A. Berg", Authority: "quality office", Reference: "QN-1"}}
	full := Row{Item: it, Location: "home base / bay 4", Quantity: 2.5, Counted: true, Unit: "kit", Extra: ByMaker("Tindur")}
	line := func(change func(r *Row)) string {
		r := full
		change(&r)
		text, err := AppendRow(nil, &r)
		require.NoError(t, err)
		return strings.TrimSuffix(string(text), "\n")
	}
	for _, c := range []struct {
		line  string
		quick bool
	}{
		{line(func(*Row) {}), true},
		{line(func(r *Row) { r.Extra = nil }), true},
		{line(func(r *Row) { r.Counted = false }), true},
		{line(func(r *Row) { r.Item.Container, r.Location, r.Unit = "", "", "" }), true},
		{line(func(r *Row) { r.Location = "bay 4, left" }), false},
		{line(func(r *Row) { r.Item.Held = "våd" }), false},
		{line(func(r *Row) { r.Quantity = 5e-324 }), false},
		{line(func(r *Row) { r.Item = shelf.Item{Batch: "S-1", Class: "b-2", Expiry: someDay} }), false},
		{strings.Replace(line(func(*Row) {}), "S-2207,", "S-2208,", 1), false},
		{strings.Replace(line(func(*Row) {}), "S-2207,", " S-2207 ,", 1), true},
		{strings.Replace(line(func(*Row) {}), "kit,2,", "kit,3,", 1), false},
		{strings.Replace(line(func(*Row) {}), "b-2,,", "b-2,2027-03-08,", 1), false},
		{strings.Replace(line(func(*Row) {}), `""dom""`, `""dmo""`, 1), false},
		{line(func(*Row) {}) + ",", false},
		{line(func(*Row) {}) + `"`, false},
		{strings.TrimSuffix(line(func(*Row) {}), ",Tindur"), false},
	} {
		assert.Equal(t, c.quick, bothWays(t, RegisterHeader, c.line), c.line)
	}
}

// What the quick way reads, the full way reads alike, whatever the columns.
func FuzzQuickRowsAreTheFullOnes(f *testing.F) {
	const row = `S-1,b-2,,,,,,rack 1,2.5,kit,2,"{""batch"":""S-1"",""container"":""2"",""class"":""b-2"",""expiry"":""2027-10"",""received"":{""on"":""2026-10-01T08:00""}}",Tindur`
	f.Add(RegisterHeader, row)
	f.Add("limit-inputs,batch,class", `"{""batch"":""S-1"",""class"":""b-2""}",S-1,b-2`)
	f.Add("batch;class;held;limit-inputs", `S-1;b-2;;" {""batch"":""S-1"",""class"":""b-2""} "`)
	f.Add("batch,class,gtin,limit-inputs,note,maker", `S-1,b-2,,"{""batch"":""S-1"",""class"":""b-2"",""held"":""a \"" b""}", as is ,`)
	f.Fuzz(func(t *testing.T, head, line string) {
		if strings.ContainsAny(head+line, "\r\n") || len(head) > 500 {
			return
		}
		if _, err := Open(strings.NewReader(head+"\n"), int64(len(head)+1), "f.csv", Options{Today: today}); err != nil {
			return
		}
		bothWays(t, head, line)
	})
}

func TestPrintableIsSpaceToTilde(t *testing.T) {
	for c := range 256 {
		for n := range 20 {
			text := bytes.Repeat([]byte("~ "), 10)[:n+1]
			text[n/2] = byte(c)
			assert.Equal(t, c >= ' ' && c <= '~', printable(text), "%d of %d", c, n)
		}
	}
}
