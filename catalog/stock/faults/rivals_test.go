package faults

import (
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/register"
	"beadline/catalog/stock/store"
)

// stations open one register several times, as the computers of several people do.
func stations(t testing.TB, name string, n int) (all []*register.Register) {
	t.Helper()
	for i := range n {
		r, err := open(name, fmt.Sprintf("station %d", i+1), store.Options{Create: true})
		require.NoError(t, err)
		t.Cleanup(func() { _ = r.Store.Close() })
		all = append(all, r)
	}
	return all
}

// atOnce lets each station do its act at the same moment.
func atOnce(all []*register.Register, acts []*act) (errs []error) {
	errs = make([]error, len(acts))
	var ready, done sync.WaitGroup
	gate := make(chan struct{})
	ready.Add(len(acts))
	for i, a := range acts {
		done.Go(func() {
			ready.Done()
			<-gate
			_, errs[i] = a.record(all[i])
		})
	}
	ready.Wait()
	close(gate)
	done.Wait()
	return errs
}

// receive makes a batch of so many kits.
func receive(t testing.TB, r *register.Register, key register.Key, n int) {
	t.Helper()
	a := &act{ID: "in " + strings.Fields(string(key))[0], Kind: register.KindReceived, Lines: []register.Key{key}, Amount: kit * register.Amount(n), Place: coldStore, By: "Stores"}
	_, err := a.record(r)
	require.NoError(t, err)
}

func TestLastKitIsDrawnOnce(t *testing.T) {
	t.Parallel()
	onBoth(t, func(t *testing.T, name string) {
		all := stations(t, name, 3)
		won := map[int]int{}
		keys := batches(runs(100, 20))
		for round, key := range keys {
			receive(t, all[0], key, 1)
			var acts []*act
			for i := range all {
				acts = append(acts, &act{ID: fmt.Sprintf("draw %d-%d", round, i), Kind: register.KindDrawn, Lines: []register.Key{key}, Amount: kit, Place: coldStore,
					Job: fmt.Sprintf("NF1%d", i), By: fmt.Sprintf("Tech %d", i+1)})
			}
			errs := atOnce(all, acts)
			winner := slices.Index(errs, nil)
			require.GreaterOrEqual(t, winner, 0, "%v", errs)
			won[winner]++
			for i, err := range errs {
				if i != winner {
					require.True(t, refused(err), "%v", err)
					assert.EqualError(t, err, fmt.Sprintf("none is left at Cold store: the last was drawn 8 March 2027 06:00 by Tech %d", winner+1))
				}
			}
		}
		t.Logf("who won, and how often: %v", won)
		whole(t, all[0])
		totals, err := all[0].Store.Totals(background)
		require.NoError(t, err)
		assert.Equal(t, register.Totals{Lines: len(keys), Events: 2 * len(keys)}, totals)
	})
}

// TestPlansInOppositeOrderDoNotLockUp: two pairs of plans reserve kits of the same two
// batches, taken in opposite order. There is enough for one plan.
func TestPlansInOppositeOrderDoNotLockUp(t *testing.T) {
	t.Parallel()
	onBoth(t, func(t *testing.T, name string) {
		all := stations(t, name, 4)
		keys := batches(2 * runs(60, 12))
		for round := 0; round < len(keys); round += 2 {
			pair := []register.Key{keys[round], keys[round+1]}
			back := []register.Key{pair[1], pair[0]}
			for _, k := range pair {
				receive(t, all[0], k, 5)
			}
			var acts []*act
			for i := range all {
				acts = append(acts, &act{ID: fmt.Sprintf("plan %d-%d", round, i), Kind: register.KindReserved, Amount: 3 * kit, Place: coldStore, Job: fmt.Sprintf("NF1%d", i),
					By: "Planner", Lines: [][]register.Key{pair, back}[i%2]})
			}
			errs := atOnce(all, acts)
			winner := slices.Index(errs, nil)
			require.GreaterOrEqual(t, winner, 0, "%v", errs)
			for i, err := range errs {
				if i != winner {
					require.True(t, refused(err), "%v", err)
					assert.EqualError(t, err, fmt.Sprintf("of 5 kits at Cold store 3 are reserved for job NF1%d", winner))
				}
			}
			for _, k := range pair {
				s, err := all[0].Load(background, k)
				require.NoError(t, err)
				require.Len(t, s.Parts[0].Reserved, 1)
				assert.Equal(t, 3*kit, s.Parts[0].Reserved[0].Amount)
			}
		}
		whole(t, all[0])
	})
}
