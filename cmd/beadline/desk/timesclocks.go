package desk

import (
	"fmt"
	"math"
	"strings"

	"beadline/catalog"
	"beadline/cure"
)

// clocks says from when the milestones are counted, and what follows the air.
func (t *Times) clocks() {
	switch {
	case t.From.IsZero():
	case t.Laid.Equal(t.From):
		t.assume("Mixing, the last sealant laid and the last fastener torqued are all taken at one instant. Where the work ends later, so do tack-free and cure: give --laid.")
	}
	if t.Class.Has(cure.Application) && math.IsNaN(t.PotC) {
		t.assume("The pot is as warm as the air: give --pot if it stands in a warmer room.")
	}
	if math.IsNaN(t.PartC) && t.Part.Tau == 0 && t.Warmth == (cure.Warmth{}) {
		t.assume("The part is as warm as the air: a cold-soaked structure lags behind it.")
	}
	if t.Bead.Faces == 0 && !t.Bead.Closed && NeedsBead(t.Class) != "" {
		t.assume("The bead is open to the air on one face: give --faces 2 if it is on both.")
	}
}

// NeedsBead says why the times of a class cannot be told without the depth of the
// bead; "" if they can.
func NeedsBead(cl *catalog.Class) string {
	for m, c := range cl.Curves {
		if c == nil {
			continue
		}
		if _, front := c.Form.(cure.Front); front {
			return fmt.Sprintf("this class cures from the face inward, and its %s time grows with the square of the depth", cure.Milestone(m))
		}
	}
	return ""
}

// Clocks says from when the milestones of a class count, by its kind: what is mixed,
// what comes frozen, what cures with the air or without it.
func Clocks(cl *catalog.Class) string {
	var pot, rest []string
	for m := range cure.NumMilestones {
		switch {
		case !cl.Has(m):
		case m.Line() == cure.NotAfter:
			pot = append(pot, m.String())
		default:
			rest = append(rest, m.String())
		}
	}
	potStart, restStart := clockStarts(cl)
	switch {
	case pot == nil && rest == nil: // nothing but a degree of cure
		return "It counts from " + restStart + "."
	case pot == nil:
		return counts(rest) + " from " + restStart + "."
	case rest == nil:
		return counts(pot) + " from " + potStart + "."
	}
	return counts(pot) + " from " + potStart + ", the others from " + restStart + "."
}

// clockStarts are the events that start the clocks of a kind: of the lines not to
// work past, and of those to wait for.
func clockStarts(cl *catalog.Class) (pot, rest string) {
	rest = "the last sealant laid or fastener torqued"
	switch cl.Kind {
	case catalog.PremixedFrozen:
		return "leaving the freezer", rest
	case catalog.OnePartMoisture:
		return "the first sealant laid open to the air", rest
	case catalog.Anaerobic:
		return "the first drop on the thread", "the parts put together and the last fastener torqued: it cures shut off from air"
	case catalog.Promoter:
		return "the first wipe", "the last wipe"
	case catalog.Adhesive, catalog.FilmAdhesive:
		pot, rest = "the first adhesive spread", "the parts put together"
	case catalog.Primer, catalog.Topcoat:
		pot, rest = "opening", "the last coat laid"
	default:
		pot = "the first sealant laid"
	}
	if cl.MixByHand {
		pot = "the first touch of base and accelerator"
	}
	return pot, rest
}

// counts writes "Application and assembly count", with a capital.
func counts(names []string) string {
	verb, last := " count", len(names)-1
	said := names[0]
	if last == 0 {
		verb = " counts"
	} else {
		said = strings.Join(names[:last], ", ") + " and " + names[last]
	}
	return strings.ToUpper(said[:1]) + said[1:] + verb
}

// NeedsHumidity says why the times of a class cannot be told without the humidity
// of the air; "" if it does not look at it.
func NeedsHumidity(cl *catalog.Class) string {
	if m := cl.Moisture; m != nil && m.MinRH > 0 {
		return fmt.Sprintf("in air drier than %g %% this class goes by the witness cup", m.MinRH)
	}
	for m, c := range cl.Curves {
		if c == nil {
			continue
		}
		_, rhs := c.Form.Breaks()
		_, front := c.Form.(cure.Front)
		if front || c.Humidity != nil || len(rhs) > 0 || !c.RH.IsZero() {
			return fmt.Sprintf("the %s time of this class depends on it", cure.Milestone(m))
		}
	}
	return ""
}
