package main

import (
	"context"
	"strings"

	"beadline/cmd/beadline/desk/storeroom"

	"github.com/spf13/cobra"
)

func (a *app) stockStrikeCmd() *cobra.Command {
	var f actFlags
	cmd := &cobra.Command{
		Use: "strike EVENT-ID --why REASON --by NAME --authority OFFICE ...",

		DisableFlagsInUseLine: true,

		Short: "An event on record did not happen",
		Long: `Strike takes an event back that did not happen. It stays on record, struck, and who
struck it and why is printed with the batch ever after. ` + whoHelp + `
The id stands in the answer that recorded it, and in beadline stock log.

What rests on it is struck first: a receipt is not struck while something is recorded
as drawn of it. What happened in another way is not struck but corrected: the command
as it should have been, with --corrects ID.

Exit codes: 0 recorded; 1 failure, nothing is recorded; 2 wrong usage.`,
		Example: `  beadline stock strike 01a229f2-a556-74e2-a383-6f43ea5a79bf --by "A. Keeper" \
      --authority "stores office" --reference "SN 4" --why "wrong shelf"`,
		Annotations: map[string]string{"formats": "json"},
		Args: func(cmd *cobra.Command, args []string) error {
			if err := oneArg("the id of an event")(cmd, args); err != nil {
				return err
			}
			return readableTexts(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.stockAct(cmd, &f, "", func(ctx context.Context, r *storeroom.Room, act *storeroom.Act) (*storeroom.Outcome, error) {
				return r.Strike(ctx, act, strings.TrimSpace(args[0]))
			})
		},
	}
	f.add(cmd, ofEvent)
	return cmd
}
