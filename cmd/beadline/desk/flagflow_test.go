package desk

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog"
	"beadline/catalog/stock"
)

// registerText is the stock of a register, in rows that all ask for something.
func registerText(rows int) string {
	var b strings.Builder
	b.WriteString(stock.RegisterHeader + "\n")
	for i := range rows {
		fmt.Fprintf(&b, "S-%d,polysulfide-b-2,2026-09-01,2027-%02d-28,,,2026-10-01T08:00,rack %d,5,kit,,,\n", i, i%12+1, i%7)
	}
	return b.String()
}

func flagged(t *testing.T, l *List) *Flags {
	j := NewJudge(catalog.Builtin(), date.New(2027, 3, 29))
	f, err := j.Flag(l, FlagQuestion{Until: date.New(2027, 4, 28), Draw: 3})
	require.NoError(t, err)
	return f
}

// However slowly and in whatever pieces a list is written, it says what the whole says.
func TestFlowingListIsFlaggedAsTheWholeOne(t *testing.T) {
	for _, rows := range []int{0, 1, 20_000} {
		text := registerText(rows)
		whole, err := NewRegisterList("r", func(w io.Writer) error {
			_, err := io.WriteString(w, text)
			return err
		})
		require.NoError(t, err)
		defer whole.Close()
		want := flagged(t, whole)
		for _, piece := range []int{1 << 30, 99_991, 4096} {
			l, err := FlowRegisterList("r", func(w io.Writer) error {
				for rest := text; rest != ""; rest = rest[min(piece, len(rest)):] {
					if _, err := io.WriteString(w, rest[:min(piece, len(rest))]); err != nil {
						return err
					}
					time.Sleep(10 * time.Microsecond)
				}
				return nil
			})
			require.NoError(t, err)
			defer l.Close()
			got := flagged(t, l)
			assert.Equal(t, rows, got.Counts.Rows)
			assert.Equal(t, want.Counts, got.Counts)
			assert.Equal(t, want.Ahead, got.Ahead)
			assert.Equal(t, batches(t, want), batches(t, got))
		}
	}
}

// batches are the batches flagged, in order.
func batches(t *testing.T, f *Flags) (all []string) {
	for _, g := range f.Groups {
		for _, s := range Sections() {
			require.NoError(t, f.Each(g, s, func(r *Flagged) error {
				all = append(all, fmt.Sprint(s, r.Row.Line, r.Row.Item.Batch, r.Judgement.Verdict))
				return nil
			}))
		}
	}
	return all
}

// A register that fails while it is read is an error of its own words, wherever it was.
func TestFlowThatFailsIsTheError(t *testing.T) {
	text := registerText(30_000)
	broken := errors.New("the register is damaged")
	for _, at := range []int{0, 10, len(text) / 2, len(text)} {
		l, err := FlowRegisterList("r", func(w io.Writer) error {
			_, _ = io.WriteString(w, text[:at])
			time.Sleep(time.Millisecond)
			return broken
		})
		require.NoError(t, err)
		_, err = NewJudge(catalog.Builtin(), date.New(2027, 3, 29)).Flag(l, FlagQuestion{Until: date.New(2027, 4, 28)})
		assert.Equal(t, broken, err, at)
		l.Close()
	}
}

// Who closes the list does not wait for rows that nobody reads.
func TestClosingAFlowEndsIt(t *testing.T) {
	var ended error
	l, err := FlowRegisterList("r", func(w io.Writer) error {
		for ended == nil {
			_, ended = io.WriteString(w, "row\n")
		}
		return ended
	})
	require.NoError(t, err)
	l.Close()
	assert.ErrorIs(t, ended, errStopped)
}
