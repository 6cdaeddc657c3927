package tag

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// What a code says of the state is read again, whatever the container is called and
// however the scanner writes letters; a maker's serial number is none.
func TestStateOfACodeReadsBack(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		x := Tag{State: State(rapid.IntRange(0, int(Reject)).Draw(r, "state")), Container: rapid.StringMatching(`([!-~][ -~]{0,9}[!-~])?`).Draw(r, "container"),
			Batch: rapid.StringMatching(`[!-~]([ -~]{0,9}[!-~])?`).Draw(r, "batch")}
		s, of, ok := ReadState(x.Serial())
		assert.True(r, ok && s == x.State && of == x.Container, "%q: %v %q", x.Serial(), s, of)
		batch, s, ok := ReadPlain(strings.ToLower(x.plainText()))
		assert.True(r, ok && s == x.State && batch == strings.ToLower(x.Batch), "%q: %v %q", x.plainText(), s, batch)
	})
	for _, serial := range []string{"", "2", "MIXEDUP", "X/MIXED", "MIX/2", "/", "state 9"} {
		_, _, ok := ReadState(serial)
		assert.False(t, ok, serial)
	}
	for _, text := range []string{"", "S-2207", "MIXED", "/MIXED", "S-2207/2", "S-2207/", "S-2207MIXED", " /MIXED"} {
		_, _, ok := ReadPlain(text)
		assert.False(t, ok, text)
	}
}

// (21) takes 20 characters (GS1 General Specifications), the state among them.
func TestContainerTooLongForACodeIsRefused(t *testing.T) {
	x := samples()[4] // mixed, with a GTIN
	x.Container = strings.Repeat("7", 14)
	c, err := x.MatrixCode()
	require.NoError(t, err)
	assert.Contains(t, c.Text, "21MIXED/77777777777777")
	x.Container += "7"
	_, err = x.MatrixCode()
	assert.EqualError(t, err, `container "777777777777777": it has 15 characters, and beside MIXED a GS1 code takes 14: leave out --gtin, or number it shorter`)
}

func FuzzReadState(f *testing.F) {
	for _, s := range []string{"MIXED", "MIXED/2", "opened/A/B", "/", "S-1/MIXED", "\x1d", "９/MIXED"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if s, container, ok := ReadState(text); ok {
			again, of, ok := ReadState((&Tag{State: s, Container: container}).Serial())
			assert.True(t, ok && again == s && of == strings.TrimSpace(container), "%q", text)
		}
		if batch, s, ok := ReadPlain(text); ok {
			assert.NotEmpty(t, batch)
			assert.LessOrEqual(t, s, Reject)
		}
	})
}
