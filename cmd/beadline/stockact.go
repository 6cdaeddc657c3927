package main

import (
	"context"
	"strings"

	"beadline/catalog/label"
	"beadline/catalog/label/scan"
	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/desk/storeroom"
	"beadline/cure/quantity"

	"github.com/rickb777/date"
	"github.com/rickb777/date/period"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// What the commands that record something have in common: who, when and of which batch is
// read before the register is opened, so that what is refused makes no register.

// recordedHelp ends the help of each of them.
const recordedHelp = `BATCH is the number on the label, or a scan of it in quotes; a label that was
printed for one container says which. Of a batch in several parts --container or
--place says which one; --container none is the packs that have no number.`

// whoHelp is for those of them that need names.
const whoHelp = `--by, --authority and --reference have to be said each time: BEADLINE_BY and the
log-in name do not stand for them.`

// stockAct runs one of them: do is given the register, open, and what was said.
func (a *app) stockAct(cmd *cobra.Command, f *actFlags, arg string, do func(context.Context, *storeroom.Room, *storeroom.Act) (*storeroom.Outcome, error)) error {
	act, err := a.act(f, "")
	if err != nil {
		return err
	}
	j, at, err := a.recording()
	if err != nil {
		return err
	}
	if err := named(&act, arg, j.On); err != nil {
		return err
	}
	r, err := a.roomFor(cmd.Context(), storeroom.Options{}, j, at)
	if err != nil {
		return err
	}
	defer r.Close()
	o, err := do(cmd.Context(), r, &act)
	if err != nil {
		return err
	}
	return a.recorded(o)
}

// recording is the judge and the time of what is recorded: --at is when it happened, and
// the verdict is that of now, as it is what the person does next that counts.
func (a *app) recording() (*desk.Judge, register.When, error) {
	happened, err := a.now()
	if err != nil {
		return nil, register.When{}, err
	}
	c, err := a.classes()
	if err != nil {
		return nil, register.When{}, err
	}
	zone := zoneByName(happened.Location())
	at := register.AtInstant(happened.In(zone))
	if desk.IsDay(a.at) {
		at = register.OnDay(date.NewAt(happened))
	}
	now := a.clock().In(zone)
	j := desk.NewJudge(c, date.NewAt(now))
	j.Ask(shelf.Question{On: date.NewAt(now), At: now.Hour()*60 + now.Minute(), Timed: true, Zone: zone})
	return j, at, nil
}

// named reads which batch is meant: a number, a scan of the maker's label, or the label
// that was printed for one container.
func named(act *storeroom.Act, arg string, on date.Date) error {
	arg = strings.TrimSpace(arg)
	act.Number = arg
	if !scan.Looks(arg) {
		return nil
	}
	s, err := scan.Parse(arg, on)
	plain, alone := scan.Plain(arg)
	switch {
	case err != nil && alone:
		act.Number = plain
		return nil
	case err != nil:
		return usagef("%w", err)
	case s.Lot == "":
		return usagef("the scan names no lot: type the batch number from the label")
	}
	act.Number, act.Scan = s.Lot, &s
	if p, own := desk.StickerOf(&s); own {
		act.Label = &p
	}
	return nil
}

// oneBatch asks for a batch, and refuses texts that cannot be meant in any flag.
func oneBatch(cmd *cobra.Command, args []string) error {
	if err := oneArg("a batch")(cmd, args); err != nil {
		return err
	}
	if strings.TrimSpace(args[0]) == "" {
		return usagef("the batch is empty: copy the number from the label, or scan it")
	}
	return readableTexts(cmd, args)
}

// The longest texts that are taken on the command line, in bytes.
const (
	longestWord = 4000
	longestArg  = 64 << 10
)

// readableTexts refuses texts that are empty, too long or cannot be seen, before any of them
// is read or said again.
func readableTexts(cmd *cobra.Command, args []string) (err error) {
	for _, x := range args {
		if len(x) > longestArg {
			return usagef("%s: an argument of %d bytes is no batch, scan or id", cmd.CommandPath(), len(x))
		}
		if !scan.Looks(x) {
			if _, err := register.Clean(x, longestArg); err != nil {
				return usagef("%s: in its argument: %w", cmd.CommandPath(), err)
			}
		}
	}
	cmd.Flags().Visit(func(x *pflag.Flag) {
		texts := []string{x.Value.String()}
		if s, ok := x.Value.(pflag.SliceValue); ok {
			texts = s.GetSlice()
		}
		for _, t := range texts {
			if _, bad := register.Clean(t, longestWord); bad != nil && err == nil {
				err = usagef("--%s: %w", x.Name, bad)
			}
		}
	})
	if err != nil {
		return err
	}
	return noneBlank(cmd.Flags())
}

// life reads the life that an authority gives: to a day, or for a span.
func (a *app) life(to, adds string) (day label.Date, span period.Period, err error) {
	if to != "" && adds != "" {
		return day, span, usagef("--adds %s: --to says to which day already: leave one out", adds)
	}
	if adds != "" {
		if span, err = quantity.Life(adds); err != nil {
			return day, span, usagef("--adds %q: say how long with its unit, such as 6 months", adds)
		}
		return day, span, nil
	}
	if to == "" {
		return day, span, nil
	}
	now, err := a.now()
	if err != nil {
		return day, span, err
	}
	r := &reading{how: label.How{Today: date.NewAt(now)}, zone: now.Location()}
	return day, span, r.date("to", to, &day)
}
