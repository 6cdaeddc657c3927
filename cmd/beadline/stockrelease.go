package main

import (
	"io"
	"strings"

	"beadline/cmd/beadline/desk/storeroom"
	"beadline/cmd/beadline/show"

	"github.com/spf13/cobra"
)

func (a *app) stockReleaseCmd() *cobra.Command {
	var by, why string
	cmd := &cobra.Command{
		Use:   "release JOB",
		Short: "Give back what is reserved for a job",
		Long: `Release gives back all that plans have reserved for a job, so that others can draw
it. What was drawn for the job is not touched.

Exit codes: 0 done; 1 failure, or nothing is reserved for that job; 2 wrong usage.`,
		Example: `  beadline stock release NF12-0417 --why "the aircraft goes elsewhere"`,
		Args:    oneArg("a job"),

		Annotations: map[string]string{"formats": "json"},
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := noneBlank(cmd.Flags()); err != nil {
				return err
			}
			job := strings.TrimSpace(args[0])
			if job == "" {
				return usagef("the job is empty: write it as its file does, such as NF12-0417")
			}
			by = a.reserver(by)
			r, err := a.room(cmd.Context(), storeroom.Options{})
			if err != nil {
				return err
			}
			defer r.Close()
			done, err := r.Release(cmd.Context(), job, by, why)
			if err != nil {
				return err
			}
			return a.write(forms{
				text: func(w io.Writer) error { return show.Released(w, done, r.Store.Name()) },
				json: func(w io.Writer) error { return show.ReleasedJSON(w, done, r.Store.Name()) },
			})
		},
	}
	cmd.Flags().StringVar(&by, "by", "", "who says so")
	cmd.Flags().StringVar(&why, "why", "", "why")
	return cmd
}
