//go:build darwin || freebsd || netbsd || openbsd || dragonfly

package pgtest

import (
	"fmt"
	"os/exec"
	"strings"
	"syscall"
)

// endWithParent does nothing: these systems do not end a process with its parent by the
// same means. A server that is left over ends with the next log-out or by hand.
func endWithParent(*syscall.SysProcAttr) {}

// children lists the processes that a process started and that still run.
func children(parent int) ([]int, error) {
	out, err := exec.Command("ps", "-A", "-o", "pid=", "-o", "ppid=").Output()
	if err != nil {
		return nil, fmt.Errorf("ps: %w", err)
	}
	var found []int
	for line := range strings.Lines(string(out)) {
		var pid, of int
		if _, err := fmt.Sscan(line, &pid, &of); err == nil && of == parent {
			found = append(found, pid)
		}
	}
	return found, nil
}

// gone reports whether a process has ended.
func gone(pid int) bool { return syscall.Kill(pid, 0) == syscall.ESRCH }
