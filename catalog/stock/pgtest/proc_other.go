//go:build !(linux || darwin || freebsd || netbsd || openbsd || dragonfly)

package pgtest

import (
	"errors"
	"os"
	"os/exec"
)

// supported says that no server can be started on this system, so that every test that
// needs one is skipped and nothing below is reached.
const supported = false

var errSystem = errors.New("servers cannot be started on this system")

type owner struct{}

func findOwner() (*owner, error)         { return nil, errSystem }
func (o *owner) own(string) error        { return errSystem }
func (o *owner) become(*exec.Cmd)        {}
func tryLock(*os.File) bool              { return false }
func signalStop(*os.Process, Mode) error { return errSystem }
func killFamily(*os.Process) error       { return errSystem }
