package main

import (
	"io"
	"strings"

	"beadline/catalog/label"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"
	"beadline/cure/quantity"

	"github.com/rickb777/date"
	"github.com/spf13/cobra"
)

func (a *app) flagCmd() *cobra.Command {
	var within, location string
	cmd := &cobra.Command{
		Use:   "flag STOCK.csv",
		Short: "What has expired, needs a decision, or ends soon",
		Long: `Flag goes through a stock list and writes what it asks of people, most urgent
first: what to set aside today, what a person must decide on, what cannot be
read, and what ends within a time (30 days unless said). No row is dropped: one
without dates, of a class that is not known, or that cannot be read is listed
with the reason.

The list is a CSV file, or - for standard input, with the columns batch, class,
dom, expiry, inspect, opened, thawed, location, quantity, unit and held in any
order; only the first two are needed, and others are kept. thawed may hold
several dates. --at is the day to judge for, today unless said. --location
leaves out what is known to be elsewhere.

Exit codes: 0 nothing to set aside or to decide; 1 failure; 2 wrong usage;
3 something is on hold or not readable; 4 something must be set aside.`,
		Example: `  beadline flag stock.csv
  beadline flag stock.csv --within P60D --location "rack 2"
  beadline flag - --at 2027-04-01 --format csv < stock.csv`,
		Args:        oneArg("a stock list"),
		Annotations: map[string]string{"formats": "json csv"},
		RunE:        func(_ *cobra.Command, args []string) error { return a.flag(args[0], within, location) },
	}
	cmd.Flags().StringVar(&within, "within", "P30D", "how soon is soon, such as 6 weeks or P2M")
	cmd.Flags().StringVar(&location, "location", "", "only what is at this location, or may be")
	return cmd
}

// flag goes through one stock list; the exit code is the severest verdict.
func (a *app) flag(file, within, location string) error {
	soon, err := quantity.Life(within)
	if err != nil {
		return usagef("--within %q: say how soon, with its unit: P30D, 6 weeks or 2 months", within)
	}
	now, err := a.now()
	if err != nil {
		return err
	}
	c, err := a.classes()
	if err != nil {
		return err
	}
	r, name, err := a.openList(file)
	if err != nil {
		return err
	}
	defer r.Close()
	j := desk.NewJudge(c, date.NewAt(now))
	f, err := j.Flag(r, name, label.AddLife(j.On, soon), strings.TrimSpace(location))
	if err != nil {
		return err
	}
	err = a.write(forms{
		text: func(w io.Writer) error { return show.Flag(w, f, a.inUnits()) },
		json: func(w io.Writer) error { return show.FlagJSON(w, f) },
		csv:  func(w io.Writer) error { return show.FlagCSV(w, f) },
	})
	switch {
	case err != nil:
		return err
	case f.Counts.Reject > 0:
		return answer(exitReject)
	case f.Counts.Hold+f.Counts.Unreadable > 0:
		return answer(exitHold)
	}
	return nil
}
