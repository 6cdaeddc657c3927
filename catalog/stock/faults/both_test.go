package faults

import (
	"path/filepath"
	"testing"

	"beadline/catalog/stock/pgtest"
)

// onBoth runs a test on a register of each kind; the name opens it.
func onBoth(t *testing.T, test func(t *testing.T, name string)) {
	t.Run("SQLite", func(t *testing.T) {
		t.Parallel()
		test(t, filepath.Join(t.TempDir(), "register.db"))
	})
	t.Run("PostgreSQL", func(t *testing.T) {
		t.Parallel()
		test(t, pgtest.NewDatabase(t))
	})
}
