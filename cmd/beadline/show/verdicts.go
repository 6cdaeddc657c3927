package show

import (
	"fmt"
	"io"

	"beadline/cmd/beadline/desk"
)

// Verdicts writes one line, or a few, for each batch: may it be used, and until when
// or why not.
func Verdicts(w io.Writer, rows []desk.Checked) error {
	s := sheet{w: w}
	for _, r := range rows {
		j := r.Judgement
		say := r.Item.Class + ": " + j.Governing.Reason
		for _, l := range j.Limits {
			if l.Past && l.Counts && l.Name != j.Governing.Name {
				say += " Also: " + l.Reason
			}
		}
		s.block(fmt.Sprintf("%-10s  %-7s  ", loud[j.Verdict], r.Item.Batch), say)
	}
	return s.err
}
