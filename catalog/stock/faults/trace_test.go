package faults

import (
	"bufio"
	"encoding/hex"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// A disk that has only what it was told to keep: the calls by which a program writes
// files, played back on it.

// call is one of them, on a file of the register by its name in the folder; or a line
// that the program said.
type call struct {
	what string // write, truncate, sync, create, unlink, sync folder, said
	name string
	at   int64
	data []byte
}

// traced runs a role under strace, and gives its calls in order.
func traced(t testing.TB, r role) (calls []call) {
	t.Helper()
	strace, err := exec.LookPath("strace")
	if err != nil {
		t.Skip("skipped, what reaches the disk: there is no strace here; install the package strace")
	}
	trace := filepath.Join(t.TempDir(), "trace")
	c := prepare(t, r, newLedger())
	c.Args = append([]string{strace, "-f", "-y", "-xx", "-s", "1000000", "-o", trace,
		"-e", "trace=?open,?creat,openat,pwrite64,write,fsync,fdatasync,ftruncate,?unlink,unlinkat,?rename,?renameat,renameat2,fallocate"}, c.Path)
	c.Path = strace
	c.begin()
	code := c.end()
	if strings.Contains(c.stderr.String(), "ptrace") || strings.Contains(c.stderr.String(), "PTRACE") {
		t.Skipf("skipped, what reaches the disk: strace may not be used here: %s", c.stderr.String())
	}
	require.Zero(t, code, "%v %s", c.lines, c.stderr.String())
	f, err := os.Open(trace)
	require.NoError(t, err)
	defer f.Close()
	cut := map[string]string{} // calls that others came in between of, by process
	s := bufio.NewScanner(f)
	s.Buffer(nil, 16<<20)
	for s.Scan() {
		pid, line, _ := strings.Cut(s.Text(), " ")
		line = strings.TrimSpace(line)
		if begun, ok := strings.CutSuffix(line, " <unfinished ...>"); ok {
			cut[pid] = begun
			continue
		}
		if _, rest, ok := strings.Cut(line, " resumed>"); ok && strings.HasPrefix(line, "<... ") {
			line = cut[pid] + rest
		}
		if x, ok := parseCall(t, line, filepath.Dir(r.Path)); ok {
			calls = append(calls, x)
		}
	}
	require.NoError(t, s.Err())
	return calls
}

var (
	callForm = regexp.MustCompile(`^(\w+)\((.*)\)\s+= (-?\d+)`)
	fileForm = regexp.MustCompile(`^\d+<([^>]*)>`)
	textForm = regexp.MustCompile(`"([^"]*)"`)
)

// parseCall reads a line of a trace; ok is false for what does not touch the register.
func parseCall(t testing.TB, line, dir string) (c call, ok bool) {
	t.Helper()
	m := callForm.FindStringSubmatch(line)
	if m == nil || strings.HasPrefix(m[3], "-") {
		return c, false
	}
	var texts []string
	for _, x := range textForm.FindAllStringSubmatch(m[2], -1) {
		texts = append(texts, unhex(t, x[1]))
	}
	path := ""
	if x := fileForm.FindStringSubmatch(m[2]); x != nil {
		path = unhex(t, x[1])
	} else if len(texts) > 0 {
		path = texts[0]
	}
	args := strings.Split(m[2], ", ")
	last, _ := strconv.ParseInt(args[len(args)-1], 10, 64)
	if m[1] == "write" && strings.HasPrefix(args[0], "1<") {
		return call{what: "said", data: []byte(texts[0])}, true
	}
	if path == dir && (m[1] == "fsync" || m[1] == "fdatasync") {
		return call{what: "sync folder"}, true
	}
	if filepath.Dir(path) != dir || strings.HasSuffix(path, "-shm") {
		return c, false
	}
	c.name = filepath.Base(path)
	switch m[1] {
	case "pwrite64":
		c.what, c.at, c.data = "write", last, []byte(texts[0])
		require.Equal(t, strconv.Itoa(len(c.data)), m[3], "all of it is written")
	case "ftruncate":
		c.what, c.at = "truncate", last
	case "fsync", "fdatasync":
		c.what = "sync"
	case "unlink", "unlinkat":
		c.what = "unlink"
	case "open", "openat":
		if !strings.Contains(m[2], "O_CREAT") {
			return c, false
		}
		c.what = "create"
	default:
		require.Fail(t, "this disk does not know", "%s", m[1])
	}
	return c, true
}

func unhex(t testing.TB, s string) string {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(s, `\x`, ""))
	require.NoError(t, err, "%.200s", s)
	return string(b)
}

// disk is what is certain to be kept of each file, and what may be besides.
type disk map[string]*kept

type kept struct {
	there   bool   // in the folder, for certain
	bytes   []byte // for certain
	pending []call // since then, in order
	now     bool   // in the folder as the program sees it
}

func (d disk) do(c call) {
	if c.what == "sync folder" {
		for _, k := range d {
			k.there = k.now
		}
		return
	}
	k := d[c.name]
	if k == nil {
		k = &kept{}
		d[c.name] = k
	}
	switch c.what {
	case "create":
		if !k.now && !k.there {
			k.bytes, k.pending = nil, nil
		}
		k.now = true
	case "unlink":
		k.now = false
	case "sync":
		for _, p := range k.pending {
			k.bytes = p.on(k.bytes)
		}
		k.pending = nil
	default:
		k.pending = append(k.pending, c)
	}
}

// on does a call to bytes.
func (c call) on(b []byte) []byte {
	end := int(c.at) + len(c.data)
	if c.what == "truncate" && end < len(b) {
		return b[:end]
	}
	for len(b) < end {
		b = append(b, 0)
	}
	copy(b[c.at:], c.data)
	return b
}

// lose writes to a folder what may be left when the power goes: what is certain, and of
// the rest each sector by chance; with no chance, nothing.
func (d disk) lose(t testing.TB, dir string, rng *rand.Rand) {
	t.Helper()
	chance := func() bool { return rng != nil && rng.IntN(2) == 0 }
	for name, k := range d {
		there := k.there
		if k.now != k.there && chance() {
			there = k.now
		}
		if !there {
			continue
		}
		b := slices.Clone(k.bytes)
		for _, p := range k.pending {
			if p.what == "truncate" {
				if chance() {
					b = p.on(b)
				}
				continue
			}
			for at := int64(0); at < int64(len(p.data)); {
				n := min(512-(p.at+at)%512, int64(len(p.data))-at)
				if chance() {
					b = call{what: "write", at: p.at + at, data: p.data[at : at+n]}.on(b)
				}
				at += n
			}
		}
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), b, 0o644))
	}
}

// pending is how many calls may be lost.
func (d disk) pending() (n int) {
	for _, k := range d {
		n += len(k.pending)
	}
	return n
}

func (c call) String() string {
	return fmt.Sprintf("%s %s at %d, %d bytes", c.what, c.name, c.at, len(c.data))
}
