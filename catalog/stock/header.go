package stock

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"beadline/cure/nearest"
)

// header is the columns of a list, and how its rows are read.
type header struct {
	names    []string
	at       [numColumns]int // field of each known column; -1: it has none
	extra    []int           // fields of the others
	rare     []int           // fields of the known columns that few rows fill
	warnings []string
	opts     Options
	dates    dateReader
	sep      byte
	how      Encoding // as asked for, or as the list says
	odd      int      // the line of the header, if it was read as Windows-1252; else 0
}

// separators are those that a list may have. The one is taken that makes the most
// known columns, of equals the one that makes the most columns.
var separators = []byte{',', ';', '\t'}

// readHeader reads the first line with anything on it and finds out which
// separator the file has.
func readHeader(in *records, name string, o Options) (*header, error) {
	line, err := in.firstLine()
	if err == nil && namesSeparator(line) {
		line, err = in.firstLine()
	}
	if err == io.EOF {
		return nil, fmt.Errorf("%s: the file is empty: it needs a header such as batch,class,expiry", name)
	}
	if err != nil {
		return nil, fmt.Errorf("%s:%d: %w", name, max(1, in.line), err)
	}
	var best *header
	for _, sep := range separators {
		fields, whole, ok := split(line, sep, nil)
		if !whole || !ok {
			continue
		}
		h := newHeader(fields, o, sep)
		if best == nil || h.found() > best.found() || h.found() == best.found() && len(h.names) > len(best.names) {
			best = h
		}
	}
	if best == nil {
		return nil, fmt.Errorf("%s:%d: the quotes in the header do not close: write a header such as batch,class,expiry", name, in.line)
	}
	if err := best.check(); err != nil {
		return nil, fmt.Errorf("%s:%d: %w", name, in.line, err)
	}
	for i, w := range best.warnings {
		best.warnings[i] = fmt.Sprintf("%s:%d: %s", name, in.line, w)
	}
	in.sep, best.how, best.odd = best.sep, in.decode.how, in.decode.line
	return best, nil
}

// namesSeparator reports whether a line is no header but names the separator for a
// spreadsheet, as in sep=; (common practice, no source). It is passed over: the header
// says the same.
func namesSeparator(line string) bool {
	s := strings.Trim(line, `" `)
	return len(s) == len("sep=;") && strings.EqualFold(s[:4], "sep=")
}

func newHeader(fields []string, o Options, sep byte) *header {
	h := &header{opts: o, sep: sep, dates: newDateReader(o)}
	for c := range h.at {
		h.at[c] = -1
	}
	for i, f := range fields {
		f = strings.TrimSpace(f)
		h.names = append(h.names, f)
		c, ok := h.meaning(f)
		if ok && h.at[c] < 0 {
			h.at[c] = i
			if c.rare() {
				h.rare = append(h.rare, i)
			}
		} else {
			h.extra = append(h.extra, i)
		}
	}
	return h
}

// meaning is the column that a heading stands for.
func (h *header) meaning(heading string) (c column, ok bool) {
	if c, ok, mapped := h.opts.Map.find(heading); mapped {
		return c, ok
	}
	return columnNamed(heading)
}

// found is how many headings mean something, or are at least named by the map.
func (h *header) found() int {
	n := len(h.names) - len(h.extra)
	for _, i := range h.extra {
		if _, ok, mapped := h.opts.Map.find(h.names[i]); mapped && !ok {
			n++
		}
	}
	return n
}

// means are the columns that the headings stand for, "" for none.
func (h *header) means() []string {
	all := make([]string, len(h.names))
	for c, i := range h.at {
		if i >= 0 {
			all[i] = column(c).String()
		}
	}
	return all
}

