package main

import (
	"bytes"
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// From paper the first digits of a checkpoint's hash are enough, in capitals too.
func TestExpectTakesTheFirstDigits(t *testing.T) {
	file := filepath.Join(t.TempDir(), "register.db")
	run := func(args ...string) (string, int) {
		var out, errs bytes.Buffer
		a := &app{in: strings.NewReader(""), out: &out, err: &errs, clock: func() time.Time { return time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC) }}
		code := a.run(append(args, "--register", file))
		return out.String() + errs.String(), code
	}
	_, code := run("stock", "receive", "--batch", "S-2207", "--class", "polysulfide-b-2", "--expiry", "2027-06-30", "--quantity", "5", "--certificate", "C-1", "--by", "Tech 1")
	require.Equal(t, exitYes, code)
	said, code := run("stock", "log", "--checkpoint", "--by", "Tech 1", "--format", "json")
	require.Equal(t, exitYes, code, said)
	var shape struct {
		Checkpoint struct{ Hash string }
		Hash       string
	}
	require.NoError(t, json.Unmarshal([]byte(said), &shape), said)
	hash := shape.Hash + shape.Checkpoint.Hash
	require.Len(t, hash, 64, said)
	for _, text := range []string{hash, hash[:16], strings.ToUpper(hash[:20])} {
		said, code = run("stock", "log", "--verify", "--expect", text)
		assert.Equal(t, exitYes, code, said)
	}
	other := "0"
	if hash[15] == '0' {
		other = "1"
	}
	said, code = run("stock", "log", "--verify", "--expect", hash[:15]+other)
	assert.Equal(t, exitFailure, code, said)
	_, code = run("stock", "log", "--verify", "--expect", hash[:15])
	assert.Equal(t, exitUsage, code)
}
