package main

import (
	"bytes"
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/register"
	"beadline/catalog/stock/store"
)

// stockBench is a register in a folder of the test, and a program whose clock stands still.
type stockBench struct {
	*testing.T
	name string
	now  time.Time
}

func newStockBench(t *testing.T) *stockBench {
	return &stockBench{t, filepath.Join(t.TempDir(), "register.db"), time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)}
}

// run types a command; the register and the person are those of the bench.
func (b *stockBench) run(args ...string) (code int, out, errs string) {
	var o, e bytes.Buffer
	a := &app{in: strings.NewReader(""), out: &o, err: &e, clock: func() time.Time { return b.now },
		env: func(name string) string {
			return map[string]string{"BEADLINE_REGISTER": b.name, "BEADLINE_BY": "Tech 1"}[name]
		}}
	code = a.run(append([]string{"stock"}, args...))
	return code, o.String(), e.String()
}

// events is how many there are, with the chains checked.
func (b *stockBench) events() int {
	b.Helper()
	s, err := store.Open(context.Background(), b.name, store.Options{})
	require.NoError(b, err)
	defer s.Close()
	found, err := (&register.Register{Store: s, Clock: time.Now}).Verify(context.Background(), register.Hash{})
	require.NoError(b, err)
	require.True(b, found.Whole(), "%+v", found)
	return found.Events
}

// recordingCommands are what is typed of each command that records something, and would
// be recorded: a flag more, and it is the flag's fault.
var recordingCommands = map[string][]string{
	"receive": {"--batch", "N-1", "--class", "polysulfide-b-2", "--expiry", "2027-06-30", "--quantity", "1"},
	"move":    {"S-2207", "--to", "line store"},
	"open":    {"S-2207"},
	"thaw":    {"S-2207"},
	"test":    {"S-2207", "--result", "pass"},
	"extend":  {"S-2207"},
	"hold":    {"S-2207", "--why", "a doubt"},
	"free":    {"S-2207", "--by", "A", "--authority", "B", "--reference", "C"},
	"scrap":   {"S-2207", "--why", "over"},
	"count":   {"S-2207", "--quantity", "4"},
	"draw":    {"S-2207", "--for", "training"},
	"strike":  {"in-1", "--by", "A", "--authority", "B", "--reference", "C", "--why", "D"},
}

// without is a command line without a flag and its value.
func without(args []string, flag string) []string {
	var left []string
	for i := 0; i < len(args); i++ {
		if args[i] == "--"+flag {
			i++
			continue
		}
		left = append(left, args[i])
	}
	return left
}

// texts are the flags of a command that take text, and its global ones that a person fills
// in for a register.
func texts(cmd *cobra.Command) (names []string) {
	cmd.LocalFlags().VisitAll(func(f *pflag.Flag) {
		if _, several := f.Value.(pflag.SliceValue); several || f.Value.Type() == "string" {
			names = append(names, f.Name)
		}
	})
	return append(names, "at", "zone", "catalog")
}

// No text that a person cannot have meant is recorded from any flag of any stock command,
// and what is said about it is one line that does not say it again.
func TestTextsThatCannotBeMeantAreRefusedInEveryFlag(t *testing.T) {
	if testing.Short() {
		t.Skip("every text flag of every command: run without -short")
	}
	b := newStockBench(t)
	code, _, errs := b.run("receive", "--batch", "S-2207", "--class", "polysulfide-b-2", "--expiry", "2027-06-30", "--quantity", "5", "--id", "in-1", "--unit", "kit")
	require.Equal(t, exitHold, code, errs)
	before, tried := b.events(), 0
	long := strings.Repeat("x", 10<<20)
	stock, _, err := (&app{}).root().Find([]string{"stock"})
	require.NoError(t, err)
	for name, args := range recordingCommands {
		cmd, _, err := stock.Find([]string{name})
		require.NoError(t, err)
		require.Equal(t, name, cmd.Name())
		for _, flag := range texts(cmd) {
			for what, bad := range map[string]string{"control": "a\x00b", "newline": "a\nb", "escape": "a\x1b[31mb", "turned": "a\u202eb", "not UTF-8": "a\xff", "empty": " ", "10 MB": long} {
				line := append([]string{name}, append(without(args, flag), "--"+flag+"="+bad)...)
				code, out, errs := b.run(line...)
				at := fmt.Sprintf("%s --%s, %s", name, flag, what)
				assert.Contains(t, []int{exitFailure, exitUsage}, code, at)
				assert.Empty(t, out, at)
				assert.Equal(t, 1, strings.Count(errs, "\n"), at)
				assert.Less(t, len(errs), 400, at)
				assert.NotContains(t, errs, "\x1b", at)
				tried++
			}
		}
		for _, bad := range []string{"a\x00b", "a\nb", "a\xff", " ", "", long} {
			code, out, errs := b.run(append([]string{name, bad}, args...)...)
			assert.Contains(t, []int{exitFailure, exitUsage}, code, name)
			assert.Empty(t, out, name)
			assert.Equal(t, 1, strings.Count(errs, "\n"), name)
			assert.Less(t, len(errs), 400, name)
		}
	}
	assert.Greater(t, tried, 500)
	assert.Equal(t, before, b.events(), "nothing was recorded")
}

