package cure

import "fmt"

// Milestone is one of the six points in the life of a mix, in their order.
type Milestone uint8

// The milestones. Application and assembly count from the first touch of
// accelerator and base; the others from the last sealant laid or fastener
// torqued.
const (
	Application Milestone = iota // may no longer be applied
	Assembly                     // parts together and last fastener done
	TackFree                     // no longer picks up on film
	Handling                     // may be moved or disturbed
	Cured                        // may be put to service
	FullCure                     // final properties
	NumMilestones
)

var milestoneNames = [NumMilestones]string{"application", "assembly", "tack-free", "handling", "cure", "full-cure"}

// String is the milestone's name in text, class files and JSON.
func (m Milestone) String() string {
	if m < NumMilestones {
		return milestoneNames[m]
	}
	return fmt.Sprintf("milestone %d", uint8(m))
}

// ParseMilestone finds a milestone by its name.
func ParseMilestone(s string) (Milestone, bool) {
	for i, n := range milestoneNames {
		if n == s {
			return Milestone(i), true
		}
	}
	return 0, false
}

// Line is the line that the milestone draws for the people who do the work.
func (m Milestone) Line() Line {
	if m <= Assembly {
		return NotAfter
	}
	return NotBefore
}

// Line says which side of an instant is the safe one. It is an argument of every
// query, so that the safe side is chosen where the question is asked and cannot
// be forgotten. The zero value is no line; queries panic on it.
type Line uint8

const (
	_         Line = iota
	NotAfter       // the work must be over by then: every doubt makes it earlier
	NotBefore      // the work may go on from then: every doubt makes it later
	Likely         // no line: the plain curve, for information only
)

// String is "not-after", "not-before" or "likely".
func (l Line) String() string {
	switch l {
	case NotAfter:
		return "not-after"
	case NotBefore:
		return "not-before"
	case Likely:
		return "likely"
	}
	return "no line"
}

func (l Line) check() {
	if l != NotAfter && l != NotBefore && l != Likely {
		panic("cure: a query without a line: say NotAfter, NotBefore or Likely")
	}
}
