package pgtest

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestStandbyShowsWhatItCaughtUpWith(t *testing.T) {
	s := Start(t)
	db := connect(t, s.URL("postgres"))
	run(t, db, "CREATE TABLE log (n int)")
	b := s.Standby(t)
	run(t, db, "INSERT INTO log VALUES (7)")
	require.NoError(t, b.CatchUp(s))
	copied := connect(t, b.URL("postgres"))
	assert.Equal(t, 7, one(t, copied, "SELECT n FROM log"))
	_, err := copied.Exec("INSERT INTO log VALUES (8)")
	assert.ErrorContains(t, err, "read-only")
	follows, err := b.IsStandby()
	require.NoError(t, err)
	assert.True(t, follows)

	// It finds what it missed while it was away.
	require.NoError(t, b.Stop())
	run(t, db, "INSERT INTO log VALUES (8)")
	require.NoError(t, b.StartAgain())
	require.NoError(t, b.CatchUp(s))
	assert.Equal(t, 8, one(t, connect(t, b.URL("postgres")), "SELECT max(n) FROM log"))
}

func TestPromotedStandbyHasAllAcknowledgedCommits(t *testing.T) {
	s := Start(t)
	b := s.SyncStandby(t)
	enough := make(chan bool)
	acknowledged := writer(t, s, 1, enough)
	<-enough
	require.NoError(t, s.Kill())
	require.NoError(t, b.Promote())
	holdsAll(t, b, <-acknowledged)
	run(t, connect(t, b.URL("postgres")), "INSERT INTO log VALUES (0)")
	follows, err := b.IsStandby()
	require.NoError(t, err)
	assert.False(t, follows)
}

func TestStandbyOfAPromotedOneIsFollowedInItsTurn(t *testing.T) {
	s := Start(t)
	b := s.SyncStandby(t)
	run(t, connect(t, s.URL("postgres")), "CREATE TABLE log AS SELECT 7 AS n")
	require.NoError(t, s.Stop())
	require.NoError(t, b.Promote())
	c := b.SyncStandby(t)
	run(t, connect(t, b.URL("postgres")), "INSERT INTO log VALUES (8)")
	require.NoError(t, b.Kill())
	require.NoError(t, c.Promote())
	db := connect(t, c.URL("postgres"))
	assert.Equal(t, 15, one(t, db, "SELECT sum(n) FROM log"))
	run(t, db, "INSERT INTO log VALUES (9)")
}
