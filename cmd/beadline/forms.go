package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"beadline/catalog"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"

	"github.com/google/renameio/v2"
)

// forms are the ways to write one answer; nil where a command does not have one.
type forms struct {
	text, json, csv func(io.Writer) error
}

// write writes the answer in the form that --format names.
func (a *app) write(f forms) error {
	form := f.text
	switch a.format {
	case "json":
		form = f.json
	case "csv":
		form = f.csv
	}
	w := bufio.NewWriter(a.out)
	if err := form(w); err != nil {
		return err
	}
	return w.Flush()
}

// inUnits are the units that --units names.
func (a *app) inUnits() show.Units {
	if a.units == "us" {
		return show.US
	}
	return show.SI
}

// note says beside the answer what the reader should know, one line each.
func (a *app) note(lines ...string) {
	for _, l := range lines {
		fmt.Fprintln(a.err, "note:", l)
	}
}

// classes opens the catalog, and notes which classes replace which.
func (a *app) classes() (*catalog.Catalog, error) {
	c, clashes, err := desk.Catalog(a.catalogs)
	a.note(clashes...)
	return c, err
}

// class finds one class of the catalog; the error names the nearest.
func (a *app) class(id string) (catalog.Class, error) {
	c, err := a.classes()
	if err != nil {
		return catalog.Class{}, err
	}
	return c.Find(id)
}

// flagNames writes flags as a person would: "--temp, --rh and --part".
func flagNames(names []string) string {
	if len(names) == 1 {
		return "--" + names[0]
	}
	last := len(names) - 1
	return "--" + strings.Join(names[:last], ", --") + " and --" + names[last]
}

// writeWhole writes a file whole or not at all. The error is one line that says the
// name and what would be right.
func writeWhole(file string, data []byte) error {
	if err := placeFor(file); err != nil {
		return err
	}
	err := renameio.WriteFile(file, data, 0o644)
	var pe *fs.PathError
	switch {
	case err == nil:
		return nil
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%s: you may not write here: name another folder", file)
	case errors.As(err, &pe):
		err = pe.Err // the path is that of a file that is gone again
	}
	return fmt.Errorf("%s: cannot be written: %w", file, err)
}

// placeFor refuses a file that cannot be written whatever is in it: for a command that
// has much to do before it writes.
func placeFor(file string) error {
	if info, err := os.Stat(file); err == nil && !info.Mode().IsRegular() {
		return fmt.Errorf("%s: this is not a file that can be replaced: name another", file)
	}
	if info, err := os.Stat(filepath.Dir(file)); err != nil || !info.IsDir() {
		return fmt.Errorf("%s: there is no folder %s: make it first", file, filepath.Dir(file))
	}
	return nil
}
