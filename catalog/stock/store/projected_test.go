package store

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
)

// eachProjection: what is projected of many lines comes in order of keys, all of it; that
// of a line that is gone too.
func eachProjection(t *testing.T, open opener) {
	s := open(t, Options{Create: true})
	at := time.Date(2024, 3, 5, 8, 0, 0, 0, time.UTC)
	want := map[register.Key]register.Projection{}
	var keys []register.Key
	for i := range chunk + 3 {
		w := begin(fmt.Sprintf("%04d\tm", i), 1)
		switch i % 3 {
		case 0:
			w.Lots = []register.Lot{{Container: "1", Place: "a", Class: "c", Row: "gone\n"}, {Container: "2", Place: "a", Class: "c", Stocked: true, Row: "r\n"}}
		case 1:
			w.Served = []register.Served{{Key: w.Key, Seq: 1, Joint: "j2", Job: "k", Mix: "m", At: at}, {Key: w.Key, Seq: 1, Joint: "j1", At: at}}
			w.Reserved = []register.Reserved{{Job: "l", Place: "a", Amount: 5}, {Job: "k", Place: "a", Amount: 6}}
		}
		if i%3 < 2 {
			want[w.Key], keys = w.Projection, append(keys, w.Key)
		}
		commit(t, s, w)
	}
	raw(t, s, `DELETE FROM line WHERE key LIKE '0003%'`, `DELETE FROM line WHERE key LIKE '0514%'`)
	var got []register.Key
	require.NoError(t, s.EachProjection(background, func(k register.Key, p register.Projection) error {
		got = append(got, k)
		for i := range p.Served {
			p.Served[i].At = p.Served[i].At.UTC()
		}
		assert.Equal(t, want[k], p, k)
		return nil
	}))
	assert.Equal(t, keys, got)
}

// verifyReadsAll: Register.Verify works on either store, though it looks up one thing while
// it goes through another.
func verifyReadsAll(t *testing.T, open opener) {
	now := time.Date(2024, 3, 5, 8, 0, 0, 0, time.UTC)
	r := register.Register{Store: open(t, Options{Create: true}), Clock: func() time.Time { return now }, Station: "bench"}
	kits, one := register.Amount(5000), register.Amount(1000)
	const batches = 40
	for i := range batches {
		_, err := r.Append(background, register.Batch{Number: fmt.Sprintf("S-%d", i)}.Key(), func(*register.State) ([]*register.Event, error) {
			return []*register.Event{
				{Kind: register.KindReceived, By: "Tech 1", At: register.AtInstant(now), Place: "rack", Amount: &kits, Unit: "kit", Receipt: &register.Receipt{Label: shelf.Item{Class: "polysulfide-b-2"}}},
				{Kind: register.KindDrawn, By: "Tech 1", At: register.AtInstant(now), Place: "rack", Amount: &one, Unit: "kit", Use: &register.Use{Job: "J1", Joints: []string{"j1", "j2"}}},
				{Kind: register.KindReserved, By: "Tech 1", At: register.AtInstant(now), Place: "rack", Amount: &one, Unit: "kit", Use: &register.Use{Job: "J2"}},
			}, nil
		})
		require.NoError(t, err)
		if i%20 == 19 {
			_, err := r.Checkpoint(background, "Tech 1")
			require.NoError(t, err)
		}
	}
	f, err := r.Verify(background, register.Hash{})
	require.NoError(t, err)
	assert.True(t, f.Whole(), f)
	assert.Equal(t, []int{batches, 3 * batches, 2, batches}, []int{f.Lines, f.Events, f.Checkpoints, f.Covered})
	require.NoError(t, r.Rebuild(background))
	raw(t, r.Store, `UPDATE served SET joint = 'j3' WHERE joint = 'j2' AND line LIKE 'S-7%'`, `DELETE FROM reserved WHERE line LIKE 'S-8%'`)
	f, err = r.Verify(background, register.Hash{})
	require.NoError(t, err)
	assert.Len(t, f.Stale, 2)
}
