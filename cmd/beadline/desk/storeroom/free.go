package storeroom

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
)

// Free lifts a hold: a person with authority and a reference stands for it, all three said
// for this act, and it is printed with the batch ever after. limit says which hold; "" is
// the one that stands, where only one may be lifted. A reject is not lifted, nor a date
// that has passed.
func (r *Room) Free(ctx context.Context, a *Act, limit shelf.Name) (*Outcome, error) {
	if err := a.standsFor("a hold that is lifted"); err != nil {
		return nil, err
	}
	var lifted []string
	var taken shelf.Name
	o, err := r.act(ctx, a, register.KindFreed, func(s *register.State) ([]*register.Event, error) {
		w, err := a.which(s)
		if err != nil {
			return nil, err
		}
		f := &freeing{room: r, s: s, which: w}
		if taken, err = f.choose(limit); err != nil {
			return nil, err
		}
		e := r.event(a, register.KindFreed)
		e.Shelf = &shelf.Event{Limit: taken}
		if lifted, err = f.place(e); err != nil {
			return nil, err
		}
		return []*register.Event{e}, f.works(e)
	}, func(s *register.State, e *register.Event) string {
		return fmt.Sprintf("Freed %s: the hold %q is lifted by %s for %s, reference %s. It was held because: %s", ofPart(s, e), taken, e.By, e.Authority, e.Reference, strings.Join(lifted, " "))
	})
	if err != nil {
		return nil, err
	}
	if limit == "" {
		o.Notes = append(o.Notes, fmt.Sprintf("No --limit is given: %q was the only hold that may be lifted.", taken))
	}
	o.answer()
	if o.Answer > 0 {
		o.Notes = append(o.Notes, "Something else stands against it still: see below.")
	}
	return o, nil
}

// freeing finds what a person may lift of a batch.
type freeing struct {
	room  *Room
	s     *register.State
	which Which
	parts []standing // where the hold stands
}

// standing is a hold, or a reject, that stands against a part.
type standing struct {
	part  Holding
	limit shelf.Limit
}

// against is all that stands against the parts meant.
func (f *freeing) against() (all []standing) {
	for _, h := range f.room.Holdings(f.s) {
		if !f.which.fits(f.s, h.Part) {
			continue
		}
		for _, l := range h.Checked.Judgement.Limits {
			if l.Past && l.Counts && !l.Freed && l.Verdict != shelf.Use {
				all = append(all, standing{h, l})
			}
		}
	}
	return all
}

// choose finds the hold that is meant, and where it stands.
func (f *freeing) choose(limit shelf.Name) (shelf.Name, error) {
	var may, all []string
	stand := f.against()
	for _, x := range stand {
		if name := string(x.limit.Name); x.limit.Verdict == shelf.Hold && slices.Contains(shelf.Freeable(), x.limit.Name) && !slices.Contains(may, name) {
			may = append(may, name)
		}
		if say := x.limit.Verdict.String() + " by " + string(x.limit.Name); !slices.Contains(all, say) {
			all = append(all, say)
		}
	}
	switch {
	case all == nil:
		return "", fmt.Errorf("%s is not on hold%s: there is nothing to free", f.s.Batch, f.where())
	case limit == "" && may == nil:
		return "", fmt.Errorf("%s has no hold%s that may be lifted: it stands at %s. A reject is never lifted, a date that has passed only by a test or an extension, anything else by a corrected record", f.s.Batch, f.where(), joinAnd(all))
	case limit == "" && len(may) > 1:
		return "", notSaid("%s has more than one hold%s that may be lifted: say which with --limit: %s", f.s.Batch, f.where(), joinAnd(may))
	case limit == "":
		limit = shelf.Name(may[0])
	case !slices.Contains(may, string(limit)):
		return "", fmt.Errorf("%s has no hold %q%s that may be lifted: it stands at %s. A reject is never lifted, a date that has passed only by a test or an extension", f.s.Batch, limit, f.where(), joinAnd(all))
	}
	for _, x := range stand {
		if x.limit.Name == limit && x.limit.Verdict == shelf.Hold {
			f.parts = append(f.parts, x)
		}
	}
	return limit, nil
}

func (f *freeing) where() string {
	if f.which == (Which{}) {
		return ""
	}
	return " " + f.which.words()
}

// place says of which part the event is: of the one where the hold stands, or of all of
// the batch where it stands everywhere for one reason. It answers what is lifted.
func (f *freeing) place(e *register.Event) (reasons []string, err error) {
	var where []*register.Part
	for _, x := range f.parts {
		if !slices.Contains(reasons, x.limit.Reason) {
			reasons = append(reasons, x.limit.Reason)
		}
		if !slices.Contains(where, x.part.Part) {
			where = append(where, x.part.Part)
		}
	}
	everywhere := len(where) == len(stocked(f.s)) || len(stocked(f.s)) == 0
	switch {
	case len(where) == 1 && (f.which != (Which{}) || !everywhere):
		e.Container, e.Place = where[0].Container, where[0].Place
	case len(where) == 1, f.which == (Which{}) && everywhere && f.alike():
	default:
		return nil, notSaid("%s is held in several parts: say which with --container and --place: %s", f.s.Batch, listParts(where))
	}
	return reasons, nil
}

// alike reports whether the hold stands for the same reasons on every part.
func (f *freeing) alike() bool {
	of := map[*register.Part][]string{}
	for _, x := range f.parts {
		of[x.part.Part] = append(of[x.part.Part], x.limit.Reason)
	}
	first := of[f.parts[0].part.Part]
	for _, reasons := range of {
		if !slices.Equal(first, reasons) {
			return false
		}
	}
	return true
}

// works refuses an event that would lift nothing, with what the judge says of it: what is
// recorded must be what counts.
func (f *freeing) works(e *register.Event) error {
	after := f.room.With(f.s, e)
	for _, x := range f.parts {
		p := after.Part(x.part.Container, x.part.Place)
		if p == nil {
			continue // moved on since
		}
		j := f.room.Holding(after, p).Checked.Judgement
		for _, l := range j.Limits {
			if l.Name != e.Shelf.Limit || l.Verdict != shelf.Hold || !l.Past || l.Freed {
				continue
			}
			why := "it stands all the same: " + l.Reason
			for _, said := range j.Assumed {
				if strings.Contains(said, "does not count") || strings.Contains(said, "the hold stands") {
					why = said
				}
			}
			return fmt.Errorf("the hold %q of %s cannot be lifted so: %s", e.Shelf.Limit, f.s.Batch, strings.TrimSuffix(why, "."))
		}
	}
	return nil
}
