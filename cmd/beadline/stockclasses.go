package main

import (
	"context"
	"fmt"
	"io"
	"slices"

	"beadline/catalog"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/desk/storeroom"
	"beadline/cmd/beadline/show"

	"github.com/spf13/cobra"
)

func (a *app) stockClassesCmd() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "classes",
		Short: "Sealant classes of your own, kept in the register",
		Long: `Classes keeps files of your own classes in the register, so that every station and
every command that uses the register knows them, without --catalog. A class with an id
of the built-in set stands in its place; one of a --catalog file on the command line
stands in place of both. Each version stays on record.`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args[0])
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.classesAddCmd(), a.classesListCmd(), a.classesShowCmd(), a.classesRemoveCmd())
	return cmd
}

// classesFlags are who keeps or takes away classes, and why.
type classesFlags struct{ name, by, why, authority, reference string }

func (f *classesFlags) add(cmd *cobra.Command) {
	fl := cmd.Flags()
	fl.StringVar(&f.by, "by", "", "who does it")
	fl.StringVar(&f.why, "why", "", "why")
	fl.StringVar(&f.authority, "authority", "", "under whose authority")
	fl.StringVar(&f.reference, "reference", "", "data sheet or order that it rests on")
}

func (a *app) said(f *classesFlags) register.Event {
	e := register.Event{By: f.by, Why: f.why, Authority: f.authority, Reference: f.reference}
	if e.By == "" {
		e.By, _ = a.person()
	}
	return e
}

func (a *app) classesAddCmd() *cobra.Command {
	var f classesFlags
	cmd := &cobra.Command{
		Use:   "add FILE.yaml",
		Short: "Keep a file of classes in the register, or a new version of it",
		Long: `Add checks a file of your own classes, as beadline class lint does, and keeps it in the
register under a name, that of the file unless --name says another. A file of that
name that is there already is replaced; the earlier version stays on record.

Exit codes: 0 done; 1 failure: the file has errors, and nothing is recorded; 2 wrong
usage.`,
		Example:     "  beadline stock classes add ours.yaml --authority \"quality office\" \\\n      --reference TDS-12",
		Annotations: map[string]string{"formats": "json"},
		Args:        oneArg("a file of classes"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := noneBlank(cmd.Flags()); err != nil {
				return err
			}
			return a.classesAdd(cmd.Context(), args[0], &f)
		},
	}
	f.add(cmd)
	cmd.Flags().StringVar(&f.name, "name", "", "what it is called in the register")
	return cmd
}

func (a *app) classesAdd(ctx context.Context, file string, f *classesFlags) error {
	data, err := desk.ReadFile(file)
	if err != nil {
		return err
	}
	if _, err := catalog.Read(data, file); err != nil {
		return err // before a register is made
	}
	name := f.name
	if name == "" {
		name = storeroom.ClassesName(file)
	}
	r, err := a.room(ctx, storeroom.Options{Create: true})
	if err != nil {
		return err
	}
	defer r.Close()
	e, known, err := r.AddClasses(ctx, name, file, data, a.said(f))
	if err != nil {
		return err
	}
	return a.kept(ctx, r, name, e, known)
}

// kept shows what was recorded of a catalog.
func (a *app) kept(ctx context.Context, r *storeroom.Room, name string, e *register.Event, known bool) error {
	o, err := r.OwnClasses(ctx, name)
	if err != nil {
		return err
	}
	return a.write(forms{
		text: func(w io.Writer) error { return show.ClassesKept(w, r.Store.Name(), o, e, known) },
		json: func(w io.Writer) error { return show.OwnClassesJSON(w, []storeroom.OwnClasses{*o}, true) },
	})
}

