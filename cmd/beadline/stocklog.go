package main

import (
	"context"
	"io"
	"strings"

	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk/storeroom"
	"beadline/cmd/beadline/show"

	"github.com/spf13/cobra"
)

// logFlags are the words of one `stock log`, as written.
type logFlags struct {
	maker, expect, by           string
	verify, checkpoint, rebuild bool
}

func (a *app) stockLogCmd() *cobra.Command {
	var f logFlags
	cmd := &cobra.Command{
		Use: "log [BATCH | SCAN]",

		DisableFlagsInUseLine: true,

		Short: "Every event of a batch; and is the register as it was written?",
		Long: `Log shows the events of a batch in the order in which they were recorded: when it
happened, what, who, why, under which authority; one that was corrected says by which
event. Without a batch it says how much the register holds.

Each event carries a hash over itself and the one before, and a checkpoint, made by
itself once a day when something is recorded, has a hash over the ends of all
batches. --verify reads all of it and says whether anything was changed, taken out or
put in. Whoever can write to the register could make all hashes anew: so keep the hash
of a checkpoint elsewhere, on paper, and give it with --expect.

--checkpoint makes a checkpoint now, and prints its hash. --rebuild makes the list of
the stock, of joints and of reservations anew from the events, where --verify says
that it is stale.

Exit codes: 0 shown, whole, or done; 1 failure, or not whole; 2 wrong usage.`,
		Example: `  beadline stock log S-2207
  beadline stock log --verify
  beadline stock log --checkpoint
  beadline stock log --verify --expect HASH`,
		Annotations: map[string]string{"formats": "json"},
		Args:        cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := readableTexts(cmd, args); err != nil {
				return err
			}
			if err := f.conflicts(cmd, args); err != nil {
				return err
			}
			return a.stockLog(cmd.Context(), args, &f)
		},
	}
	fl := cmd.Flags()
	fl.StringVar(&f.maker, "maker", "", "maker of the batch, where two have one number")
	fl.BoolVar(&f.verify, "verify", false, "read all of the register, and hold it against its hashes")
	fl.StringVar(&f.expect, "expect", "", "hash of a checkpoint, kept elsewhere, that must be in it; 16 digits are enough")
	fl.BoolVar(&f.checkpoint, "checkpoint", false, "make a checkpoint, and print its hash")
	fl.BoolVar(&f.rebuild, "rebuild", false, "make the lists that are kept of the events anew")
	fl.StringVar(&f.by, "by", "", "who makes the checkpoint")
	return cmd
}

// conflicts refuses what does not go together.
func (f *logFlags) conflicts(cmd *cobra.Command, args []string) error {
	given := givenAny(cmd.Flags(), "verify", "checkpoint", "rebuild")
	switch {
	case len(given) > 1:
		return usagef("%s: one at a time", flagNames(given))
	case len(given) > 0 && len(args) > 0:
		return usagef("--%s is of the whole register: leave out %s", given[0], args[0])
	case f.expect != "" && !f.verify:
		return usagef("--expect %s: it is for --verify", f.expect)
	case f.by != "" && !f.checkpoint:
		return usagef("--by %s: it is for --checkpoint", f.by)
	case f.maker != "" && len(args) == 0:
		return usagef("--maker %s: say which batch", f.maker)
	}
	return nil
}

