package main

import (
	"context"

	"beadline/catalog/shelf"
	"beadline/cmd/beadline/desk/storeroom"

	"github.com/spf13/cobra"
)

func (a *app) stockHoldCmd() *cobra.Command {
	var f actFlags
	var conditions []string
	cmd := &cobra.Command{
		Use: "hold BATCH --why REASON | --condition WORD",

		DisableFlagsInUseLine: true,

		Short: "Set it aside until a person with authority has decided",
		Long: `Hold sets a batch aside: all of it and what comes in of it later, or the part that
--container or --place names. --why says why; --condition says what is wrong with it:
damaged, separated and label-gone hold it, cloudy and skinned reject it. Stock free
lifts what may be lifted.

` + recordedHelp + `

Exit codes: 0 recorded; 1 failure, nothing is recorded; 2 wrong usage.`,
		Example: `  beadline stock hold S-2207 --why "the maker asks about it"
  beadline stock hold S-2207 --container 2 --condition damaged --why "dropped"`,
		Annotations: map[string]string{"formats": "json"},
		Args:        oneBatch,
		RunE: func(cmd *cobra.Command, args []string) error {
			var c shelf.Condition
			for _, word := range conditions {
				one, err := shelf.ParseCondition(word)
				if err != nil {
					return usagef("--condition %w", err)
				}
				c |= one
			}
			return a.stockAct(cmd, &f, args[0], func(ctx context.Context, r *storeroom.Room, act *storeroom.Act) (*storeroom.Outcome, error) {
				return r.Hold(ctx, act, c)
			})
		},
	}
	f.add(cmd, withPart)
	cmd.Flags().StringArrayVar(&conditions, "condition", nil, "what is wrong: damaged, cloudy, skinned, separated or label-gone; repeat it")
	return cmd
}
