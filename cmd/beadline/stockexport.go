package main

import (
	"bufio"
	"context"
	"io"

	"beadline/cmd/beadline/desk/storeroom"
	"beadline/cmd/beadline/show"

	"github.com/spf13/cobra"
)

// exportFlags are the words of one `stock export`, as written.
type exportFlags struct {
	out         string
	force, gone bool
}

func (a *app) stockExport(ctx context.Context, f *exportFlags) error {
	if f.out == "" && f.force {
		return usagef("--force is for --out: name the file")
	}
	if a.format == "json" && f.gone {
		return usagef("--gone: --format json has every event already: leave it out")
	}
	r, err := a.room(ctx, storeroom.Options{Read: true})
	if err != nil {
		return err
	}
	defer r.Close()
	write := func(w io.Writer) error { return r.ExportList(ctx, w, f.gone) }
	if a.format == "json" {
		write = func(w io.Writer) error { return r.ExportEvents(ctx, w) }
	}
	if f.out == "" {
		w := bufio.NewWriter(a.out)
		if err := write(w); err != nil {
			return err
		}
		return w.Flush()
	}
	if err := storeroom.WriteFile(f.out, f.force, write); err != nil {
		return err
	}
	if a.format != "text" {
		return nil
	}
	return show.Exported(a.out, r.Store.Name(), f.out, f.gone)
}

func (a *app) stockExportCmd() *cobra.Command {
	var f exportFlags
	cmd := &cobra.Command{
		Use:   "export",
		Short: "The register as a stock list, or all its events",
		Long: `Export writes what is in stock as a stock list, a CSV file that beadline flag, check
and stock import read: the columns are those of flag, and limit-inputs holds all that
the others have no room for. --format json writes every event of the register instead,
one a line, each with its hash. A whole copy that can be restored is beadline stock
backup.

Exit codes: 0 done; 1 failure, and no file is written; 2 wrong usage.`,
		Example: `  beadline stock export > stock.csv
  beadline stock export --gone --out all.csv
  beadline stock export --format json --out events.jsonl`,
		Annotations: map[string]string{"formats": "csv json"},
		Args:        noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := noneBlank(cmd.Flags()); err != nil {
				return err
			}
			return a.stockExport(cmd.Context(), &f)
		},
	}
	cmd.Flags().StringVar(&f.out, "out", "", "write to this file instead")
	cmd.Flags().BoolVar(&f.force, "force", false, "let --out replace a file")
	cmd.Flags().BoolVar(&f.gone, "gone", false, "list what is used up or scrapped too")
	return cmd
}
