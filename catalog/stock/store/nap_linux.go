package store

import (
	"syscall"
	"time"
)

// shortNap sleeps for less than a millisecond where asked to; time.Sleep in an idle
// program rounds up to whole milliseconds, several commits' time.
func shortNap(d time.Duration) {
	ts := syscall.NsecToTimespec(int64(d))
	_ = syscall.Nanosleep(&ts, nil)
}
