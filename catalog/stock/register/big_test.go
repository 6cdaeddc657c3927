package register_test

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/register"
	"beadline/catalog/stock/store"
	"beadline/testdata/bigregister"
)

// TestBigRegisterIsARegister holds what the benchmarks run on to being the real thing: as
// many events as it says, every line by the rules, whole, the same each time.
func TestBigRegisterIsARegister(t *testing.T) {
	batches := 3000
	if testing.Short() {
		batches = 600
	}
	for name, p := range map[string]bigregister.Plan{"used up": {Batches: batches}, "full": {Batches: batches, Full: true}} {
		t.Run(name, func(t *testing.T) {
			s, err := store.OpenSQLite(t.Context(), filepath.Join(t.TempDir(), "register.db"), store.Options{Create: true})
			require.NoError(t, err)
			defer s.Close()
			require.NoError(t, bigregister.Fill(t.Context(), s, p))
			r := &register.Register{Store: s, Clock: time.Now}
			found, err := r.Verify(t.Context(), register.Hash{})
			require.NoError(t, err)
			assert.True(t, found.Whole(), "%+v", found)
			assert.Equal(t, p.Batches, found.Lines)
			assert.Equal(t, p.Batches, found.Covered)
			assert.InDelta(t, 5.25, float64(found.Events)/float64(found.Lines), 0.25, "events for each batch")
			stocked := map[register.Key]bool{}
			require.NoError(t, s.EachProjection(t.Context(), func(k register.Key, of register.Projection) error {
				for _, l := range of.Lots {
					if l.Stocked {
						stocked[k] = true
					}
				}
				return nil
			}))
			if p.Full {
				assert.Len(t, stocked, p.Batches)
			} else {
				assert.InDelta(t, p.Batches/7, len(stocked), float64(p.Batches/25))
			}
			for _, i := range []int{0, p.Batches / 3, p.Batches - 1} {
				a, err := p.Line(i)
				require.NoError(t, err)
				b, err := p.Line(i)
				require.NoError(t, err)
				assert.Equal(t, a, b)
				records, err := s.Load(t.Context(), a.Key)
				require.NoError(t, err)
				assert.Equal(t, a.Add, records)
			}
		})
	}
}
