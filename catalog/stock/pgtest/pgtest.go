// Package pgtest gives tests a real PostgreSQL that they start, crash, copy and cut off
// themselves. It imports the standard library only and is used from _test files.
//
// A test that needs a database of its own and nothing else asks for [NewDatabase], which
// shares one server among the tests of a process; its package has
//
//	func TestMain(m *testing.M) { pgtest.Main(m) }
//
// so that the server is taken away at the end. A test that stops, kills or promotes a
// server starts one with [Start]; a test of what a lost connection does puts a [Proxy]
// before it. Where PostgreSQL is not on the machine these tests are skipped, and say what
// to install.
//
// A server listens on 127.0.0.1 only, lets everyone in who can reach that, and lives in
// the folder for temporary files. PostgreSQL does not run as root: started by root, it
// runs as the user postgres, or else nobody.
package pgtest

import (
	"errors"
	"fmt"
	"net"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"sort"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
)

// BinVar names the environment variable that says where initdb and postgres are.
const BinVar = "BEADLINE_TEST_PG_BIN"

// installs is where Debian and its kin put the programs, which are not on the PATH there.
var installs = "/usr/lib/postgresql/*/bin"

// user is the superuser of every server here; no password is asked for.
const user = "postgres"

// Server is one PostgreSQL server in a folder of its own. Its methods may be called from
// several goroutines; they return errors, so that a test may crash it from any of them.
type Server struct {
	name string // of its folder, and as a standby
	dir  string // holds data/ and log
	port int
	h    *house

	mu   sync.Mutex
	proc *process // nil while it is stopped
}

// Option changes a server before it starts.
type Option func(settings map[string]string)

// Set gives a setting of postgresql.conf its value.
func Set(name, value string) Option {
	return func(settings map[string]string) { settings[name] = value }
}

// NoFsync lets the server trust the operating system to write. It still survives its own
// crash; it is for tests with many transactions that are not about the machine's.
func NoFsync() Option {
	return func(settings map[string]string) {
		settings["fsync"], settings["full_page_writes"] = "off", "off"
	}
}

// Find returns the folder that holds initdb and postgres: the one that BEADLINE_TEST_PG_BIN
// names, that of the initdb on the PATH with its symbolic links followed, or that of the
// highest version under /usr/lib/postgresql. A variable that names a folder without them
// finds nothing.
func Find() (bin string, ok bool) {
	if bin := os.Getenv(BinVar); bin != "" {
		return bin, complete(bin)
	}
	if path, err := exec.LookPath("initdb"); err == nil {
		if path, err = filepath.EvalSymlinks(path); err == nil && complete(filepath.Dir(path)) {
			return filepath.Dir(path), true
		}
	}
	found, _ := filepath.Glob(installs) // the pattern is well formed
	version := func(bin string) float64 {
		v, _ := strconv.ParseFloat(filepath.Base(filepath.Dir(bin)), 64) // no number sorts last
		return v
	}
	sort.SliceStable(found, func(i, j int) bool { return version(found[i]) > version(found[j]) })
	for _, bin := range found {
		if complete(bin) {
			return bin, true
		}
	}
	return "", false
}

// complete reports whether the folder has both programs.
func complete(bin string) bool {
	for _, name := range []string{"initdb", "postgres"} {
		if _, err := exec.LookPath(filepath.Join(bin, name)); err != nil {
			return false
		}
	}
	return true
}

// need returns this process's house, or skips the test where there is no PostgreSQL. A
// folder that was named and is wrong, and a set-up that fails, fail the test.
func need(t testing.TB) *house {
	t.Helper()
	if !supported {
		t.Skipf("skipped, the register on PostgreSQL: these tests cannot start a server on %s", runtime.GOOS)
	}
	bin, ok := Find()
	if !ok && bin != "" {
		t.Fatalf("%s: no initdb and postgres in %s", BinVar, bin)
	}
	if !ok {
		t.Skipf("skipped, the register on PostgreSQL: no initdb and postgres here; install the package postgresql, or say where they are in %s", BinVar)
	}
	h, err := openHouse(bin)
	if err != nil {
		t.Fatalf("a PostgreSQL for the test: %v", err)
	}
	return h
}

