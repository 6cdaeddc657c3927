package register

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var ctx = context.Background()

// saved is a small register with checkpoints, as a backup.
func saved(t testing.TB) (*bench, []byte) {
	b := newBench(t)
	b.must(kits("5"))
	_, err := b.Checkpoint(ctx, "Tech 1")
	require.NoError(t, err)
	b.must(Event{Kind: KindDrawn, Place: "cold store", Amount: amount("2"), Unit: "kit", Why: `the <left> & "right" door`, Use: &Use{Job: "NF12"}})
	other := Batch{"Ø-7 \\ \"x\"", "Maker & Söhne"}.Key()
	_, err = b.Append(ctx, other, func(*State) ([]*Event, error) {
		e := kits("1")
		e.By, e.At = "Tech 2", AtInstant(b.now)
		return []*Event{&e}, nil
	})
	require.NoError(t, err)
	_, err = b.Checkpoint(ctx, "Tech 2")
	require.NoError(t, err)
	b.must(Event{Kind: KindDrawn, Place: "cold store", Amount: amount("1"), Unit: "kit", Use: &Use{Job: "NF13"}})
	return b, backupOf(t, b.Register)
}

func backupOf(t testing.TB, r *Register) []byte {
	var to bytes.Buffer
	_, err := r.Backup(ctx, &to)
	require.NoError(t, err)
	return to.Bytes()
}

func openBytes(text []byte) (*Saved, error) {
	return OpenBackup("r.beadline-backup", func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(text)), nil })
}

// restored is a register in memory filled from a backup.
func restored(text []byte) (*Register, error) {
	b, err := openBytes(text)
	if err != nil {
		return nil, err
	}
	r := &Register{Store: &memory{lines: map[Key][]Record{}, ids: map[string]bool{}}}
	return r, r.Restore(ctx, b)
}

func TestABackupRestoresToTheSameBackup(t *testing.T) {
	b, text := saved(t)
	r, err := restored(text)
	require.NoError(t, err)
	assert.Equal(t, string(text), string(backupOf(t, r)))
	assert.Equal(t, b.store.lines, r.Store.(*memory).lines)
	assert.Equal(t, b.store.points, r.Store.(*memory).points)
}

func TestARegisterWithSomethingInItIsNotRestoredInto(t *testing.T) {
	b, text := saved(t)
	s, err := openBytes(text)
	require.NoError(t, err)
	assert.ErrorIs(t, b.Restore(ctx, s), ErrNotEmpty)
}

func TestABackupThatWasCutOffIsRefusedAnywhere(t *testing.T) {
	_, text := saved(t)
	for n := range text {
		_, err := restored(text[:n])
		require.Error(t, err, n)
		line := bytes.Count(text[:n], []byte("\n")) + 1
		assert.True(t, strings.HasPrefix(err.Error(), fmt.Sprintf("r.beadline-backup:%d: ", line)), "%d bytes: %s", n, err)
	}
}

func TestABackupWithOneByteChangedIsRefused(t *testing.T) {
	_, text := saved(t)
	for i := range text {
		for _, to := range []byte{text[i] ^ 1, ' ', '\n', '0'} {
			if to == text[i] {
				continue
			}
			bad := bytes.Clone(text)
			bad[i] = to
			_, err := restored(bad)
			require.Error(t, err, "byte %d, %q for %q", i, to, text[i])
			assert.Regexp(t, `^r\.beadline-backup:\d+: `, err.Error())
			assert.NotContains(t, err.Error(), "\n")
		}
	}
}

