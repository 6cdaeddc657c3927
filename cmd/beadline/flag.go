package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"runtime/debug"
	"strings"

	"beadline/catalog/label"
	"beadline/catalog/stock"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/desk/storeroom"
	"beadline/cmd/beadline/show"
	"beadline/cure/quantity"

	"github.com/rickb777/date"
	"github.com/spf13/cobra"
)

// flagFlags are the words of one `flag`, as written.
type flagFlags struct {
	within, location, by string
	draw                 int
	list                 listFlags
	out                  string
	force                bool
}

// listFlags say how a stock list is to be read, as written.
type listFlags struct {
	headings        []string
	order, encoding string
}

func (l *listFlags) add(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringArrayVar(&l.headings, "map", nil, `other people's headings: "Lot No=batch,Exp=expiry"`)
	f.StringVar(&l.order, "date-order", "", "order of dates in numbers alone: dmy, mdy, ymd or yearday")
	f.StringVar(&l.encoding, "encoding", "auto", "how the list is written: auto, utf-8 or windows-1252")
}

// options are the flags as the reader of lists takes them.
func (l *listFlags) options() (o stock.Options, err error) {
	if o.Map, err = stock.ParseMap(l.headings...); err != nil {
		return o, usagef("--map %w", err)
	}
	if o.Order, err = label.ParseOrder(l.order); err != nil {
		return o, usagef("--date-order %q: say dmy, mdy, ymd or yearday", l.order)
	}
	if o.Encoding, err = stock.ParseEncoding(l.encoding); err != nil {
		return o, usagef("--encoding %w", err)
	}
	return o, nil
}

func (a *app) flagCmd() *cobra.Command {
	var f flagFlags
	cmd := &cobra.Command{
		Use:   "flag [STOCK.csv]",
		Short: "What has expired, needs a decision, or ends soon",
		Long: `Flag goes through what the register has in stock, or through a stock list, and writes what it asks of people, most urgent
first: what to set aside today, what a person must decide on, what cannot be
read, and what ends within a time (30 days unless said); then, of each class,
what to draw first. No row is dropped: one without dates, of a class that is not
known, or that cannot be read is listed with the reason.

Without a file it is the register. A list is a CSV file of any size, or - for
standard input. It needs the columns batch and class and may have, in any order:

  dom expiry inspect best-before received    days, as printed
  opened thawed refrozen                     days, or 2027-03-05T08:00
  location quantity unit container gtin      where, and how much
  held                                       why it was set aside
  hot condition                              first moment too hot; damaged ...
  out-used                                   time out of the freezer, as 36h
  code standard polymer                      what its life is counted by
  tested result tested-by authority          its last test, and what an
  reference results extended-to              extension of its life needs
  limit-inputs                               all of this and more, as a register
                                             writes it, in JSON

thawed and refrozen may hold several dates, condition several words, with a
space or | between them. Other columns are kept. --map reads a list that has
other headings; --date-order one whose dates are numbers such as 03/04/2027.

--at is the day to judge for, today unless said. --location leaves out what is
known to be elsewhere; of the register it may be a site: North for what stands at
"North / cold store". --by location groups the rows, the most urgent place first.

Of the register each row is what of a batch stands at one place, or a container of
it, known by batch, maker, container and place: no line is given (in JSON it is
null, in CSV empty).

--format pdf, or --out with a name that ends in .pdf, makes pages for the board
of the store, A4 or US letter by --units: a box to tick on each row, a place to
sign for what is set aside, decided and corrected. 500 pages at most; what is
not on them is counted.

Exit codes: 0 nothing to set aside or to decide; 1 failure; 2 wrong usage;
3 something is on hold or not readable; 4 something must be set aside.`,
		Example: `  beadline flag
  beadline flag stock.csv
  beadline flag stock.csv --within P60D --location "rack 2"
  beadline flag export.csv --map "Lot No=batch,Exp=expiry" --date-order dmy
  beadline flag stock.csv --by location --out flags.pdf
  beadline flag - --at 2027-04-01 --format csv < stock.csv`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usagef("%s takes one stock list, not also %q: %s", cmd.CommandPath(), args[1], cmd.UseLine())
			}
			return nil
		},
		Annotations: map[string]string{"formats": "json csv pdf"},
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				if given := givenAny(cmd.Flags(), "map", "date-order", "encoding"); given != nil {
					return usagef("--%s is for reading a stock list: name its file, or leave it out for the register", given[0])
				}
			}
			return a.flag(cmd.Context(), args, f)
		},
	}
	cmd.Flags().StringVar(&f.within, "within", "P30D", "how soon is soon, such as 6 weeks or P2M")
	cmd.Flags().StringVar(&f.location, "location", "", "only what is at this location, or may be; of the register also a site")
	cmd.Flags().StringVar(&f.by, "by", "", "group the rows: by location")
	cmd.Flags().IntVar(&f.draw, "draw", 3, "how many batches of a class to name that are drawn first")
	cmd.Flags().StringVar(&f.out, "out", "", "write pages to pin up to a file: flags.pdf")
	cmd.Flags().BoolVar(&f.force, "force", false, "let --out replace a file")
	f.list.add(cmd)
	return cmd
}

