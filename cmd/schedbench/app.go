package main

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// Exit codes, as the help names them.
const (
	exitDone     = 0
	exitFailure  = 1 // a file could not be read, or the rows not written
	exitUsage    = 2 // something is wrong with the command line
	exitContrary = 3 // an answer contradicts what is published, or the instance itself
)

// maxWorkers bounds --workers: more searches than any machine has use for.
const maxWorkers = 256

// app is the program apart from the process it runs in, so that tests can run it.
type app struct {
	out, err io.Writer
	clock    func() time.Time

	limit   time.Duration
	workers int
	compare string
	code    int // the worst of what happened so far
}

// usage marks an error of the command line.
type usage struct{ error }

func usagef(format string, args ...any) error { return usage{fmt.Errorf(format, args...)} }

// run executes one command line and returns the exit code.
func (a *app) run(args []string) int {
	cmd := a.command()
	cmd.SetArgs(args)
	cmd.SetOut(a.out)
	cmd.SetErr(a.err)
	err := cmd.Execute()
	if err == nil {
		return a.code
	}
	a.complain(err)
	var use usage
	if errors.As(err, &use) {
		return exitUsage
	}
	return exitFailure
}

func (a *app) complain(err error) { fmt.Fprintln(a.err, "error:", err) }

func (a *app) command() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "schedbench [flags] FILES…",
		Short: "The scheduling core on public benchmark instances",
		Long: `Schedbench reads benchmark instances of project scheduling, one in a file, and
asks the scheduling core for the schedule that is done earliest. Two open
formats are read, each told by what is in the file, whatever its name:

  .sm   single-mode projects with precedence (Kolisch & Sprecher 1997)
  .sch  projects with minimum and maximum time lags, also .SCH
        (Kolisch, Schwindt & Sprecher 1999; Franck, Neumann & Schwindt 2001)

It writes CSV, a row for each instance as soon as it is answered:

  instance  the name of the file, without its folder
  status    optimal, feasible, infeasible (proven that there is no schedule)
            or unknown (nothing found, nothing proven)
  makespan  when the last activity, the sink, starts; empty without a schedule
  bound     no schedule is done before this; empty where there is none
  ms        milliseconds from the instance read to its answer

Every schedule is counted over again, without the core, before its row is
written.

--compare names a CSV of published answers with the columns problem and
optimum: a makespan, a range that holds it (83..98), or unsat where there is no
schedule. A summary goes to standard error.

Exit codes: 0 done; 1 a file could not be read (it has no row; the others are
still run) or the rows could not be written; 2 wrong usage; 3 an answer
contradicts the published one, or a schedule breaks its own instance.`,
		Example: `  schedbench project.sm
  schedbench --limit 1s --workers 2 j30/*.sm > rows.csv
  schedbench --limit 10s --compare ubo20.csv ubo20/*.sch > rows.csv`,
		Args: func(_ *cobra.Command, args []string) error {
			switch {
			case len(args) == 0:
				return usagef("schedbench needs instances to run: schedbench FILES…; see schedbench --help")
			case a.limit <= 0:
				return usagef("--limit %s: say how long an instance may take, such as 10s or 500ms", a.limit)
			case a.workers < 1 || a.workers > maxWorkers:
				return usagef("--workers %d: say how many searches run side by side, 1 to %d", a.workers, maxWorkers)
			}
			return nil
		},
		RunE:                  func(_ *cobra.Command, args []string) error { return a.bench(args) },
		SilenceUsage:          true,
		SilenceErrors:         true,
		DisableFlagsInUseLine: true,
	}
	f := cmd.Flags()
	f.SortFlags = false
	f.DurationVar(&a.limit, "limit", 10*time.Second, "time for each instance, such as 500ms or 2m")
	f.IntVar(&a.workers, "workers", 1, "searches side by side")
	f.StringVar(&a.compare, "compare", "", "CSV of published answers to hold the rows against")
	cmd.SetFlagErrorFunc(flagError)
	cmd.SetUsageTemplate(strings.ReplaceAll(cmd.UsageTemplate(), ".FlagUsages", ".FlagUsagesWrapped 79"))
	return cmd
}

// flagError puts what the flag library says into one plain line.
func flagError(_ *cobra.Command, err error) error {
	var bad *pflag.InvalidValueError
	var unknown *pflag.NotExistError
	switch {
	case errors.As(err, &bad):
		want := map[string]string{"int": "write a whole number", "duration": "write a time with its unit, such as 10s, 500ms or 2m"}
		return usagef("--%s %q: %s", bad.GetFlag().Name, bad.GetValue(), want[bad.GetFlag().Value.Type()])
	case errors.As(err, &unknown):
		name := unknown.GetSpecifiedName()
		return usagef("%s: schedbench has no such flag; it has --limit, --workers, --compare and --help", strings.Repeat("-", min(2, len(name)))+name)
	}
	return usage{err}
}
