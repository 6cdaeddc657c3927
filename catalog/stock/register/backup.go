package register

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"hash"
	"io"
	"strconv"
)

// A backup is a text of lines, the same from every store and, of one state of a register,
// always the same bytes:
//
//	{"beadline-register-backup":1}
//	{"hash":"…","body":{…}}                    each event, by key and place on its line
//	{"checkpoint":{"n":1,…,"heads":2}}         each checkpoint
//	{"head":{"line":"…","seq":3,"hash":"…"}}   and behind it its heads
//	{"end":{"lines":…,"events":…,"checkpoints":…,"sha256":"…"}}
//
// A body stands there byte for byte as it is hashed. The SHA-256 of the last line is that
// of all bytes in front of it. The number in the first line is that of the form; forms
// once written stay readable.

// BackupForm is the form that Backup writes.
const BackupForm = 1

const (
	backupFirst  = `{"beadline-register-backup":` // number, }
	backupHash   = `{"hash":"`
	backupBody   = `","body":`
	backupPoint  = `{"checkpoint":`
	backupHead   = `{"head":`
	backupEnd    = `{"end":`
	mostLineInIt = maxBody + 1024
)

// pointLine, headLine and endLine are lines of a backup.
type pointLine struct {
	Checkpoint struct {
		N        int    `json:"n"`
		At       string `json:"at"`
		By       string `json:"by"`
		Lines    int    `json:"lines"`
		Events   int    `json:"events"`
		Previous string `json:"previous"`
		Hash     string `json:"hash"`
		Heads    int    `json:"heads"`
	} `json:"checkpoint"`
}

type headLine struct {
	Head struct {
		Line Key    `json:"line"`
		Seq  int    `json:"seq"`
		Hash string `json:"hash"`
	} `json:"head"`
}

type endLine struct {
	End struct {
		Lines       int    `json:"lines"`
		Events      int    `json:"events"`
		Checkpoints int    `json:"checkpoints"`
		SHA256      string `json:"sha256"`
	} `json:"end"`
}

// BackedUp is what a backup holds.
type BackedUp struct {
	Totals
	Checkpoints int
	SHA256      Hash // as its last line says
	Last        *Checkpoint
}

// Backup writes all of the register as of one moment, while others may write to it. What
// is written can be restored: a line whose chain is broken, or that is not what a
// checkpoint says, is ErrDamaged, and what was written until then is no backup.
func (r *Register) Backup(ctx context.Context, to io.Writer) (*BackedUp, error) {
	b := &backup{r: r, sum: sha256.New()}
	b.to = bufio.NewWriterSize(io.MultiWriter(to, b.sum), 1<<16)
	err := r.Store.Snapshot(ctx, func(from Reader) error { return b.all(ctx, from) })
	if err != nil {
		return nil, err
	}
	return &b.done, nil
}

// backup is one being written.
type backup struct {
	r      *Register
	to     *bufio.Writer
	sum    hash.Hash
	done   BackedUp
	prefix []byte
}

func (b *backup) all(ctx context.Context, from Reader) error {
	points, err := from.Checkpoints(ctx)
	if err != nil {
		return err
	}
	for i := range points {
		err := from.CheckpointHeads(ctx, points[i].N, func(h Head) error {
			points[i].Heads = append(points[i].Heads, h)
			return nil
		})
		if err != nil {
			return err
		}
	}
	if what := brokenPoint(points); what != "" {
		return b.damaged(what)
	}
	a := newAudit(points)
	fmt.Fprintf(b.to, "%s%d}\n", backupFirst, BackupForm)
	err = from.EachLine(ctx, func(h Head, records []Record) error {
		if err := b.line(h, records); err != nil {
			return err
		}
		if what := a.line(h.Key, records); what != "" {
			return b.damaged(what)
		}
		return ctx.Err()
	})
	if err != nil {
		return err
	}
	if what := a.rest(); what != "" {
		return b.damaged(what)
	}
	if err := b.points(points); err != nil {
		return err
	}
	return b.end()
}

func (b *backup) damaged(what string) error {
	return fmt.Errorf("%s: %w: %s", b.r.Store.Name(), ErrDamaged, what)
}

