package store

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strconv"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/register"
)

// taskVar names the environment variable that makes the test binary do a task instead of
// the tests: so there are other processes to meet.
const taskVar = "BEADLINE_STORE_TASK"

// tasks get a register and arguments; they print what they have to say.
var tasks = map[string]func(args []string) error{
	"write":   writeTask,
	"hold":    holdTask,
	"endless": endlessTask,
}

func runTask(name string, args []string) int {
	if err := tasks[name](args); err != nil {
		fmt.Println(err)
		return 1
	}
	return 0
}

// process is a task in a process of its own.
type process struct {
	cmd *exec.Cmd
	in  io.WriteCloser
	out *bufio.Scanner
}

func start(t testing.TB, task string, args ...string) *process {
	t.Helper()
	exe, err := os.Executable()
	require.NoError(t, err)
	return startProgram(t, exe, nil, task, args...)
}

func startProgram(t testing.TB, program string, attr *syscall.SysProcAttr, task string, args ...string) *process {
	t.Helper()
	cmd := exec.Command(program, args...)
	cmd.SysProcAttr = attr
	cmd.Env = append(os.Environ(), taskVar+"="+task)
	cmd.Stderr = os.Stderr
	in, err := cmd.StdinPipe()
	require.NoError(t, err)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() { _ = cmd.Process.Kill(); _ = cmd.Wait() })
	return &process{cmd, in, bufio.NewScanner(out)}
}

// say sends a line to the process; hear waits for one.
func (p *process) say(t testing.TB, line string) {
	_, err := fmt.Fprintln(p.in, line)
	require.NoError(t, err)
}

func (p *process) hear(t testing.TB, want string) {
	t.Helper()
	require.True(t, p.out.Scan(), "the process ended")
	require.Equal(t, want, p.out.Text())
}

func waitForLine() { bufio.NewScanner(os.Stdin).Scan() }

// writeTask commits one event at a time, to lines of its own: register, name, how many.
func writeTask(args []string) error {
	s, err := Open(background, args[0], Options{Create: true, Patience: time.Minute})
	if err != nil {
		return err
	}
	n, err := strconv.Atoi(args[2])
	if err != nil {
		return err
	}
	fmt.Println("ready")
	waitForLine()
	if err := writeSome(s, args[1], n); err != nil {
		return err
	}
	fmt.Println("done")
	waitForLine()
	return s.Close()
}

// writeSome commits n events of usual size to ten lines in turn.
func writeSome(s register.Store, name string, n int) error {
	heads := [10]register.Head{}
	for i := range n {
		h := &heads[i%len(heads)]
		h.Key = register.Key(fmt.Sprintf("%s-%d\tmaker", name, i%len(heads)))
		w := usual(*h, i)
		if err := s.Commit(background, []register.Write{w}); err != nil {
			return err
		}
		*h = head(&w)
	}
	return nil
}

// endlessTask commits until it is killed, and says what is durable.
func endlessTask(args []string) error {
	s, err := Open(background, args[0], Options{})
	if err != nil {
		return err
	}
	h := register.Head{Key: register.Key(args[1] + "\tmaker")}
	for i := 0; ; i++ {
		w := usual(h, i)
		if err := s.Commit(background, []register.Write{w}); err != nil {
			return err
		}
		h = head(&w)
		fmt.Println(args[1], h.Seq)
	}
}

// usual is a write of one event and one lot of usual length.
func usual(after register.Head, i int) register.Write {
	body := fmt.Appendf(nil, `{"id":"%016x","line":%q,"seq":%d,"kind":"drawn","at":"2027-03-05T08:00:00Z","by":"A. Nyholm","recorded":"2027-03-05T08:00:12.345Z","zone":"Atlantic/Faroe","amount":12.5,"use":{"job":"NF12-0417","mix":"M-%d","joints":["fuel-bay door","bulkhead feed-through"]},"why":"as planned; the rest stays in the cold store"}`, i, string(after.Key), after.Seq+1, i)
	r := register.Record{Seq: after.Seq + 1, ID: fmt.Sprintf("%s/%d", string(after.Key), after.Seq+1), Body: body, Hash: after.Hash.Next(body)}
	return register.Write{Key: after.Key, After: after, Add: []register.Record{r}, Projection: register.Projection{Lots: []register.Lot{usualLot(string(after.Key), i)}}}
}

func usualLot(key string, i int) register.Lot {
	return register.Lot{Place: fmt.Sprintf("Hangar %d / cold store", i%7), Class: fmt.Sprintf("polysulfide-b-%d", i%9), Stocked: true,
		Row: fmt.Sprintf("%s,maker,polysulfide-b-%d,%d,kit,2026-03-01,2027-12-01,,,\"Hangar %d / cold store\",2027-03-05T08:00:00Z,,,,,,,,,,,,,,,\n", key[:len(key)-6], i%9, i%40, i%7)}
}

// holdTask holds the file's lock for writing until it hears a line.
func holdTask(args []string) error {
	s, err := OpenSQLite(background, args[0], Options{})
	if err != nil {
		return err
	}
	defer s.Close()
	return s.(*sqliteStore).write(background, func(*sqliteWriter) error {
		fmt.Println("holding")
		waitForLine()
		return nil
	})
}
