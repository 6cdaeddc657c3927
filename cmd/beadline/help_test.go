package main

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// helps are the help texts of every command, by its path.
func helps(t *testing.T) map[string]string {
	t.Helper()
	all := map[string]string{}
	var walk func(*cobra.Command)
	walk = func(cmd *cobra.Command) {
		var out bytes.Buffer
		a := &app{out: &out, err: &out}
		require.Zero(t, a.run(append(strings.Fields(cmd.CommandPath())[1:], "--help")))
		all[cmd.CommandPath()] = out.String()
		for _, c := range cmd.Commands() {
			walk(c)
		}
	}
	walk((&app{}).root())
	return all
}

func TestHelpFits80Columns(t *testing.T) {
	all := helps(t)
	require.Greater(t, len(all), 8)
	for path, text := range all {
		assert.Contains(t, text, "Flags:", path)
		for line := range strings.Lines(text) {
			assert.LessOrEqual(t, utf8.RuneCountInString(strings.TrimSuffix(line, "\n")), 80, "%s: %s", path, line)
		}
	}
}

// A flag that a command would ignore is one that there is, of a command that there is.
func TestIgnoredFlagsExist(t *testing.T) {
	all := helps(t)
	for path, flags := range ignored {
		require.Contains(t, all, path)
		for _, f := range flags {
			assert.Contains(t, all[path], "--"+f.flag)
			var out bytes.Buffer
			a := &app{out: &out, err: &out}
			require.Equal(t, exitUsage, a.run(append(strings.Fields(path)[1:], "x", "--"+f.flag, "us")), path)
			assert.Equal(t, 1, strings.Count(out.String(), "\n"))
		}
	}
}