// Text is text: what would be a command to a database, or to a shell, is recorded as it
// stands, or refused where it means nothing.
func TestStatementsAreRecordedAsText(t *testing.T) {
	if testing.Short() {
		t.Skip("every text flag of every command: run without -short")
	}
	stock, _, err := (&app{}).root().Find([]string{"stock"})
	require.NoError(t, err)
	const bad = `'; DROP TABLE event; -- "$(rm -rf x)" \' %s %n`
	for name, args := range recordingCommands {
		cmd, _, err := stock.Find([]string{name})
		require.NoError(t, err)
		b := newStockBench(t)
		code, _, errs := b.run("receive", "--batch", "S-2207", "--class", "polysulfide-b-2", "--expiry", "2027-06-30", "--quantity", "5", "--id", "in-1", "--unit", "kit")
		require.Equal(t, exitHold, code, errs)
		all := 1
		for _, flag := range texts(cmd) {
			code, out, errs := b.run(append([]string{name}, append(without(args, flag), "--"+flag+"="+bad)...)...)
			now := b.events()
			if code == exitFailure || code == exitUsage {
				assert.Equal(t, 1, strings.Count(errs, "\n"), "%s --%s: %s", name, flag, errs)
				assert.Empty(t, out)
				assert.Equal(t, all, now, "%s --%s", name, flag)
			}
			all = now
		}
		// The batch is as it can be: nothing is lost of it.
		s, err := store.Open(context.Background(), b.name, store.Options{})
		require.NoError(t, err)
		state, err := (&register.Register{Store: s, Clock: time.Now}).Load(context.Background(), register.Batch{Number: "S-2207"}.Key())
		require.NoError(t, err)
		require.NoError(t, s.Close())
		assert.Empty(t, state.Problems, name)
		assert.Equal(t, "in-1", state.Events[0].ID)
	}
}

// What was recorded is what was said, to the letter.
func TestEveryTextIsRecordedAsSaid(t *testing.T) {
	b := newStockBench(t)
	const odd = `O'Brien "x"; -- ½ µm ☃`
	code, _, errs := b.run("receive", "--batch", odd, "--maker", odd, "--class", "polysulfide-b-2", "--expiry", "2027-06-30", "--quantity", "5", "--id", odd,
		"--unit", "kit", "--place", odd, "--container", odd, "--certificate", odd, "--supplier", odd, "--order", odd, "--maker-batch", odd, "--pack", odd, "--base-lot", odd,
		"--by", odd, "--why", odd, "--authority", odd, "--reference", odd)
	require.Zero(t, code, errs)
	code, out, errs := b.run("hold", odd, "--maker", odd, "--why", odd, "--by", odd, "--format", "json")
	require.Zero(t, code, errs)
	assert.Contains(t, out, `O'Brien \"x\"; -- ½ µm ☃`)
	s, err := store.Open(context.Background(), b.name, store.Options{})
	require.NoError(t, err)
	defer s.Close()
	state, err := (&register.Register{Store: s, Clock: time.Now}).Load(context.Background(), register.Batch{Number: odd, Maker: odd}.Key())
	require.NoError(t, err)
	e := state.Events[0]
	for _, got := range []string{e.ID, e.By, e.Why, e.Authority, e.Reference, e.Place, e.Container, e.Receipt.Certificate, e.Receipt.Supplier, e.Receipt.Order,
		e.Receipt.MakerBatch, e.Receipt.Pack, e.Receipt.Label.Parts[0].Lot, state.Events[1].Why} {
		assert.Equal(t, odd, got)
	}
}
