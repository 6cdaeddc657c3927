package main

import (
	"context"

	"beadline/cmd/beadline/desk/storeroom"

	"github.com/spf13/cobra"
)

func (a *app) stockMoveCmd() *cobra.Command {
	var f actFlags
	var to string
	cmd := &cobra.Command{
		Use: "move BATCH --to PLACE",

		DisableFlagsInUseLine: true,

		Short: "It went to another place",
		Long: `Move records that a batch went to another place: all of the part, or --quantity of
it. What befell it goes with it: a hold, a hot spell, an opened pack.

` + recordedHelp + `

Exit codes: 0 recorded; 1 failure, nothing is recorded; 2 wrong usage.`,
		Example: `  beadline stock move S-2207 --to "line store" --quantity 2
  beadline stock move S-2207 --place "line store" --to "quarantine shelf"`,
		Annotations: map[string]string{"formats": "json"},
		Args:        oneBatch,
		RunE: func(cmd *cobra.Command, args []string) error {
			if to == "" {
				return usagef("say where it went: --to \"line store\"")
			}
			return a.stockAct(cmd, &f, args[0], func(ctx context.Context, r *storeroom.Room, act *storeroom.Act) (*storeroom.Outcome, error) {
				return r.Move(ctx, act, to)
			})
		},
	}
	f.add(cmd, withPart|withQuantity)
	cmd.Flags().StringVar(&to, "to", "", "where it went")
	return cmd
}
