package main

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"os/user"
	"path/filepath"
	"strings"
	"time"

	"beadline/catalog/label"
	"beadline/catalog/label/scan"
	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/desk/storeroom"
	"beadline/cmd/beadline/show"

	"github.com/rickb777/date"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

func (a *app) stockCmd() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "stock",
		Short: "The register: what came in, what was done with it, where it went",
		Long: `Stock keeps the register: for each batch a line of events, from the day it came in
to the last kit drawn, with who, when, where and why. Nothing in it is ever changed
or taken out; a mistake is mended by a new event that points at the old one.

The register is a file of its own in your data folder, or what --register or the
variable BEADLINE_REGISTER names: another file, or a PostgreSQL database that many
stations share (postgres://...). It is made when the first batch is received.

Who did something is --by, or the variable BEADLINE_BY, or else the name you are
logged in with. --at is when it happened, now unless said; a day without its hour
will do. The answer is always for now.

A mistake is mended with --corrects ID on the same command as it should have been: it
stands in for the event of that id, at the same time unless --at is given. What did
not happen at all is struck. Both need --by, --authority, --reference and --why, and
print with the batch ever after. An --id of your own makes a command safe to send
again: what is there already by its id is not recorded twice.`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(cmd, args[0])
			}
			return cmd.Help()
		},
	}
	cmd.AddCommand(a.stockReceiveCmd(), a.stockMoveCmd(), a.stockOpenCmd(), a.stockThawCmd())
	cmd.AddCommand(a.stockTestCmd(), a.stockExtendCmd(), a.stockHoldCmd(), a.stockFreeCmd())
	cmd.AddCommand(a.stockScrapCmd(), a.stockCountCmd(), a.stockStrikeCmd())
	cmd.AddCommand(a.stockImportCmd(), a.stockExportCmd(), a.stockBackupCmd(), a.stockRestoreCmd())
	cmd.AddCommand(a.stockDrawCmd(), a.stockTraceCmd(), a.stockListCmd(), a.stockLogCmd())
	cmd.AddCommand(a.stockReleaseCmd(), a.stockLogAirCmd(), a.stockClassesCmd())
	return cmd
}

// registerName is the register that the command line, the environment or nobody names.
func (a *app) registerName() (name string, named bool) {
	switch env := a.getenv("BEADLINE_REGISTER"); {
	case a.register != "":
		return a.register, true
	case env != "":
		return env, true
	}
	return storeroom.DefaultName(), false
}

// registerPatience is how long a busy or lost register is waited for.
const registerPatience = 15 * time.Second

// room opens the register, with a judge for the moment that --at names. Close it.
func (a *app) room(ctx context.Context, o storeroom.Options) (*storeroom.Room, error) {
	return a.roomUntil(ctx, o, "")
}

// roomUntil is room with a judge who wants a batch to outlast a moment, written as for
// check --until; "" is none.
func (a *app) roomUntil(ctx context.Context, o storeroom.Options, until string) (*storeroom.Room, error) {
	j, at, err := a.stockJudge(until)
	if err != nil {
		return nil, err
	}
	return a.roomFor(ctx, o, j, at)
}

// unmadeRoom is room for a register that is not there yet, to look only.
func (a *app) unmadeRoom() (*storeroom.Room, error) {
	j, at, err := a.stockJudge("")
	if err != nil {
		return nil, err
	}
	name, _ := a.registerName()
	return storeroom.Unmade(name, j, at, a.clock), nil
}

// stockJudge is a judge for the moment that --at names, and that moment as it is
// recorded; until is what a batch must outlast, as written for --until.
func (a *app) stockJudge(until string) (*desk.Judge, register.When, error) {
	now, err := a.now()
	if err != nil {
		return nil, register.When{}, err
	}
	now = now.In(zoneByName(now.Location()))
	c, err := a.classes()
	if err != nil {
		return nil, register.When{}, err
	}
	j := desk.NewJudge(c, date.NewAt(now))
	at := register.AtInstant(now)
	q := shelf.Question{On: date.NewAt(now), Zone: now.Location()}
	if desk.IsDay(a.at) {
		at = register.OnDay(q.On)
	} else {
		q.At, q.Timed = now.Hour()*60+now.Minute(), true
	}
	if err := a.until(until, &q); err != nil {
		return nil, register.When{}, err
	}
	if len(until) <= len("14:00") && until != "" && q.Until.First() != q.On {
		a.note("--until " + until + " is the next day, " + label.FormatDay(q.Until.First()))
	}
	j.Ask(q)
	return j, at, nil
}

// roomFor is room for a judge who has been asked.
func (a *app) roomFor(ctx context.Context, o storeroom.Options, j *desk.Judge, at register.When) (*storeroom.Room, error) {
	name, _ := a.registerName()
	o.Patience = registerPatience
	r, err := storeroom.Open(ctx, name, o, j, at, a.clock)
	if errors.Is(err, register.ErrMissing) {
		return nil, fmt.Errorf("%w: beadline stock receive makes it with the first batch, beadline stock import with a list", err)
	}
	if err != nil {
		return nil, err
	}
	r.Note = func(text string) { a.note(text) }
	if r.ClassesOf, err = a.catalogNames(); err != nil {
		return nil, errors.Join(err, r.Close())
	}
	if err := a.learn(ctx, r); err != nil {
		return nil, errors.Join(err, r.Close())
	}
	return r, nil
}

