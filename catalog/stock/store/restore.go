package store

import (
	"context"
	"fmt"

	"beadline/catalog/stock/register"
)

// checkFresh checks a line to restore.
func checkFresh(w *register.Write) error {
	if w.After.Seq != 0 {
		return fmt.Errorf("%s: a restored line begins with its first event", w.Key)
	}
	if err := checkWrite(w); err != nil {
		return fmt.Errorf("%s: %w", w.Key, err)
	}
	return nil
}

// empty says register.ErrNotEmpty if there is a line or a checkpoint.
func (r reader) empty(ctx context.Context) error {
	some := false
	err := r.from.query(ctx, `SELECT 1 WHERE EXISTS (SELECT 1 FROM line) OR EXISTS (SELECT 1 FROM event) OR EXISTS (SELECT 1 FROM checkpoint)`, nil, func() {},
		func(func(...any) error) error { some = true; return nil })
	if err == nil && some {
		err = fmt.Errorf("%s: %w", r.from.name(), register.ErrNotEmpty)
	}
	return err
}

// restoredEpoch lets the next checkpoint look at the lines that the restored ones do not
// cover.
const restoredEpoch = `UPDATE line SET epoch = (SELECT max(n) FROM checkpoint)
	WHERE EXISTS (SELECT 1 FROM checkpoint) AND NOT EXISTS (SELECT 1 FROM checkpoint_head AS h WHERE h.line = line.key AND h.seq = line.seq)`