// line writes the events of a line, with its chain checked.
func (b *backup) line(h Head, records []Record) error {
	var last Hash
	for i, rec := range records {
		bad := func(what string) error { return b.damaged(fmt.Sprintf("%s: event %d: %s", h.Key, i+1, what)) }
		var err error
		if b.prefix, err = bodyStart(b.prefix[:0], h.Key, i+1, rec.ID); err != nil {
			return err
		}
		switch next := last.Next(rec.Body); {
		case rec.Seq != i+1:
			return bad("it is missing")
		case next != rec.Hash:
			return bad("its hash does not follow from its text: it was changed, or one before it was")
		case !bytes.HasPrefix(rec.Body, b.prefix) || bytes.IndexByte(rec.Body, '\n') >= 0:
			return bad("its text is not that of an event of this place")
		default:
			last = next
		}
		b.to.WriteString(backupHash)
		b.to.WriteString(rec.Hash.String())
		b.to.WriteString(backupBody)
		b.to.Write(rec.Body)
		if _, err := b.to.WriteString("}\n"); err != nil {
			return err
		}
	}
	if len(records) == 0 || h.Seq != len(records) || h.Hash != last {
		return b.damaged(fmt.Sprintf("%s: it should have %d events, and has %d, or its end is not what was written", h.Key, h.Seq, len(records)))
	}
	b.done.Lines++
	b.done.Events += len(records)
	return nil
}

// bodyStart is how the body of an event begins.
func bodyStart(to []byte, key Key, seq int, id string) ([]byte, error) {
	for _, f := range []struct{ name, text string }{{`{"id":`, id}, {`,"line":`, string(key)}} {
		to = append(to, f.name...)
		var err error
		if to, err = appendText(to, f.text); err != nil {
			return to, err
		}
	}
	return append(strconv.AppendInt(append(to, `,"seq":`...), int64(seq), 10), ','), nil
}

// appendText appends a text as JSON, as encode writes it.
func appendText(to []byte, s string) ([]byte, error) {
	plain := true
	for i := range len(s) {
		plain = plain && s[i] >= ' ' && s[i] < 0x7f && s[i] != '"' && s[i] != '\\'
	}
	if plain {
		return append(append(append(to, '"'), s...), '"'), nil
	}
	text, err := marshal(s)
	return append(to, text...), err
}

// marshal is JSON without a line end, with <, > and & as they are.
func marshal(v any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	err := enc.Encode(v)
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), err
}

// points writes the checkpoints, each with its heads.
func (b *backup) points(all []Checkpoint) error {
	for i := range all {
		c := &all[i]
		if err := b.json(pointOf(c)); err != nil {
			return err
		}
		for _, h := range c.Heads {
			if err := b.json(headOf(h)); err != nil {
				return err
			}
		}
		b.done.Last = c
	}
	b.done.Checkpoints = len(all)
	return nil
}

func pointOf(c *Checkpoint) (p pointLine) {
	x := &p.Checkpoint
	x.N, x.At, x.By, x.Lines, x.Events = c.N, c.At.UTC().Format(instantLayout), c.By, c.Lines, c.Events
	x.Previous, x.Hash, x.Heads = c.Previous.String(), c.Hash.String(), len(c.Heads)
	return p
}

func headOf(h Head) (l headLine) {
	l.Head.Line, l.Head.Seq, l.Head.Hash = h.Key, h.Seq, h.Hash.String()
	return l
}

func (b *backup) json(v any) error {
	text, err := marshal(v)
	if err != nil {
		return err
	}
	b.to.Write(text)
	return b.to.WriteByte('\n')
}

// end writes the last line.
func (b *backup) end() error {
	if err := b.to.Flush(); err != nil {
		return err
	}
	b.sum.Sum(b.done.SHA256[:0])
	if err := b.json(endOf(&b.done)); err != nil {
		return err
	}
	return b.to.Flush()
}

func endOf(d *BackedUp) (l endLine) {
	l.End.Lines, l.End.Events, l.End.Checkpoints, l.End.SHA256 = d.Lines, d.Events, d.Checkpoints, d.SHA256.String()
	return l
}
