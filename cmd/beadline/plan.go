package main

import (
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"
	"beadline/cure/plan"

	"github.com/spf13/cobra"
)

func (a *app) planCmd() *cobra.Command {
	var steps int
	var stockFile string
	var spread spreadFlags
	cmd := &cobra.Command{
		Use:   "plan JOB.yaml",
		Short: "When to mix, torque, close and fly, and who does what",
		Long: `Plan reads a job: the joints that are open, who is there and when, what the air is
expected to do, and when the aircraft is wanted. It answers with the latest moment
for each mix, the time for torque, when covers may go near and the earliest flight,
and with a schedule for everyone; every line of it is checked a second time, by code
that knows nothing of how the plan was found.

Where the wish cannot be met it says why, and what would meet it, each way planned
in full.

With --spread it plays the plan many times, with task times, the forecast and the
batches left to chance, and says when the job is ready in half and in nine tenths of
the draws, how surely each pot keeps its line, and what matters most.

` + exitHelp,
		Example: `  beadline plan job.yaml
  beadline plan job.yaml --stock stock.csv --format json
  beadline plan job.yaml --spread 2000`,
		Args:        oneArg("a job file"),
		Annotations: map[string]string{"formats": "json"},
		RunE: func(cmd *cobra.Command, args []string) error {
			if steps < 0 {
				return usagef("--steps %d: say how many schedules to try, 1 or more", steps)
			}
			play, notes, err := spread.options(cmd)
			if err != nil {
				return err
			}
			return a.plan(args[0], stockFile, steps, play, notes)
		},
	}
	cmd.Flags().IntVar(&steps, "steps", 0, "schedules to try at most (default 600); the same number gives the same plan")
	cmd.Flags().StringVar(&stockFile, "stock", "", "stock list to check the job's batches against, each on the day it is mixed")
	spread.add(cmd)
	return cmd
}

// plan makes and shows one plan, played against chance if that is asked.
func (a *app) plan(name, stockFile string, steps int, play *plan.SpreadOptions, notes []string) error {
	w, p, err := a.makePlan(name, stockFile, steps)
	if err != nil {
		return err
	}
	if err := a.spread(p, play); err != nil {
		return err
	}
	p.Assumptions = append(p.Assumptions, notes...)
	if err := a.showPlan(p, w.Cautions); err != nil {
		return err
	}
	if p.Infeasible != nil {
		return answer(exitHold)
	}
	return nil
}

func (a *app) showPlan(p *plan.Plan, cautions []string) error {
	if a.format == "json" {
		return show.PlanJSON(a.out, p, cautions)
	}
	return show.PlanText(a.out, p, cautions, a.inUnits())
}

func (a *app) makePlan(name, stockFile string, steps int) (*desk.Work, *plan.Plan, error) {
	c, clashes, err := desk.Catalog(a.catalogs)
	if err != nil {
		return nil, nil, err
	}
	w, err := desk.OpenJob(name, c)
	if err != nil {
		return nil, nil, err
	}
	w.Input.Steps = steps
	p, err := plan.Make(w.Input)
	if err != nil {
		return nil, nil, err
	}
	p.Assumptions = append(append(p.Assumptions, w.Notes...), clashes...)
	if err := desk.Batches(p, stockFile, c); err != nil {
		return nil, nil, err
	}
	return w, p, nil
}
