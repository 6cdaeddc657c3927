package main

import (
	"context"
	"crypto/sha256"
	"io"

	"beadline/catalog/shelf"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/desk/storeroom"
	"beadline/cmd/beadline/show"

	"github.com/spf13/cobra"
)

func (a *app) stockLogAirCmd() *cobra.Command {
	var by string
	cmd := &cobra.Command{
		Use:   "log-air PLACE LOG.csv",
		Short: "Attach a store's temperature log to all that stood there",
		Long: `Log-air reads the log of the logger that hangs at a place, and attaches it to each
batch that stood there meanwhile, for the time that it did: what was used up or moved
on since too. It answers which batches are on hold because of it, or to be set aside.

The log is a CSV file: time,temp_c,rh_pct, as beadline times --help has it; --zone is
where its local times are. The readings are not kept, but the name of the file, its
SHA-256, its first and last reading and how many there are: keep the file.

Time that an earlier log of the place covers is not counted twice; where the two
disagree, what is worse for the batch counts. The same log attached twice is recorded
once. Of a day whose hour is not known all of it counts.

Exit codes: 0 done, nothing is worse off by it; 1 failure; 2 wrong usage; 3 something is
on hold because of it; 4 something is to be set aside.`,
		Example:     `  beadline stock log-air "cold store" cold-store-march.csv --zone Atlantic/Faroe`,
		Annotations: map[string]string{"formats": "json"},
		Args:        cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.stockLogAir(cmd.Context(), args[0], args[1], by)
		},
	}
	cmd.Args = func(_ *cobra.Command, args []string) error {
		if len(args) != 2 {
			return usagef(`stock log-air needs a place and its log: beadline stock log-air "cold store" log.csv`)
		}
		return nil
	}
	cmd.Flags().StringVar(&by, "by", "", "who read the logger out")
	return cmd
}

func (a *app) stockLogAir(ctx context.Context, place, file, by string) error {
	j, at, err := a.recording()
	if err != nil {
		return err
	}
	air, err := desk.ReadAir(file, j.Zone())
	if err != nil {
		return err
	}
	data, err := desk.ReadFile(file)
	if err != nil {
		return err
	}
	from := ""
	if by == "" {
		by, from = a.person()
	}
	r, err := a.roomFor(ctx, storeroom.Options{}, j, at)
	if err != nil {
		return err
	}
	defer r.Close()
	d, err := r.LogAir(ctx, &storeroom.AirLog{Place: place, Air: air, SHA256: sha256.Sum256(data), By: by, ByFrom: from})
	if err != nil {
		return err
	}
	err = a.write(forms{
		text: func(w io.Writer) error { return show.Logged(w, d, j.Zone(), a.inUnits()) },
		json: func(w io.Writer) error { return show.LoggedJSON(w, d) },
	})
	if err != nil {
		return err
	}
	worst := shelf.Use
	for _, p := range d.Changed {
		worst = max(worst, p.Checked.Judgement.Verdict)
	}
	return verdictExit(worst)
}
