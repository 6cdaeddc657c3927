package storeroom

import (
	"fmt"
	"slices"

	"beadline/catalog/label/tag"
	"beadline/catalog/stock/register"
)

// which is the part of a batch that an act is about, as far as the person says: by flags,
// by a scan, or by the label that was printed for one container.
func (a *Act) which(s *register.State) (Which, error) {
	w := a.Which
	container := ""
	switch {
	case a.Label != nil && a.Label.State == tag.Mixed:
		return w, fmt.Errorf("this is the label of a pot mixed from %s: what is mixed is no longer in stock", s.Batch)
	case a.Label != nil && a.Label.Container != "":
		container = a.Label.Container
	case a.Label != nil && w == (Which{}):
		return a.byState(s)
	case a.Scan != nil && a.Label == nil && a.Scan.Serial != "":
		if container = a.Scan.Serial; !hasContainer(s, container) {
			a.notes = append(a.notes, fmt.Sprintf("The serial number %s on the label is no container on record: the scan names the batch alone.", container))
			container = ""
		}
	}
	switch {
	case container == "" && w == (Which{}) && a.old != nil && (a.old.Container != "" || a.old.Place != "" || !slices.Contains(ofAll, a.old.Kind)):
		return a.asBefore(), nil
	case container == "" || container == w.Container:
	case w.Container != "":
		return w, notSaid("--container %s: the label says container %s: leave one out", w.Container, container)
	default:
		w.Container = container
	}
	return w, nil
}

// asBefore is the part that the event was of which an act corrects.
func (a *Act) asBefore() Which {
	w := Which{a.old.Container, a.old.Place}
	if w.Container == "" {
		w.Container = Unnumbered
	}
	a.notes = append(a.notes, "It is of the same part as what it corrects, as no --container or --place is given.")
	return w
}

// hasContainer reports whether a batch ever had a container of a number.
func hasContainer(s *register.State, number string) bool {
	for _, e := range s.Events {
		if e.Container == number || e.As == number {
			return true
		}
	}
	return false
}

// byState finds the one part in the state that a printed label names, where its code has no
// room for the container.
func (a *Act) byState(s *register.State) (Which, error) {
	var fit []*register.Part
	for _, p := range s.Parts {
		if p.Stocked() && (a.Label.State == tag.Opened && !p.Item.Opened.IsZero() || a.Label.State == tag.Thawed && len(p.Item.Thawed) > 0 || a.Label.State.Forbids()) {
			fit = append(fit, p)
		}
	}
	switch len(fit) {
	case 0:
		return Which{}, fmt.Errorf("the label is of a container of %s that is %s, and none is on record: %s", s.Batch, a.Label.State, listParts(stocked(s)))
	case 1:
		return Which{Container: fit[0].Container, Place: fit[0].Place}, nil
	}
	return Which{}, notSaid("the code of this label does not say which container of %s it is on: say it with --container: %s", s.Batch, listParts(fit))
}

func stocked(s *register.State) (all []*register.Part) {
	for _, p := range s.Parts {
		if p.Stocked() {
			all = append(all, p)
		}
	}
	return all
}

// of makes an event on the part of a batch that is meant.
func (r *Room) of(s *register.State, a *Act, kind register.Kind) (*register.Event, *register.Part, error) {
	return r.ofAble(s, a, kind, nil)
}

// ofAble is of, among the parts of which it can be meant.
func (r *Room) ofAble(s *register.State, a *Act, kind register.Kind, can func(*register.Part) bool) (*register.Event, *register.Part, error) {
	w, err := a.which(s)
	if err != nil {
		return nil, nil, err
	}
	p, err := chooseAmong(s, w, can)
	if err != nil {
		return nil, nil, err
	}
	return r.on(p, a, kind), p, nil
}

// on makes an event on a part.
func (r *Room) on(p *register.Part, a *Act, kind register.Kind) *register.Event {
	e := r.event(a, kind)
	e.Container, e.Place = p.Container, p.Place
	if e.Amount != nil && e.Unit == "" {
		e.Unit = p.Unit
	}
	return e
}

// ofAny is of, where nothing may be left of the part.
func (r *Room) ofAny(s *register.State, a *Act, kind register.Kind) (*register.Event, *register.Part, error) {
	w, err := a.which(s)
	if err != nil {
		return nil, nil, err
	}
	p, err := Choose(s, w)
	if err == nil {
		return r.on(p, a, kind), p, nil
	}
	var empty []*register.Part
	for _, p := range s.Parts {
		if w.fits(s, p) {
			if p.Stocked() {
				return nil, nil, err // several
			}
			empty = append(empty, p)
		}
	}
	switch len(empty) {
	case 0:
		return nil, nil, err
	case 1:
		return r.on(empty[0], a, kind), empty[0], nil
	}
	return nil, nil, notSaid("%s was in several parts, and nothing is left of them: say which with %s: %s", s.Batch, sayWhich(empty), listParts(empty))
}

// exactly names the part that an event is of in full, if one is meant at all; else it is
// of all of the batch.
func (r *Room) exactly(s *register.State, a *Act, e *register.Event) error {
	w, err := a.which(s)
	if err != nil || w == (Which{}) {
		return err
	}
	p, err := Choose(s, w)
	if err != nil {
		return err
	}
	e.Container, e.Place = p.Container, p.Place
	return nil
}

// ofPart is what an event is of, for people: "S-2207", "container 1 of S-2207 at cold
// store".
func ofPart(s *register.State, e *register.Event) string {
	say := s.Batch.String()
	container := e.Container
	if e.As != "" {
		container = e.As
	}
	if container != "" {
		say = "container " + container + " of " + say
	}
	return say + atPlace(e.Place)
}