// A forger who can count makes the last line anew; the chain and the checkpoints are then
// what the change is found by.
func TestABackupChangedWithItsLastLineIsFoundByTheChain(t *testing.T) {
	_, text := saved(t)
	lines := strings.SplitAfter(string(text), "\n")
	forge := func(lines []string) string { return forged(t, strings.Join(lines[:len(lines)-2], "")) }
	require.Equal(t, string(text), forge(lines), "the forger can count")

	changed := append([]string(nil), lines...)
	changed[2] = strings.Replace(changed[2], `"amount":2`, `"amount":1`, 1)
	require.NotEqual(t, lines[2], changed[2])
	_, err := restored([]byte(forge(changed)))
	assert.ErrorContains(t, err, "r.beadline-backup:3: batch S-2207: event 2 (")
	assert.ErrorContains(t, err, "its hash does not follow from its text")

	without := append(append([]string(nil), lines[:4]...), lines[5:]...) // the whole other batch
	_, err = restored([]byte(forge(without)))
	assert.ErrorContains(t, err, "batch Ø-7 \\ \"x\" of Maker & Söhne is gone: it had 1 events at checkpoint 2")

	short := append(append([]string(nil), lines[:2]...), lines[4:]...) // the end of the first
	_, err = restored([]byte(forge(short)))
	assert.ErrorContains(t, err, "batch S-2207 has lost events: it had 2 at checkpoint 2, and has 1")

	twice := append(append(append([]string(nil), lines[:5]...), lines[1]), lines[5:]...)
	_, err = restored([]byte(forge(twice)))
	assert.ErrorContains(t, err, "is not in its order")
}

// forged ends the lines of a backup with a last line that is right.
func forged(t testing.TB, lines string) string {
	d := BackedUp{SHA256: sha256.Sum256([]byte(lines))}
	for line := range strings.Lines(lines) {
		switch {
		case strings.HasPrefix(line, backupHash):
			d.Events++
			if strings.Contains(line, `","seq":1,`) {
				d.Lines++
			}
		case strings.HasPrefix(line, backupPoint):
			d.Checkpoints++
		}
	}
	end, err := marshal(endOf(&d))
	require.NoError(t, err)
	return lines + string(end) + "\n"
}

func TestABackupOfAnotherFormIsRefusedInWords(t *testing.T) {
	_, text := saved(t)
	_, err := restored(bytes.Replace(text, []byte(`backup":1}`), []byte(`backup":2}`), 1))
	assert.EqualError(t, err, `r.beadline-backup:1: a backup of form "2", and this Beadline reads form 1: use the one that wrote it, or a newer one`)
	_, err = restored([]byte("batch,class\nS-1,polysulfide-b-2\n"))
	assert.EqualError(t, err, "r.beadline-backup:1: this is no backup of a register: stock backup writes one")
	_, err = restored(nil)
	assert.EqualError(t, err, "r.beadline-backup:1: the file is empty: it is no backup of a register")
}

func TestADamagedRegisterIsNotBackedUp(t *testing.T) {
	for name, damage := range map[string]func(*memory){
		"an event changed":    func(m *memory) { m.lines[s2207][1].Body[len(m.lines[s2207][1].Body)-3] ^= 1 },
		"an event lost":       func(m *memory) { m.lines[s2207] = m.lines[s2207][:1] },
		"a batch lost":        func(m *memory) { delete(m.lines, s2207) },
		"a checkpoint lost":   func(m *memory) { m.points = m.points[1:] },
		"a checkpoint edited": func(m *memory) { m.points[0].By = "Nobody" },
	} {
		b, _ := saved(t)
		damage(b.store)
		_, err := b.Backup(ctx, io.Discard)
		assert.ErrorIs(t, err, ErrDamaged, name)
	}
}

// FuzzBackup: whatever the bytes, a backup is refused in one line that names the line, or
// restores to what is written as these very bytes.
func FuzzBackup(f *testing.F) {
	_, text := saved(f)
	f.Add(text)
	f.Add([]byte(backupFirst + "1}\n"))
	f.Add([]byte(forged(f, backupFirst+"1}\n")))
	f.Add(bytes.ReplaceAll(text, []byte("kit"), []byte("\xff\x00")))
	f.Fuzz(func(t *testing.T, text []byte) {
		for _, end := range []bool{false, true} {
			if end { // so that the fuzzer gets past the sum
				at := bytes.LastIndex(text, []byte(backupEnd))
				if at < 0 {
					return
				}
				text = []byte(forged(t, string(text[:at])))
			}
			r, err := restored(text)
			if err != nil {
				assert.Regexp(t, `^r\.beadline-backup:\d+: `, err.Error())
				continue
			}
			assert.Equal(t, string(text), string(backupOf(t, r)))
		}
	})
}
