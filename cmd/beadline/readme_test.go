package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// example is one command that the README shows, with the output it shows for it.
type example struct {
	line    int
	command string
	want    []string
}

// examples reads the commands of the console blocks of a page: "$ beadline …", then
// its output. A line of three dots stands for any number of lines. A command that ends in
// a backslash goes on; "$ export NAME=VALUE" is for all that follow.
func examples(t *testing.T, page string) []example {
	t.Helper()
	data, err := os.ReadFile(page)
	require.NoError(t, err)
	var out []example
	inside, more := false, false
	for i, line := range strings.Split(string(data), "\n") {
		switch {
		case more:
			s := &out[len(out)-1]
			s.command += " " + line
		case strings.HasPrefix(line, "```"):
			inside = line == "```console"
		case inside && strings.HasPrefix(line, "$ beadline "):
			out = append(out, example{line: i + 1, command: strings.TrimPrefix(line, "$ beadline ")})
		case inside && strings.HasPrefix(line, "$ export "):
			out = append(out, example{line: i + 1, command: strings.TrimPrefix(line, "$ ")})
		case inside && len(out) > 0:
			s := &out[len(out)-1]
			s.want = append(s.want, line)
		}
		more = false
		if n := len(out) - 1; inside && n >= 0 && out[n].want == nil {
			out[n].command, more = strings.CutSuffix(out[n].command, "\\")
		}
	}
	return out
}

// words cuts a command as a shell does, with words in double or single quotes.
func words(command string) (all []string) {
	word, quote, in := "", rune(0), false
	for _, c := range command {
		switch {
		case quote != 0 && c == quote:
			quote = 0
		case quote == 0 && (c == '"' || c == '\''):
			quote, in = c, true
		case quote == 0 && c == ' ':
			if in {
				all = append(all, word)
			}
			word, in = "", false
		default:
			word, in = word+string(c), true
		}
	}
	if in {
		all = append(all, word)
	}
	return all
}

// TestReadmeShowsRealOutput runs every command that the README shows, in a folder
// with the demo and the sample data sheets in it, and compares what it prints.
func TestReadmeShowsRealOutput(t *testing.T) {
	if testing.Short() {
		t.Skip("every command of the README: run without -short")
	}
	page, err := filepath.Abs("../../README.md")
	require.NoError(t, err)
	all := examples(t, page)
	require.NotEmpty(t, all)
	sheets, err := filepath.Abs("../../testdata/fit")
	require.NoError(t, err)
	t.Chdir(t.TempDir())
	require.NoError(t, writeDemo(demoFolder))
	require.NoError(t, os.CopyFS("testdata/fit", os.DirFS(sheets)))
	for _, s := range all {
		var out, errs bytes.Buffer
		a := &app{in: strings.NewReader(""), out: &out, err: &errs, clock: func() time.Time {
			return time.Date(2027, 3, 29, 6, 0, 0, 0, time.UTC)
		}}
		if set, ok := strings.CutPrefix(s.command, "export "); ok {
			name, value, _ := strings.Cut(words(set)[0], "=")
			t.Setenv(name, value)
			continue
		}
		a.run(words(s.command))
		got := strings.Split(strings.TrimRight(out.String()+errs.String(), "\n"), "\n")
		assert.True(t, matches(s.want, got), "README.md:%d: $ beadline %s\nprints\n%s", s.line, s.command, strings.Join(got, "\n"))
	}
}

// matches compares lines with a pattern in which "..." stands for any lines.
func matches(want, got []string) bool {
	for len(want) > 0 && want[len(want)-1] == "" {
		want = want[:len(want)-1]
	}
	if len(want) == 0 {
		return len(got) == 0
	}
	if strings.TrimSpace(want[0]) == "..." {
		for i := 0; i <= len(got); i++ {
			if matches(want[1:], got[i:]) || len(want) == 1 {
				return true
			}
		}
		return false
	}
	return len(got) > 0 && strings.TrimRight(want[0], " ") == strings.TrimRight(got[0], " ") && matches(want[1:], got[1:])
}
