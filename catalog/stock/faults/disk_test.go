//go:build unix

package faults

import (
	"fmt"
	"math/rand/v2"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/register"
	"beadline/catalog/stock/store"
)

func init() {
	roles["fill"] = fillUp
}

// fillUp does acts with the size of files limited until one fails; says how, and how long
// that took; lifts the limit; and goes on in the same program.
func fillUp(c role) error {
	signal.Ignore(syscall.SIGXFSZ)
	h := &hand{name: c.Name, rng: rand.New(rand.NewPCG(c.Seed, 1)), keys: batches(c.Batches)}
	lift, err := limitFiles(c.Limit)
	if err != nil {
		return err
	}
	r, err := open(c.Path, c.Name, store.Options{Create: true, Patience: c.Patience})
	full := err != nil
	if full {
		say("full", "0s", err.Error())
		if err := lift(); err != nil {
			return err
		}
		if r, err = open(c.Path, c.Name, store.Options{Create: true}); err != nil {
			return fmt.Errorf("with room again: %w", err)
		}
	}
	defer r.Store.Close()
	no, more := false, 0
	for more < c.Acts {
		a := h.next(no)
		say("try", string(encoded(a)))
		at := time.Now()
		done, err := a.record(r)
		no = refused(err)
		switch {
		case no:
			say("no", a.ID)
			continue
		case err != nil && full:
			return fmt.Errorf("with room again: %w", err)
		case err != nil:
			say("full", time.Since(at).String(), err.Error())
			full = true
			if err := lift(); err != nil {
				return err
			}
			// The same is sent again, as a person does who has made room.
			if done, err = a.record(r); err != nil {
				return fmt.Errorf("with room again: %w", err)
			}
		}
		sayDone(a, done)
		if full {
			more++
		}
	}
	return nil
}

// limitFiles limits how long files of this process may become; lift takes the limit away.
func limitFiles(bytes uint64) (lift func() error, err error) {
	var was syscall.Rlimit
	if bytes == 0 {
		return func() error { return nil }, nil
	}
	if err := syscall.Getrlimit(syscall.RLIMIT_FSIZE, &was); err != nil {
		return nil, err
	}
	now := was
	now.Cur = rlimit(bytes)
	return func() error { return syscall.Setrlimit(syscall.RLIMIT_FSIZE, &was) }, syscall.Setrlimit(syscall.RLIMIT_FSIZE, &now)
}

// TestFileLimitStopsNothingHalfway: the system refuses to let a file grow at random sizes,
// from the register's making on.
func TestFileLimitStopsNothingHalfway(t *testing.T) {
	t.Parallel()
	rng := seeded(t)
	said := map[string]int{}
	var longest time.Duration
	for range runs(40, 8) {
		path := filepath.Join(t.TempDir(), "register.db")
		l := newLedger()
		limit := 512 * (1 + rng.Uint64N(400))
		c := start(t, role{Do: "fill", Path: path, Name: "a", Seed: rng.Uint64(), Batches: 2, Acts: 3, Limit: limit, Patience: 2 * time.Second}, l)
		require.Zero(t, c.end(), "limit %d: %v %s", limit, c.lines, c.stderr.String())
		longest = max(longest, tellsFull(t, c, path, said))
		r, err := open(path, "desk", store.Options{})
		require.NoError(t, err)
		l.check(t, r)
		require.Empty(t, l.open)
		require.NoError(t, r.Store.Close())
	}
	t.Logf("said, and how often; after %v at the longest:%s", longest, counted(said))
}

// tellsFull reads what a child said when something did not fit.
func tellsFull(t testing.TB, c *child, path string, said map[string]int) time.Duration {
	t.Helper()
	var took time.Duration
	var full string
	for _, line := range c.lines {
		if rest, ok := strings.CutPrefix(line, "full "); ok {
			word, text, _ := strings.Cut(rest, " ")
			d, err := time.ParseDuration(word)
			require.NoError(t, err)
			took, full = max(took, d), text
			said[strings.ReplaceAll(text, path, "…")]++
			assert.Contains(t, text, path)
			assert.Equal(t, 1, strings.Count(text, path), text)
			assert.LessOrEqual(t, len(text), 200+len(path), text)
			assert.Less(t, d, 5*time.Second, text)
		}
	}
	require.NotEmpty(t, full, "nothing was too much: %v", c.lines)
	return took
}

// TestFullDiskStopsNothingHalfway: a small disk fills up, once by the register itself and
// once by somebody else.
func TestFullDiskStopsNothingHalfway(t *testing.T) {
	t.Parallel()
	rng := seeded(t)
	said := map[string]int{}
	for range runs(12, 3) {
		dir := t.TempDir()
		mountSmall(t, dir, 1<<20)
		path, ballast := filepath.Join(dir, "register.db"), filepath.Join(dir, "others")
		l := newLedger()
		r, err := open(path, "a", store.Options{Create: true, Patience: 2 * time.Second})
		require.NoError(t, err)
		h := &hand{name: "a", rng: rng, keys: batches(2)}
		work(t, l, r, h, 5)
		require.NoError(t, fill(ballast, rng.IntN(200)<<10))
		for round := range 3 {
			a, err := workUntil(l, r, h)
			require.Error(t, err)
			said[strings.ReplaceAll(err.Error(), path, "…")]++
			assert.Empty(t, plain(err, path))
			assert.Contains(t, err.Error(), "the disk is full", "round %d", round)
			l.check(t, r) // it can be read
			require.NoError(t, os.Remove(ballast))
			done, err := a.record(r)
			require.NoError(t, err, "there is room again")
			l.answer(a, done)
			work(t, l, r, h, 3)
			require.NoError(t, fill(ballast, rng.IntN(20)<<10))
		}
		l.check(t, r)
		require.NoError(t, os.Remove(ballast))
		require.NoError(t, r.Store.Close())
		r, err = open(path, "desk", store.Options{})
		require.NoError(t, err)
		l.check(t, r)
		require.NoError(t, r.Store.Close())
	}
	t.Logf("said, and how often:%s", counted(said))
}

// fill makes a file as large as the disk lets it become, but for so many bytes.
func fill(path string, leave int) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	defer f.Close()
	size := int64(0)
	for chunk := make([]byte, 4096); ; size += int64(len(chunk)) {
		if _, err := f.Write(chunk); err != nil {
			break
		}
	}
	return f.Truncate(max(0, size-int64(leave)))
}

// workUntil does acts until something fails, and gives the act that did.
func workUntil(l *ledger, r *register.Register, h *hand) (*act, error) {
	no := false
	for range 10_000 {
		a := h.next(no)
		l.try(a)
		done, err := a.record(r)
		if no = refused(err); err != nil && !no {
			return a, err
		}
		l.answer(a, done)
	}
	return nil, nil
}
