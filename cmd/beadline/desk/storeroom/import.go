package storeroom

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
)

// Listing is a stock list that is to become a register, or a part of one.
type Listing struct {
	From *desk.List
	How  stock.Options
	// Place, Unit and Maker stand where a row says none.
	Place, Unit, Maker string
	// Classes says which of our classes a word of the list stands for.
	Classes map[string]string
	By      string
	ByFrom  string // see Act
	Write   bool   // record it; else it is only looked at
	All     bool   // keep every line for the answer, not the first few
}

// PaperColumns are the columns of a list that an import has a use for beside those of
// package stock: who made it, and its papers.
func PaperColumns() []string {
	return []string{colMaker, colCertificate, colSupplier, colOrder, colMakerBatch, colPack}
}

const (
	colMaker       = "maker"
	colCertificate = "certificate"
	colSupplier    = "supplier"
	colOrder       = "order"
	colMakerBatch  = "maker-batch"
	colPack        = "pack"
)

// Imported is what an import found, and what it recorded.
type Imported struct {
	Register, List string
	SHA256         register.Hash // of the list
	Wrote          bool
	Rows           int // in the list, the bad ones too
	New, Batches   int // rows, and batches, that are recorded, or would be
	Known          int // rows recorded by an earlier import of this very list
	Verdicts       [3]int
	// Lines are the rows that are recorded or would be, in the list's order: all, or the
	// first few.
	Lines      []ImportLine
	Bad        []ImportLine // all of the wrong ones
	Assumed    []string
	Notes      []string
	NeedsOrder bool                 // dates of numbers alone, and nobody said in which order
	Checkpoint *register.Checkpoint // made once it is recorded; or nil
}

// ImportLine is a row of a list as it is recorded, or what is wrong with it.
type ImportLine struct {
	Line   int
	Batch  register.Batch
	Event  *register.Event // nil: it is wrong
	Known  bool            // it was recorded before
	Wrong  string          // what is wrong and what would be right
	Answer shelf.Verdict   // for the day that the judge was asked about
	Why    string          // of the answer, where it is not use and the line is named

	dated bool // it says when it was received
}

// fewLines is how many good lines are kept for an answer that names the first few.
const fewLines = 20

// Import records the rows of a stock list, each as the receipt of what it says, all or
// nothing: one bad row, and nothing is recorded. Without Listing.Write it only says what
// it would do. The same list twice is recorded once.
//
// Errors are of the list or the register as such. What is wrong with a row is in
// Imported.Bad.
func (r *Room) Import(ctx context.Context, w *Listing) (*Imported, error) {
	for try := 0; ; try++ {
		im := &importing{Room: r, Listing: w, ctx: ctx, files: map[string]string{}, did: &Imported{Register: r.Store.Name(), List: w.From.Name}}
		err := im.all()
		again := errors.Is(err, register.ErrConflict) || errors.Is(err, register.ErrUnknown)
		if err == nil || !again || try == 3 {
			return im.did, err
		}
	}
}

// importing is one going through a list: twice, first for which rows are of which batch,
// then batch by batch in the order of their keys.
type importing struct {
	*Room
	*Listing
	ctx   context.Context
	did   *Imported
	sum   register.Hash
	extra map[string]string // our name of a paper column -> heading
	rows  []rowAt           // by key, then line
	there map[string][]register.Batch
	alike map[string]string // a number in small letters -> as it is in the register
	parse *stock.Parser
	raw   []byte
	upTo  int // the last line that is kept for the answer
	said  assumptions
	files map[string]string // of each class the file on the command line that alone has it; "": none
}

// rowAt is where a row of a batch is, and that the next one is not before so many bytes.
type rowAt struct {
	key  register.Key
	at   stock.At
	size int32
}

// errBad ends a transaction that must not come through.
var errBad = errors.New("the list has bad rows")

