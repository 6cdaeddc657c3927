package main

import (
	"context"
	"errors"
	"io"
	"strings"

	"beadline/catalog/label"
	"beadline/catalog/stock"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/desk/storeroom"
	"beadline/cmd/beadline/show"

	"github.com/spf13/cobra"
)

// importFlags are the words of one `stock import`, as written.
type importFlags struct {
	list                   listFlags
	place, unit, maker, by string
	classes                []string
	write, all             bool
}

func (a *app) stockImportCmd() *cobra.Command {
	var f importFlags
	cmd := &cobra.Command{
		Use:   "import LIST.csv",
		Short: "A stock list into the register: looked at first, then --write",
		Long: `Import reads a stock list, as a spreadsheet exports it, and records each row as what
was received: its label, how much, where, and all else that the row says (opened,
thawed, tested, held ...). Without --write nothing is recorded: it says of each row
what would be, or what is wrong with it and what would be right. With --write it is
all or nothing: one wrong row, and nothing is recorded. The same list imported twice
is recorded once.

The list has the columns that beadline flag --help names; --map reads other
headings, --classes other words for a class. It may also have the columns maker,
certificate, supplier, order, maker-batch and pack, or they are mapped. Where it has a
column certificate, a row without one is held; where it has none, what is there counts
as received with its papers. A row without a day of receipt counts as received now, or
at --at.

Several rows of one batch are several containers of it, or places where it is. A
batch that the register has already is refused, unless it came from this very list.

Exit codes: 0 all rows can be recorded, or are; 1 a row is wrong, or another failure:
nothing is recorded; 2 wrong usage.`,
		Example: `  beadline stock import stock.csv --map "Lot No=batch,Exp.=expiry" \
      --classes "B-2 tank sealant=polysulfide-b-2" --date-order dmy
  beadline stock import stock.csv --place "cold store" --unit kit --write`,
		Annotations: map[string]string{"formats": "json"},
		Args:        oneArg("a stock list"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := noneBlank(cmd.Flags()); err != nil {
				return err
			}
			return a.stockImport(cmd.Context(), args[0], &f)
		},
	}
	f.list.add(cmd)
	fl := cmd.Flags()
	fl.BoolVar(&f.write, "write", false, "record it; without, it is only looked at")
	fl.BoolVar(&f.all, "all", false, "name every row, not the first few")
	fl.StringVar(&f.place, "place", "", "where it is, for rows that do not say")
	fl.StringVar(&f.unit, "unit", "", "what it counts in, for rows that do not say: kit, cartridge, ml, g ...")
	fl.StringVar(&f.maker, "maker", "", "who made it, for rows that do not say")
	fl.StringVar(&f.by, "by", "", "who imports it")
	fl.StringArrayVar(&f.classes, "classes", nil, `classes by the list's words: "B-2 tank sealant=polysulfide-b-2"`)
	return cmd
}

// listing is the flags as the desk takes them.
func (a *app) listing(f *importFlags) (w storeroom.Listing, err error) {
	w = storeroom.Listing{Place: f.place, Unit: f.unit, Maker: f.maker, By: f.by, Write: f.write, All: f.all || a.format == "json"}
	if w.By == "" {
		w.By, w.ByFrom = a.person()
	}
	if w.How.Map, err = stock.ParseMapWith(storeroom.PaperColumns(), f.list.headings...); err != nil {
		return w, usagef("--map %w", err)
	}
	if w.How.Order, err = label.ParseOrder(f.list.order); err != nil {
		return w, usagef("--date-order %q: say dmy, mdy, ymd or yearday", f.list.order)
	}
	if w.How.Encoding, err = stock.ParseEncoding(f.list.encoding); err != nil {
		return w, usagef("--encoding %w", err)
	}
	w.Classes, err = classWords(f.classes)
	return w, err
}

// classWords reads which class each word of a list stands for: "word=class", a comma
// between two; a word may hold commas itself.
func classWords(texts []string) (map[string]string, error) {
	found := map[string]string{}
	for _, text := range texts {
		word := ""
		for part := range strings.SplitSeq(text, ",") {
			word += part
			cut := strings.LastIndexByte(word, '=')
			if cut < 0 {
				word += ","
				continue
			}
			from, to := strings.TrimSpace(word[:cut]), strings.TrimSpace(word[cut+1:])
			if from == "" || to == "" {
				return nil, usagef(`--classes %q: write the list's word, an equals sign and our class, like "B-2 tank sealant=polysulfide-b-2"`, text)
			}
			for old, was := range found {
				if strings.EqualFold(old, from) && was != to {
					return nil, usagef("--classes: %q is said to be %s and %s: keep one", from, was, to)
				}
			}
			found[from], word = to, ""
		}
		if word != "" {
			return nil, usagef(`--classes %q: write the list's word, an equals sign and our class, like "B-2 tank sealant=polysulfide-b-2"`, text)
		}
	}
	return found, nil
}

func (a *app) stockImport(ctx context.Context, file string, f *importFlags) error {
	w, err := a.listing(f)
	if err != nil {
		return err
	}
	w.From, err = desk.OpenList(a.in, file, w.How.Encoding)
	if err != nil {
		return err
	}
	defer w.From.Close()
	did, err := a.importInto(ctx, &w)
	if err != nil {
		return err
	}
	err = a.write(forms{
		text: func(to io.Writer) error { return show.Imported(to, did) },
		json: func(to io.Writer) error { return show.ImportedJSON(to, did) },
	})
	if err == nil && len(did.Bad) > 0 {
		return answer(exitFailure)
	}
	return err
}

// importInto opens the register and imports into it. One that is not there yet is made
// only once the list is found good.
func (a *app) importInto(ctx context.Context, w *storeroom.Listing) (*storeroom.Imported, error) {
	r, err := a.room(ctx, storeroom.Options{Read: !w.Write})
	if errors.Is(err, register.ErrMissing) {
		if r, err = a.unmadeRoom(); err != nil {
			return nil, err
		}
		if err := knownClasses(r, w); err != nil {
			return nil, err
		}
		look := *w
		look.Write = false
		did, err := r.Import(ctx, &look)
		if err != nil || !w.Write || len(did.Bad) > 0 {
			return did, err
		}
		r, err = a.room(ctx, storeroom.Options{Create: true})
		if err != nil {
			return nil, err
		}
	}
	if err != nil {
		return nil, err
	}
	defer r.Close()
	if err := knownClasses(r, w); err != nil {
		return nil, err
	}
	return r.Import(ctx, w)
}

// knownClasses refuses --classes that name one that is not in the catalog.
func knownClasses(r *storeroom.Room, w *storeroom.Listing) error {
	for _, class := range w.Classes {
		if err := r.Judge.Known(class); err != nil {
			return usagef("--classes: %w", err)
		}
	}
	return nil
}
