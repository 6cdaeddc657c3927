package main

import (
	"context"

	"beadline/cmd/beadline/desk/storeroom"

	"github.com/spf13/cobra"
)

func (a *app) stockExtendCmd() *cobra.Command {
	var f actFlags
	var to, adds string
	cmd := &cobra.Command{
		Use: "extend BATCH [--to DAY | --adds SPAN]",

		DisableFlagsInUseLine: true,

		Short: "The authority gives more life after a passed test",
		Long: `Extend records that an authority gives a batch more life on the strength of its last
passed test: to a day with --to, for a span with --adds, or with neither as much as its
class gives. It counts only with a passed test on record before it that has its results,
with --authority and --reference, and never beyond what the class allows; the answer
says whether it counts, and why not.

It is of all of the batch, unless --container or --place names a part.

` + recordedHelp + `

Exit codes: 0 it may be used; 1 failure, nothing is recorded; 2 wrong usage; 3 it is
recorded, and on hold, or gives no more life; 4 it is recorded, and not to be used.`,
		Example: `  beadline stock extend E-9 --to 2027-06-30 --authority "quality office" \
      --reference "LR 77"`,
		Annotations: map[string]string{"formats": "json"},
		Args:        oneBatch,
		RunE: func(cmd *cobra.Command, args []string) error {
			day, span, err := a.life(to, adds)
			if err != nil {
				return err
			}
			if f.authority == "" || f.reference == "" {
				return usagef("more life needs who gives it and on what: --authority and --reference")
			}
			return a.stockAct(cmd, &f, args[0], func(ctx context.Context, r *storeroom.Room, act *storeroom.Act) (*storeroom.Outcome, error) {
				return r.Extend(ctx, act, day, span)
			})
		},
	}
	f.add(cmd, withPart)
	cmd.Flags().StringVar(&to, "to", "", "the day to which it is given")
	cmd.Flags().StringVar(&adds, "adds", "", "how much is given, such as 3 months")
	return cmd
}
