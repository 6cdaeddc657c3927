package show

import (
	"fmt"
	"io"

	"beadline/catalog/stock/register"
)

// Exported writes that a list went into a file; gone: with what is used up or scrapped.
func Exported(w io.Writer, from, file string, gone bool) error {
	s := sheet{w: w}
	what := "What is in stock"
	if gone {
		what += ", used up or scrapped"
	}
	s.block("EXPORTED  ", fmt.Sprintf("%s by %s, to %s.", what, from, file))
	return s.err
}

// BackedUp writes that a backup was made.
func BackedUp(w io.Writer, from, file string, d *register.BackedUp) error {
	return copied(w, "BACKED UP  ", fmt.Sprintf("%s to %s: %s.", from, file, held(d)), d,
		"A copy on the same disk is lost with it: keep this file elsewhere too, on a stick or another computer.")
}

// Restored writes that a register was restored.
func Restored(w io.Writer, to, file string, d *register.BackedUp) error {
	return copied(w, "RESTORED   ", fmt.Sprintf("%s from %s: %s, all checked.", to, file, held(d)), d,
		fmt.Sprintf("beadline stock log --verify --expect HASH --register %s holds it against a checkpoint kept on paper.", to))
}

func copied(w io.Writer, title, did string, d *register.BackedUp, next string) error {
	s := sheet{w: w}
	s.block(title, did)
	if d.Last != nil {
		s.block("CHECKPOINT ", fmt.Sprintf("%d: %s", d.Last.N, d.Last.Hash))
	}
	s.block("NEXT       ", next)
	return s.err
}

func held(d *register.BackedUp) string {
	return fmt.Sprintf("%s of %s, %s", count(d.Events, "event"), countWord(d.Lines, "batch or catalog", "batches or catalogs"), count(d.Checkpoints, "checkpoint"))
}

type backedUpJSON struct {
	Register    string `json:"register"`
	Backup      string `json:"backup"`
	Lines       int    `json:"lines"`
	Events      int    `json:"events"`
	Checkpoints int    `json:"checkpoints"`
	SHA256      string `json:"sha256"`
	Checkpoint  string `json:"checkpoint,omitempty"`
}

// BackedUpJSON writes that a backup was made, or restored, for programs.
func BackedUpJSON(w io.Writer, name, file string, d *register.BackedUp) error {
	shape := backedUpJSON{Register: name, Backup: file, Lines: d.Lines, Events: d.Events, Checkpoints: d.Checkpoints, SHA256: d.SHA256.String()}
	if d.Last != nil {
		shape.Checkpoint = d.Last.Hash.String()
	}
	return writeJSON(w, shape)
}
