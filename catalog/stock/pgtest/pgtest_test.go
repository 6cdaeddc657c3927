package pgtest

import (
	"context"
	"database/sql"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	_ "github.com/jackc/pgx/v5/stdlib"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestMain(m *testing.M) { Main(m) }

// connect opens a database with the driver that the register uses, on one connection.
func connect(t *testing.T, url string) *sql.DB {
	t.Helper()
	db, err := sql.Open("pgx", url)
	require.NoError(t, err)
	db.SetMaxOpenConns(1)
	t.Cleanup(func() { _ = db.Close() })
	return db
}

// pin holds one connection of its own, so that what it does is not tried again on another
// when it is lost: database/sql does that where nothing had been asked yet.
func pin(t *testing.T, url string) *sql.Conn {
	t.Helper()
	conn, err := connect(t, url).Conn(context.Background())
	require.NoError(t, err)
	t.Cleanup(func() { _ = conn.Close() })
	return conn
}

// run does one statement and fails the test if it fails.
func run(t *testing.T, db *sql.DB, statement string, args ...any) {
	t.Helper()
	_, err := db.Exec(statement, args...)
	require.NoError(t, err, statement)
}

// one asks for one number.
func one(t *testing.T, db *sql.DB, question string) int {
	t.Helper()
	var n int
	require.NoError(t, db.QueryRow(question).Scan(&n), question)
	return n
}

func TestServerIsReadyAndCareful(t *testing.T) {
	s := Start(t)
	db := connect(t, s.URL("postgres"))
	assert.Equal(t, 1, one(t, db, "SELECT 1"))
	for name, want := range map[string]string{"fsync": "on", "synchronous_commit": "on", "full_page_writes": "on", "listen_addresses": "127.0.0.1", "max_connections": "60"} {
		var got string
		require.NoError(t, db.QueryRow("SHOW "+name).Scan(&got))
		assert.Equal(t, want, got, name)
	}
}

func TestOptionsReachTheServer(t *testing.T) {
	db := connect(t, Start(t, NoFsync(), Set("search_path", "it's, public")).URL("postgres"))
	for name, want := range map[string]string{"fsync": "off", "search_path": "it's, public"} {
		var got string
		require.NoError(t, db.QueryRow("SHOW "+name).Scan(&got))
		assert.Equal(t, want, got, name)
	}
}

func TestQueryReadsRowsAndErrors(t *testing.T) {
	s := Shared(t)
	rows, err := s.Query("postgres", "SELECT n, 'word', NULL FROM generate_series(1, 2) n")
	require.NoError(t, err)
	assert.Equal(t, [][]string{{"1", "word", ""}, {"2", "word", ""}}, rows)
	_, err = s.Query("postgres", "SELECT 1/0")
	assert.ErrorContains(t, err, "division by zero (22012), in: SELECT 1/0")
	_, err = s.Query("nowhere", "SELECT 1")
	assert.ErrorContains(t, err, `database "nowhere" does not exist`)
}

func TestDatabasesAreSeparateAndGoWithTheirTest(t *testing.T) {
	var first string
	t.Run("one", func(t *testing.T) {
		first = NewDatabase(t)
		run(t, connect(t, first), "CREATE TABLE seen (n int)")
		second := connect(t, NewDatabase(t))
		assert.Equal(t, 0, one(t, second, "SELECT count(*) FROM pg_tables WHERE tablename = 'seen'"))
		// One that is still connected does not hold it.
		require.NoError(t, connect(t, first).Ping())
	})
	db := connect(t, first)
	assert.ErrorContains(t, db.Ping(), "does not exist")
}

// writer writes 1, 2, 3 … into a table of its own, each in a transaction, until it cannot,
// and says how far that was acknowledged.
func writer(t *testing.T, s *Server, from int, enough chan<- bool) <-chan int {
	t.Helper()
	db := connect(t, s.URL("postgres"))
	run(t, db, "CREATE TABLE IF NOT EXISTS log (n int PRIMARY KEY)")
	acknowledged := make(chan int, 1)
	go func() {
		n := from
		for {
			if _, err := db.ExecContext(context.Background(), "INSERT INTO log VALUES ($1)", n); err != nil {
				acknowledged <- n - 1
				return
			}
			if n == from+50 {
				close(enough)
			}
			n++
		}
	}()
	return acknowledged
}

// holdsAll checks that all that was acknowledged is there, and at most one more: the
// insert whose acknowledgement was lost.
func holdsAll(t *testing.T, s *Server, acknowledged int) {
	t.Helper()
	db := connect(t, s.URL("postgres"))
	n := one(t, db, "SELECT count(*) FROM log")
	assert.GreaterOrEqual(t, n, acknowledged)
	assert.LessOrEqual(t, n, acknowledged+1)
	assert.Equal(t, n, one(t, db, "SELECT max(n) FROM log"))
}

func TestAcknowledgedCommitsOutliveStopCrashAndKill(t *testing.T) {
	s := Start(t)
	from := 1
	for _, way := range []struct {
		name string
		stop func() error
	}{
		{"stop", s.Stop},
		{"crash", func() error { return s.stop(Immediate) }},
		{"kill", s.Kill},
	} {
		enough := make(chan bool)
		acknowledged := writer(t, s, from, enough)
		<-enough
		require.NoError(t, way.stop(), way.name)
		from = <-acknowledged + 1
		assert.Error(t, connect(t, s.URL("postgres")).Ping(), way.name)
		require.NoError(t, s.StartAgain(), way.name)
		holdsAll(t, s, from-1)
		run(t, connect(t, s.URL("postgres")), "DELETE FROM log WHERE n >= $1", from)
	}
}

func TestRestartKeepsThePort(t *testing.T) {
	s := Start(t)
	was := s.URL("postgres")
	for _, mode := range []Mode{Smart, Fast, Immediate} {
		require.NoError(t, s.Restart(mode))
		assert.Equal(t, was, s.URL("postgres"))
		db := connect(t, was)
		assert.Equal(t, 1, one(t, db, "SELECT 1"), mode)
		require.NoError(t, db.Close()) // the smart way would wait for it
	}
	assert.ErrorContains(t, s.Restart("gentle"), `no way to stop PostgreSQL is called "gentle"`)
	assert.ErrorContains(t, s.StartAgain(), "runs already")
	require.NoError(t, s.Stop())
	assert.ErrorContains(t, s.Stop(), "does not run")
	assert.ErrorContains(t, s.Kill(), "does not run")
}

func TestFolderGoesWithTheServer(t *testing.T) {
	var s *Server
	t.Run("one", func(t *testing.T) { s = Start(t) })
	assert.NoDirExists(t, s.dir)
	assert.False(t, s.running())
	assert.DirExists(t, s.h.root)
}

// TestNextServerStartsAfresh uses the folder of one that ended, of which nothing may be
// seen: neither data nor settings nor that it was a standby.
func TestNextServerStartsAfresh(t *testing.T) {
	h := need(t)
	t.Run("before", func(t *testing.T) {
		s := Start(t, Set("work_mem", "77MB"))
		run(t, connect(t, s.URL("postgres")), "ALTER SYSTEM SET search_path = elsewhere")
		run(t, connect(t, s.URL("postgres")), "CREATE DATABASE seen")
		run(t, connect(t, s.URL("postgres")), "CREATE TABLE public.seen AS SELECT generate_series(1, 10000)")
		s.SyncStandby(t)
	})
	require.NotEmpty(t, h.spares)
	for range maxSpares {
		s := Start(t)
		rows, err := s.Query("postgres", "SELECT current_setting('work_mem'), current_setting('search_path'), current_setting('cluster_name'), pg_is_in_recovery(), (SELECT count(*) FROM pg_database), (SELECT count(*) FROM pg_tables WHERE schemaname = 'public')")
		require.NoError(t, err)
		assert.Equal(t, [][]string{{"4MB", `"$user", public`, "", "f", "3", "0"}}, rows)
		assert.Empty(t, filesBeside(t, s), "files that a fresh copy does not have")
	}
	assert.Empty(t, h.spares)
}

// filesBeside lists what a stopped server's folder has and the template has not, but for
// what every run makes.
func filesBeside(t *testing.T, s *Server) []string {
	t.Helper()
	require.NoError(t, s.Stop())
	var found []string
	require.NoError(t, filepath.WalkDir(s.data(), func(path string, d fs.DirEntry, err error) error {
		require.NoError(t, err)
		rel, err := filepath.Rel(s.data(), path)
		require.NoError(t, err)
		if _, err := os.Lstat(filepath.Join(s.h.template, rel)); err == nil {
			return nil
		}
		switch top, _, _ := strings.Cut(filepath.ToSlash(rel), "/"); top {
		case "pg_wal", "pg_stat", "postmaster.opts":
		default:
			if d.Name() != "pg_internal.init" {
				found = append(found, rel)
			}
		}
		return nil
	}))
	return found
}

func TestMissingPostgresSkipsAndWrongFolderIsNamed(t *testing.T) {
	t.Setenv(BinVar, "")
	t.Setenv("PATH", t.TempDir())
	was := installs
	installs = t.TempDir() + "/*/bin"
	defer func() { installs = was }()
	_, ok := Find()
	assert.False(t, ok)
	var skipped bool
	t.Run("skipped as there is none here", func(t *testing.T) {
		defer func() { skipped = t.Skipped() }()
		Start(t)
	})
	assert.True(t, skipped)

	dir := t.TempDir()
	t.Setenv(BinVar, dir)
	bin, ok := Find()
	assert.False(t, ok)
	assert.Equal(t, dir, bin)
}

func TestHighestVersionIsTaken(t *testing.T) {
	t.Setenv(BinVar, "")
	t.Setenv("PATH", t.TempDir())
	root := t.TempDir()
	was := installs
	installs = root + "/*/bin"
	defer func() { installs = was }()
	for _, version := range []string{"9.6", "15", "17", "common"} {
		bin := root + "/" + version + "/bin"
		require.NoError(t, os.MkdirAll(bin, 0o755))
		for _, name := range []string{"initdb", "postgres"} {
			if version == "17" && name == "postgres" {
				continue // the client's programs alone
			}
			require.NoError(t, os.WriteFile(bin+"/"+name, []byte("#!/bin/sh\n"), 0o755))
		}
	}
	bin, ok := Find()
	assert.True(t, ok)
	assert.Equal(t, root+"/15/bin", bin)
}

func BenchmarkStart(b *testing.B) {
	need(b) // initdb is run once in a process
	for b.Loop() {
		Start(b).remove()
	}
}

func BenchmarkInitdb(b *testing.B) {
	bin, ok := Find()
	if !ok {
		b.Skip("skipped: no PostgreSQL here")
	}
	for b.Loop() {
		if _, err := openHouse(bin); err != nil {
			b.Fatal(err)
		}
		CleanUp()
	}
}

func BenchmarkNewDatabase(b *testing.B) {
	s := Shared(b)
	for b.Loop() {
		s.NewDatabase(b)
	}
}

func BenchmarkStandby(b *testing.B) {
	s := Start(b)
	for b.Loop() {
		s.SyncStandby(b).remove()
	}
}
