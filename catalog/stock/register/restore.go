package register

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"strings"
	"time"
)

// Saved is a backup that has been read once and is whole.
type Saved struct {
	BackedUp
	name   string
	open   func() (io.ReadCloser, error)
	points []Checkpoint
	events Hash // of the bytes up to the last event
	last   int  // the line of the last event
}

// OpenBackup reads a backup and holds it against its last line and its checkpoints. name
// is for messages; open is asked for the text from its start, now and for Restore.
// Errors are one line: they name the line that is wrong, and a text that was cut off is
// told from one that was changed.
func OpenBackup(name string, open func() (io.ReadCloser, error)) (*Saved, error) {
	b := &Saved{name: name, open: open}
	l, err := b.read()
	if err != nil {
		return nil, err
	}
	defer l.Close()
	if err := b.scan(l); err != nil {
		return nil, fmt.Errorf("%s:%d: %w", name, max(1, l.n), err)
	}
	return b, nil
}

func (b *Saved) read() (*savedLines, error) {
	r, err := b.open()
	if err != nil {
		return nil, err
	}
	return &savedLines{ReadCloser: r, b: bufio.NewReaderSize(r, 1<<16), sum: sha256.New()}, nil
}

// savedLines are the lines of a backup.
type savedLines struct {
	io.ReadCloser
	b    *bufio.Reader
	sum  hash.Hash // of the lines before the last one read
	text []byte
	n    int
}

var errCutOff = errors.New("the backup ends here, without its last line: it was cut off. Take another copy of it, or an older backup")

// next is the next line, good until the one after it; io.EOF behind the last.
func (l *savedLines) next() ([]byte, error) {
	l.sum.Write(l.text)
	l.text = l.text[:0]
	l.n++
	for {
		part, err := l.b.ReadSlice('\n')
		l.text = append(l.text, part...)
		switch {
		case err == nil:
			return l.text[:len(l.text)-1], nil
		case len(l.text) > mostLineInIt:
			return nil, fmt.Errorf("a line longer than %d bytes: this is no backup of a register", mostLineInIt)
		case err == io.EOF && len(l.text) == 0:
			return nil, io.EOF
		case err == io.EOF, errors.Is(err, io.ErrUnexpectedEOF):
			return nil, errCutOff
		case err != bufio.ErrBufferFull:
			return nil, fmt.Errorf("the backup cannot be read: %w", err)
		}
	}
}

// soFar is the hash of all lines before the last one read.
func (l *savedLines) soFar() (h Hash) {
	l.sum.Sum(h[:0])
	return h
}

// scan goes through a backup for all but the meaning of its events.
func (b *Saved) scan(l *savedLines) error {
	text, err := b.first(l)
	for err == nil && bytes.HasPrefix(text, []byte(backupHash)) {
		b.Events++
		b.last = l.n
		text, err = l.next()
	}
	b.events = l.soFar()
	for err == nil && bytes.HasPrefix(text, []byte(backupPoint)) {
		text, err = b.point(l, text)
	}
	switch {
	case err == io.EOF:
		return errCutOff
	case err != nil:
		return err
	case !bytes.HasPrefix(text, []byte(backupEnd)):
		return errors.New("this is no line of a backup: it was changed")
	}
	if what := brokenPoint(b.points); what != "" {
		return errors.New(what)
	}
	return b.end(l, text)
}

// first reads the first line, and gives the one behind it.
func (b *Saved) first(l *savedLines) ([]byte, error) {
	text, err := l.next()
	switch {
	case err == io.EOF:
		return nil, errors.New("the file is empty: it is no backup of a register")
	case err != nil && !bytes.HasPrefix(l.text, []byte(backupFirst)):
		return nil, errors.New("this is no backup of a register: stock backup writes one")
	case err != nil:
		return nil, err
	}
	form, ok := bytes.CutPrefix(text, []byte(backupFirst))
	form, closed := bytes.CutSuffix(form, []byte("}"))
	if !ok || !closed {
		return nil, errors.New("this is no backup of a register: stock backup writes one")
	} else if string(form) != fmt.Sprint(BackupForm) {
		return nil, fmt.Errorf("a backup of form %.20q, and this Beadline reads form %d: use the one that wrote it, or a newer one", form, BackupForm)
	}
	return l.next()
}

