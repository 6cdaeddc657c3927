package storeroom

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog/stock"
	"beadline/catalog/stock/pgtest"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

var importDay = time.Date(2024, 3, 8, 7, 0, 0, 0, time.UTC)

func importList(t testing.TB, r *Room, list string, write bool) *Imported {
	t.Helper()
	l, err := desk.NewList(strings.NewReader(list), "list.csv", stock.Auto)
	require.NoError(t, err)
	defer l.Close()
	d, err := r.Import(context.Background(), &Listing{From: l, By: "Storeman", Write: write, All: true})
	require.NoError(t, err)
	return d
}

const someRows = `batch,class,expiry,quantity,unit,location,container,opened,held
S-2,polysulfide-b-2,2024-10-31,5,kit,cold store,,,
S-1,polysulfide-b-2,2024-10-31,1,kit,cold store,1,2024-03-01,
S-2,polysulfide-b-2,2024-10-31,2,kit,line store,,,
S-1,polysulfide-b-2,2024-10-31,4,kit,cold store,,,on the ramp
`

func TestAListIsImportedIntoEitherStoreAndOnce(t *testing.T) {
	for kind, name := range map[string]string{"SQLite": filepath.Join(t.TempDir(), "r.db"), "PostgreSQL": pgtest.NewDatabase(t)} {
		t.Run(kind, func(t *testing.T) {
			r := roomAt(t, name, importDay)
			assert.Equal(t, 4, importList(t, r, someRows, false).New)
			totals, err := r.Store.Totals(context.Background())
			require.NoError(t, err)
			assert.Zero(t, totals, "only looked at")

			d := importList(t, r, someRows, true)
			require.Empty(t, d.Bad)
			assert.Equal(t, []int{4, 2, 0}, []int{d.New, d.Batches, d.Known})
			assert.NotNil(t, d.Checkpoint)
			d = importList(t, r, someRows, true)
			assert.Equal(t, []int{0, 0, 4}, []int{d.New, d.Batches, d.Known})
			assert.Nil(t, d.Checkpoint)

			// A longer list of others goes in beside it, all or nothing.
			more := strings.NewReplacer("S-1", "S-3", "S-2", "S-4").Replace(someRows)
			d = importList(t, r, more+"S-1,polysulfide-b-2,2024-10-31,4,kit,cold store,,,\n", true)
			require.Len(t, d.Bad, 1)
			assert.Contains(t, d.Bad[0].Wrong, "the register has this batch already: received 8 March 2024")
			totals, err = r.Store.Totals(context.Background())
			require.NoError(t, err)
			assert.Equal(t, register.Totals{Lines: 2, Events: 4}, totals)
			require.Empty(t, importList(t, r, more, true).Bad)

			s, err := r.Load(context.Background(), register.Batch{Number: "S-1"}.Key())
			require.NoError(t, err)
			require.Len(t, s.Parts, 2)
			assert.Equal(t, "on the ramp", s.Parts[0].Item.Held)
			assert.Equal(t, "1 March 2024", s.Parts[1].Item.Opened.String())
			assert.Equal(t, "list.csv:3", s.Parts[1].Receipt.Source)
			f, err := r.Verify(context.Background(), register.Hash{})
			require.NoError(t, err)
			assert.True(t, f.Whole(), "%+v", f)
		})
	}
}

// TestAnExportedRegisterIsImportedAsItWas: the list of a register, imported into an empty
// one, is exported as the same list.
func TestAnExportedRegisterIsImportedAsItWas(t *testing.T) {
	n := 0
	rapid.Check(t, func(r *rapid.T) {
		if n++; n > 20 {
			return // each makes two files
		}
		var list strings.Builder
		list.WriteString("batch,class,dom,expiry,opened,held,condition,quantity,unit,location,container,maker,received\n")
		pick := func(label string, of ...string) string { return rapid.SampledFrom(of).Draw(r, label) }
		for i := range rapid.IntRange(1, 12).Draw(r, "rows") {
			fmt.Fprintf(&list, "\"S %d Ø\",%s,%s,%s,%s,%s,%s,%s,%s,%s,%s,%s,%s\n", i, pick("class", "polysulfide-b-2", "silicone-acetoxy"), pick("dom", "", "2023-12-01", "2023-11"),
				pick("expiry", "", "2024-10-31", "2024-10"), pick("opened", "", "2024-02-01", "2024-02-01T08:30"), pick("held", "", `"why, not"`), pick("condition", "", "damaged"),
				pick("quantity", "", "0.125", "7", "0"), pick("unit", "", "ml", "kit"), pick("location", "", "cold store", "North / rack 2"), pick("container", "", "1"), pick("maker", "", "Nordlys"),
				pick("received", "", "2024-02-20"))
		}
		first, second := roomAt(t, filepath.Join(t.TempDir(), "a.db"), importDay), roomAt(t, filepath.Join(t.TempDir(), "b.db"), importDay)
		d := importList(t, first, list.String(), true)
		require.Empty(r, d.Bad)
		require.True(r, d.Wrote)
		exported := exportOf(r, first)
		require.Empty(r, importList(t, second, exported, true).Bad)
		require.Equal(r, exported, exportOf(r, second))
	})
}

func exportOf(t require.TestingT, r *Room) string {
	var to bytes.Buffer
	require.NoError(t, r.ExportList(context.Background(), &to, true))
	return to.String()
}

// BenchmarkImport is the import of 20,000 rows of 18,000 batches into a new register, all
// told; bytes are those of the list.
func BenchmarkImport(b *testing.B) {
	var list strings.Builder
	list.WriteString("batch,class,dom,expiry,quantity,unit,location,received\n")
	for i := range 20_000 {
		j := i
		if i%10 == 1 { // of the batch of the row before
			j--
		}
		fmt.Fprintf(&list, "S-%05d,polysulfide-b-2,2023-12-01,2024-10-31,%d,kit,store %d,2024-02-20\n", j, 1+i%9, i%40)
	}
	b.SetBytes(int64(list.Len()))
	for b.Loop() {
		r := roomAt(b, filepath.Join(b.TempDir(), "r.db"), importDay)
		if d := importList(b, r, list.String(), true); len(d.Bad) > 0 {
			b.Fatal(d.Bad[0])
		}
	}
}

// BenchmarkBackup is a backup of 20,000 events, to nowhere.
func BenchmarkBackup(b *testing.B) {
	r := roomAt(b, filepath.Join(b.TempDir(), "r.db"), importDay)
	var list strings.Builder
	list.WriteString("batch,class,dom,expiry,quantity,unit,location\n")
	for i := range 20_000 {
		fmt.Fprintf(&list, "S-%05d,polysulfide-b-2,2023-12-01,2024-10-31,1,kit,cold store\n", i)
	}
	importList(b, r, list.String(), true)
	for b.Loop() {
		if _, err := r.Register.Backup(context.Background(), io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}