func (a *app) stockLog(ctx context.Context, args []string, f *logFlags) error {
	if err := expectable(f.expect); err != nil {
		return err
	}
	r, err := a.room(ctx, storeroom.Options{Read: !f.checkpoint && !f.rebuild})
	if err != nil {
		return err
	}
	defer r.Close()
	switch {
	case f.verify:
		expect, err := a.expected(ctx, r, f.expect)
		if err != nil {
			return err
		}
		return a.stockVerify(ctx, r, expect)
	case f.checkpoint:
		return a.stockCheckpoint(ctx, r, f.by)
	case f.rebuild:
		return a.stockRebuild(ctx, r)
	case len(args) == 0:
		o, err := r.Overview(ctx)
		if err != nil {
			return err
		}
		return a.write(forms{
			text: func(w io.Writer) error { return show.RegisterOverview(w, o, r.Judge.Zone()) },
			json: func(w io.Writer) error { return show.RegisterOverviewJSON(w, o) },
		})
	}
	number, _, _, err := a.batchArg(args[0], r.Judge.On)
	if err != nil {
		return err
	}
	s, err := r.Line(ctx, number, f.maker)
	if err != nil {
		return err
	}
	return a.write(forms{
		text: func(w io.Writer) error { return show.Log(w, r.Store.Name(), s, r.Judge.Zone(), a.inUnits()) },
		json: func(w io.Writer) error { return show.LogJSON(w, r.Store.Name(), s) },
	})
}

// stockVerify answers with exit code 1 where the register is not as it was written.
// leastDigits is how many digits of a checkpoint's hash are enough to know it by: nobody
// finds a register that shares them (2^64 tries).
const leastDigits = 16

// expectable refuses what is no hash, nor the beginning of one.
func expectable(text string) error {
	if text == "" {
		return nil
	}
	if len(text) >= leastDigits && len(text) <= 64 {
		if _, err := register.ParseHash(strings.ToLower(text) + strings.Repeat("0", 64-len(text))); err == nil {
			return nil
		}
	}
	return usagef("--expect %q: it is not the hash of a checkpoint: type its first %d digits, 0 to 9 and a to f, or all 64", text, leastDigits)
}

// expected is the hash of the checkpoint that begins so; of one that is not there, what was
// typed, with noughts behind it.
func (a *app) expected(ctx context.Context, r *storeroom.Room, text string) (register.Hash, error) {
	if text == "" {
		return register.Hash{}, nil
	}
	text = strings.ToLower(text)
	all, err := r.Store.Checkpoints(ctx)
	if err != nil {
		return register.Hash{}, err
	}
	for _, c := range all {
		if strings.HasPrefix(c.Hash.String(), text) {
			return c.Hash, nil
		}
	}
	return register.ParseHash(text + strings.Repeat("0", 64-len(text)))
}

func (a *app) stockVerify(ctx context.Context, r *storeroom.Room, expect register.Hash) error {
	found, err := r.Verify(ctx, expect)
	if err != nil {
		return err
	}
	err = a.write(forms{
		text: func(w io.Writer) error { return show.Verified(w, r.Store.Name(), found, expect, r.Judge.Zone()) },
		json: func(w io.Writer) error { return show.VerifiedJSON(w, r.Store.Name(), found) },
	})
	if err == nil && !found.Whole() {
		err = answer(exitFailure)
	}
	return err
}

func (a *app) stockCheckpoint(ctx context.Context, r *storeroom.Room, by string) error {
	if by == "" {
		by, _ = a.person()
	}
	c, err := r.Checkpoint(ctx, by)
	made := c != nil
	if err == nil && !made { // nothing moved: the last one stands for it
		o, oerr := r.Overview(ctx)
		if oerr != nil {
			return oerr
		}
		c = o.Last
	}
	if err != nil {
		return err
	}
	return a.write(forms{
		text: func(w io.Writer) error { return show.CheckpointMade(w, r.Store.Name(), c, made, r.Judge.Zone()) },
		json: func(w io.Writer) error { return show.CheckpointMadeJSON(w, r.Store.Name(), c, made) },
	})
}

func (a *app) stockRebuild(ctx context.Context, r *storeroom.Room) error {
	if err := r.Rebuild(ctx); err != nil {
		return err
	}
	o, err := r.Overview(ctx)
	if err != nil {
		return err
	}
	return a.write(forms{
		text: func(w io.Writer) error { return show.Rebuilt(w, o) },
		json: func(w io.Writer) error { return show.RegisterOverviewJSON(w, o) },
	})
}
