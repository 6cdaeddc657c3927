package pgtest

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestMain(m *testing.M) { Main(m) }

// rows asks a server and fails the test if it does not answer.
func rows(t *testing.T, s *Server, db, sql string) [][]string {
	t.Helper()
	got, err := s.Query(db, sql)
	require.NoError(t, err)
	return got
}

func TestStartedServerAnswers(t *testing.T) {
	s := Start(t)
	assert.Equal(t, [][]string{{"1", ""}}, rows(t, s, "postgres", "SELECT 1, NULL"))
	assert.Equal(t, [][]string{{"on"}}, rows(t, s, "postgres", "SHOW fsync"))
	require.NoError(t, s.Restart(Immediate))
	require.NoError(t, s.Kill())
	require.NoError(t, s.StartAgain())
	require.NoError(t, s.Stop())
}

func BenchmarkStart(b *testing.B) {
	Start(b)
	for b.Loop() {
		Start(b).remove()
	}
}

func BenchmarkNewDatabase(b *testing.B) {
	Shared(b)
	for b.Loop() {
		NewDatabase(b)
	}
}
