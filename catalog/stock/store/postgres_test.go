package store

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/pgtest"
	"beadline/catalog/stock/register"
)

// TestMain also is what the tests' other processes run.
func TestMain(m *testing.M) {
	if task := os.Getenv(taskVar); task != "" {
		os.Exit(runTask(task, os.Args[1:]))
	}
	pgtest.Main(m)
}

// openURL opens a register on PostgreSQL, and closes it at the end of the test.
func openURL(t testing.TB, url string, o Options) register.Store {
	t.Helper()
	s, err := OpenPostgres(background, url, o)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

func TestPostgres(t *testing.T) {
	testStore(t, func(t testing.TB) opener {
		url := pgtest.NewDatabase(t)
		return func(t testing.TB, o Options) register.Store { return openURL(t, url, o) }
	})
}

func (s *pgStore) raw(statement string) error {
	_, err := s.pool.Exec(background, statement)
	return err
}