// point reads a checkpoint with its heads, and gives the line behind them.
func (b *Saved) point(l *savedLines, text []byte) ([]byte, error) {
	var p pointLine
	c, err := readPoint(text, &p)
	if err != nil {
		return nil, err
	}
	for range p.Checkpoint.Heads {
		text, err := l.next()
		if err == io.EOF {
			return nil, errCutOff
		}
		if err != nil {
			return nil, err
		}
		h, err := readHead(text)
		if err != nil {
			return nil, err
		}
		c.Heads = append(c.Heads, h)
	}
	b.points = append(b.points, c)
	return l.next()
}

// exactly reads JSON that has to be as we would write it.
func exactly(text []byte, to any) error {
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(to); err != nil {
		return fmt.Errorf("this line was changed: %s", strings.TrimPrefix(err.Error(), "json: "))
	}
	if again, err := marshal(to); err != nil || !bytes.Equal(again, text) {
		return errors.New("this line was changed: it is not as it is written")
	}
	return nil
}

func readPoint(text []byte, p *pointLine) (c Checkpoint, err error) {
	if err := exactly(text, p); err != nil {
		return c, err
	}
	x := &p.Checkpoint
	c = Checkpoint{N: x.N, By: x.By, Lines: x.Lines, Events: x.Events}
	if c.At, err = time.Parse(instantLayout, x.At); err != nil {
		return c, fmt.Errorf("this line was changed: %.40q is not an instant", x.At)
	}
	if c.Previous, err = ParseHash(x.Previous); err != nil {
		return c, err
	}
	c.Hash, err = ParseHash(x.Hash)
	return c, err
}

func readHead(text []byte) (h Head, err error) {
	var l headLine
	if err := exactly(text, &l); err != nil {
		return h, err
	}
	h.Key, h.Seq = l.Head.Line, l.Head.Seq
	h.Hash, err = ParseHash(l.Head.Hash)
	return h, err
}

// end reads the last line; nothing may follow it.
func (b *Saved) end(l *savedLines, text []byte) error {
	var e endLine
	if err := exactly(text, &e); err != nil {
		return err
	}
	x := &e.End
	sum, err := ParseHash(x.SHA256)
	switch {
	case err != nil:
		return err
	case sum != l.soFar():
		return errors.New("the SHA-256 of the lines before this one is not what it says: one of them was changed")
	case x.Events != b.Events || x.Checkpoints != len(b.points):
		return fmt.Errorf("it says %d events and %d checkpoints, but there are %d and %d: it was changed", x.Events, x.Checkpoints, b.Events, len(b.points))
	}
	b.Lines, b.Checkpoints, b.SHA256 = x.Lines, x.Checkpoints, sum
	if n := len(b.points); n > 0 {
		b.Last = &b.points[n-1]
	}
	if _, err := l.next(); err != io.EOF {
		return errors.New("something follows the last line of the backup: it was changed")
	}
	return nil
}

// Restore fills this register, which must be empty, from a backup: all of it, or nothing.
// Each event, each chain and each checkpoint is checked on the way; the error of one that
// is wrong names its line.
func (r *Register) Restore(ctx context.Context, b *Saved) error {
	l, err := b.read()
	if err != nil {
		return err
	}
	defer l.Close()
	in := &restoring{b: b, l: l, audit: newAudit(b.points)}
	if err := in.begin(); err != nil {
		return in.at(err)
	}
	err = r.Store.Restore(ctx, in.next, in.finish)
	if errors.Is(err, ErrDuplicate) {
		return in.at(err)
	}
	return err
}

// restoring reads the events of a backup, line by line of the register.
type restoring struct {
	b     *Saved
	l     *savedLines
	audit *audit
	text  []byte // the line that comes next; nil: there are no more events
	start int    // where the line of the register starts
	key   Key
	lines int
}

func (in *restoring) at(err error) error {
	return fmt.Errorf("%s:%d: %w", in.b.name, in.start, err)
}

