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
// What happened to a batch since may be given as events: Replay folds them into the
// item. JudgeFor asks about an hour instead of a day, and whether the batch outlasts a
// job.
//
// The package is pure: no clock, no files. Read on in item.go (what a label and the
// records say), rules.go, terms.go and seals.go (what a class, a shelf-life code and a
// standard for seals say), judge.go (how limits make a verdict), clock.go (wall clocks),
// event.go and replay.go, and the limits themselves: printed.go, life.go, extend.go and
// tested.go (more life by a test), frozen.go and outings.go, stored.go, kit.go,
// arrival.go, condition.go, doubt.go, code.go, far.go, outlast.go; free.go lifts a hold.
package shelf

import (
	"fmt"

	"github.com/rickb777/date"
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

// Name is the name of a limit in text, JSON and CSV.
type Name string

// The limits.
const (
	LimitHeld            Name = "held"             // set aside by a person
	LimitDatesContradict Name = "dates-contradict" // the dates cannot all be true
	LimitUndated         Name = "undated"          // no date of any kind
	LimitUnknownLife     Name = "unknown-life"     // nothing printed, and the class gives no life
	LimitFarDate         Name = "far-date"         // a printed date so far off that a digit may have slipped
	LimitLabelExpiry     Name = "label-expiry"
	LimitInspectDate     Name = "inspect-date"
	LimitBestBefore      Name = "best-before"
	LimitClassLife       Name = "class-life" // date of manufacture and the class's life
	LimitCodeLife        Name = "code-life"  // date of manufacture and the life of its shelf-life code
	LimitOpenedLife      Name = "opened-life"
	LimitInstalledLife   Name = "installed-life"
	LimitThaw            Name = "thaw" // thawed more often than allowed
	LimitThawLife        Name = "thaw-life"
	LimitOutTime         Name = "out-time"
	LimitFailedTest      Name = "failed-test"
	LimitHotStorage      Name = "hot-storage"    // use within so long of the first moment too hot
	LimitStorageBounds   Name = "storage-bounds" // it was stored outside the absolute temperatures
	LimitStoreRange      Name = "store-range"    // it was stored outside the usual temperatures, but inside the absolute
	LimitStorageLife     Name = "storage-life"   // the life that its storage leaves
	LimitMeanKinetic     Name = "mean-kinetic"   // how warm it was stored, for information
	LimitKitParts        Name = "kit-parts"      // the parts do not belong together
	LimitPartExpiry      Name = "part-expiry"    // a part of the kit ends
	LimitReceipt         Name = "receipt"        // how much of its life was left when it came in
	LimitCondition       Name = "condition"      // what is wrong with the pack or what is in it
	LimitStandard        Name = "standard"       // which standard governs a seal is not known
	LimitScrapped        Name = "scrapped"       // taken out of stock for good
	LimitOutlast         Name = "outlast"        // it ends before the work would be done
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
	// a printed expiry, a hold that was freed.
	Counts bool
	// Minute is the minute of that day, 0 to 1439, up to which it may be used, if
	// Timed; otherwise the whole day counts.
	Minute int
	Timed  bool
	// ByHour is true where the time of a limit ends within the day judged: the hour was
	// not asked about, or when the time began is not recorded to the hour.
	ByHour bool
	// Who must decide, and what evidence would settle it, a sentence each, of a hold
	// that stands; "" for any other limit: there is nothing to decide, or nobody may.
	Who, Evidence string
	// Freed is true of a hold that a person with authority has lifted; Reason says who.
	Freed bool
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
	On date.Date
	// At is the minute of that day that was asked about, if Timed; otherwise the whole
	// day was.
	At      int
	Timed   bool
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
