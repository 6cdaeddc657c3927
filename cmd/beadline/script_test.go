package main

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/adrg/xdg"
	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"
)

func TestMain(m *testing.M) {
	if name := filepath.Base(os.Args[0]); strings.TrimSuffix(name, ".exe") != "beadline" { // not a command of a script
		// No test may see the register of whoever runs it: there is none here.
		os.Setenv("XDG_DATA_HOME", filepath.Join(os.TempDir(), "beadline-tests-have-no-register"))
		os.Unsetenv("BEADLINE_REGISTER")
		xdg.Reload()
	}
	testscript.Main(m, map[string]func(){"beadline": scripted})
}

// scripted is main with the clock that a script sets: CLOCK=2027-03-08T07:00:00Z. What the
// register records is of the clock's time, which --at does not change.
func scripted() {
	a := &app{in: os.Stdin, out: os.Stdout, err: os.Stderr, clock: time.Now}
	if set := os.Getenv("CLOCK"); set != "" {
		at, err := time.Parse(time.RFC3339, set)
		if err != nil {
			panic(err)
		}
		a.clock = func() time.Time { return at }
	}
	os.Exit(a.run(os.Args[1:]))
}

// manyHands are the scripts of commands with several goroutines, for the race detector: a
// process of its own takes it ten times as long to start.
var manyHands = []string{"flag.txtar", "flag-lists.txtar", "flag-pdf.txtar", "plan.txtar", "register-flag.txtar", "register-plan.txtar"}

// TestScripts runs the scripts of testdata/script: what a person types, what comes
// back, and with which exit code.
func TestScripts(t *testing.T) {
	const dir = "testdata/script"
	files, err := filepath.Glob(dir + "/*.txtar")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	if testing.Short() {
		files = slices.DeleteFunc(files, func(name string) bool { return !slices.Contains(manyHands, filepath.Base(name)) })
		require.Len(t, files, len(manyHands))
		t.Log("-short: only the scripts of commands that do several things at once")
	}
	testscript.Run(t, testscript.Params{
		Files:               files,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(e *testscript.Env) error {
			e.Setenv("TZ", "UTC")
			// The scripts must neither see nor touch the register of whoever runs them.
			e.Setenv("XDG_DATA_HOME", filepath.Join(e.WorkDir, ".data"))
			e.Setenv("BEADLINE_REGISTER", "")
			e.Setenv("BEADLINE_BY", "Tech 1")
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits":     exits,
			"oneline":   oneLine,
			"columns80": columns80,
		},
	})
}

// exits runs a command and wants the exit code that comes first: exits 3 beadline …
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

// oneLine wants nothing on standard output and one line on standard error, short
// enough to be read.
func oneLine(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 0 {
		ts.Fatalf("usage: oneline")
	}
	if out := ts.ReadFile("stdout"); out != "" {
		ts.Fatalf("an error, and yet an answer:\n%s", out)
	}
	said := ts.ReadFile("stderr")
	if strings.Count(said, "\n") != 1 || !strings.HasPrefix(said, "error: ") || len(said) > 300 {
		ts.Fatalf("not one line of error:\n%s", said)
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