func (in *restoring) begin() error {
	in.start = 1
	if _, err := in.l.next(); err != nil {
		return err
	}
	return in.ahead()
}

// ahead reads the next line that is an event.
func (in *restoring) ahead() (err error) {
	if in.text, err = in.l.next(); err != nil {
		return err
	}
	if in.l.n > in.b.last {
		in.text = nil
		if in.l.soFar() != in.b.events {
			return errors.New("the backup was changed while it was read: run this again")
		}
	}
	return nil
}

// next is the next line of the register, checked; nil behind the last.
func (in *restoring) next() (*Write, error) {
	if in.text == nil {
		return nil, nil
	}
	in.start = in.l.n
	var records []Record
	key := Key("")
	for in.text != nil {
		rec, k, err := readRecord(in.text)
		if err != nil {
			in.start = in.l.n
			return nil, in.at(err)
		}
		if records != nil && k != key {
			break
		}
		key, records = k, append(records, rec)
		if err := in.ahead(); err != nil {
			return nil, in.at(err)
		}
	}
	if in.lines > 0 && key <= in.key {
		return nil, in.at(fmt.Errorf("%s is not in its order: a line was moved, or is there twice", key))
	}
	in.key, in.lines = key, in.lines+1
	events, head, broken := open(key, records)
	if broken != nil {
		in.start += broken.Seq - 1
		return nil, in.at(fmt.Errorf("%s: %s", key, broken))
	}
	if what := in.audit.line(key, records); what != "" {
		return nil, in.at(errors.New(what))
	}
	w := &Write{Key: key, Add: records}
	w.After.Key = head.Key
	var err error
	if w.Projection, err = project(key, events); err != nil {
		return nil, in.at(fmt.Errorf("%s: %w", key, err))
	}
	return w, nil
}

// readRecord reads the line of an event.
func readRecord(text []byte) (rec Record, key Key, err error) {
	var ok bool
	rest, _ := bytes.CutPrefix(text, []byte(backupHash))
	if len(rest) < 2*len(rec.Hash) {
		return rec, "", errors.New("this line was changed: it is no event")
	}
	if rec.Hash, err = ParseHash(string(rest[:2*len(rec.Hash)])); err != nil {
		return rec, "", err
	}
	body, ok := bytes.CutPrefix(rest[2*len(rec.Hash):], []byte(backupBody))
	body, closed := bytes.CutSuffix(body, []byte("}"))
	if !ok || !closed {
		return rec, "", errors.New("this line was changed: it is no event")
	}
	rec.Body = bytes.Clone(body)
	if key, rec.Seq, rec.ID, err = bodyPlace(rec.Body); err != nil {
		return rec, "", errors.New("this line was changed: its body is no event")
	}
	if start, err := bodyStart(nil, key, rec.Seq, rec.ID); err != nil || !bytes.HasPrefix(rec.Body, start) {
		return rec, "", errors.New("this line was changed: its body does not begin as an event does")
	}
	return rec, key, nil
}

// bodyPlace reads how a body begins.
func bodyPlace(body []byte) (key Key, seq int, id string, err error) {
	d := json.NewDecoder(bytes.NewReader(body))
	want := []struct {
		name string
		to   any
	}{{"id", &id}, {"line", (*string)(&key)}, {"seq", &seq}}
	if _, err := d.Token(); err != nil {
		return "", 0, "", err
	}
	for _, f := range want {
		t, err := d.Token()
		if err != nil || t != f.name {
			return "", 0, "", errors.New("not an event")
		}
		if err := d.Decode(f.to); err != nil {
			return "", 0, "", err
		}
	}
	return key, seq, id, nil
}

// finish gives the checkpoints, once all lines are there.
func (in *restoring) finish() ([]Checkpoint, error) {
	in.start = in.l.n
	if what := in.audit.rest(); what != "" {
		return nil, in.at(errors.New(what))
	}
	if in.lines != in.b.Lines {
		return nil, in.at(fmt.Errorf("the last line says %d batches and catalogs, but there are %d: it was changed", in.b.Lines, in.lines))
	}
	return in.b.points, nil
}
