//go:build !linux

package store

import "time"

func shortNap(d time.Duration) { time.Sleep(d) }
