package main

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"

	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"
)

// pdfWanted says whether `flag` makes a PDF, and refuses what cannot be done with it
// before a long list is read.
func (a *app) pdfWanted(f flagFlags) (bool, error) {
	switch {
	case f.out == "" && f.force:
		return false, usagef("--force: there is no --out to replace: leave it out")
	case f.out == "" && a.format == "pdf" && isTerminal(a.out):
		return false, usagef("--format pdf: a terminal shows no PDF: say --out flags.pdf, or send it on with > flags.pdf")
	case f.out == "":
		return a.format == "pdf", nil
	case !strings.EqualFold(filepath.Ext(f.out), ".pdf"):
		return false, usagef("--out %s: it is for the PDF: end its name in .pdf, or send another form on with >", f.out)
	case a.format != "text" && a.format != "pdf":
		return false, usagef("--format %s --out %s: the name of the file says what to write: leave out --format", a.format, f.out)
	}
	if _, err := os.Stat(f.out); err == nil && !f.force {
		return false, usagef("--out %s: there is a file already: name another, or say --force to replace it", f.out)
	}
	return true, nil
}

// flagPDF writes the pages into a file, whole or not at all, or to standard output.
func (a *app) flagPDF(f *desk.Flags, out string) error {
	var b bytes.Buffer
	notes, err := show.FlagPDF(&b, f, a.inUnits())
	if err != nil {
		return err
	}
	if out == "" {
		if _, err := b.WriteTo(a.out); err != nil {
			return err
		}
	} else {
		if err := writeWhole(out, b.Bytes()); err != nil {
			return usagef("--out %w", err)
		}
		a.note("the pages are in " + out)
	}
	a.note(notes...)
	return nil
}

// isTerminal reports an output that goes to a screen: a device of characters other than
// the one that swallows all.
func isTerminal(w io.Writer) bool {
	file, ok := w.(*os.File)
	if !ok {
		return false
	}
	info, err := file.Stat()
	if err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return false
	}
	null, err := os.Stat(os.DevNull)
	return err != nil || !os.SameFile(info, null)
}
