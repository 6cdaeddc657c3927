package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"time"

	"beadline/catalog/stock"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/desk/storeroom"
	"beadline/cmd/beadline/show"
	"beadline/cure/plan"

	"github.com/spf13/cobra"
)

// planFlags are the words of one `plan`, as written.
type planFlags struct {
	steps   int
	think   string
	late    bool
	compare bool
	stock   string
	list    listFlags
	views   planViews
	chance  spreadFlags
	play    *plan.SpreadOptions // what chance asks for; nil: nothing
	notes   []string

	register bool   // draw from the register, if there is one and no list is named
	reserve  bool   // what is drawn from it
	by       string // who reserves
}

func (a *app) planCmd() *cobra.Command {
	var f planFlags
	cmd := &cobra.Command{
		Use:   "plan JOB.yaml",
		Short: "When to mix, torque, close and fly, and who does what",
		Long: `Plan reads a job: the joints that are open, who is there and when, what the air is
expected to do, and when the aircraft is wanted. It answers with the latest moment
for each mix, the time for torque, when covers may go near and the earliest flight,
and with a schedule for everyone; every line of it is checked a second time, by code
that knows nothing of how the plan was found.

It looks for the plan that is ready earliest; among these for the fewest mixes, then
the least overtime, then pots that stand the shortest before they are used. It says
whether it has proven that none is earlier. --think limits how long it looks; Ctrl-C
ends it with the best plan so far, and with --steps it stops at the same place each
time.

Where the wish cannot be met it says which demands clash, proven by leaving them out,
and the smallest change of each that would meet it, each planned in full.

With --compare it sets today's plan beside what it would be with one thing done
otherwise: another class, heat, one more person, overtime, the weekend, a warmer
hangar, a start tonight; the best first, each planned in full and checked.

Where there is a register, or with --stock FILE.csv, it also says what to draw for
each mix: the batch that the job names for the joint, if it is good, or else the one
that ends first of those that are good when the pot is mixed and until its work is
done; and what is short, why the rest does not count, and what to order. --format csv
is that pick list.

What is drawn from the register is reserved for the job, once the plan is feasible as
asked, until it is drawn for it or beadline stock release gives it back; what an
earlier plan of the job has reserved and this one does not draw is given back. What
is reserved for other jobs is not there to draw. --reserve=false reserves nothing,
and neither do --stock and --compare.

With --spread it plays the plan many times, with task times, the forecast and the
batches left to chance, and says when the job is ready in half and in nine tenths of
the draws, how surely each pot keeps its line, and what matters most.

--at is the moment that stands for now: a job that starts before it is planned all
the same, and the answer begins with that.

` + planExits,
		Example: `  beadline plan job.yaml
  beadline plan job.yaml --stock stock.csv --format json
  beadline plan job.yaml --reserve=false
  beadline plan job.yaml --think 1min
  beadline plan job.yaml --spread 2000
  beadline plan job.yaml --compare`,
		Args:        oneArg("a job file"),
		Annotations: map[string]string{"formats": "json csv"},
		RunE: func(cmd *cobra.Command, args []string) error {
			if f.steps < 0 {
				return usagef("--steps %d: say how many conflicts the search may meet, 1 or more", f.steps)
			}
			for _, name := range []string{"map", "date-order", "encoding"} {
				if f.stock == "" && cmd.Flags().Changed(name) {
					return usagef("--%s is for reading a stock list: name it with --stock", name)
				}
			}
			var err error
			if f.play, f.notes, err = f.chance.options(cmd); err != nil {
				return err
			}
			if f.compare {
				if !cmd.Flags().Changed("think") {
					f.think = thinkCompare
				}
				return a.planCompare(args[0], f)
			}
			f.register = f.stock == ""
			if given := givenAny(cmd.Flags(), "reserve", "by"); f.stock != "" && given != nil {
				return usagef("--%s is for what is drawn from the register: a stock list keeps no reservations", given[0])
			}
			return a.plan(cmd.Context(), args[0], f)
		},
	}
	cmd.Flags().StringVar(&f.think, "think", thinkUsual, "how long to look for an earlier plan, such as 2s or 5min; with --compare 2min unless said")
	cmd.Flags().IntVar(&f.steps, "steps", 0, "conflicts the search may meet (default: no limit); the same number gives the same plan")
	cmd.Flags().BoolVar(&f.late, "late-mixes", false, "make each pot as late as the ready time lets it, the last one first")
	cmd.Flags().BoolVar(&f.compare, "compare", false, "what one thing done otherwise would change, side by side")
	cmd.Flags().StringVar(&f.stock, "stock", "", "stock list to draw from, a CSV file; - is standard input (default: the register, if there is one)")
	cmd.Flags().BoolVar(&f.reserve, "reserve", true, "reserve for the job what is drawn from the register; --reserve=false does not")
	cmd.Flags().StringVar(&f.by, "by", "", "who reserves it")
	f.list.add(cmd)
	f.chance.add(cmd)
	f.views.flags(cmd)
	return cmd
}

