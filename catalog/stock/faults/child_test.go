package faults

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/pgtest"
	"beadline/catalog/stock/register"
	"beadline/catalog/stock/store"
)

// The test binary runs itself as another program on the register: a role in this
// environment variable says what to do there.
const roleVar = "BEADLINE_FAULTS_ROLE"

// role is what a child process is to do.
type role struct {
	Do       string // a key of roles
	Path     string
	Name     string
	Seed     uint64
	Batches  int
	Acts     int // 0: until it is ended
	Patience time.Duration
	Ahead    time.Duration // of its clock
	UID      int           // become this user first; 0: stay
	Options  store.Options
	Limit    uint64 // of the size of files, bytes
	For      time.Duration
	How      string
}

var roles = map[string]func(role) error{
	"write": writeOn,
	"copy":  copyOf,

	"verify": verify,
}

func TestMain(m *testing.M) {
	if text := os.Getenv(roleVar); text != "" {
		var r role
		err := json.Unmarshal([]byte(text), &r)
		if err == nil {
			// Nothing outlives its test by much.
			time.AfterFunc(time.Minute, func() { os.Exit(9) })
			err = roles[r.Do](r)
		}
		if err != nil {
			say("err", err.Error())
			os.Exit(1)
		}
		os.Exit(0)
	}
	pgtest.Main(m)
}

// say writes one line in one piece: a pipe has all of it or nothing.
func say(word string, args ...any) {
	_, _ = os.Stdout.WriteString(strings.TrimSuffix(fmt.Sprintln(append([]any{word}, args...)...), "\n") + "\n")
}

// writeOn does one act after another, says what it tries, and that it is recorded only
// once Append has returned.
func writeOn(c role) error {
	h := &hand{name: c.Name, rng: rand.New(rand.NewPCG(c.Seed, 1)), keys: batches(c.Batches)}
	say("ready")
	o := c.Options
	o.Patience = c.Patience
	r, err := open(c.Path, c.Name, o)
	if err != nil {
		return err
	}
	defer r.Store.Close()
	r.Clock = running(c.Ahead)
	no := false
	for i := 0; c.Acts == 0 || i < c.Acts; i++ {
		a := h.next(no)
		say("try", string(encoded(a)))
		done, err := a.record(r)
		if no = refused(err); no {
			say("no", a.ID)
			continue
		}
		if err != nil {
			return err
		}
		sayDone(a, done)
	}
	return nil
}

// verify holds a register to being whole, with some events and no others.
func verify(c role) error {
	r, err := open(c.Path, c.Name, store.Options{})
	if err != nil {
		return err
	}
	defer r.Store.Close()
	all, err := read(r)
	if err != nil {
		return err
	}
	var ids []string
	for _, records := range all {
		for _, e := range records {
			ids = append(ids, e.ID)
		}
	}
	slices.Sort(ids)
	if have := strings.Join(ids, " "); have != c.How {
		return fmt.Errorf("there are %s; expected %s", have, c.How)
	}
	f, err := r.Verify(background, register.Hash{})
	if err == nil && !f.Whole() {
		err = fmt.Errorf("%+v", f)
	}
	return err
}

func sayDone(a *act, done *register.Done) {
	words := []any{a.ID}
	for id, p := range positions(a, done) {
		words = append(words, fmt.Sprintf("%s=%d=%s", id, p.seq, p.hash))
	}
	say("ack", words...)
}

func encoded(a *act) []byte {
	b, err := json.Marshal(a)
	if err != nil {
		panic(err) // texts and numbers can always be written
	}
	return b
}

// child is a process that the test started.
type child struct {
	*exec.Cmd
	t      testing.TB
	stdin  io.Closer
	ready  chan struct{} // closed at its first line
	ended  chan struct{} // closed at the end of its output
	ledger *ledger
	lines  []string // that are no acts; to be read after ended
	heard  chan string
	stderr strings.Builder
}

// start starts a child; what it writes goes to a ledger.
func start(t testing.TB, r role, l *ledger) *child {
	t.Helper()
	c := prepare(t, r, l)
	c.begin()
	return c
}

// prepare is start, for one that is to be started otherwise.
func prepare(t testing.TB, r role, l *ledger) *child {
	t.Helper()
	text, err := json.Marshal(r)
	require.NoError(t, err)
	exe, err := os.Executable()
	require.NoError(t, err)
	c := &child{Cmd: exec.Command(exe), t: t, ready: make(chan struct{}), ended: make(chan struct{}), ledger: l, heard: make(chan string, 100)}
	c.Env = append(os.Environ(), roleVar+"="+string(text), "GORACE=exitcode=66")
	c.Stderr = &c.stderr
	return c
}

func (c *child) begin() {
	c.t.Helper()
	out, err := c.StdoutPipe()
	require.NoError(c.t, err)
	c.stdin, err = c.StdinPipe()
	require.NoError(c.t, err)
	require.NoError(c.t, c.Start())
	go c.listen(out)
	c.t.Cleanup(func() {
		_ = c.Process.Kill() // where the test broke off
		c.end()
	})
}

func (c *child) listen(out io.Reader) {
	defer close(c.ended)
	first := true
	for s := bufio.NewScanner(out); s.Scan(); {
		line := s.Text()
		word, rest, _ := strings.Cut(line, " ")
		switch word {
		case "try":
			a := &act{}
			if json.Unmarshal([]byte(rest), a) == nil {
				c.ledger.try(a)
			}
		case "ack", "no":
			c.ledger.hear(word, strings.Fields(rest))
		default:
			c.lines = append(c.lines, line)
			select {
			case c.heard <- line:
			default:
			}
		}
		if first {
			close(c.ready)
			first = false
		}
	}
	if first {
		close(c.ready)
	}
	close(c.heard)
}

// hear takes in what a child says of an act.
func (l *ledger) hear(word string, words []string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	a := l.acts[words[0]]
	delete(l.open, a.ID)
	if word == "no" {
		l.no++
		return
	}
	for _, w := range words[1:] {
		p := position{}
		id, rest, _ := strings.Cut(w, "=")
		seq, hash, _ := strings.Cut(rest, "=")
		_, _ = fmt.Sscan(seq, &p.seq)
		p.hash, _ = register.ParseHash(hash)
		for i, k := range a.Lines {
			if a.eventID(i) == id {
				p.key = k
			}
		}
		l.acked[id] = p
	}
}

// end waits until a child has ended, and returns its exit code; -1 if it was killed.
func (c *child) end() int {
	<-c.ended
	_ = c.Wait()
	return c.ProcessState.ExitCode()
}

// said waits for a line that begins so.
func (c *child) said(prefix string) string {
	c.t.Helper()
	for line := range c.heard {
		if strings.HasPrefix(line, prefix) {
			return line
		}
	}
	require.Fail(c.t, "the other program ended", "before it said %q: %v %s", prefix, c.lines, c.stderr.String())
	return ""
}
