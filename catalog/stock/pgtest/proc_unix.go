//go:build linux || darwin || freebsd || netbsd || openbsd || dragonfly

package pgtest

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	osuser "os/user"
	"strconv"
	"syscall"
	"time"
)

// supported says that servers can be started on this system.
const supported = true

// owner is the user whom servers run as where the test runs as root.
type owner struct{ uid, gid uint32 }

// findOwner returns nil where servers run as whoever runs the test.
func findOwner() (*owner, error) {
	if os.Geteuid() != 0 {
		return nil, nil
	}
	for _, name := range []string{"postgres", "nobody"} {
		u, err := osuser.Lookup(name)
		if err != nil {
			continue
		}
		uid, errU := strconv.ParseUint(u.Uid, 10, 32)
		gid, errG := strconv.ParseUint(u.Gid, 10, 32)
		if errU == nil && errG == nil && uid != 0 {
			return &owner{uint32(uid), uint32(gid)}, nil
		}
	}
	return nil, errors.New("PostgreSQL does not run as root, and there is no user postgres or nobody")
}

// own gives a file to the owner.
func (o *owner) own(path string) error {
	if o == nil {
		return nil
	}
	return os.Chown(path, int(o.uid), int(o.gid))
}

// become lets a program run as the owner, and end with the test process where the system
// can see to that.
func (o *owner) become(cmd *exec.Cmd) {
	cmd.SysProcAttr = &syscall.SysProcAttr{}
	if o != nil {
		cmd.SysProcAttr.Credential = &syscall.Credential{Uid: o.uid, Gid: o.gid}
	}
	endWithParent(cmd.SysProcAttr)
}

// tryLock takes the lock of a file if nobody has it. It is free again when the file is
// closed, or its process gone.
func tryLock(f *os.File) bool {
	return syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB) == nil
}

// signalStop asks a server to stop (PostgreSQL documentation, Shutting Down the Server).
func signalStop(p *os.Process, mode Mode) error {
	switch mode {
	case Smart:
		return p.Signal(syscall.SIGTERM)
	case Fast:
		return p.Signal(syscall.SIGINT)
	case Immediate:
		return p.Signal(syscall.SIGQUIT)
	}
	return fmt.Errorf("no way to stop PostgreSQL is called %q; there are %s, %s and %s", mode, Smart, Fast, Immediate)
}

// killFamily kills a server and its processes. The server is halted first, so that it
// neither starts another nor puts its house in order. Each of its processes leads a group
// of its own: they are found as its children.
func killFamily(p *os.Process) error {
	if err := p.Signal(syscall.SIGSTOP); err != nil {
		return err
	}
	family, err := children(p.Pid)
	if killed := p.Kill(); err == nil {
		err = killed
	}
	for _, pid := range family {
		_ = syscall.Kill(pid, syscall.SIGKILL) // it may have ended by itself
	}
	if err != nil {
		return err
	}
	end := time.Now().Add(patience)
	for _, pid := range family {
		for !gone(pid) {
			if time.Now().After(end) {
				return fmt.Errorf("process %d of PostgreSQL still runs %v after it was killed", pid, patience)
			}
			time.Sleep(time.Millisecond)
		}
	}
	return nil
}
