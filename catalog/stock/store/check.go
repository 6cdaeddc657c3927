package store

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"beadline/catalog/stock/register"
)

// inOrder checks what no caller may ask for, and gives the writes in order of their keys,
// the one order in which every process takes rows: so two commits cannot wait for each
// other.
func inOrder(writes []register.Write) ([]register.Write, error) {
	sorted := slices.Clone(writes)
	slices.SortFunc(sorted, func(a, b register.Write) int { return cmp.Compare(a.Key, b.Key) })
	for i := range sorted {
		if i > 0 && sorted[i].Key == sorted[i-1].Key {
			return nil, fmt.Errorf("%s: two writes to it in one commit", sorted[i].Key)
		}
		if err := checkWrite(&sorted[i]); err != nil {
			return nil, fmt.Errorf("%s: %w", sorted[i].Key, err)
		}
	}
	return sorted, nil
}

func checkWrite(w *register.Write) error {
	switch {
	case w.Key == "":
		return fmt.Errorf("a line without a key")
	case w.After.Seq < 0, w.After.Seq == 0 && len(w.Add) == 0:
		return fmt.Errorf("a line of no events")
	}
	texts := []string{string(w.Key)}
	for i, r := range w.Add {
		if want := w.After.Seq + 1 + i; r.Seq != want {
			return fmt.Errorf("event %d where %d has to follow", r.Seq, want)
		}
		if r.ID == "" {
			return fmt.Errorf("event %d has no id", r.Seq)
		}
		if err := checkBody(r.Body); err != nil {
			return fmt.Errorf("event %d: %w", r.Seq, err)
		}
		texts = append(texts, r.ID)
	}
	return checkProjection(&w.Projection, texts)
}

// checkBody holds a body to what both stores can keep byte for byte.
func checkBody(body []byte) error {
	if !utf8.Valid(body) || slices.Contains(body, 0) {
		return fmt.Errorf("its text is not UTF-8 without NUL")
	}
	return nil
}

func checkProjection(p *register.Projection, texts []string) error {
	seen := map[[2]string]bool{}
	for _, l := range p.Lots {
		texts = append(texts, l.Container, l.Place, l.Class, l.Row)
		if at := [2]string{l.Container, l.Place}; seen[at] {
			return fmt.Errorf("two lots of container %q at place %q", l.Container, l.Place)
		} else {
			seen[at] = true
		}
	}
	for _, s := range p.Served {
		texts = append(texts, s.Joint, s.Job, s.Mix)
	}
	for _, r := range p.Reserved {
		texts = append(texts, r.Job, r.Container, r.Place)
	}
	for _, s := range texts {
		if !utf8.ValidString(s) || strings.IndexByte(s, 0) >= 0 {
			return fmt.Errorf("%.40q is not UTF-8 without NUL", s)
		}
	}
	return nil
}

// head is the end of the line after a write.
func head(w *register.Write) register.Head {
	if len(w.Add) == 0 {
		return register.Head{Key: w.Key, Seq: w.After.Seq, Hash: w.After.Hash}
	}
	last := w.Add[len(w.Add)-1]
	return register.Head{Key: w.Key, Seq: last.Seq, Hash: last.Hash}
}

// places are the places of lots, each once, in order.
func places(lots []register.Lot) []string {
	var names []string
	for _, l := range lots {
		if l.Place != "" {
			names = append(names, l.Place)
		}
	}
	slices.Sort(names)
	return slices.Compact(names)
}
