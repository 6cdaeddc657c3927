package storeroom

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"beadline/catalog/stock/register"
	"beadline/cure/nearest"
)

// Find finds the batch of a number, and of a maker if one is named. The error of one that
// is not there names the nearest, that of a number that two makers use names these.
func (r *Room) Find(ctx context.Context, number, maker string) (register.Key, error) {
	b, err := register.MakeBatch(number, maker)
	if err != nil {
		return "", err
	}
	found, err := r.makers(ctx, b.Number)
	if err != nil {
		return "", err
	}
	var names []string
	for _, one := range found {
		if maker == "" || strings.EqualFold(one.Maker, b.Maker) {
			names = append(names, orUnnamed(one.Maker))
			b = one
		}
	}
	switch {
	case len(names) == 1:
		return b.Key(), nil
	case len(names) > 1:
		return "", fmt.Errorf("%s: %d makers have a batch %s: %s: say which with --maker", r.Store.Name(), len(names), b.Number, strings.Join(names, ", "))
	case len(found) > 0:
		for _, one := range found {
			names = append(names, orUnnamed(one.Maker))
		}
		return "", fmt.Errorf("%s: there is a batch %s, but not of %s: its maker is %s", r.Store.Name(), b.Number, b.Maker, strings.Join(names, " or "))
	}
	return "", r.noBatch(ctx, b.Number)
}

func orUnnamed(maker string) string {
	if maker == "" {
		return "a maker that is not recorded"
	}
	return maker
}

// makers are the batches of one number.
func (r *Room) makers(ctx context.Context, number string) (found []register.Batch, err error) {
	err = r.Store.Lines(ctx, register.Key(number+"\t"), func(h register.Head) bool {
		b, ok := h.Key.Batch()
		if !strings.HasPrefix(string(h.Key), number+"\t") {
			return false
		}
		if ok {
			found = append(found, b)
		}
		return true
	})
	return found, err
}

// noBatch is the NoBatch for a batch that is not there.
func (r *Room) noBatch(ctx context.Context, number string) error {
	var near, some []string
	total := 0
	take := func() { near, some = nearest.Names(number, append(near, some...), 3), some[:0] }
	err := r.Store.Lines(ctx, "", func(h register.Head) bool {
		b, ok := h.Key.Batch()
		if !ok {
			return true
		}
		total++
		if some = append(some, b.Number); len(some) >= 1000 {
			take()
		}
		return true
	})
	if err != nil {
		return err
	}
	take()
	switch {
	case total == 0:
		return NoBatch{fmt.Errorf("%s: there is no batch %q: the register is empty", r.Store.Name(), number)}
	case near == nil:
		return NoBatch{fmt.Errorf("%s: there is no batch %q among its %d: copy the number from the label", r.Store.Name(), number, total)}
	}
	return NoBatch{fmt.Errorf("%s: there is no batch %q: the nearest are %s", r.Store.Name(), number, strings.Join(near, ", "))}
}

// Which says which part of a batch is meant; "" is any. The container Unnumbered is none:
// the packs that have no number of their own.
type Which struct{ Container, Place string }

// Unnumbered is the word for the packs of a batch that have no container number.
const Unnumbered = "none"

// fits reports whether a part is among those meant.
func (w Which) fits(s *register.State, p *register.Part) bool {
	container := w.Container == "" || p.Container == w.Container
	if w.Container == Unnumbered && !hasContainer(s, Unnumbered) {
		container = p.Container == ""
	}
	return container && (w.Place == "" || strings.EqualFold(p.Place, w.Place))
}

// Choose finds the part that is meant among those with something left. The error of one
// that is not there, or of several, names those that are.
func Choose(s *register.State, w Which) (*register.Part, error) { return chooseAmong(s, w, nil) }

// chooseAmong is Choose among the parts that can be meant, by what is done with them; where
// none can, it is among all.
func chooseAmong(s *register.State, w Which, can func(*register.Part) bool) (*register.Part, error) {
	var fit, all, able []*register.Part
	for _, p := range s.Parts {
		if !p.Stocked() {
			continue
		}
		all = append(all, p)
		if w.fits(s, p) {
			fit = append(fit, p)
			if can != nil && can(p) {
				able = append(able, p)
			}
		}
	}
	if len(able) > 0 {
		fit = able
	}
	switch {
	case len(fit) == 1:
		return fit[0], nil
	case len(all) == 0:
		return nil, fmt.Errorf("nothing is left of %s%s", s.Batch, gone(s))
	case len(fit) == 0:
		return nil, fmt.Errorf("there is nothing of %s %s, only %s", s.Batch, w.words(), listParts(all))
	}
	return nil, notSaid("%s is in several parts: say which with %s: %s", s.Batch, sayWhich(fit), listParts(fit))
}

// sayWhich are the flags that tell parts apart.
func sayWhich(parts []*register.Part) string {
	if slices.ContainsFunc(parts, func(p *register.Part) bool { return p.Container == "" }) && slices.ContainsFunc(parts, func(p *register.Part) bool { return p.Container != "" }) {
		return "--container (" + Unnumbered + ": those without a number) or --place"
	}
	return "--container or --place"
}

// gone says who took the last of a batch.
func gone(s *register.State) string {
	var last *register.Event
	for _, p := range s.Parts {
		if p.Taken != nil && (last == nil || p.Taken.Seq > last.Seq) {
			last = p.Taken
		}
	}
	if last == nil {
		return ""
	}
	return fmt.Sprintf(": the last was %s %s by %s", last.Kind, last.At.Label(time.UTC), last.By)
}

func (w Which) words() string {
	switch {
	case w.Container == Unnumbered:
		return "without a container number" + atPlace(w.Place)
	case w.Container == "":
		return "at " + w.Place
	case w.Place == "":
		return "in container " + w.Container
	}
	return "in container " + w.Container + " at " + w.Place
}

// listParts names parts with what is left of them.
func listParts(parts []*register.Part) string {
	const most = 6
	var all []string
	for i, p := range parts {
		if i == most {
			all = append(all, fmt.Sprintf("%d more", len(parts)-most))
			break
		}
		all = append(all, PartWords(p))
	}
	return strings.Join(all, "; ")
}

// PartWords is a part for people: "4 kits at cold store", "container 1 (1 kit) at cold
// store".
func PartWords(p *register.Part) string {
	say := "an amount that is not recorded"
	if p.Counted {
		say = p.Amount.Words(p.Unit)
	}
	if p.Container != "" {
		say = "container " + p.Container + " (" + say + ")"
	}
	if p.Place != "" {
		say += " at " + p.Place
	}
	return say
}
