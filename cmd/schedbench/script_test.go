package main

import (
	"errors"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"schedbench": main})
}

// TestScripts runs the scripts of testdata/script; $HAND is the folder of instances
// worked by hand.
func TestScripts(t *testing.T) {
	hand, err := filepath.Abs(filepath.Join("testdata", "hand"))
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:                 filepath.Join("testdata", "script"),
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(e *testscript.Env) error {
			e.Setenv("HAND", hand)
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"exits": exits, "columns80": columns80},
	})
}

// exits runs a command and wants the exit code that comes first: exits 3 schedbench …
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE command [args]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	var ended *exec.ExitError
	switch err := ts.Exec(args[1], args[2:]...); {
	case errors.As(err, &ended):
		got = ended.ExitCode()
	case err != nil:
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("%s exits %d, not %d", strings.Join(args[1:], " "), got, want)
	}
}

// columns80 wants every line of standard output to fit 80 columns.
func columns80(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 0 {
		ts.Fatalf("usage: columns80")
	}
	for line := range strings.Lines(ts.ReadFile("stdout")) {
		if utf8.RuneCountInString(strings.TrimSuffix(line, "\n")) > 80 {
			ts.Fatalf("wider than 80 columns: %s", line)
		}
	}
}
