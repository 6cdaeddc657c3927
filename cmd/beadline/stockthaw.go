package main

import (
	"context"

	"beadline/cmd/beadline/desk/storeroom"

	"github.com/spf13/cobra"
)

func (a *app) stockThawCmd() *cobra.Command {
	var f actFlags
	var as string
	var back bool
	cmd := &cobra.Command{
		Use: "thaw BATCH [--refreeze]",

		DisableFlagsInUseLine: true,

		Short: "It left the freezer, or went back: until when may it be used?",
		Long: `Thaw records that a pack left the freezer, and says until when it may be used. One
of several becomes a container of its own: the answer says which number to write on
it, or --as does. With --quantity several that are thawed at once become one container.
--refreeze records that it went back; most classes may be thawed once only, and the
answer says so the second time.

` + recordedHelp + `

Exit codes: 0 it may be used; 1 failure, nothing is recorded; 2 wrong usage; 3 it is
recorded, and on hold; 4 it is recorded, and not to be used.`,
		Example: `  beadline stock thaw P-11
  beadline stock thaw P-11 --container 1 --refreeze`,
		Annotations: map[string]string{"formats": "json"},
		Args:        oneBatch,
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.stockAct(cmd, &f, args[0], func(ctx context.Context, r *storeroom.Room, act *storeroom.Act) (*storeroom.Outcome, error) {
				if back {
					return r.Refreeze(ctx, act, as)
				}
				return r.Thaw(ctx, act, as)
			})
		},
	}
	f.add(cmd, withPart|withQuantity)
	cmd.Flags().StringVar(&as, "as", "", "container number that it gets (default: the next that is free)")
	cmd.Flags().BoolVar(&back, "refreeze", false, "it went back into the freezer")
	return cmd
}
