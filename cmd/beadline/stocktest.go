package main

import (
	"context"
	"strings"

	"beadline/cmd/beadline/desk/storeroom"

	"github.com/spf13/cobra"
)

// testFlags are the words of one `stock test`, as written.
type testFlags struct {
	act                       actFlags
	result, results, to, adds string
}

func (a *app) stockTestCmd() *cobra.Command {
	var f testFlags
	cmd := &cobra.Command{
		Use: "test BATCH --result pass|fail",

		DisableFlagsInUseLine: true,

		Short: "Its condition was tested: does it gain life?",
		Long: `Test records a test of a batch. A passed one gives more life only with --authority,
--reference and --results on record, and only as much as its class or the authority
gives: to a day with --to, for a span with --adds, or by stock extend later. Without
them it is recorded all the same, and the answer says what is missing. A failed one is
final: the batch is not to be used, and no later test changes that.

It is of all of the batch, unless --container or --place names a part. --by is who
tested, --at when.

` + recordedHelp + `

Exit codes: 0 it may be used; 1 failure, nothing is recorded; 2 wrong usage; 3 it is
recorded, and on hold, or gives no more life though that was asked for; 4 it is
recorded, and not to be used.`,
		Example: `  beadline stock test E-9 --result pass --results "Shore A 48" \
      --adds "3 months" --by lab --authority "quality office" \
      --reference "LR 77"
  beadline stock test E-9 --result fail --results "skinned over in 20 min"`,
		Annotations: map[string]string{"formats": "json"},
		Args:        oneBatch,
		RunE: func(cmd *cobra.Command, args []string) error {
			t, err := a.tested(&f)
			if err != nil {
				return err
			}
			return a.stockAct(cmd, &f.act, args[0], func(ctx context.Context, r *storeroom.Room, act *storeroom.Act) (*storeroom.Outcome, error) {
				return r.Test(ctx, act, t)
			})
		},
	}
	f.act.add(cmd, withPart)
	fl := cmd.Flags()
	fl.StringVar(&f.result, "result", "", "pass or fail")
	fl.StringVar(&f.results, "results", "", "what was measured")
	fl.StringVar(&f.to, "to", "", "the day to which the authority gives it")
	fl.StringVar(&f.adds, "adds", "", "how much the authority gives it, such as 3 months")
	return cmd
}

// tested reads the flags.
func (a *app) tested(f *testFlags) (t storeroom.Tested, err error) {
	switch strings.ToLower(f.result) {
	case "pass", "passed":
		t.Passed = true
	case "fail", "failed":
	case "":
		return t, usagef("say how the test ended: --result pass or --result fail")
	default:
		return t, usagef("--result %s: write pass or fail", f.result)
	}
	if !t.Passed && f.to+f.adds != "" {
		return t, usagef("--result %s: a failed test gives no more life: leave out --to and --adds", f.result)
	}
	if t.Passed && strings.Contains(strings.ToLower(f.results), "fail") {
		return t, usagef("--results %q say that it failed, --result %s that it passed: which is it?", f.results, f.result)
	}
	t.Results = f.results
	t.To, t.Span, err = a.life(f.to, f.adds)
	return t, err
}