func (a *app) classesListCmd() *cobra.Command {
	return &cobra.Command{
		Use:   "list",
		Short: "Which files of classes the register keeps",
		Long: `List names the files of classes that the register keeps, and all versions of them.

Exit codes: 0 done; 1 failure; 2 wrong usage.`,
		Example:     `  beadline stock classes list`,
		Annotations: map[string]string{"formats": "json"},
		Args:        noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			r, err := a.room(cmd.Context(), storeroom.Options{Read: true})
			if err != nil {
				return err
			}
			defer r.Close()
			all, err := r.Catalogs(cmd.Context())
			if err != nil {
				return err
			}
			return a.write(forms{
				text: func(w io.Writer) error { return show.OwnClasses(w, r.Store.Name(), all) },
				json: func(w io.Writer) error { return show.OwnClassesJSON(w, all, false) },
			})
		},
	}
}

func (a *app) classesShowCmd() *cobra.Command {
	var version int
	cmd := &cobra.Command{
		Use:   "show NAME",
		Short: "The text of one of them",
		Long: `Show writes the file of classes as it was added, the newest version unless --version
says another.

Exit codes: 0 done; 1 failure; 2 wrong usage.`,
		Example: `  beadline stock classes show ours > ours.yaml
  beadline stock classes show ours --version 1`,
		Annotations: map[string]string{"formats": "json"},
		Args:        oneArg("a name of stock classes list"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.classesShow(cmd.Context(), args[0], version, cmd.Flags().Changed("version"))
		},
	}
	cmd.Flags().IntVar(&version, "version", 0, "which version, from 1 (default: the newest)")
	return cmd
}

func (a *app) classesShow(ctx context.Context, name string, version int, given bool) error {
	r, err := a.room(ctx, storeroom.Options{Read: true})
	if err != nil {
		return err
	}
	defer r.Close()
	o, err := r.OwnClasses(ctx, name)
	if err != nil {
		return err
	}
	e := o.Now()
	switch {
	case given && (version < 1 || version > len(o.Versions)):
		return usagef("--version %d: there are versions 1 to %d", version, len(o.Versions))
	case given:
		e = o.Versions[version-1]
	case e == nil:
		return fmt.Errorf("%s: the classes %s were taken away: an earlier version is shown with --version", r.Store.Name(), name)
	}
	shown := *o
	shown.Versions = []*register.Event{e}
	return a.write(forms{
		text: func(w io.Writer) error { _, err := io.WriteString(w, e.Catalog); return err },
		json: func(w io.Writer) error { return show.OwnClassesJSON(w, []storeroom.OwnClasses{shown}, true) },
	})
}

func (a *app) classesRemoveCmd() *cobra.Command {
	var f classesFlags
	cmd := &cobra.Command{
		Use:   "remove NAME --why WHY",
		Short: "Take one of them out of use; its versions stay on record",
		Long: `Remove takes a file of classes out of use. What is of its classes is held from then on,
as nobody knows them, unless the built-in set or another file has the id.

Exit codes: 0 done; 1 failure; 2 wrong usage.`,
		Example:     `  beadline stock classes remove ours --why "replaced by the maker's new sheet"`,
		Annotations: map[string]string{"formats": "json"},
		Args:        oneArg("a name of stock classes list"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := noneBlank(cmd.Flags()); err != nil {
				return err
			}
			if f.why == "" {
				return usagef("stock classes remove needs --why: it stays on record")
			}
			r, err := a.room(cmd.Context(), storeroom.Options{})
			if err != nil {
				return err
			}
			defer r.Close()
			e, err := r.RemoveClasses(cmd.Context(), args[0], a.said(&f))
			if err != nil {
				return err
			}
			return a.kept(cmd.Context(), r, args[0], e, false)
		},
	}
	f.add(cmd)
	return cmd
}

// learn has the judge of a room know the classes that its register keeps; what replaces
// what is noted, unless it has been.
func (a *app) learn(ctx context.Context, r *storeroom.Room) error {
	clashes, err := r.Learn(ctx, a.catalogs, desk.ReadFile)
	if err != nil || clashes == nil {
		return err
	}
	_, before, err := desk.Catalog(a.catalogs)
	for _, c := range clashes {
		if !slices.Contains(before, c) {
			a.note(c)
		}
	}
	return err
}
