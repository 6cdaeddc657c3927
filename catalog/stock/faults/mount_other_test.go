//go:build unix && !linux

package faults

import (
	"runtime"
	"testing"
)

func mountSmall(t testing.TB, _ string, _ int) {
	t.Skipf("skipped, a small disk: the tests mount none on %s", runtime.GOOS)
}

func mountReadOnly(testing.TB, string) {}