const planExits = `Exit codes: 0 yes; 1 failure; 2 wrong usage; 3 not feasible as asked, or short of
something.`

// plan makes and shows one plan.
func (a *app) plan(ctx context.Context, name string, f planFlags) error {
	if err := f.views.check(a); err != nil {
		return err
	}
	if f.play != nil && (f.views.timeline || a.format == "csv") {
		return usagef("--spread is shown in the tables and in --format json: leave out --timeline and --format csv")
	}
	if _, err := a.nowIn(time.UTC); err != nil { // before the work, whatever the job's zone
		return err
	}
	p, err := a.makePlan(ctx, name, f)
	if err != nil {
		return err
	}
	now, err := a.nowIn(p.Job.Zone)
	if err != nil {
		return err
	}
	p.Passed = desk.Passed(p.Job, now)
	if err := a.spread(p.Plan, f.play); err != nil {
		return err
	}
	p.Assumptions = append(p.Assumptions, f.notes...)
	a.note(p.Supply.Warnings...)
	if p.Passed != "" && (a.format == "csv" || f.views.timeline) {
		a.note(p.Passed)
	}
	if a.format == "csv" { // the list holds what there is to draw; what there is not is said beside it
		for _, x := range p.Supply.Shorts {
			for _, g := range x.Gaps {
				a.note(fmt.Sprintf("nothing to draw for %s: short of %s", g.What, cmp.Or(x.Class, x.Item)))
			}
		}
	}
	if err := f.views.draw(a, p.Plan); err != nil {
		return err
	}
	text := func(to io.Writer) error { return show.PlanText(to, p, a.inUnits()) }
	if f.views.timeline {
		text = func(to io.Writer) error { return show.PlanTimeline(to, p.Plan, a.inUnits()) }
	}
	err = a.write(forms{
		text: text,
		json: func(to io.Writer) error { return show.PlanJSON(to, p) },
		csv:  func(to io.Writer) error { return show.PickCSV(to, p) },
	})
	if err != nil {
		return err
	}
	return planExit(p)
}

// planExit is the exit code of a plan.
func planExit(p *desk.Planned) error {
	if p.Infeasible != nil || p.Supply.Short() || p.Supply.Reserved != nil && p.Supply.Reserved.Taken {
		return answer(exitHold)
	}
	return nil
}

// nowIn is the instant that --at names on the clocks of a zone, or the clock's.
func (a *app) nowIn(z *time.Location) (time.Time, error) {
	if a.at == "" {
		return a.clock().In(z), nil
	}
	t, err := desk.Instant(a.at, z)
	if err != nil {
		return time.Time{}, usagef("--at %w", err)
	}
	return t, nil
}

func (a *app) makePlan(ctx context.Context, name string, f planFlags) (*desk.Planned, error) {
	var o stock.Options
	if f.stock != "" {
		var err error
		if o, err = f.list.options(); err != nil {
			return nil, err
		}
	}
	limit, err := thinkTime(f.think)
	if err != nil {
		return nil, err
	}
	c, clashes, err := desk.Catalog(a.catalogs)
	if err != nil {
		return nil, err
	}
	var room *storeroom.Room
	if f.register {
		if room, err = a.planRoom(ctx, &f, c); err != nil {
			return nil, err
		}
	}
	if room != nil { // the classes that it keeps are the job's too
		defer room.Close()
		c = room.Judge.Catalog()
	}
	w, err := desk.OpenJob(name, c)
	if err != nil {
		return nil, err
	}
	var list *desk.List
	if f.stock != "" {
		if list, err = desk.OpenList(a.in, f.stock, o.Encoding); err != nil {
			return nil, err
		}
		defer list.Close()
	}
	if room == nil && list == nil && a.format == "csv" {
		return nil, usagef("--format csv is the list of what to draw: name the stock list with --stock, or keep a register: %w", errNoRegister)
	}
	w.Input.Steps, w.Input.Late = f.steps, f.late
	t := a.think(limit, w.Input.Job)
	w.Input.Stop, w.Input.Tell = t.stop, t.tell
	p, err := plan.Make(w.Input)
	t.end()
	if err != nil {
		return nil, err
	}
	p.Assumptions = append(append(p.Assumptions, w.Notes...), clashes...)
	if list == nil {
		p, supply, err := a.fromRegister(ctx, p, room, &f, c)
		return &desk.Planned{Plan: p, Supply: supply, Cautions: w.Cautions}, err
	}
	supply, err := desk.Supplies(p, list, o, c)
	return &desk.Planned{Plan: p, Supply: supply, Cautions: w.Cautions}, err
}

// thinkUsual is --think unless said, thinkCompare the same for all the plans of --compare
// together, maxThink the longest it may be.
const (
	thinkUsual   = "30s"
	thinkCompare = "2min"
	maxThink     = 24 * time.Hour
)
