package main

import (
	"bufio"
	"context"
	"errors"
	"io"
	"strings"

	"beadline/catalog/label/scan"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/desk/storeroom"
	"beadline/cmd/beadline/show"
)

// maxTyped is the longest line that a scanner types, in bytes; a longer one is no scan.
const maxTyped = 64 << 10

// checkAll answers each line of standard input with a line, until its end, as a hand
// scanner types them. A line that cannot be read stops nothing. The exit code is the
// severest answer; a line that cannot be read counts as a hold.
func (a *app) checkAll(ctx context.Context, j *desk.Judge, f *checkFlags, o stock.Options) error {
	if f.class != "" {
		if err := j.Known(f.class); err != nil {
			return err
		}
	}
	loop := &scanLoop{app: a, ctx: ctx, judge: j, flags: f}
	if f.stock != "" {
		list, err := desk.OpenList(a.in, f.stock, o.Encoding)
		if err != nil {
			return err
		}
		defer list.Close()
		loop.list, loop.options = list, o
	} else {
		r, err := a.readRoom(ctx, j)
		if err != nil && !errors.Is(err, errNoRegister) {
			return err
		}
		if err == nil {
			defer r.Close()
			loop.room = r
		}
	}
	if a.format == "csv" {
		if err := show.CheckCSVHead(a.out); err != nil {
			return err
		}
	}
	in := bufio.NewReaderSize(a.in, maxTyped)
	for line := 1; ; line++ {
		text, err := in.ReadSlice('\n')
		// The scanner may lie for hours between two lines: each is judged for its own moment.
		q, wrong := a.question(f)
		if wrong != nil {
			return wrong
		}
		j.Ask(q)
		if err == bufio.ErrBufferFull {
			if err := skipLine(in); err != nil && err != io.EOF {
				return err
			}
			loop.asked = true
			if err := loop.unread(line, "the line is longer than any bar code: scan one code at a time"); err != nil {
				return err
			}
			continue
		}
		if err != nil && err != io.EOF {
			return err
		}
		// A space or tab may be part of a code, so only the line's end comes off here.
		if typed := strings.TrimRight(string(text), "\r\n"); strings.TrimSpace(typed) != "" {
			loop.asked = true
			if err := loop.answer(line, typed); err != nil {
				return err
			}
		}
		if err == io.EOF && !loop.asked {
			return usagef("-: nothing was scanned: is the scanner plugged in?")
		}
		if err == io.EOF {
			return verdictExit(loop.worst)
		}
	}
}

// skipLine reads on to the end of the line.
func skipLine(in *bufio.Reader) error {
	for {
		if _, err := in.ReadSlice('\n'); err != bufio.ErrBufferFull {
			return err
		}
	}
}

// scanLoop answers line by line.
type scanLoop struct {
	*app
	ctx     context.Context
	room    *storeroom.Room // nil: there is a list, or no register
	judge   *desk.Judge
	flags   *checkFlags
	list    *desk.List // nil and no room: each scan stands for itself
	options stock.Options
	asked   bool // whether any line came
	worst   shelf.Verdict
}

// answer answers one line. The error is of writing, or of the list.
func (l *scanLoop) answer(line int, typed string) error {
	isScan := scan.Looks(typed)
	if l.room != nil {
		if done, err := l.known(line, typed); done || err != nil {
			return err
		}
	}
	p, own := desk.StickerTyped(typed)
	switch {
	case !isScan && l.list == nil && own:
		return l.say(l.judge.Alone(p, l.flags.class))
	case !isScan && l.list == nil:
		return l.unread(line, "not a bar code that is read here: scan the label's code, or name a list with --stock to type batch numbers")
	}
	var s *scan.Scan
	batch := strings.TrimSpace(typed)
	if isScan {
		read, err := scan.Parse(typed, l.judge.On)
		plain, alone := scan.Plain(typed)
		p, own := desk.StickerTyped(plain)
		switch {
		case err != nil && alone && l.list != nil: // the batch in a symbol of its own
			batch = plain
		case err != nil && alone && own:
			return l.say(l.judge.Alone(p, l.flags.class))
		case err != nil:
			return l.unread(line, err.Error())
		default:
			s, batch = &read, read.Lot
		}
	}
	if l.list == nil {
		it, err := desk.FromScan(s, l.flags.class, l.judge.GTINs)
		if err != nil {
			return l.unread(line, err.Error())
		}
		return l.say(l.judge.Scanned(it, s))
	}
	if batch == "" {
		return l.unread(line, "the code names no lot, so it cannot be found on "+l.list.Name)
	}
	find := l.judge.BatchOn
	if s == nil {
		find = l.judge.LabelOn
	}
	rows, _, err := find(l.list, l.options, batch)
	if err != nil {
		return l.unread(line, err.Error())
	}
	for i := range rows {
		if s != nil {
			rows[i] = l.judge.Against(rows[i], s)
		}
	}
	return l.say(rows[desk.Worst(rows)])
}

// known answers a line whose batch the register knows. A code that it does not know
// stands for itself where the class is told by --class or --gtins; done is false then.
func (l *scanLoop) known(line int, typed string) (done bool, err error) {
	a := storeroom.Asked{Number: strings.TrimSpace(typed)}
	alone := l.flags.class != "" || l.judge.GTINs != nil
	if scan.Looks(typed) {
		s, err := scan.Parse(typed, l.judge.On)
		plain, whole := scan.Plain(typed)
		switch {
		case err != nil && whole:
			a.Number = plain
		case err != nil:
			return true, l.unread(line, err.Error())
		case s.Lot == "" && alone:
			return false, nil
		case s.Lot == "":
			return true, l.unread(line, "the code names no lot, so it cannot be found in the register")
		default:
			a.Number, a.Code = s.Lot, &s
		}
	}
	rows, err := l.room.Check(l.ctx, a)
	var none storeroom.NoBatch
	switch {
	case errors.As(err, &none) && alone && a.Code != nil:
		return false, nil
	case err != nil:
		return true, l.unread(line, err.Error())
	}
	return true, l.say(rows[desk.Worst(rows)])
}

func (l *scanLoop) say(c desk.Checked) error {
	l.worst = max(l.worst, c.Judgement.Verdict)
	return l.write(forms{
		text: func(w io.Writer) error { return show.CheckLine(w, c) },
		json: func(w io.Writer) error { return show.CheckJSONLine(w, c) },
		csv:  func(w io.Writer) error { return show.CheckCSVLine(w, c) },
	})
}

func (l *scanLoop) unread(line int, reason string) error {
	l.worst = max(l.worst, shelf.Hold)
	return l.write(forms{
		text: func(w io.Writer) error { return show.NotRead(w, line, reason) },
		json: func(w io.Writer) error { return show.NotReadJSON(w, line, reason) },
		csv:  func(w io.Writer) error { return show.NotReadCSV(w, line, reason) },
	})
}
