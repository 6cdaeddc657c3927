package pgtest

import (
	"bytes"
	"context"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"
)

// house is the one folder of a test process under which all its servers live, with the
// template they are copied from.
//
//	lock      held while the process lives; a folder whose lock is free is swept away
//	template  a data folder as initdb leaves it, with our settings
//	s1, s2 …  servers: data/ and log
//	spare-…   data folders of servers that have ended, for the next
type house struct {
	bin, root, template string
	owner               *owner // whom servers run as; nil: as whoever runs the test
	lock                *os.File
	servers             atomic.Int64

	spareMu sync.Mutex
	spares  []string // data folders of servers that have ended
}

var (
	houseMu sync.Mutex
	houses  = map[string]*house{} // by the folder of the programs
)

// patience is how long a server may take to start, to stop or to do as told. It is long:
// it ends a test that hangs, and measures nothing.
const patience = time.Minute

// openHouse makes the house of the programs in bin, or returns the one that is there.
func openHouse(bin string) (*house, error) {
	houseMu.Lock()
	defer houseMu.Unlock()
	if h := houses[bin]; h != nil {
		return h, nil
	}
	h := &house{bin: bin}
	var err error
	if h.owner, err = findOwner(); err != nil {
		return nil, err
	}
	if err = h.findPlace(); err == nil {
		err = h.makeTemplate()
	}
	if err != nil {
		h.close()
		return nil, err
	}
	houses[bin] = h
	return h, nil
}

// findPlace makes the folder where the owner of the servers can reach it: the place for
// temporary files may be below a folder that is closed to others.
func (h *house) findPlace() error {
	var first error
	for _, place := range []string{os.TempDir(), "/tmp", "/var/tmp", "/dev/shm"} {
		err := h.tryPlace(place)
		if err == nil {
			return nil
		}
		h.close()
		if first == nil {
			first = err
		}
	}
	return first
}

func (h *house) tryPlace(place string) (err error) {
	sweep(place)
	if h.root, err = os.MkdirTemp(place, "beadline-pg-"); err != nil {
		return err
	}
	// The lock is taken before it has the name by which others look for it.
	fresh := filepath.Join(h.root, "lock.new")
	if h.lock, err = os.Create(fresh); err != nil {
		return err
	}
	if !tryLock(h.lock) {
		return fmt.Errorf("%s cannot be locked", fresh)
	}
	if err := os.Rename(fresh, filepath.Join(h.root, "lock")); err != nil {
		return err
	}
	if err := h.owner.own(h.root); err != nil {
		return err
	}
	return h.run("sh", "-c", "test -w .")
}

// sweep takes away the houses of processes that died without doing so.
func sweep(place string) {
	locks, _ := filepath.Glob(filepath.Join(place, "beadline-pg-*", "lock")) // the pattern is well formed
	for _, path := range locks {
		f, err := os.OpenFile(path, os.O_RDWR, 0)
		if err != nil {
			continue // someone else's, or just gone
		}
		if tryLock(f) {
			_ = os.RemoveAll(filepath.Dir(path)) // what cannot be removed is left to its owner
		}
		_ = f.Close()
	}
}

// close takes the house away.
func (h *house) close() {
	if h.root != "" {
		_ = os.RemoveAll(h.root) // the next process sweeps up what is left
	}
	if h.lock != nil {
		_ = h.lock.Close()
	}
	h.root, h.lock = "", nil
}

// settings makes a server small and quick to start, and leaves alone how carefully it
// commits.
var settings = map[string]string{
	"listen_addresses":             "127.0.0.1",
	"unix_socket_directories":      "",
	"max_connections":              "60",
	"shared_buffers":               "16MB",
	"min_wal_size":                 "8MB",
	"max_wal_size":                 "256MB",
	"wal_keep_size":                "128MB", // a standby that was stopped finds what it missed
	"wal_retrieve_retry_interval":  "100ms", // and looks for it soon
	"wal_receiver_status_interval": "1s",
	"fsync":                        "on",
	"jit":                          "off",
	"timezone":                     "UTC",
	"log_timezone":                 "UTC",
	"log_line_prefix":              "%m [%p] %d ",
	"logging_collector":            "off",
}

// access lets in whoever comes from this machine, for queries and for replication.
const access = "host all all 127.0.0.1/32 trust\nhost replication all 127.0.0.1/32 trust\n"

// makeTemplate runs initdb once. The template is not flushed to disk: no crash of the
// machine is asked of it.
func (h *house) makeTemplate() error {
	h.template = filepath.Join(h.root, "template")
	err := h.run(filepath.Join(h.bin, "initdb"), "--pgdata", h.template, "--username", user,
		"--auth", "trust", "--encoding", "UTF8", "--locale", "C", "--no-sync", "--wal-segsize", "1")
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(h.template, "pg_hba.conf"), []byte(access), 0o600); err != nil {
		return err
	}
	return appendSettings(filepath.Join(h.template, "postgresql.conf"), settings)
}

// appendSettings writes settings at the end of a configuration file, where they override
// those above.
func appendSettings(path string, settings map[string]string) error {
	f, err := os.OpenFile(path, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	for _, name := range slices.Sorted(maps.Keys(settings)) {
		value := strings.ReplaceAll(settings[name], "'", "''")
		if _, err = fmt.Fprintf(f, "%s = '%s'\n", name, value); err != nil {
			break
		}
	}
	if closed := f.Close(); err == nil {
		err = closed
	}
	return err
}

// newServer makes the empty folder of another server.
func (h *house) newServer() (*Server, error) {
	name := fmt.Sprintf("s%d", h.servers.Add(1))
	s := &Server{name: name, dir: filepath.Join(h.root, name), h: h}
	if err := os.Mkdir(s.dir, 0o700); err != nil {
		return nil, err
	}
	return s, h.owner.own(s.dir)
}

// command prepares a program that runs as the owner of the servers, in the house, and in
// plain English.
func (h *house) command(ctx context.Context, program string, args ...string) *exec.Cmd {
	cmd := exec.CommandContext(ctx, program, args...)
	cmd.Dir = h.root
	cmd.Env = []string{"PATH=" + os.Getenv("PATH"), "LC_ALL=C", "TZ=UTC", "HOME=" + h.root}
	h.owner.become(cmd)
	return cmd
}

// run runs a program to its end; an error has what it said.
func (h *house) run(program string, args ...string) error {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	cmd := h.command(ctx, program, args...)
	var said bytes.Buffer
	cmd.Stdout, cmd.Stderr = &said, &said
	err := launch(cmd)
	if err == nil {
		err = cmd.Wait()
	}
	if err != nil {
		return fmt.Errorf("%s: %w: %s", filepath.Base(program), err, strings.TrimSpace(said.String()))
	}
	return nil
}

// launch starts a program from a thread that lives as long as the test process. The
// system ends our children with the thread that started them, and a thread of Go may end
// earlier than the process.
func launch(cmd *exec.Cmd) error {
	done := make(chan error)
	launches() <- func() { done <- cmd.Start() }
	return <-done
}

var launches = sync.OnceValue(func() chan<- func() {
	c := make(chan func())
	go func() {
		runtime.LockOSThread()
		for f := range c {
			f()
		}
	}()
	return c
})

func randomInt(n int) int { return rand.IntN(n) }
