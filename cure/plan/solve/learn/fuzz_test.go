package learn

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// seeds are bytes to begin with.
func seeds(f *testing.F) {
	f.Add([]byte(nil))
	f.Add([]byte("bounds that only rise, and clauses that only ask to be kept"))
	for seed := range uint64(12) {
		d, b := numbers(seed), make([]byte, 160)
		for i := range b {
			b[i] = byte(d(256))
		}
		f.Add(b)
	}
}

// kind draws the kind of problem, and then one.
func (d draw) kind() *problem {
	switch d(3) {
	case 0:
		return d.problem(tinyScale)
	case 1:
		return d.problem(tightScale)
	default:
		return d.queue(4, 9)
	}
}

// FuzzRun holds every answer of the engine against trying every assignment.
func FuzzRun(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		d := bytes(data)
		judge(t, d, d.kind(), map[Outcome]int{})
	})
}

// FuzzReasons holds every reason and every learnt clause against all solutions.
func FuzzReasons(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		d := bytes(data)
		p := d.kind()
		a := &audit{t: t, p: p, all: p.solutions(), e: p.engine(3)}
		// Bytes run out, and the search decides by lot to the end.
		lot := numbers(uint64(len(data)))
		a.draw = func(n int) int { return (d(n) + lot(n)) % n }
		require.Equal(t, len(a.all) > 0, a.run())
	})
}
