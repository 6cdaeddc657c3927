package show

import (
	"fmt"
	"io"

	"beadline/cmd/beadline/desk"
)

// Verdicts writes one line, or two, for each batch: may it be used, and until when
// or why not.
func Verdicts(w io.Writer, rows []desk.Checked) error {
	s := sheet{w: w}
	for _, r := range rows {
		s.block(fmt.Sprintf("%-10s  %-7s  ", loud[r.Judgement.Verdict], r.Item.Batch), r.Item.Class+": "+r.Judgement.Governing.Reason)
	}
	return s.err
}
