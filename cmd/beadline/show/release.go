package show

import (
	"fmt"
	"io"

	"beadline/catalog/stock"
	"beadline/cmd/beadline/desk"
)

// Released writes what is no longer reserved for a job.
func Released(w io.Writer, r *desk.Reserved, register string) error {
	s := sheet{w: w}
	s.line("RELEASED  what was reserved for job %s", r.Job)
	for _, p := range r.Freed {
		say := stock.Amount(p.Amount, p.Unit) + " of " + p.Batch
		if p.Maker != "" {
			say += " of " + p.Maker
		}
		if p.Container != "" {
			say += ", container " + p.Container
		}
		s.block("          ", say+atPlace(p.Place))
	}
	s.line("")
	s.block("", fmt.Sprintf("By %s. Register %s", r.By, register))
	return s.err
}

// ReleasedJSON is Released for programs.
func ReleasedJSON(w io.Writer, r *desk.Reserved, register string) error {
	return writeJSON(w, keptShape(&desk.Supply{List: register, Reserved: r}))
}