// catalogNames are the class files of the command line, each with the beginning of its
// SHA-256, so that an auditor knows by which classes something was judged.
func (a *app) catalogNames() (string, error) {
	var all []string
	for _, name := range a.catalogs {
		data, err := desk.ReadFile(name)
		if err != nil {
			return "", err
		}
		sum := sha256.Sum256(data)
		all = append(all, fmt.Sprintf("%s (SHA-256 %x)", filepath.Base(name), sum[:6]))
	}
	return strings.Join(all, ", "), nil
}

// zoneByName is a zone by its name; the zone of this computer has one where it can be found,
// else it is UTC.
func zoneByName(z *time.Location) *time.Location {
	if z != time.Local {
		return z
	}
	name := os.Getenv("TZ")
	if name == "" {
		if to, err := os.Readlink("/etc/localtime"); err == nil {
			_, name, _ = strings.Cut(to, "zoneinfo/")
		}
	}
	if found, err := time.LoadLocation(strings.TrimPrefix(name, ":")); err == nil && name != "" {
		return found
	}
	return time.UTC
}

// actFlags are what is said of every event, as written.
type actFlags struct {
	by, why, authority, reference, id, corrects string
	maker, container, place                     string
	quantity, unit                              string
}

// The flags that a command may have beside those of every event.
const (
	withPart     = 1 << iota // --container, --place
	withQuantity             // --quantity, --unit
	ofEvent                  // no batch, and nothing to correct: an event is named
)

func (f *actFlags) add(cmd *cobra.Command, with int) {
	fl := cmd.Flags()
	fl.StringVar(&f.by, "by", "", "who did it")
	fl.StringVar(&f.why, "why", "", "why")
	fl.StringVar(&f.authority, "authority", "", "under whose authority")
	fl.StringVar(&f.reference, "reference", "", "report or order")
	fl.StringVar(&f.id, "id", "", "an id of its own: sent twice it is recorded once")
	if with&ofEvent == 0 {
		fl.StringVar(&f.corrects, "corrects", "", "id of the event that this one stands in for")
		fl.StringVar(&f.maker, "maker", "", "maker of the batch, where two have one number")
	}
	if with&withPart != 0 {
		fl.StringVar(&f.container, "container", "", "container of the batch")
		fl.StringVar(&f.place, "place", "", `where it is: "cold store", or with its site "North / cold store"`)
	}
	if with&withQuantity != 0 {
		fl.StringVar(&f.quantity, "quantity", "", "how much")
		fl.StringVar(&f.unit, "unit", "", "what it counts in: kit, cartridge, ml, g ...")
	}
}

// act is the flags as the desk takes them, for a batch of a number.
func (a *app) act(f *actFlags, number string) (storeroom.Act, error) {
	act := storeroom.Act{Number: number, Maker: f.maker, Which: storeroom.Which{Container: f.container, Place: f.place}, Said: register.Event{
		By: f.by, Why: f.why, Authority: f.authority, Reference: f.reference, ID: f.id, Corrects: f.corrects, Unit: f.unit}}
	act.BySaid, act.TimeSaid = f.by != "", a.at != ""
	if act.Said.By == "" {
		act.Said.By, act.ByFrom = a.person()
	}
	if f.quantity != "" {
		n, err := register.ParseAmount(f.quantity)
		if err != nil {
			return act, usagef("--quantity %w", err)
		}
		act.Said.Amount = &n
	}
	return act, nil
}

// person is who is at this computer, and where that was taken from if nobody said it.
func (a *app) person() (by, from string) {
	if by := strings.TrimSpace(a.getenv("BEADLINE_BY")); by != "" {
		return by, ""
	}
	const login = "the log-in name of this computer"
	if u, err := user.Current(); err == nil {
		if u.Name != "" {
			return u.Name, login
		}
		return u.Username, login
	}
	return "", ""
}

// batchArg is the batch that an argument names, by its number or by a scan of its label;
// container is that of the scan, or "".
func (a *app) batchArg(arg string, on date.Date) (number, container string, code *scan.Scan, err error) {
	arg = strings.TrimSpace(arg)
	if !scan.Looks(arg) {
		return arg, "", nil, nil
	}
	s, err := scan.Parse(arg, on)
	plain, alone := scan.Plain(arg)
	switch {
	case err != nil && alone:
		return plain, "", nil, nil
	case err != nil:
		return "", "", nil, usagef("%w", err)
	case s.Lot == "":
		return "", "", nil, usagef("the scan names no lot: type the batch number from the label")
	}
	return s.Lot, s.Serial, &s, nil
}

// recorded shows what was recorded of a batch; the exit code is the answer.
func (a *app) recorded(o *storeroom.Outcome) error {
	err := a.write(forms{
		text: func(w io.Writer) error { return show.Recorded(w, o, a.inUnits()) },
		json: func(w io.Writer) error { return show.RecordedJSON(w, o) },
	})
	if err != nil {
		return err
	}
	return verdictExit(o.Answer)
}

// givenAny names the flags of a list that were given.
func givenAny(fl *pflag.FlagSet, names ...string) (given []string) {
	for _, n := range names {
		if x := fl.Lookup(n); x != nil && x.Changed {
			given = append(given, n)
		}
	}
	return given
}

// how is how dates on the command line are read.
func (l *listFlags) how(on date.Date) (label.How, error) {
	o, err := label.ParseOrder(l.order)
	if err != nil {
		return label.How{}, usagef("--date-order %q: say dmy, mdy, ymd or yearday", l.order)
	}
	return label.How{Today: on, Order: o}, nil
}
