// Package shelf says whether a batch may be used on a day, and why: use, hold or
// reject.
//
// "Expired" is rarely one date. A batch ends at the first of several limits: the
// expiry on its label, its inspect/test date, the life its class gives it, the
// life of an opened tin, the time out of the freezer, a second thaw. Judge works
// out every limit that applies, each with its day, its reason in words and its
// source; the one that governs comes first.
//
//	j := shelf.Judge(item, rules, today)
//	j.Verdict          // Hold
//	j.Governing.Reason // "Inspect/test was due by 31 October 2026: test it before use."
//
// A limit's date is the last day of use: on that day the batch is good, the day
// after it is not. Where a printed or recorded date is only known to a month, the
// end that is safe counts, and Judgement.Assumed says so. A batch that nothing is
// known of is held, never passed.
//
// The package is pure: no clock, no files. Read on in rules.go (what a class
// says), judge.go (how limits make a verdict) and the limits themselves:
// printed.go, life.go, frozen.go, doubt.go.
package shelf

import (
	"fmt"
	"time"

	"github.com/rickb777/date"

	"beadline/catalog/label"
)

// Verdict is the answer to "may I use it?".
type Verdict uint8

// The verdicts, from mild to severe. A hold is lifted only by a named person with
// authority and a reference; a rejected batch never goes to aircraft use.
const (
	Use Verdict = iota
	Hold
	Reject
)

var verdictNames = [...]string{"use", "hold", "reject"}

// String is the verdict's word: "use", "hold" or "reject".
func (v Verdict) String() string {
	if int(v) < len(verdictNames) {
		return verdictNames[v]
	}
	return fmt.Sprintf("verdict %d", uint8(v))
}

// MarshalText writes the verdict's word.
func (v Verdict) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// UnmarshalText reads the verdict's word; any other is an error.
func (v *Verdict) UnmarshalText(text []byte) error {
	for i, name := range verdictNames {
		if string(text) == name {
			*v = Verdict(i)
			return nil
		}
	}
	return fmt.Errorf("%q is not a verdict: use, hold or reject", text)
}

// Item is one batch, or one container of it, as its label and its records say.
// A zero label.Date means that there is none.
type Item struct {
	Batch string
	Class string // class id

	DOM     label.Date // date of manufacture, assembly or cure
	Expiry  label.Date // printed expiry
	Inspect label.Date // printed inspect/test date

	Opened label.Date
	Thawed []label.Date // each time it left the freezer, in any order

	// ThawCount is how often it was thawed, where more thaws are known of than
	// have a date in Thawed; otherwise zero.
	ThawCount int

	// OutUsed is the time out of the freezer spent before the last of Thawed. With
	// zero, the batch counts as out since the first of Thawed, as no return to the
	// freezer is recorded.
	OutUsed time.Duration

	// Held is why a person set the batch aside ("left on the ramp at 41 C"), or "".
	Held string
}

// Name is the name of a limit in text, JSON and CSV.
type Name string

// The limits.
const (
	LimitHeld            Name = "held"             // set aside by a person
	LimitDatesContradict Name = "dates-contradict" // the dates cannot all be true
	LimitUndated         Name = "undated"          // neither made, expiry nor inspect date
	LimitUnknownLife     Name = "unknown-life"     // nothing printed, and the class gives no life
	LimitLabelExpiry     Name = "label-expiry"
	LimitInspectDate     Name = "inspect-date"
	LimitClassLife       Name = "class-life" // date of manufacture and the class's life
	LimitOpenedLife      Name = "opened-life"
	LimitThaw            Name = "thaw" // thawed more often than allowed
	LimitThawLife        Name = "thaw-life"
	LimitOutTime         Name = "out-time"
)

// Limit is one reason a batch ends.
type Limit struct {
	Name Name
	// Date is the last day of use. It means something only if Dated.
	Date  date.Date
	Dated bool
	// Verdict is what the limit demands once it is past.
	Verdict Verdict
	// Past is whether it is past on the day judged.
	Past bool
	// Counts is false for a limit listed for information only: a class life beside
	// a printed expiry.
	Counts bool
	// ByHour is true where the time of a limit ends within the day judged and only a
	// person can say at what hour.
	ByHour bool
	// Reason is a sentence for the person with the tin in hand.
	Reason string
	// Source is what the limit rests on.
	Source string
}

// DaysLeft is how many days of use follow the day given: 0 on the last day,
// negative once past. Of a limit without a date there is no number of days.
func (l Limit) DaysLeft(on date.Date) (days int, ok bool) {
	return int(l.Date.Sub(on)), l.Dated
}

// Judgement is what Judge found.
type Judgement struct {
	On      date.Date
	Verdict Verdict
	// Governing is the limit that decides: the earliest past one of the verdict's
	// severity, or for use the earliest to come. It is also Limits[0].
	Governing Limit
	// Limits are all that were found: past ones first, those listed for information
	// last.
	Limits []Limit
	// Assumed is what was taken for granted, a sentence each.
	Assumed []string
}

// DaysLeft is the governing limit's days left on the day judged.
func (j Judgement) DaysLeft() (days int, ok bool) { return j.Governing.DaysLeft(j.On) }
