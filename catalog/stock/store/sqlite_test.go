package store

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/register"
)

// openAt opens a register file, and closes it at the end of the test.
func openAt(t testing.TB, path string, o Options) register.Store {
	t.Helper()
	s, err := OpenSQLite(background, path, o)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

func TestSQLite(t *testing.T) {
	testStore(t, func(t testing.TB) opener {
		path := filepath.Join(t.TempDir(), "register #1 %.db")
		return func(t testing.TB, o Options) register.Store { return openAt(t, path, o) }
	})
}

func (s *sqliteStore) raw(statement string) error {
	return s.write(background, func(w *sqliteWriter) error {
		_, err := w.exec(statement)
		return err
	})
}
