package pgtest

import (
	"fmt"
	"path/filepath"
	"testing"
)

// Standby copies this server, which must run, into another that follows it by streaming
// replication and answers questions, and takes that one away at the end of the test. A
// commit may be acknowledged before it is there; [Server.CatchUp] waits for it.
func (s *Server) Standby(t testing.TB, opts ...Option) *Server {
	t.Helper()
	return s.follow(t, opts, false)
}

// SyncStandby is a [Server.Standby] that this server waits for: from its return on, a
// commit that was acknowledged has been flushed to disk there, and will be there after
// [Server.Promote]. While the standby is away, commits wait.
func (s *Server) SyncStandby(t testing.TB, opts ...Option) *Server {
	t.Helper()
	return s.follow(t, opts, true)
}

func (s *Server) follow(t testing.TB, opts []Option, sync bool) *Server {
	t.Helper()
	b, err := s.copy(opts)
	if err != nil {
		t.Fatalf("a standby for the test: %v", err)
	}
	t.Cleanup(func() {
		if t.Failed() {
			t.Logf("the end of the log of the standby on port %d:\n%s", b.port, b.logTail())
		}
		b.remove()
	})
	if sync {
		err = s.waitFor(b)
	} else {
		err = s.streamsTo(b, "async")
	}
	if err != nil {
		t.Fatalf("a standby for the test: %v", err)
	}
	return b
}

// copy makes the standby and starts it. It has the settings of the server it copies,
// except that it waits for no standby of its own.
func (s *Server) copy(opts []Option) (*Server, error) {
	b, err := s.h.newServer()
	if err != nil {
		return nil, err
	}
	err = s.h.run(filepath.Join(s.h.bin, "pg_basebackup"), "--dbname", connectURL(s.Addr(), ""),
		"--pgdata", b.data(), "--write-recovery-conf", "--wal-method", "stream", "--checkpoint", "fast", "--no-sync")
	if err == nil {
		settings := map[string]string{"cluster_name": b.name}
		for _, o := range opts {
			o(settings)
		}
		err = appendSettings(filepath.Join(b.data(), "postgresql.auto.conf"), map[string]string{"synchronous_standby_names": ""})
		if err == nil {
			err = b.begin(settings)
		}
	}
	if err != nil {
		b.remove()
		return nil, err
	}
	return b, nil
}

// waitFor makes this server's commits wait for the standby, and returns when they do.
func (s *Server) waitFor(b *Server) error {
	for _, sql := range []string{
		"ALTER SYSTEM SET synchronous_standby_names = '" + b.name + "'",
		"SELECT pg_reload_conf()",
	} {
		if _, err := s.Query("postgres", sql); err != nil {
			return err
		}
	}
	return s.streamsTo(b, "sync")
}

// streamsTo waits until the standby has caught up and is followed in the given way. (A
// server sees a standby under the cluster_name of that.)
func (s *Server) streamsTo(b *Server, way string) error {
	sql := fmt.Sprintf("SELECT count(*) FROM pg_stat_replication WHERE application_name = '%s' AND state = 'streaming' AND sync_state = '%s'", b.name, way)
	return wait("the standby to follow", func() (bool, error) {
		rows, err := s.Query("postgres", sql)
		return err == nil && rows[0][0] == "1", err
	})
}

// CatchUp waits until this standby shows all that the other server had committed when it
// was called.
func (s *Server) CatchUp(with *Server) error {
	rows, err := with.Query("postgres", "SELECT pg_current_wal_flush_lsn()")
	if err != nil {
		return err
	}
	sql := fmt.Sprintf("SELECT pg_last_wal_replay_lsn() >= '%s'", rows[0][0])
	return wait("the standby to catch up", func() (bool, error) {
		rows, err := s.Query("postgres", sql)
		return err == nil && rows[0][0] == "t", err
	})
}

// Promote makes this standby a server that takes writes, and returns when it does. The
// one it followed is not asked and need not run.
func (s *Server) Promote() error {
	rows, err := s.Query("postgres", fmt.Sprintf("SELECT pg_promote(true, %d)", int(patience.Seconds())))
	if err != nil {
		return err
	}
	if rows[0][0] != "t" {
		return fmt.Errorf("PostgreSQL on port %d is not promoted after %v", s.port, patience)
	}
	return nil
}

// IsStandby reports whether the server follows another.
func (s *Server) IsStandby() (bool, error) {
	rows, err := s.Query("postgres", "SELECT pg_is_in_recovery()")
	return err == nil && rows[0][0] == "t", err
}
