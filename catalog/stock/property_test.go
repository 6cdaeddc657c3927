package stock

import (
	"bytes"
	"encoding/csv"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog/shelf"
)

// The standard library writes what we read, and reads it too: an independent
// hand on both sides of well-formed CSV.
func TestWellFormedRecordsReadAsTheStandardLibraryReadsThem(t *testing.T) {
	cell := rapid.StringOf(rapid.SampledFrom([]rune("ab,;\"\n é")))
	rapid.Check(t, func(t *rapid.T) {
		sep := rapid.SampledFrom([]rune{',', ';'}).Draw(t, "sep")
		width := rapid.IntRange(1, 4).Draw(t, "width")
		rows := rapid.SliceOf(rapid.SliceOfN(cell, width, width)).Draw(t, "rows")
		var text bytes.Buffer
		w := csv.NewWriter(&text)
		w.Comma, w.UseCRLF = sep, rapid.Bool().Draw(t, "crlf")
		text.WriteString("batch" + string(sep) + "class\n")
		require.NoError(t, w.WriteAll(rows))

		theirs := csv.NewReader(bytes.NewReader(text.Bytes()))
		theirs.Comma, theirs.FieldsPerRecord = sep, -1
		_, err := theirs.Read() // the header
		require.NoError(t, err)
		ours := recordsOf(text.Bytes(), byte(sep))
		_, err = ours.firstLine()
		require.NoError(t, err)
		for {
			want, wantErr := theirs.Read()
			got, gotErr := ours.next()
			for gotErr == nil && len(got.fields) == 1 && got.fields[0] == "" && got.trouble == "" && (len(want) != 1 || want[0] != "") {
				got, gotErr = ours.next() // the standard library passes over empty lines
			}
			require.Equal(t, wantErr, gotErr)
			if wantErr == io.EOF {
				return
			}
			if got.more >= maxJoin || got.trouble != "" {
				t.Skip("over more lines than one record may have")
			}
			require.Equal(t, want, got.fields)
		}
	})
}

// However a row is damaged, the plain rows around it come through.
func TestADamagedRowHidesNoGoodOne(t *testing.T) {
	damaged := rapid.StringOf(rapid.SampledFrom([]rune("ab,;\"\n\x00é-2027|")))
	rapid.Check(t, func(t *rapid.T) {
		junk := damaged.Draw(t, "junk")
		s, err := ReadCSV(strings.NewReader("batch,class,expiry\nS-1,b-2,2027-08\n"+junk+"\nS-2,b-2,2027-08\nS-3,b-2,05/27\n"), "f", today)
		require.NoError(t, err)
		for _, batch := range []string{"S-1", "S-2", "S-3"} {
			require.NotEmpty(t, s.Find(batch), "%q hid %s: %v", junk, batch, s.Bad)
		}
		require.Equal(t, s.Rows, len(s.List))
		for _, r := range s.List {
			require.NotEmpty(t, shelf.Judge(r.Item, shelf.Rules{}, today).Limits)
		}
	})
}

func FuzzReadCSV(f *testing.F) {
	for _, s := range []string{
		"batch,class,expiry\nS-1,b-2,2027-08\n", "\ufeffbatch;class;dom\n\"S-1\";b-2;05/27\n", "batch,class\n\"S-1,b-2\nS-2,b-2\n",
		"batch,class,thawed,quantity\nS-1,f,2027-03-01|2027-03-02,-1\n", "", "\x00", "batch,class\r", "batch,class,held,note\nS,c,yes,\"a\nb\"\n",
		"batch,class,expiry,limit-inputs\nS,c,2027-08,\"{\"\"batch\"\":\"\"S\"\",\"\"class\"\":\"\"c\"\",\"\"expiry\"\":\"\"2027-08\"\"}\"\nS,c,,{}\n",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		s, err := ReadCSV(bytes.NewReader(text), "f.csv", today)
		if err != nil {
			if strings.ContainsAny(err.Error(), "\n\x00") || !strings.HasPrefix(err.Error(), "f.csv:") {
				t.Fatalf("refused badly: %q", err)
			}
			return
		}
		lines := bytes.Count(text, []byte("\n")) + 1
		last := 0
		for _, r := range s.List {
			if r.Line <= last || r.Line > lines || r.Item.Batch == "" || r.Item.Class == "" || r.Quantity < 0 {
				t.Fatalf("impossible row %+v", r)
			}
			last = r.Line
		}
		for _, b := range s.Bad {
			if b.Reason == "" || b.Line < 2 || b.Line > lines || strings.ContainsAny(b.String(), "\n\x00") {
				t.Fatalf("impossible trouble %q", b.String())
			}
		}
	})
}

func recordsOf(text []byte, sep byte) *records {
	in := newRecords(bytes.NewReader(text), UTF8)
	in.sep = sep
	return in
}
