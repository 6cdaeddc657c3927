package main

import (
	"context"
	"io"
	"slices"
	"strings"

	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk/storeroom"
	"beadline/cmd/beadline/show"

	"github.com/rickb777/date"
	"github.com/spf13/cobra"
)

// drawFlags are the words of one `stock draw`, as written.
type drawFlags struct {
	act                  actFlags
	class, job, mix, use string
	until                string
	joints               []string
	although             bool
}

func (a *app) stockDrawCmd() *cobra.Command {
	var f drawFlags
	cmd := &cobra.Command{
		Use: "draw {BATCH | SCAN | --class CLASS} [--job JOB ...]",

		DisableFlagsInUseLine: true,

		Short: "Take a pack out, if it may be used: or which batch goes first",
		Long: `Draw takes a pack out of stock for a mix, if it may be used now and, with --until,
when the work is done; and records which job, mix and joints it went to, so that
beadline stock trace finds it years later. What is on hold is not drawn: the answer
says who must decide, which evidence settles it, and how the hold is lifted. What is
rejected is never drawn, but for --for training: that is allowed of any batch, goes to
no job, and is marked so.

One pack is drawn unless --quantity says how many; packs are drawn whole. What is
measured (ml, g) needs --quantity; what is drawn of an unopened container opens it,
and that is recorded too. Of a batch in several parts the opened one goes first, then
the one that ends first, unless --container or --place says which. A drawing for a job
uses up what is reserved for it; what is reserved for other jobs is not drawn,
unless --although-reserved, with --why.

A drawing can be entered late, with --at. If the batch was held or failed since, it is
recorded only with --by, --authority, --reference and --why.

With --class and no batch it names the batches to draw first: opened first, then
those that end first, that last as long as asked and are not kept for other jobs.
Nothing is recorded then.

Exit codes: 0 drawn, or there is one to draw; 1 failure, such as nothing left;
2 wrong usage; 3 hold, or kept for another job, or none to draw; 4 reject.
But for 0 nothing is recorded.`,
		Example: `  beadline stock draw S-2207 --job NF12-0417 --mix 2 --joint "fuel-bay door" \
      --until 14:00
  beadline stock draw '(01)09520000000134(17)270630(10)S-2207' --job NF12-0417
  beadline stock draw P-31 --quantity 20 --unit ml --joint "fuel-bay door"
  beadline stock draw --class polysulfide-b-2 --until 14:00
  beadline stock draw S-2188 --for training`,
		Annotations: map[string]string{"formats": "json"},
		Args:        cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := readableTexts(cmd, args); err != nil {
				return err
			}
			return a.stockDraw(cmd.Context(), cmd, args, &f)
		},
	}
	fl := cmd.Flags()
	f.act.add(cmd, withPart|withQuantity)
	fl.StringVar(&f.class, "class", "", "which batches of this sealant class go first")
	fl.StringVar(&f.job, "job", "", "job that it is for, such as NF12-0417")
	fl.StringVar(&f.mix, "mix", "", "mix that it goes into")
	fl.StringArrayVar(&f.joints, "joint", nil, `joint that it goes to: "fuel-bay door"; repeat it for more`)
	fl.StringVar(&f.until, "until", "", "it must outlast this: 14:00, or a moment of its own")
	fl.StringVar(&f.use, "for", "", "what it is for: training, of any batch and never for an aircraft")
	fl.BoolVar(&f.although, "although-reserved", false, "draw what is reserved for another job; say --why")
	return cmd
}

func (a *app) stockDraw(ctx context.Context, cmd *cobra.Command, args []string, f *drawFlags) error {
	if err := f.conflicts(cmd, args); err != nil {
		return err
	}
	r, err := a.roomUntil(ctx, storeroom.Options{Read: len(args) == 0}, f.until)
	if err != nil {
		return err
	}
	defer r.Close()
	d, err := a.drawing(f, args, r.Judge.On)
	if err != nil {
		return err
	}
	d.Until = r.Judge.Until()
	if len(args) == 0 {
		return a.stockPropose(ctx, r, f.class, d)
	}
	o, err := r.Draw(ctx, d)
	if err != nil {
		return err
	}
	err = a.write(forms{
		text: func(w io.Writer) error { return show.Drawn(w, o, a.inUnits()) },
		json: func(w io.Writer) error { return show.DrawnJSON(w, o) },
	})
	if err != nil {
		return err
	}
	return verdictExit(o.Answer)
}

// drawing is the flags as the desk takes them.
func (a *app) drawing(f *drawFlags, args []string, on date.Date) (*storeroom.Drawing, error) {
	d := &storeroom.Drawing{Although: f.although, Use: register.Use{Job: f.job, Mix: f.mix, Training: f.use != ""}}
	for _, j := range f.joints {
		if !slices.Contains(d.Use.Joints, j) {
			d.Use.Joints = append(d.Use.Joints, j)
		}
	}
	var err error
	if d.Act, err = a.act(&f.act, ""); err != nil || len(args) == 0 {
		return d, err
	}
	return d, named(&d.Act, args[0], on)
}

// conflicts refuses what does not go together.
func (f *drawFlags) conflicts(cmd *cobra.Command, args []string) error {
	recorded := []string{"mix", "joint", "for", "although-reserved", "container", "maker", "id", "corrects", "why", "authority", "reference", "by"}
	switch given := givenAny(cmd.Flags(), recorded...); {
	case len(args) == 0 && f.class == "":
		return usagef("which batch is drawn? give its number or a scan; or --class CLASS for which goes first")
	case len(args) > 0 && f.class != "":
		return usagef("--class %s: it asks which batch of a class goes first: leave it out, or the batch %s", f.class, args[0])
	case len(args) == 0 && len(given) > 0:
		return usagef("--class %s only asks which batch goes first, and records nothing: leave out %s, or name the batch", f.class, flagNames(given))
	case f.use != "" && f.use != "training":
		return usagef("--for %q: what is drawn goes to a job (--job), or is for training", f.use)
	case f.use != "" && len(givenAny(cmd.Flags(), "job", "mix", "joint")) > 0:
		return usagef("--for training: it goes to no job, mix or joint: leave out %s", flagNames(givenAny(cmd.Flags(), "job", "mix", "joint")))
	case slices.ContainsFunc(f.joints, func(j string) bool { return strings.TrimSpace(j) == "" }):
		return usagef("--joint is empty: name the joint as on the work order")
	case f.although && f.act.why == "":
		return usagef("--although-reserved needs --why: it is recorded")
	case f.act.unit != "" && f.act.quantity == "":
		return usagef("--unit %s: say how much, with --quantity", f.act.unit)
	case len(args) > 0 && f.use == "" && f.job == "" && len(f.joints) == 0 && f.act.corrects == "" && f.act.why == "":
		return usagef("what is it drawn for? give --job and --joint, so that it can be traced; or --for training; or, for anything else, --why")
	}
	return nil
}

// proposals is how many batches are named that go first.
const proposals = 5

// stockPropose names the batches of a class that go first.
func (a *app) stockPropose(ctx context.Context, r *storeroom.Room, class string, d *storeroom.Drawing) error {
	p, err := r.Propose(ctx, class, d, proposals)
	if err != nil {
		return err
	}
	err = a.write(forms{
		text: func(w io.Writer) error { return show.Proposals(w, p, a.inUnits()) },
		json: func(w io.Writer) error { return show.ProposalsJSON(w, p) },
	})
	switch {
	case err != nil:
		return err
	case len(p.First) == 0:
		return verdictExit(shelf.Hold)
	}
	return nil
}
