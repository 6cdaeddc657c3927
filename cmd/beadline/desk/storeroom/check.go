package storeroom

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"beadline/catalog/label/scan"
	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
)

// Asked is a batch that somebody holds.
type Asked struct {
	Number string // of the batch, or the plain code of a label printed for a container
	// Maker and Container narrow it; "" is any.
	Maker, Container string
	Code             *scan.Scan // its label as scanned; nil: it was typed
}

// NoBatch is that a batch is not in the register; it names the nearest.
type NoBatch struct{ error }

// Check judges what the register has of a batch: each part with something left, or if
// there is none the one that was taken last. The chain of its events is checked. Errors:
// NoBatch; that several makers use the number; register.ErrDamaged and others of reading.
func (r *Room) Check(ctx context.Context, a Asked) ([]desk.Checked, error) {
	stuck, own, err := r.sticker(ctx, &a)
	if err != nil {
		return nil, err
	}
	key, err := r.Find(ctx, a.Number, a.Maker)
	if err != nil {
		return nil, err
	}
	s, err := r.Load(ctx, key)
	if err != nil {
		return nil, err
	}
	parts, err := held(s, &a)
	if err != nil {
		return nil, err
	}
	if len(parts) == 0 {
		none := &register.Part{Counted: true}
		c := r.none(s, none).Checked
		c.Stock = r.inStock(s, none)
		return []desk.Checked{c}, nil
	}
	var all []desk.Checked
	for _, p := range parts {
		c := r.Holding(s, p).Checked
		c.Stock = r.inStock(s, p)
		if !p.Stocked() {
			c.Judgement = desk.HoldFirst(c.Judgement, r.noneLeft(s, p))
		}
		switch {
		case a.Code != nil:
			c = r.Judge.Against(c, a.Code)
		case own:
			c = r.Judge.Stuck(c, stuck)
		}
		all = append(all, c)
	}
	return all, nil
}

// sticker finds out whether what was typed is the plain code of a printed label, and if so
// of which batch.
func (r *Room) sticker(ctx context.Context, a *Asked) (p desk.Sticker, own bool, err error) {
	if a.Code != nil {
		return p, false, nil
	}
	if p, own = desk.StickerTyped(a.Number); !own {
		return p, false, nil
	}
	b, err := register.MakeBatch(a.Number, "")
	if err != nil {
		return p, false, err
	}
	there, err := r.makers(ctx, b.Number)
	if err != nil || len(there) > 0 {
		return p, false, err
	}
	a.Number = p.Batch
	return p, true, nil
}

// held are the parts that a person may hold: those with something left, of the container
// that was asked for or scanned. One that is used up is meant where its container is named
// or nothing is left of the batch.
func held(s *register.State, a *Asked) ([]*register.Part, error) {
	all, container := s.Parts, a.Container
	if container == "" && a.Code != nil {
		container = a.Code.Serial
		if p, ok := desk.StickerOf(a.Code); ok {
			container = p.Container
		}
		if !slices.ContainsFunc(all, func(p *register.Part) bool { return p.Container == container }) {
			container = "" // a number that the register does not keep
		}
	}
	if container != "" {
		all = slices.DeleteFunc(slices.Clone(all), func(p *register.Part) bool { return p.Container != container })
		if len(all) == 0 {
			_, err := Choose(s, Which{Container: container})
			return nil, err
		}
	}
	stocked := slices.DeleteFunc(slices.Clone(all), func(p *register.Part) bool { return !p.Stocked() })
	if len(stocked) > 0 || len(all) == 0 {
		return stocked, nil
	}
	last := slices.MaxFunc(all, func(a, b *register.Part) int { return takenSeq(a) - takenSeq(b) })
	return []*register.Part{last}, nil
}

func takenSeq(p *register.Part) int {
	if p.Taken == nil {
		return 0
	}
	return p.Taken.Seq
}

// noneLeft holds a part of which nothing is left: what somebody holds of it is not what
// the register has, or is another.
func (r *Room) noneLeft(s *register.State, p *register.Part) shelf.Limit {
	say := "By the register none is left"
	if p.Container != "" {
		say += " of container " + p.Container
	}
	if e := p.Taken; e != nil {
		say += fmt.Sprintf(": the last was %s %s by %s", e.Kind, e.At.Label(r.Judge.Zone()), e.By)
		if u := e.Use; u != nil && u.Job != "" {
			say += ", for job " + u.Job
		}
		if e.Kind == register.KindScrapped && e.Why != "" {
			say += " (" + e.Why + ")"
		}
	}
	return shelf.Limit{Name: LimitNone, Verdict: shelf.Hold, Past: true, Counts: true, Reason: say + ".", Source: "the register",
		Who: "Whoever keeps the register must find out what this is.", Evidence: "A count (beadline stock count), or the right batch number, settles it."}
}

// inStock is what the register has of a part.
func (r *Room) inStock(s *register.State, p *register.Part) *desk.InStock {
	in := &desk.InStock{Maker: s.Batch.Maker, Words: "nothing left"}
	if p.Stocked() {
		in.Words = PartWords(p)
	} else if p.Place != "" {
		in.Words += " at " + p.Place
	}
	for _, v := range p.Reserved {
		in.Reserved = append(in.Reserved, desk.ReservedFor{Job: v.Job, Mix: v.Mix, Amount: v.Amount.Float(), By: v.By, At: v.At.String()})
	}
	if len(in.Reserved) > 0 {
		var said, jobs []string
		sum := map[string]register.Amount{}
		for _, v := range p.Reserved {
			if sum[v.Job] == 0 {
				jobs = append(jobs, v.Job)
			}
			sum[v.Job] += v.Amount
		}
		for _, job := range jobs {
			said = append(said, fmt.Sprintf("%s for job %s", sum[job], job))
		}
		in.Words += "; reserved: " + strings.Join(said, ", ")
	}
	return in
}
