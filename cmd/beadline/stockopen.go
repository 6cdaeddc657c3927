package main

import (
	"context"

	"beadline/cmd/beadline/desk/storeroom"

	"github.com/spf13/cobra"
)

func (a *app) stockOpenCmd() *cobra.Command {
	var f actFlags
	var as string
	cmd := &cobra.Command{
		Use: "open BATCH",

		DisableFlagsInUseLine: true,

		Short: "A pack was opened: until when may it be used?",
		Long: `Open records that a pack was opened, and says until when it may be used. One of
several packs becomes a container of its own: the answer says which number to write
on it, or --as does. With --quantity several that were opened at once become one
container. What is measured, in ml or g, is opened as a whole unless --quantity says
how much of it.

` + recordedHelp + `

Exit codes: 0 it may be used; 1 failure, nothing is recorded; 2 wrong usage; 3 it is
recorded, and on hold; 4 it is recorded, and not to be used.`,
		Example: `  beadline stock open S-2207
  beadline stock open S-2207 --container 2 --at 2027-03-08T06:30`,
		Annotations: map[string]string{"formats": "json"},
		Args:        oneBatch,
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.stockAct(cmd, &f, args[0], func(ctx context.Context, r *storeroom.Room, act *storeroom.Act) (*storeroom.Outcome, error) {
				return r.Open(ctx, act, as)
			})
		},
	}
	f.add(cmd, withPart|withQuantity)
	cmd.Flags().StringVar(&as, "as", "", "container number that it gets (default: the next that is free)")
	return cmd
}
