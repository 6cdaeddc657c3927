package main

import (
	"context"
	"slices"
	"strings"

	"beadline/catalog/shelf"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/desk/storeroom"

	"github.com/spf13/cobra"
)

func (a *app) stockFreeCmd() *cobra.Command {
	var f actFlags
	var limit string
	cmd := &cobra.Command{
		Use: "free BATCH --by NAME --authority OFFICE --reference PAPER",

		DisableFlagsInUseLine: true,

		Short: "Lift a hold: who stands for it, and on what paper",
		Long: `Free lifts a hold: a person with authority and a reference stands for it, and that is
printed with the batch ever after. ` + whoHelp + ` --why says what was found.

--limit says which hold, as the answer of check names it: held, condition,
storage-bounds, receipt or far-date. Where only one stands that may be lifted it may be
left out, and the answer names it. A reject is never lifted, nor a date that has passed:
more life comes by stock test and stock extend, or not at all.

` + recordedHelp + `

Exit codes: 0 it may be used now; 1 failure, nothing is recorded; 2 wrong usage; 3 it is
lifted, and another hold stands; 4 it is lifted, and still not to be used.`,
		Example: `  beadline stock free S-2207 --by "A. Inspector" --authority "quality office" \
      --reference "QN 12" --why "certificate C-118 has come"`,
		Annotations: map[string]string{"formats": "json"},
		Args:        oneBatch,
		RunE: func(cmd *cobra.Command, args []string) error {
			if all := desk.Freeable(); limit != "" && !slices.Contains(all, limit) {
				return usagef("--limit %s: no hold is lifted by that name: say one of %s", limit, strings.Join(all, ", "))
			}
			return a.stockAct(cmd, &f, args[0], func(ctx context.Context, r *storeroom.Room, act *storeroom.Act) (*storeroom.Outcome, error) {
				return r.Free(ctx, act, shelf.Name(limit))
			})
		},
	}
	f.add(cmd, withPart)
	cmd.Flags().StringVar(&limit, "limit", "", "the hold that is lifted: held, condition, storage-bounds, receipt or far-date")
	return cmd
}
