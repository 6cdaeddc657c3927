package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/desk/storeroom"
	"beadline/cmd/beadline/show"
	"beadline/cure/nearest"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// Exit codes, the same for every command and named in its help.
const (
	exitYes     = 0 // done, or the answer is yes
	exitFailure = 1 // something is wrong with what was read
	exitUsage   = 2 // something is wrong with the command line
	exitHold    = 3 // hold, or not feasible as asked
	exitReject  = 4 // reject, or something must be set aside
)

const exitHelp = `Exit codes: 0 yes; 1 failure; 2 wrong usage; 3 hold, or not feasible as asked;
4 reject.`

// app is the program apart from the process it runs in, so that tests can run it.
type app struct {
	in       io.Reader
	out, err io.Writer
	clock    func() time.Time

	format   string
	units    string
	at       string
	zone     string
	catalogs []string
	register string

	env func(string) string // nil: that of the process
}

// getenv is a variable of the environment.
func (a *app) getenv(name string) string {
	if a.env != nil {
		return a.env(name)
	}
	return os.Getenv(name)
}

// answer ends a command with an exit code that is an answer, not a failure.
type answer int

func (a answer) Error() string { return fmt.Sprintf("exit %d", int(a)) }

// usage marks an error of the command line.
type usage struct{ error }

func usagef(format string, args ...any) error { return usage{fmt.Errorf(format, args...)} }

// run executes one command line and returns the exit code.
func (a *app) run(args []string) int {
	root := a.root()
	root.SetArgs(args)
	root.SetIn(a.in)
	root.SetOut(a.out)
	root.SetErr(a.err)
	err := root.Execute()
	var ans answer
	var use usage
	switch {
	case err == nil:
		return exitYes
	case errors.As(err, &ans):
		return int(ans)
	case errors.Is(err, os.ErrClosed) || strings.Contains(err.Error(), "broken pipe"):
		return exitFailure
	}
	for line := range strings.SplitSeq(strings.TrimRight(err.Error(), "\n"), "\n") {
		fmt.Fprintln(a.err, "error:", line)
	}
	if errors.Is(err, register.ErrDamaged) {
		if hint := a.damagedHint(); hint != "" {
			a.note(hint)
		}
	}
	var unsaid *storeroom.NotSaid
	if errors.As(err, &use) || errors.As(err, &unsaid) {
		return exitUsage
	}
	return exitFailure
}

func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "beadline",
		Short: "When to mix, torque, close and fly, and what on the shelf is still good",
		Long: `Beadline checks a batch of sealant before mixing, says how long the pot lasts and
when it has cured in the air of your hangar, plans reassembly around cure, and
flags what has expired.

It is a planning aid. Approved maintenance data, the maker's data sheet and local
rules prevail, and only licensed staff release an aircraft.`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args[0])
			}
			return nil
		},
		RunE:          func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
		SilenceUsage:  true,
		SilenceErrors: true,
	}
	root.CompletionOptions.HiddenDefaultCmd = true
	root.SetFlagErrorFunc(flagError)
	f := root.PersistentFlags()
	f.StringVar(&a.format, "format", "text", "how to answer: text, json or csv; flag: pdf too")
	f.StringVar(&a.units, "units", "si", "units in text: si or us")
	f.StringVar(&a.at, "at", "", "answer for this day or instant instead of now")
	f.StringVar(&a.zone, "zone", "", "zone of local times, such as Atlantic/Faroe (default: here)")
	f.StringArrayVar(&a.catalogs, "catalog", nil, "file of your own classes; repeat it for more, later wins")
	f.StringVar(&a.register, "register", "", "register to use: a file, or postgres://... (default: in your data folder)")
	root.PersistentPreRunE = func(cmd *cobra.Command, _ []string) error { return a.checkGlobals(cmd) }
	root.AddCommand(a.timesCmd(), a.checkCmd(), a.flagCmd(), a.planCmd(), a.labelCmd(), a.warmCmd(), a.stockCmd(), a.classCmd(), a.demoCmd())
	root.SetUsageTemplate(strings.NewReplacer(".FlagUsages", fmt.Sprintf(".FlagUsagesWrapped %d", helpWidth),
		" for more information about a command", " for more of a command").Replace(root.UsageTemplate()))
	foldHelp(root)
	onlyOnce(root)
	return root
}

// helpWidth is how wide a line of help is at most.
const helpWidth = 79

// foldHelp folds the paragraphs of every command's help; one with an indented line in
// it is a table or an example and is left alone.
func foldHelp(cmd *cobra.Command) {
	var folded []string
	for p := range strings.SplitSeq(cmd.Long, "\n\n") {
		if !strings.HasPrefix(p, " ") && !strings.Contains(p, "\n ") {
			p = strings.Join(show.Fold(p, helpWidth), "\n")
		}
		folded = append(folded, p)
	}
	cmd.Long = strings.Join(folded, "\n\n")
	for _, c := range cmd.Commands() {
		foldHelp(c)
	}
}

