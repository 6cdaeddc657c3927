package store

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog/stock/register"
)

// Whatever is drawn and struck, in whatever order, what was served is what follows from
// the events; and so it is again, with the next draw, where the last of it went missing.
func TestServedFollowsTheEvents(t *testing.T) {
	folder := t.TempDir()
	n := 0
	rapid.Check(t, func(t *rapid.T) {
		n++
		opened, err := OpenSQLite(background, filepath.Join(folder, fmt.Sprint(n, ".db")), Options{Create: true})
		require.NoError(t, err)
		defer opened.Close()
		s := opened.(*sqliteStore)
		r := &register.Register{Store: s, Clock: time.Now}
		key := register.Batch{Number: "S-1", Maker: "Tindur"}.Key()
		start := time.Now().Add(-time.Hour)
		add := func(events ...*register.Event) {
			_, err := r.Append(background, key, func(*register.State) ([]*register.Event, error) { return events, nil })
			require.NoError(t, err)
		}
		draw := func(i int) *register.Event {
			e := takenOut(fmt.Sprint("joint ", i%3))
			if i%4 == 0 {
				e.Use.Joints = append(e.Use.Joints, "another")
			}
			return by(e, fmt.Sprint("out ", i), start.Add(time.Duration(rapid.IntRange(1, 50).Draw(t, "minute"))*time.Minute), false)
		}
		add(by(arrival(1000), "in", start, false))
		var there []string
		steps := rapid.IntRange(1, 12).Draw(t, "steps")
		for i := range steps {
			switch k := rapid.IntRange(0, 3).Draw(t, "what"); {
			case k == 0 && len(there) > 0:
				at := rapid.IntRange(0, len(there)-1).Draw(t, "which")
				add(by(&register.Event{Kind: register.KindStruck, Corrects: there[at], Why: "of another batch"}, fmt.Sprint("no ", i), time.Now(), false))
				there = append(there[:at:at], there[at+1:]...)
			case k == 1:
				add(draw(2*i), draw(2*i+1))
				there = append(there, fmt.Sprint("out ", 2*i), fmt.Sprint("out ", 2*i+1))
			default:
				add(draw(2 * i))
				there = append(there, fmt.Sprint("out ", 2*i))
			}
			f, err := r.Verify(background, register.Hash{})
			require.NoError(t, err)
			require.True(t, f.Whole(), "%+v", f)
		}
		if rapid.Bool().Draw(t, "lost") {
			require.NoError(t, s.write(background, func(w *sqliteWriter) error {
				_, err := w.exec(`DELETE FROM served WHERE n = (SELECT max(n) FROM served)`)
				return err
			}))
		}
		add(draw(2 * steps))
		f, err := r.Verify(background, register.Hash{})
		require.NoError(t, err)
		require.True(t, f.Whole(), "%+v", f)
	})
}
