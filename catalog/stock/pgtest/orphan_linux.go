package pgtest

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// endWithParent lets the system stop a server, in its immediate way, when the thread that
// started it is gone. (prctl(2), PR_SET_PDEATHSIG.)
func endWithParent(a *syscall.SysProcAttr) { a.Pdeathsig = syscall.SIGQUIT }

// children lists the processes that a process started and that still run.
func children(parent int) ([]int, error) {
	stats, err := filepath.Glob("/proc/[0-9]*/stat")
	if err != nil || len(stats) == 0 {
		return nil, fmt.Errorf("no processes to be seen in /proc: %v", err)
	}
	var found []int
	for _, path := range stats {
		pid, err := strconv.Atoi(filepath.Base(filepath.Dir(path)))
		if err != nil {
			return nil, err
		}
		if _, of := stat(pid); of == parent {
			found = append(found, pid)
		}
	}
	return found, nil
}

// gone reports whether a process has ended, be it that nobody has asked yet how.
func gone(pid int) bool {
	state, _ := stat(pid)
	return state == "" || state == "Z" || state == "X"
}

// stat returns the state and the parent of a process, "" and 0 where there is none
// (proc_pid_stat(5): they follow the name, which is in brackets and may hold anything).
func stat(pid int) (state string, parent int) {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		return "", 0
	}
	fields := strings.Fields(string(text[strings.LastIndexByte(string(text), ')')+1:]))
	if len(fields) < 2 {
		return "", 0
	}
	parent, err = strconv.Atoi(fields[1])
	if err != nil {
		return "", 0
	}
	return fields[0], parent
}
