package main

import (
	"context"
	"io"
	"strings"

	"beadline/cmd/beadline/desk/storeroom"
	"beadline/cmd/beadline/show"

	"github.com/spf13/cobra"
)

// traceFlags are the words of one `stock trace`, as written.
type traceFlags struct {
	storeroom.TraceQuestion
}

func (a *app) stockTraceCmd() *cobra.Command {
	var f traceFlags
	cmd := &cobra.Command{
		Use: "trace {BATCH | JOINT | --job JOB}",

		DisableFlagsInUseLine: true,

		Short: "Which joints got this batch? Which batches went to this joint?",
		Long: `Trace answers an auditor. Of a batch: with which papers it came, what was drawn of it,
by whom, when, for which job, mix and joints, the verdict as it was given then, and
the verdict now; what has become known since (held, a failed test) stands with it. Of a
joint: every batch that went to it, with the same facts. --job narrows the joints of
one name to those of a job; alone it gives all that went to the job.

Whether the word is a batch or a joint is found out; if it is both, both are shown,
unless --batch or --joint says which. The verdict now is for the moment --at names.

CSV has a line for each joint that something was drawn for.

Exit codes: 0 found; 1 failure, or no such batch or joint; 2 wrong usage.`,
		Example: `  beadline stock trace S-2207
  beadline stock trace "fuel-bay door"
  beadline stock trace "fuel-bay door" --job NF12-0417 --format csv
  beadline stock trace --job NF12-0417`,
		Annotations: map[string]string{"formats": "json csv"},
		Args:        cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := readableTexts(cmd, args); err != nil {
				return err
			}
			return a.stockTrace(cmd.Context(), args, &f)
		},
	}
	fl := cmd.Flags()
	fl.StringVar(&f.Maker, "maker", "", "maker of the batch, where two have one number")
	fl.StringVar(&f.Job, "job", "", "only what went to this job")
	fl.BoolVar(&f.AsBatch, "batch", false, "the word is the number of a batch")
	fl.BoolVar(&f.AsJoint, "joint", false, "the word is the name of a joint")
	return cmd
}

func (a *app) stockTrace(ctx context.Context, args []string, f *traceFlags) error {
	q := f.TraceQuestion
	if len(args) > 0 {
		q.Text = strings.TrimSpace(args[0])
	}
	switch {
	case len(args) > 0 && q.Text == "":
		return usagef("the word is empty: write the number of a batch, or the name of a joint")
	case q.Text == "" && q.Job == "":
		return usagef("what is traced? give the number of a batch, the name of a joint, or --job JOB")
	case q.AsBatch && q.AsJoint:
		return usagef("--batch and --joint: keep one")
	case q.Text == "" && (q.AsBatch || q.AsJoint):
		return usagef("say which batch or joint, before --batch or --joint")
	case q.AsBatch && q.Job != "":
		return usagef("--job %s narrows joints: leave it out, or --batch", q.Job)
	case q.Maker != "" && (q.AsJoint || q.Text == ""):
		return usagef("--maker %s is of a batch: leave it out", q.Maker)
	}
	if q.Maker != "" {
		q.AsBatch = true
	}
	if q.Job != "" {
		q.AsJoint = true
	}
	r, err := a.room(ctx, storeroom.Options{Read: true})
	if err != nil {
		return err
	}
	defer r.Close()
	if !q.AsJoint { // the label of a batch may be scanned
		number, _, code, err := a.batchArg(q.Text, r.Judge.On)
		if err != nil {
			return err
		}
		if q.Text = number; code != nil {
			q.AsBatch = true
		}
	}
	t, err := r.Trace(ctx, q)
	if err != nil {
		return err
	}
	return a.write(forms{
		text: func(w io.Writer) error { return show.Trace(w, t, r.Judge.Zone(), a.inUnits()) },
		json: func(w io.Writer) error { return show.TraceJSON(w, t) },
		csv:  func(w io.Writer) error { return show.TraceCSV(w, t) },
	})
}
