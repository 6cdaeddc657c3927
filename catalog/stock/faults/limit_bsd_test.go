//go:build freebsd || dragonfly

package faults

func rlimit(bytes uint64) int64 { return int64(bytes) }