// check refuses a header that rows cannot be read by, and warns of columns that
// look misspelt.
func (h *header) check() error {
	for i, name := range h.names {
		if !utf8.ValidString(name) || strings.ContainsFunc(name, unicode.IsControl) {
			return fmt.Errorf("the name of column %d, %s, is not plain UTF-8 text: save the list as CSV UTF-8", i+1, quote(name))
		}
	}
	if err := h.checkMap(); err != nil {
		return err
	}
	var ask, maps []string
	for _, i := range h.extra {
		name := h.names[i]
		if c, ok := h.meaning(name); ok {
			return h.twice(c, i)
		}
		if _, _, mapped := h.opts.Map.find(name); mapped {
			continue
		}
		if c, decides := decidingColumn(name); decides && h.at[c] < 0 {
			ask = append(ask, fmt.Sprintf("column %d, %s, may be %s", i+1, quote(name), c))
			maps = append(maps, name+"="+c.String())
			continue
		}
		if c, near := columnNear(name); near && h.at[c] < 0 {
			h.warnings = append(h.warnings, fmt.Sprintf("column %d, %s, is not known and is kept as it is: did you mean %s?", i+1, quote(name), c))
		}
	}
	if err := h.missing(maps); err != nil || ask == nil {
		return err
	}
	// Passed over, it could hide that a batch has ended.
	return fmt.Errorf("%s, which decides: say so by --map %s, or take its meaning away, like --map %s", strings.Join(ask, "; "),
		strconv.Quote(strings.Join(maps, ",")), strconv.Quote(maps[0][:strings.LastIndexByte(maps[0], '=')+1]+Unused))
}

// missing refuses a header without what is needed, and says in full how to map it, more
// being what else there is to map.
func (h *header) missing(more []string) error {
	var lacks, maps []string
	for _, r := range h.opts.Map {
		maps = append(maps, r.Heading+"="+r.Column)
	}
	ask := ""
	free := slices.Clone(h.extra)
	// Where nothing looks like a heading of such a list, the line may be a row.
	headings := h.found() > 0 || slices.ContainsFunc(free, func(i int) bool { _, near := columnNear(h.names[i]); return near })
	for _, c := range []column{batch, class} {
		if h.at[c] >= 0 {
			continue
		}
		lacks = append(lacks, c.String())
		heading := map[column]string{batch: "Lot No", class: "Part"}[c]
		at := slices.IndexFunc(free, func(i int) bool { near, ok := columnNear(h.names[i]); return ok && near == c })
		switch {
		case at >= 0 && ask == "":
			ask = fmt.Sprintf(": is column %d, %s, meant?", free[at]+1, quote(h.names[free[at]]))
		case at < 0 && headings:
			at = slices.IndexFunc(free, func(i int) bool {
				_, near := columnNear(h.names[i])
				_, decides := decidingColumn(h.names[i])
				return !near && !decides && h.names[i] != ""
			})
		}
		if at >= 0 {
			heading = h.names[free[at]]
			free = slices.Delete(free, at, at+1)
		}
		maps = append(maps, heading+"="+c.String())
	}
	if lacks == nil {
		return nil
	}
	maps = append(maps, more...)
	if ask == "" {
		ask = ": a stock list starts with a line such as batch,class,expiry."
	}
	have := "The headings are "
	if !headings {
		have = "The first line has "
	}
	return fmt.Errorf("the header has no column %s%s %s%s: rename them or map them, like --map %s", strings.Join(lacks, " and no column "), ask,
		have, strings.Join(h.names[:min(len(h.names), 12)], ", "), strconv.Quote(strings.Join(maps, ",")))
}

// checkMap refuses a map of headings that the list does not have, or has twice.
func (h *header) checkMap() error {
	for _, r := range h.opts.Map {
		same := func(name string) bool { return strings.EqualFold(name, r.Heading) }
		first := slices.IndexFunc(h.names, same)
		if first < 0 {
			near := "the list has " + strings.Join(h.names[:min(len(h.names), 12)], ", ")
			if n := nearest.Names(r.Heading, h.names, 3); n != nil {
				near = "the nearest are " + strings.Join(n, ", ")
			}
			return fmt.Errorf("the map says %s, but no column is called %s: %s", quote(r.Heading+"="+r.Column), quote(r.Heading), near)
		}
		if next := slices.IndexFunc(h.names[first+1:], same); next >= 0 && r.Column != Unused {
			return fmt.Errorf("the map says %s, but columns %d and %d are both called so: rename one", quote(r.Heading+"="+r.Column), first+1, first+next+2)
		}
	}
	return nil
}

// twice refuses two columns of one meaning.
func (h *header) twice(c column, i int) error {
	first := h.at[c]
	if strings.EqualFold(h.names[first], h.names[i]) {
		return fmt.Errorf("column %s is there twice (columns %d and %d): keep one", c, first+1, i+1)
	}
	own := h.names[first]
	if !strings.EqualFold(own, c.String()) {
		own = h.names[i]
	}
	return fmt.Errorf("columns %d, %s, and %d, %s, would both be the %s: map one away, like %s",
		first+1, quote(h.names[first]), i+1, quote(h.names[i]), c, quote(own+"="+Unused))
}