func (im *importing) all() error {
	sum, err := im.From.SHA256()
	if err != nil {
		return err
	}
	im.sum, im.did.SHA256 = sum, sum
	if err := im.index(); err != nil {
		return err
	}
	if err := im.inRegister(); err != nil {
		return err
	}
	if im.Write && len(im.did.Bad) == 0 {
		err = im.record()
	} else {
		err = im.look()
	}
	if err != nil {
		return err
	}
	if err := im.From.Same(); err != nil {
		return err
	}
	slices.SortStableFunc(im.did.Bad, func(a, b ImportLine) int { return a.Line - b.Line })
	slices.SortFunc(im.did.Lines, func(a, b ImportLine) int { return a.Line - b.Line })
	im.did.Assumed = im.said.words(im)
	im.did.Notes = append(im.did.Notes, im.unkept()...)
	if im.ByFrom != "" {
		im.did.Assumed = append(im.did.Assumed, whoWords(im.By, im.ByFrom))
	}
	return nil
}

// index goes through the list: which rows cannot be read, and of which batch the others
// are.
func (im *importing) index() error {
	im.How.Today = im.Judge.On
	var lines []int
	report, err := im.From.Each(im.How, func(at stock.At, row stock.Row) error {
		if im.extra == nil {
			var names []string
			for _, f := range row.Extra {
				names = append(names, f.Column)
			}
			im.extra = im.headings(names)
		}
		b, err := register.MakeBatch(row.Item.Batch, im.makerOf(&row))
		if err != nil {
			im.bad(at.Line, register.Batch{Number: row.Item.Batch}, err.Error())
			return nil
		}
		if len(lines) < fewLines {
			lines = append(lines, at.Line)
		}
		im.sized(at.Offset)
		im.rows = append(im.rows, rowAt{key: b.Key(), at: at})
		return im.ctx.Err()
	})
	if err != nil {
		return err
	}
	im.sized(im.From.Size())
	if im.extra == nil { // no row could be read
		im.extra = im.headings(report.Columns)
	}
	im.did.Rows = report.Rows + len(report.Bad)
	for _, b := range report.Bad {
		im.did.NeedsOrder = im.did.NeedsOrder || im.How.Order == label.OrderUnknown && strings.Contains(b.Reason, "--date-order")
		im.bad(b.Line, register.Batch{Number: b.Batch}, b.Reason)
	}
	im.did.Notes = append(im.did.Notes, report.Warnings...)
	if note := im.notKept(&report); note != "" {
		im.did.Notes = append(im.did.Notes, note)
	}
	if n := len(lines); n > 0 {
		im.upTo = lines[n-1]
	}
	slices.SortFunc(im.rows, func(a, b rowAt) int { return cmp.Or(cmp.Compare(a.key, b.key), a.at.Line-b.at.Line) })
	return nil
}

// sized says where the row that was indexed last ends at the latest.
func (im *importing) sized(end int64) {
	if n := len(im.rows); n > 0 {
		im.rows[n-1].size = int32(min(end-im.rows[n-1].at.Offset, mostRow))
	}
}

// mostRow is more than a row can have: a line may be 1 MiB long, and a quoted field have
// several.
const mostRow = 64 << 20

func (im *importing) bad(line int, b register.Batch, wrong string) {
	im.did.Bad = append(im.did.Bad, ImportLine{Line: line, Batch: b, Wrong: wrong})
}

// headings are the columns of papers that the list has.
func (im *importing) headings(columns []string) map[string]string {
	found := map[string]string{}
	for _, name := range PaperColumns() {
		heading := im.How.Map.Heading(name)
		for _, c := range columns {
			if strings.EqualFold(c, heading) {
				found[name] = c
			}
		}
	}
	return found
}

// paper is what a row has in a column of papers; ok is false if the list has none.
func (im *importing) paper(row *stock.Row, name string) (text string, ok bool) {
	heading, ok := im.extra[name]
	if !ok {
		return "", false
	}
	for _, f := range row.Extra {
		if f.Column == heading {
			text = strings.TrimSpace(f.Value)
		}
	}
	return text, true
}

