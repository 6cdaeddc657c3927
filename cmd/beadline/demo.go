package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"
	"beadline/testdata/demo"

	"github.com/rickb777/date"
	"github.com/spf13/cobra"
)

// demoFolder is where the demo goes unless said.
const demoFolder = "beadline-demo"

func (a *app) demoCmd() *cobra.Command {
	return &cobra.Command{
		Use:   "demo [DIR]",
		Short: "Write the demo scenario into a folder and run the main job on it",
		Long: `Demo writes an invented scenario into a folder (` + demoFolder + ` unless said): a job
file, a month of hangar air, a stock list and a few classes of its own. Then it
does the main job on it: it checks the batches, plans the job as it was first
wished for, which cannot be met, and plans it as it is done.

A file that is there already and differs is left alone, and nothing is written.

` + exitHelp,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usagef("demo takes one folder, not also %q", args[1])
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			dir := demoFolder
			if len(args) == 1 {
				dir = args[0]
			}
			return a.demo(cmd.Context(), dir)
		},
	}
}

func (a *app) demo(ctx context.Context, dir string) error {
	if err := writeDemo(dir); err != nil {
		return err
	}
	in := func(name string) string { return filepath.Join(dir, name) }
	a.catalogs = append(a.catalogs, in("classes.yaml"))
	a.say("Wrote the demo into %s. Everything in it is invented.", dir)
	a.heading("1. The shelf", "Each in full:", "beadline check S-2190 --stock "+in("stock.csv"), "--catalog "+in("classes.yaml"), "--at 2027-03-29")
	if err := a.demoShelf(in("stock.csv")); err != nil {
		return err
	}
	a.heading("2. The job as first wished for", "In full:", "beadline plan "+in("job-first-wish.yaml"), "--catalog "+in("classes.yaml"))
	p, err := a.makePlan(ctx, in("job-first-wish.yaml"), planFlags{think: thinkUsual})
	if err != nil {
		return err
	}
	if err := show.PlanWish(a.out, p.Plan, a.inUnits()); err != nil {
		return err
	}
	a.heading("3. The job as it is done", "Alone:", "beadline plan "+in("job.yaml"), "--catalog "+in("classes.yaml"), "--stock "+in("stock.csv"))
	p, err = a.makePlan(ctx, in("job.yaml"), planFlags{think: thinkUsual, stock: in("stock.csv"), list: listFlags{encoding: "auto"}})
	if err != nil {
		return err
	}
	if err := show.PlanText(a.out, p, a.inUnits()); err != nil {
		return err
	}
	return planExit(p)
}

func (a *app) say(format string, args ...any) { fmt.Fprintf(a.out, format+"\n", args...) }

// heading names a part of the demo and the command that shows it, its flags each on a
// line of their own.
func (a *app) heading(title, word, command string, flags ...string) {
	a.say("\n%s\n%s\n%s %s\n", title, strings.Repeat("=", len(title)), word, strings.Join(append([]string{command}, flags...), " \\\n    "))
}

// demoDay is the day the demo's job starts.
var demoDay = date.New(2027, time.March, 29)

// demoShelf judges every batch of the demo, a line each.
func (a *app) demoShelf(name string) error {
	c, _, err := desk.Catalog(a.catalogs)
	if err != nil {
		return err
	}
	data, err := desk.ReadFile(name)
	if err != nil {
		return err
	}
	rows, err := desk.NewJudge(c, demoDay).Sheet(bytes.NewReader(data), name)
	if err != nil {
		return err
	}
	return show.Verdicts(a.out, rows)
}

// writeDemo writes the demo's files, all or none: a file that is there and differs
// stops it before anything is written.
func writeDemo(dir string) error {
	files, err := fs.Glob(demo.Files, "*")
	if err != nil {
		return err
	}
	for _, name := range files {
		want, err := demo.Files.ReadFile(name)
		if err != nil {
			return err
		}
		path := filepath.Join(dir, name)
		have, err := os.ReadFile(path)
		if err == nil && !bytes.Equal(have, want) {
			return fmt.Errorf("%s: there is a file of yours here: name another folder, or move it away", path)
		}
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("%s: the demo cannot be written here: name a folder", path)
		}
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("%s: the folder cannot be made: %w", dir, err)
	}
	for _, name := range files {
		data, err := demo.Files.ReadFile(name)
		if err != nil {
			return err
		}
		if err := writeWhole(filepath.Join(dir, name), data); err != nil {
			return err
		}
	}
	return nil
}