// Start starts a server for this test alone, ready to be asked, and takes it away at the
// end of the test. Writes are flushed to disk unless [NoFsync] says otherwise.
func Start(t testing.TB, opts ...Option) *Server {
	t.Helper()
	h := need(t)
	s, err := h.start(opts)
	if err != nil {
		t.Fatalf("a PostgreSQL for the test: %v", err)
	}
	t.Cleanup(func() {
		if t.Failed() {
			t.Logf("the end of the log of PostgreSQL on port %d:\n%s", s.port, s.logTail())
		}
		s.remove()
	})
	return s
}

// start makes a server from the template and starts it.
func (h *house) start(opts []Option) (*Server, error) {
	s, err := h.newServer()
	if err != nil {
		return nil, err
	}
	if err := h.furnish(s); err != nil {
		_ = os.RemoveAll(s.dir) // what is left goes with the house
		return nil, err
	}
	settings := map[string]string{}
	for _, o := range opts {
		o(settings)
	}
	if err := s.begin(settings); err != nil {
		s.remove()
		return nil, err
	}
	return s, nil
}

// begin gives a server its port and settings and starts it for the first time. The port
// was free a moment ago; where someone was quicker the next one is tried.
func (s *Server) begin(settings map[string]string) error {
	var err error
	for range 5 {
		if s.port, err = freePort(); err != nil {
			return err
		}
		settings["port"] = strconv.Itoa(s.port)
		if err = appendSettings(filepath.Join(s.data(), "postgresql.conf"), settings); err != nil {
			return err
		}
		if err = s.StartAgain(); err == nil || !strings.Contains(s.logTail(), "could not bind") {
			return err
		}
	}
	return err
}

func (s *Server) data() string { return filepath.Join(s.dir, "data") }

// Addr is where the server listens, as host:port. It stays the same over restarts.
func (s *Server) Addr() string { return net.JoinHostPort("127.0.0.1", strconv.Itoa(s.port)) }

// URL is how to connect to a database of this server.
func (s *Server) URL(db string) string { return connectURL(s.Addr(), db) }

func connectURL(addr, db string) string {
	u := url.URL{Scheme: "postgres", User: url.User(user), Host: addr, Path: "/" + db, RawQuery: "sslmode=disable"}
	return u.String()
}

// databases counts the databases made, so that every one has its own name.
var databases atomic.Int64

// NewDatabase makes an empty database on this server, takes it away at the end of the
// test where the server still runs, and returns its URL.
func (s *Server) NewDatabase(t testing.TB) string {
	t.Helper()
	name := fmt.Sprintf("test_%d", databases.Add(1))
	if _, err := s.Query("postgres", "CREATE DATABASE "+name); err != nil {
		t.Fatalf("a database for the test: %v", err)
	}
	t.Cleanup(func() {
		_, err := s.Query("postgres", "DROP DATABASE IF EXISTS "+name+" WITH (FORCE)")
		if err != nil && s.running() {
			t.Logf("the test's database stays until its server goes: %v", err)
		}
	})
	return s.URL(name)
}

// Settle waits until nobody but the asker is connected to the database, so that what a
// connection that was cut off had asked for has been done or dropped.
func (s *Server) Settle(db string) error {
	return wait("everyone to leave the database "+db, func() (bool, error) {
		rows, err := s.Query(db, "SELECT count(*) FROM pg_stat_activity WHERE backend_type = 'client backend' AND datname = current_database() AND pid <> pg_backend_pid()")
		return err == nil && rows[0][0] == "0", err
	})
}

// freePort finds a port that nobody listens on. It keeps out of the range from which
// systems take the ports of outgoing connections: there, someone calling a server that is
// stopped can be given its port, and even end up connected to himself.
func freePort() (int, error) {
	for range 100 {
		port := 10000 + randomInt(20000)
		l, err := net.Listen("tcp", net.JoinHostPort("127.0.0.1", strconv.Itoa(port)))
		if err == nil {
			return port, l.Close()
		}
	}
	return 0, errors.New("no free port between 10000 and 30000 on 127.0.0.1")
}