func (im *importing) makerOf(row *stock.Row) string {
	if text, _ := im.paper(row, colMaker); text != "" {
		return text
	}
	return im.Maker
}

// notKept names the columns of the list that nothing is made of.
func (im *importing) notKept(report *stock.Report) string {
	var names []string
	for i, name := range report.Columns {
		used := report.Means[i] != "" || name == ""
		for _, heading := range im.extra {
			used = used || heading == name
		}
		if !used {
			names = append(names, name)
		}
	}
	switch len(names) {
	case 0:
		return ""
	case 1:
		return fmt.Sprintf("The column %s is not kept: keep the list, or say by --map what it is.", names[0])
	}
	return fmt.Sprintf("The columns %s are not kept: keep the list, or say by --map what they are. The columns that there are: dom (made), expiry, location, quantity, unit, opened, thawed, received, certificate; all of them: beadline flag --help.", joinAnd(names))
}

// inRegister finds which of the batch numbers the register has: one by one for a short
// list, by going through all for a long one.
func (im *importing) inRegister() error {
	im.there, im.alike = map[string][]register.Batch{}, map[string]string{}
	totals, err := im.Store.Totals(im.ctx)
	if err != nil || totals.Lines == 0 {
		return err
	}
	if len(im.rows) < 1000 || len(im.rows) < totals.Lines/50 {
		for _, row := range im.rows {
			b, _ := row.key.Batch()
			if _, asked := im.there[b.Number]; asked {
				continue
			}
			if im.there[b.Number], err = im.makers(im.ctx, b.Number); err != nil {
				return err
			}
			for _, other := range []string{strings.ToUpper(b.Number), strings.ToLower(b.Number)} {
				if there, err := im.makers(im.ctx, other); err != nil {
					return err
				} else if len(there) > 0 {
					im.alike[strings.ToLower(b.Number)] = other
				}
			}
		}
		return nil
	}
	wanted, small := make(map[string]bool, len(im.rows)), make(map[string]bool, len(im.rows))
	for _, row := range im.rows {
		b, _ := row.key.Batch()
		wanted[b.Number], small[strings.ToLower(b.Number)] = true, true
	}
	return im.Store.Lines(im.ctx, "", func(h register.Head) bool {
		b, ok := h.Key.Batch()
		if ok && wanted[b.Number] {
			im.there[b.Number] = append(im.there[b.Number], b)
		}
		if low := strings.ToLower(b.Number); ok && small[low] {
			im.alike[low] = b.Number
		}
		return true
	})
}

// look goes through the batches without recording them.
func (im *importing) look() error {
	for {
		w, err := im.next()
		if err != nil || w == nil {
			return err
		}
	}
}

// record records them, and makes a checkpoint.
func (im *importing) record() error {
	err := im.AddFresh(im.ctx, func() (*register.Write, error) {
		w, err := im.next()
		if err == nil && w == nil && len(im.did.Bad) > 0 {
			err = errBad
		}
		return w, err
	})
	switch {
	case errors.Is(err, errBad):
		return nil
	case err != nil:
		return err
	}
	im.did.Wrote = true
	im.did.Checkpoint, err = im.Room.Checkpoint(im.ctx, im.By)
	return err
}

// next is what is recorded of the next batch that is not there yet; nil behind the last.
// Once a row is bad the rest is only looked at.
func (im *importing) next() (*register.Write, error) {
	for len(im.rows) > 0 {
		n := 1
		for n < len(im.rows) && im.rows[n].key == im.rows[0].key {
			n++
		}
		group := im.rows[:n]
		im.rows = im.rows[n:]
		w, err := im.batch(group)
		if err != nil {
			return nil, err
		}
		if w != nil && (!im.Write || len(im.did.Bad) == 0) {
			return w, im.ctx.Err()
		}
	}
	return nil, nil
}
