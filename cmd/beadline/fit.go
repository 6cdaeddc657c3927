package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"
	"beadline/cure"
	"beadline/cure/nearest"

	"github.com/google/renameio/v2"
	"github.com/spf13/cobra"
)

// fitFlags are those of class fit alone.
type fitFlags struct {
	id, name, kind, out string
	seals               []string
	force, asWritten    bool
}

func (a *app) classFitCmd() *cobra.Command {
	var f fitFlags
	cmd := &cobra.Command{
		Use:   "fit SHEET.csv",
		Short: "Make a class from the table of a data sheet",
		Long: `Fit reads measured times and lays a curve through each milestone: a doubling, an
Arrhenius slope, the table itself or, where moisture cures from the face inward, a
front. It takes the form that best foretells rows it was not shown, says how far
each row lies from it, and where the trade's 10 °C rule would have been unsafe.
The curve holds as far as the rows reach and no further.

The sheet is a CSV file, its columns in any order, every quantity with its unit:

  milestone,temp,rh,bead,time,source
  application,25C,50%,,120min,data sheet p. 2
  full-cure,40C,50%,,7 days,data sheet p. 2

rh, bead and source may be empty or left out. A column states says whether the
times are minimum, typical or maximum. The milestones are application, assembly,
tack-free, handling, cure and full-cure.

--format yaml writes the class file alone, --format json the report.

Exit codes: 0 there is a class; 1 the sheet cannot be read; 2 wrong usage; 3 rows
were refused, or the class cannot stand, and no class file is written.`,
		Example: `  beadline class fit datasheet.csv
  beadline class fit datasheet.csv --seals fillet,faying --out mine.yaml
  beadline class fit silicone.csv --kind one-part-moisture --format yaml`,
		Args:              oneArg("a data sheet as a CSV file"),
		Annotations:       map[string]string{"formats": "json yaml"},
		PersistentPreRunE: func(cmd *cobra.Command, _ []string) error { return a.checkFitGlobals(cmd) },
		RunE:              func(_ *cobra.Command, args []string) error { return a.classFit(args[0], &f) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.id, "id", "", "the id of the class (default: from the file's name)")
	flags.StringVar(&f.name, "name", "", "what the class is, in words")
	flags.StringVar(&f.kind, "kind", "two-part", "its kind; class list names them")
	flags.StringSliceVar(&f.seals, "seals", nil, "the seals it is for, such as faying,fillet (a sealant's default: fillet)")
	flags.StringVar(&f.out, "out", "", "write the class file here")
	flags.BoolVar(&f.force, "force", false, "let --out replace a file")
	flags.BoolVar(&f.asWritten, "as-written", false, "the temperatures are meant as they stand: do not ask about °F and °C")
	return cmd
}

// fitIgnores are the flags of every command that class fit has no use for.
var fitIgnores = []unused{
	{"at", sameEveryDay}, {"zone", sameEveryDay}, {"catalog", "fit makes a class of the sheet alone"},
}

// checkFitGlobals lets yaml through beside the usual formats.
func (a *app) checkFitGlobals(cmd *cobra.Command) error {
	if !slices.Contains([]string{"text", "json", "yaml"}, a.format) {
		return usagef("--format %s: %s answers in text or json or yaml", a.format, cmd.CommandPath())
	}
	for _, f := range fitIgnores {
		if flag := cmd.Flags().Lookup(f.flag); flag != nil && flag.Changed {
			return usagef("--%s %s: %s: leave it out", f.flag, shown(flag.Value), f.why)
		}
	}
	format := a.format
	if format == "yaml" {
		a.format = "text"
	}
	err := a.checkGlobals(cmd)
	a.format = format
	return err
}

func (a *app) classFit(file string, f *fitFlags) error {
	q := desk.FitQuestion{File: file, ID: f.id, Name: f.name, Kind: f.kind, Seals: f.seals, AsWritten: f.asWritten}
	if err := f.check(file); err != nil {
		return err
	}
	fitted, err := desk.FitSheet(q)
	if err != nil {
		return err
	}
	written := ""
	if fitted.Whole() && f.out != "" {
		if err := renameio.WriteFile(f.out, fitted.YAML, 0o644); err != nil {
			return fmt.Errorf("%s: cannot be written: %w", f.out, reason(err))
		}
		written = f.out
	}
	if a.format == "yaml" {
		return a.writeClassFile(fitted)
	}
	err = a.write(forms{
		text: func(w io.Writer) error { return show.Fit(w, fitted, written, a.inUnits()) },
		json: func(w io.Writer) error { return show.FitJSON(w, fitted, written) },
	})
	if err == nil && !fitted.Whole() {
		return answer(exitHold)
	}
	return err
}

// writeClassFile writes the class file alone, or why there is none.
func (a *app) writeClassFile(f *desk.Fit) error {
	if f.Whole() {
		_, err := a.out.Write(f.YAML)
		return err
	}
	a.note(f.Refused()...)
	for _, p := range f.Against {
		a.note(p.String())
	}
	return answer(exitHold)
}

// check refuses flags that cannot be meant, before the sheet is read.
func (f *fitFlags) check(file string) error {
	if err := checkKind(f.kind); err != nil {
		return err
	}
	var known []string
	for _, s := range cure.SealTypes {
		known = append(known, string(s))
	}
	for _, s := range f.seals {
		if slices.Contains(known, s) {
			continue
		}
		if near := nearest.Names(s, known, 1); near != nil {
			return usagef("--seals %s: there is no such seal: did you mean %s?", s, near[0])
		}
		return usagef("--seals %s: there is no such seal: say some of %s", s, strings.Join(known, ", "))
	}
	if f.out == "" {
		if f.force {
			return usagef("--force: there is no --out to replace: leave it out")
		}
		return nil
	}
	return f.checkOut(file)
}

// checkOut refuses to write over a file that nobody gave up, and over the sheet.
func (f *fitFlags) checkOut(file string) error {
	there, err := os.Stat(f.out)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("--out %s: cannot be written: %w", f.out, reason(err))
	case there.IsDir():
		return usagef("--out %s: this is a folder: name a file in it", f.out)
	}
	if sheet, err := os.Stat(file); err == nil && os.SameFile(there, sheet) {
		return usagef("--out %s: this is the sheet itself: name another file", f.out)
	}
	if !f.force {
		return usagef("--out %s: there is a file already: name another, or say --force to replace it", f.out)
	}
	return nil
}

// reason is what went wrong with a file, without the names of the calls.
func reason(err error) error {
	var path *os.PathError
	if errors.As(err, &path) {
		return path.Err
	}
	var link *os.LinkError
	if errors.As(err, &link) {
		return link.Err
	}
	return err
}
