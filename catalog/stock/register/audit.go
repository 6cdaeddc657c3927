package register

import (
	"cmp"
	"fmt"
	"slices"
)

// audit holds lines, as they come in order of their keys, against what checkpoints say.
type audit struct {
	points []Checkpoint
	heads  []headAt // of all checkpoints, by key
	at     int
}

// headAt is the place of a head in a checkpoint.
type headAt struct{ point, head int32 }

func newAudit(points []Checkpoint) *audit {
	a := &audit{points: points}
	for i := range points {
		for j := range points[i].Heads {
			a.heads = append(a.heads, headAt{int32(i), int32(j)})
		}
	}
	slices.SortFunc(a.heads, func(x, y headAt) int {
		return cmp.Or(cmp.Compare(a.head(x).Key, a.head(y).Key), cmp.Compare(x.point, y.point))
	})
	return a
}

func (a *audit) head(h headAt) *Head { return &a.points[h.point].Heads[h.head] }

// line says what is wrong with a line, or with one in front of it that is missing; "":
// nothing.
func (a *audit) line(key Key, records []Record) string {
	for ; a.at < len(a.heads); a.at++ {
		h := a.head(a.heads[a.at])
		n := a.points[a.heads[a.at].point].N
		switch {
		case h.Key > key:
			return ""
		case h.Key < key:
			return gone(h, n)
		case h.Seq > len(records):
			return fmt.Sprintf("%s has lost events: it had %d at checkpoint %d, and has %d", key, h.Seq, n, len(records))
		case h.Seq < 1 || records[h.Seq-1].Hash != h.Hash:
			return fmt.Sprintf("%s was written anew: event %d is not the one of checkpoint %d", key, h.Seq, n)
		}
	}
	return ""
}

// rest says what is missing behind the last line.
func (a *audit) rest() string {
	if a.at == len(a.heads) {
		return ""
	}
	return gone(a.head(a.heads[a.at]), a.points[a.heads[a.at].point].N)
}

func gone(h *Head, n int) string {
	return fmt.Sprintf("%s is gone: it had %d events at checkpoint %d", h.Key, h.Seq, n)
}

// brokenPoint says which of the checkpoints, whose heads are filled in, is not as it was
// written; "": none.
func brokenPoint(points []Checkpoint) string {
	var previous Hash
	for i := range points {
		switch c := &points[i]; {
		case c.N != i+1 || c.Previous != previous:
			return fmt.Sprintf("checkpoint %d does not follow the one before it: one was changed or taken out", c.N)
		case c.sum() != c.Hash:
			return fmt.Sprintf("checkpoint %d is not as it was written: its hash does not follow from it", c.N)
		}
		previous = points[i].Hash
	}
	return ""
}
