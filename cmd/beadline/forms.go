package main

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"beadline/catalog"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"
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

// openList opens a stock list, - being standard input. name is for messages.
func (a *app) openList(file string) (r io.ReadCloser, name string, err error) {
	if file == "-" {
		return io.NopCloser(a.in), "standard input", nil
	}
	f, err := desk.OpenFile(file)
	if err != nil {
		return nil, file, err
	}
	return f, file, nil
}

// flagNames writes flags as a person would: "--temp, --rh and --part".
func flagNames(names []string) string {
	if len(names) == 1 {
		return "--" + names[0]
	}
	last := len(names) - 1
	return "--" + strings.Join(names[:last], ", --") + " and --" + names[last]
}
