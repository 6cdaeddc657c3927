package storeroom

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"beadline/catalog/stock/register"
)

// Count records how much was seen in the store; from then on that is what there is. What
// it differs by from what should be there is said, and what jobs lose by it.
func (r *Room) Count(ctx context.Context, a *Act) (*Outcome, error) {
	var notes []string
	o, err := r.act(ctx, a, register.KindCounted, func(s *register.State) ([]*register.Event, error) {
		e, p, err := r.ofAny(s, a, register.KindCounted)
		if err != nil {
			return nil, err
		}
		after := r.With(s, e)
		notes = append(differs(r, s, p, e), lost(p, after.Part(p.Container, p.Place))...)
		return []*register.Event{e}, nil
	}, func(s *register.State, e *register.Event) string {
		return fmt.Sprintf("Counted %s of %s%s.", e.Amount.Words(e.Unit), ofContainer(s, e), atPlace(e.Place))
	})
	if err != nil {
		return nil, err
	}
	o.Notes = append(notes, o.Notes...)
	return o, nil
}

// differs says what a count differs by from what should have been there.
func differs(r *Room, s *register.State, p *register.Part, e *register.Event) []string {
	if !p.Counted {
		return []string{"How much there was before was not recorded."}
	}
	now, err := register.InUnit(*e.Amount, e.Unit, p.Unit)
	switch less := p.Amount - now; {
	case err != nil: // the register refuses it
		return nil
	case less == 0:
		return []string{"It is what the register had."}
	case less > 0:
		return []string{fmt.Sprintf("The register had %s: %s missing. The count stands; find out where the difference went.", p.Amount.Words(p.Unit), isAre(less, p.Unit))}
	default:
		return []string{fmt.Sprintf("The register had %s: %s too many. The count stands; find out where they came from.", p.Amount.Words(p.Unit), isAre(-less, p.Unit))}
	}
}

func isAre(n register.Amount, unit string) string {
	if n == 1000 {
		return n.Words(unit) + " is"
	}
	return n.Words(unit) + " are"
}

// lost says what jobs had reserved of a part and no longer have.
func lost(before, after *register.Part) (notes []string) {
	left := map[string]register.Amount{}
	if after != nil {
		for _, x := range after.Reserved {
			left[x.Job] += x.Amount
		}
	}
	var jobs []string
	had := map[string]register.Amount{}
	for _, x := range before.Reserved {
		if !slices.Contains(jobs, x.Job) {
			jobs = append(jobs, x.Job)
		}
		had[x.Job] += x.Amount
	}
	for _, j := range jobs {
		if less := had[j] - left[j]; less > 0 {
			notes = append(notes, fmt.Sprintf("Job %s had %s reserved and now has %s: tell whoever plans it, and reserve another.", j, had[j].Words(before.Unit), left[j].Words(before.Unit)))
		}
	}
	return notes
}

// Scrap records that a batch, or some of it, is out of stock for good. Why is needed.
func (r *Room) Scrap(ctx context.Context, a *Act) (*Outcome, error) {
	if strings.TrimSpace(a.Said.Why) == "" {
		return nil, notSaid("scrap needs --why: it is printed with the batch ever after")
	}
	var much string
	var notes []string
	o, err := r.act(ctx, a, register.KindScrapped, func(s *register.State) ([]*register.Event, error) {
		e, p, err := r.of(s, a, register.KindScrapped)
		if err != nil {
			return nil, err
		}
		if e.Amount != nil && *e.Amount == 0 {
			return nil, notSaid("--quantity 0: say how many, or leave it out: then it is all of them")
		}
		much, notes = howMuch(e, p), nil
		if after := r.With(s, e); len(after.Problems) == len(s.Problems) {
			notes = lost(p, after.Part(p.Container, p.Place))
		}
		return []*register.Event{e}, nil
	}, func(s *register.State, e *register.Event) string {
		return fmt.Sprintf("Scrapped %s%s: %s", muchOf(s, e, much), atPlace(e.Place), ended(e.Why))
	})
	if err != nil {
		return nil, err
	}
	o.ToDo = append(o.ToDo, "Mark it as scrap and put it where waste of its kind goes.")
	o.Notes = append(notes, o.Notes...)
	return o, nil
}
