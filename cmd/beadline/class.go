package main

import (
	"fmt"
	"io"
	"strings"

	"beadline/catalog"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"
	"beadline/cure/nearest"

	"github.com/spf13/cobra"
)

func (a *app) classCmd() *cobra.Command {
	cmd := &cobra.Command{
		Use: "class",
		Example: `  beadline class list
  beadline class show polysulfide-b-2
  beadline class lint mine.yaml
  beadline class fit datasheet.csv --out mine.yaml`,
		Short: "The sealant classes: list them, show one, check a file of your own",
		Long: `A sealant class is a generic kind of sealant with its curves and shelf rules,
such as polysulfide-b-2; it is not a product, nor the letter on the tin. Every
number has its source beside it. Files of your own classes are added with
--catalog.

` + exitHelp,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args[0])
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.classListCmd(), a.classShowCmd(), a.classLintCmd(), a.classFitCmd())
	return cmd
}

func (a *app) classListCmd() *cobra.Command {
	var kind string
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List the classes with pot life, cure and shelf life",
		Long: `List names every class, its pot life and cure by the plain curve, and how long
it keeps unopened.

` + exitHelp,
		Example: `  beadline class list
  beadline class list --kind two-part
  beadline class list --catalog mine.yaml --format csv`,
		Args:        noArgs,
		Annotations: map[string]string{"formats": "json csv"},
		RunE:        func(*cobra.Command, []string) error { return a.classList(kind) },
	}
	cmd.Flags().StringVar(&kind, "kind", "", "only this kind, such as two-part")
	return cmd
}

func (a *app) classList(kind string) error {
	c, err := a.classes()
	if err != nil {
		return err
	}
	all := c.All()
	if kind != "" {
		if err := checkKind(kind); err != nil {
			return err
		}
		all = c.ByKind(catalog.Kind(kind))
	}
	return a.write(forms{
		text: func(w io.Writer) error { return show.ClassList(w, all, a.inUnits()) },
		json: func(w io.Writer) error { return show.ClassListJSON(w, all) },
		csv:  func(w io.Writer) error { return show.ClassListCSV(w, all) },
	})
}

func checkKind(kind string) error {
	var names []string
	for _, k := range catalog.Kinds() {
		if string(k) == kind {
			return nil
		}
		names = append(names, string(k))
	}
	if near := nearest.Names(kind, names, 2); near != nil {
		return usagef("--kind %s: there is no such kind: did you mean %s?", kind, strings.Join(near, " or "))
	}
	return usagef("--kind %s: there is no such kind: say one of %s", kind, strings.Join(names, ", "))
}

func (a *app) classShowCmd() *cobra.Command {
	var plot, bead string
	cmd := &cobra.Command{
		Use:   "show ID",
		Short: "Show everything known of a class, each number with its source",
		Long: `Show writes every number of a class and, under it, what it rests on: a published
source that was read, arithmetic on one, memory, common practice, or an
assumption.

--plot draws the times of the class against temperature into a file as well.

` + exitHelp,
		Example: `  beadline class show polysulfide-b-2
  beadline class show polysulfide-b-2 --units us
  beadline class show silicone-neutral --plot silicone.svg --bead 3mm
  beadline class show mine --catalog mine.yaml --format json`,
		Args:        oneArg("the id of a class"),
		Annotations: map[string]string{"formats": "json"},
		RunE: func(_ *cobra.Command, args []string) error {
			cl, err := a.class(args[0])
			if err != nil {
				return err
			}
			if err := a.plotClass(plot, bead, &cl); err != nil {
				return err
			}
			return a.write(forms{
				text: func(w io.Writer) error { return show.Class(w, &cl, a.inUnits()) },
				json: func(w io.Writer) error { return show.ClassJSON(w, &cl) },
			})
		},
	}
	cmd.Flags().StringVar(&plot, "plot", "", "draw the times against temperature: an .svg, .png or .pdf")
	cmd.Flags().StringVar(&bead, "bead", "", "depth of the bead to draw, such as 3mm (default: that of the class)")
	return cmd
}

func (a *app) classLintCmd() *cobra.Command {
	return &cobra.Command{
		Use:   "lint FILE...",
		Short: "Check files of your own classes",
		Long: `Lint reads class files and writes every fault on a line of its own: file, line,
column, what is wrong, what would be right. Warnings do not keep a file from
being used; errors do.

Exit codes: 0 no errors; 1 errors, or a file that cannot be read; 2 wrong usage.`,
		Example:     `  beadline class lint mine.yaml`,
		Annotations: map[string]string{"formats": "json"},
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return usagef("%s needs a class file: %s", cmd.CommandPath(), cmd.UseLine())
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error { return a.classLint(args) },
	}
}

func (a *app) classLint(files []string) error {
	var all []catalog.Problem
	errors := 0
	for _, name := range files {
		data, err := desk.ReadFile(name)
		if err != nil {
			return err
		}
		for _, p := range catalog.Lint(data, name) {
			all = append(all, p)
			if p.Severity == catalog.Error {
				errors++
			}
		}
	}
	err := a.write(forms{
		text: func(w io.Writer) error { return lintText(w, all, errors) },
		json: func(w io.Writer) error { return show.LintJSON(w, all) },
	})
	if err == nil && errors > 0 {
		return answer(exitFailure)
	}
	return err
}

// lintText writes a line for each problem, as compilers do, not folded: editors and
// other programs read them.
func lintText(w io.Writer, all []catalog.Problem, errors int) error {
	for _, p := range all {
		if _, err := fmt.Fprintln(w, p); err != nil {
			return err
		}
	}
	said := "no problems"
	if len(all) > 0 {
		said = fmt.Sprintf("errors: %d, warnings: %d", errors, len(all)-errors)
	}
	_, err := fmt.Fprintln(w, said)
	return err
}
