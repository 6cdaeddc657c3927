package pgtest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"
)

// Mode is how a server stops; the words are PostgreSQL's.
type Mode string

const (
	// Smart waits until everyone has left.
	Smart Mode = "smart"
	// Fast ends all sessions, rolls back what they had open, and writes a checkpoint.
	Fast Mode = "fast"
	// Immediate is a crash: nothing is written, and the next start recovers from the log.
	Immediate Mode = "immediate"
)

// process is one run of a server.
type process struct {
	cmd  *exec.Cmd
	done chan struct{} // closed when it has ended
	err  error         // how it ended; to be read after done
}

// running reports whether the server runs as far as is known.
func (s *Server) running() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.proc.alive()
}

func (p *process) alive() bool {
	if p == nil {
		return false
	}
	select {
	case <-p.done:
		return false
	default:
		return true
	}
}

// StartAgain starts a server that was stopped or killed, on its old port, and returns when
// it answers: after recovery, where it had crashed.
func (s *Server) StartAgain() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.proc.alive() {
		return fmt.Errorf("PostgreSQL on port %d runs already", s.port)
	}
	log, err := os.OpenFile(s.logPath(), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o644)
	if err != nil {
		return err
	}
	defer log.Close()
	cmd := s.h.command(context.Background(), filepath.Join(s.h.bin, "postgres"), "-D", s.data())
	cmd.Stdout, cmd.Stderr = log, log
	if err := launch(cmd); err != nil {
		return err
	}
	p := &process{cmd: cmd, done: make(chan struct{})}
	go func() {
		p.err = cmd.Wait()
		close(p.done)
	}()
	s.proc = p
	return wait("PostgreSQL to start", func() (bool, error) {
		if !p.alive() {
			return false, fmt.Errorf("PostgreSQL did not start: %v\n%s", p.err, s.logTail())
		}
		// On a port that another server took meanwhile, it is the other that answers.
		rows, err := s.Query("postgres", "SHOW data_directory")
		return err == nil && rows[0][0] == s.data(), nil
	})
}

// Stop stops the server in order, ending all sessions.
func (s *Server) Stop() error { return s.stop(Fast) }

// Restart stops the server in the given way and starts it again.
func (s *Server) Restart(mode Mode) error {
	if err := s.stop(mode); err != nil {
		return err
	}
	return s.StartAgain()
}

func (s *Server) stop(mode Mode) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.proc.alive() {
		return fmt.Errorf("PostgreSQL on port %d does not run", s.port)
	}
	if err := signalStop(s.proc.cmd.Process, mode); err != nil {
		return err
	}
	return s.proc.ended(string(mode) + " shutdown")
}

func (p *process) ended(after string) error {
	select {
	case <-p.done:
		return nil
	case <-time.After(patience):
		return fmt.Errorf("PostgreSQL still runs %v after its %s", patience, after)
	}
}

// Kill ends the server and all its processes at once, by the signal that none can catch,
// as if the power had gone but for what the operating system still writes.
func (s *Server) Kill() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if !s.proc.alive() {
		return fmt.Errorf("PostgreSQL on port %d does not run", s.port)
	}
	if err := killFamily(s.proc.cmd.Process); err != nil {
		return err
	}
	return s.proc.ended("kill")
}

// remove takes the server and its folder away, in whatever state it is.
func (s *Server) remove() {
	if s.running() && s.stop(Immediate) != nil {
		_ = s.Kill() // it is gone, or will not go
	}
	if !s.running() {
		s.h.keepSpare(s)
	}
	_ = os.RemoveAll(s.dir) // what is left goes with the house
}

func (s *Server) logPath() string { return filepath.Join(s.dir, "log") }

// logTail is the end of the server's log, to be shown where something failed.
func (s *Server) logTail() string {
	log, err := os.ReadFile(s.logPath())
	if err != nil {
		return err.Error()
	}
	lines := strings.Split(strings.TrimSpace(string(log)), "\n")
	return strings.Join(lines[max(0, len(lines)-20):], "\n")
}

// errLate marks the end of patience.
var errLate = errors.New("waited too long")

// wait asks again and again until the answer is yes. An error ends it, and so does the
// end of patience.
func wait(what string, ready func() (bool, error)) error {
	end := time.Now().Add(patience)
	for {
		ok, err := ready()
		if ok || err != nil {
			return err
		}
		if time.Now().After(end) {
			return fmt.Errorf("%w for %s: %v", errLate, what, patience)
		}
		time.Sleep(5 * time.Millisecond)
	}
}