// maxDraw is how many batches of a class can be asked for.
const maxDraw = 1000

// question is what the flags ask, but for the day that soon ends.
func (f *flagFlags) question() (q desk.FlagQuestion, err error) {
	switch {
	case f.by != "" && f.by != "location":
		return q, usagef("--by %q: the rows can be grouped by location only", f.by)
	case f.draw < 0 || f.draw > maxDraw:
		return q, usagef("--draw %d: say how many batches of a class, 0 to %d", f.draw, maxDraw)
	}
	q = desk.FlagQuestion{Location: strings.TrimSpace(f.location), ByLocation: f.by != "", Draw: f.draw}
	q.Stock, err = f.list.options()
	return q, err
}

// flag goes through one stock list; the exit code is the severest verdict.
func (a *app) flag(ctx context.Context, files []string, words flagFlags) error {
	soon, err := quantity.Life(words.within)
	if err != nil {
		return usagef("--within %q: say how soon, with its unit: P30D, 6 weeks or 2 months", words.within)
	}
	q, err := words.question()
	if err != nil {
		return err
	}
	pdf, err := a.pdfWanted(words)
	if err != nil {
		return err
	}
	now, err := a.now()
	if err != nil {
		return err
	}
	if a.at != "" && !desk.IsDay(a.at) {
		a.note(fmt.Sprintf("--at %s: a list is judged for whole days, so the hour is not used.", a.at))
	}
	c, err := a.classes()
	if err != nil {
		return err
	}
	j := desk.NewJudge(c, date.NewAt(now))
	l, err := a.flagList(ctx, j, files, q)
	if err != nil {
		return err
	}
	defer l.Close()
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(-1)) // Judge.Flag bounds it
	defer debug.SetGCPercent(debug.SetGCPercent(400))    // little is kept and much let go: a sixth of the time was looking for it
	q.Until = label.AddLife(j.On, soon)
	f, err := j.Flag(l, q)
	if err != nil {
		return err
	}
	if pdf {
		err = a.flagPDF(f, words.out)
	} else {
		err = a.write(forms{
			text: func(w io.Writer) error { return show.Flag(w, f, a.inUnits()) },
			json: func(w io.Writer) error { return show.FlagJSON(w, f) },
			csv:  func(w io.Writer) error { return show.FlagCSV(w, f) },
		})
	}
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

// flagList is the list of a file, or the stock of the register where none is named.
func (a *app) flagList(ctx context.Context, j *desk.Judge, files []string, q desk.FlagQuestion) (*desk.List, error) {
	if len(files) > 0 {
		return desk.OpenList(a.in, files[0], q.Stock.Encoding)
	}
	r, err := a.readRoom(ctx, j)
	if errors.Is(err, errNoRegister) {
		return nil, usagef("flag needs a stock list, beadline flag STOCK.csv, or a register: %w", err)
	}
	if err != nil {
		return nil, err
	}
	return r.Flow(ctx, register.RowFilter{})
}

// errNoRegister is that nobody has named a register, and the one that is used then is not
// there.
var errNoRegister = errors.New("there is none yet; beadline stock receive makes it with the first batch, beadline stock import with a list")

// readRoom opens the register for those who only read it. The judge has been asked.
func (a *app) readRoom(ctx context.Context, j *desk.Judge) (*storeroom.Room, error) {
	now, err := a.now()
	if err != nil {
		return nil, err
	}
	r, err := a.roomFor(ctx, storeroom.Options{Read: true}, j, register.AtInstant(now))
	if _, named := a.registerName(); !named && errors.Is(err, register.ErrMissing) {
		return nil, errNoRegister
	}
	return r, err
}
