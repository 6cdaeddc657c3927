package pgtest

import (
	"os"
	"sync"
	"testing"
)

var (
	sharedMu sync.Mutex
	shared   *Server
)

// Shared returns the server that the tests of this process have in common, and starts it
// for the first that asks. Tests do not stop it, nor change its settings; where it ended
// all the same it is started again.
func Shared(t testing.TB) *Server {
	t.Helper()
	h := need(t)
	sharedMu.Lock()
	defer sharedMu.Unlock()
	if shared == nil {
		s, err := h.start(nil)
		if err != nil {
			t.Fatalf("a PostgreSQL for the tests: %v", err)
		}
		shared = s
	}
	if !shared.running() {
		if err := shared.StartAgain(); err != nil {
			t.Fatalf("the tests' PostgreSQL: %v", err)
		}
	}
	return shared
}

// NewDatabase makes an empty database on the shared server, takes it away at the end of
// the test, and returns its URL.
func NewDatabase(t testing.TB) string {
	t.Helper()
	return Shared(t).NewDatabase(t)
}

// Runner runs the tests of a package; [testing.M] is one.
type Runner interface {
	// Run runs the tests and returns the exit code.
	Run() int
}

// Around runs the tests and then takes the shared server and all temporary folders away:
// for a TestMain that hands its tests on to someone else. Without it the system ends the
// server with the process, and the next process that needs PostgreSQL removes the folder.
func Around(m Runner) Runner { return around{m} }

type around struct{ m Runner }

func (a around) Run() int {
	defer CleanUp()
	return a.m.Run()
}

// Main is a whole TestMain: it runs the tests, cleans up and exits.
func Main(m Runner) { os.Exit(Around(m).Run()) }

// CleanUp takes the shared server and all temporary folders away; [Main] and [Around] call
// it. No server of this package may be in use any more.
func CleanUp() {
	sharedMu.Lock()
	defer sharedMu.Unlock()
	if shared != nil {
		shared.remove()
		shared = nil
	}
	houseMu.Lock()
	defer houseMu.Unlock()
	for _, h := range houses {
		h.close()
	}
	clear(houses)
}