// flagError puts what the flag library says into one plain line.
func flagError(cmd *cobra.Command, err error) error {
	var bad *pflag.InvalidValueError
	var unknown *pflag.NotExistError
	var twice twiceError
	switch {
	case errors.As(err, &bad) && errors.As(err, &twice):
		return usagef("--%s is given twice (%s and %s): keep one", bad.GetFlag().Name, twice.first, twice.second)
	case errors.As(err, &bad):
		f := bad.GetFlag()
		return usagef("--%s %q: write a %s", f.Name, bad.GetValue(), map[string]string{"int": "whole number", "float64": "number", "bool": "yes or no: true or false"}[f.Value.Type()])
	case errors.As(err, &unknown):
		var known []string
		cmd.Flags().VisitAll(func(f *pflag.Flag) { known = append(known, f.Name) })
		name := unknown.GetSpecifiedName()
		if near := nearest.Names(name, known, 3); len(near) > 0 {
			return usagef("--%s: %s has no such flag; the nearest are --%s", name, cmd.CommandPath(), strings.Join(near, ", --"))
		}
		return usagef("--%s: %s has no such flag; see %s --help", name, cmd.CommandPath(), cmd.CommandPath())
	}
	return usage{err}
}

func (a *app) checkGlobals(cmd *cobra.Command) error {
	switch a.format {
	case "text", "json", "csv", "pdf":
	default:
		return usagef("--format %s: say text, json or csv; for flag also pdf", a.format)
	}
	if a.units != "si" && a.units != "us" {
		return usagef("--units %s: say si or us", a.units)
	}
	for _, f := range ignored[cmd.CommandPath()] {
		if flag := cmd.Flags().Lookup(f.flag); flag != nil && flag.Changed {
			return usagef("--%s %s: %s: leave it out", f.flag, shown(flag.Value), f.why)
		}
	}
	if formats := cmd.Annotations["formats"]; a.format != "text" && !strings.Contains(formats, a.format) {
		return usagef("--format %s: %s answers in text%s", a.format, cmd.CommandPath(), orWords(formats))
	}
	return nil
}

// unused is a flag of every command that one command has no use for, and why.
type unused struct{ flag, why string }

const (
	fromTheJob   = "plan takes its zone from the job file"
	sameEveryDay = "a class is the same on every day and in every zone"
	ownDays      = "the demo has its own days and zone"
)

// ignored are the flags that a command would otherwise take in silence and not use.
var ignored = map[string][]unused{
	"beadline plan":       {{"zone", fromTheJob}},
	"beadline demo":       {{"at", ownDays}, {"zone", ownDays}},
	"beadline class list": {{"at", sameEveryDay}, {"zone", sameEveryDay}},
	"beadline class show": {{"at", sameEveryDay}, {"zone", sameEveryDay}},
	"beadline class lint": {{"at", sameEveryDay}, {"zone", sameEveryDay}, {"units", "lint shows what the file says, as it says it"},
		{"catalog", "lint checks the files that are its arguments"}},
}

// shown is the value of a flag as it was written.
func shown(v pflag.Value) string {
	if s, ok := v.(pflag.SliceValue); ok {
		return strings.Join(s.GetSlice(), " ")
	}
	return v.String()
}

func orWords(formats string) string {
	if formats == "" {
		return " only"
	}
	return " or " + strings.ReplaceAll(formats, " ", " or ")
}

// location is the zone of local times on the command line.
func (a *app) location() (*time.Location, error) {
	if a.zone == "" {
		return time.Local, nil
	}
	z, err := time.LoadLocation(a.zone)
	if err != nil || a.zone == "Local" {
		return nil, usagef("--zone %s: no such time zone; write it like Atlantic/Faroe or UTC", a.zone)
	}
	return z, nil
}

// now is the instant that --at names, or the clock's.
func (a *app) now() (time.Time, error) {
	z, err := a.location()
	if err != nil {
		return time.Time{}, err
	}
	if a.at == "" {
		return a.clock().In(z), nil
	}
	t, err := desk.Instant(a.at, z)
	if err != nil {
		return time.Time{}, usagef("--at %w", err)
	}
	return t, nil
}

// oneArg asks for one argument and says what it is when it is missing.
func oneArg(what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		switch {
		case len(args) < 1:
			return usagef("%s needs %s: %s", cmd.CommandPath(), what, cmd.UseLine())
		case len(args) > 1:
			return usagef("%s takes %s and nothing more, not %q: %s", cmd.CommandPath(), what, args[1], cmd.UseLine())
		}
		return nil
	}
}

func noArgs(cmd *cobra.Command, args []string) error {
	if len(args) > 0 {
		return usagef("%s takes no argument %q", cmd.CommandPath(), args[0])
	}
	return nil
}
