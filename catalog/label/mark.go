package label

import (
	"errors"
	"fmt"
	"strings"
)

// Kind is which date of a batch a mark on its label stands for.
type Kind uint8

// The kinds.
const (
	KindNone       Kind = iota
	KindMade            // made, assembled or cured
	KindPacked          // packed
	KindExpiry          // not to be used after
	KindInspect         // to be inspected or tested by, before further use
	KindBestBefore      // best before
	KindSellBy          // sell by
	KindReceived        // received
	KindOpened          // opened
	KindThawed          // taken from the freezer
	KindCode            // a shelf-life code, and no date
	numKinds       = iota
)

var kindNames = [numKinds]string{"no mark", "made", "packed", "expiry", "inspect/test", "best before", "sell by",
	"received", "opened", "thawed", "shelf-life code"}

// String is the kind in words: "made", "inspect/test".
func (k Kind) String() string {
	if k < numKinds {
		return kindNames[k]
	}
	return fmt.Sprintf("kind %d", uint8(k))
}

// Ahead reports whether the date is one that a batch is good until, and so may lie
// in the future.
func (k Kind) Ahead() bool {
	return k == KindExpiry || k == KindInspect || k == KindBestBefore || k == KindSellBy
}

// Mark is one mark on a label with what stands after it.
type Mark struct {
	Kind Kind
	Word string // the mark as printed, without its date, with single spaces
	Date Date   // zero for a shelf-life code
	Code Code   // of KindCode
}

// marks are the words that are read, by kind. A space stands for any of the signs
// that may part words; the word DATE may follow any of them. EXP and INSP/TEST are
// those of US DoD types I and II; the others are common practice, no source. TEST and
// INSP alone are not read: they may be when it was done, or when it is due.
var marks = []struct {
	kind  Kind
	shown string // the one shown when a word is not known
	words []string
}{
	{KindMade, "DOM", []string{"DOM", "MFD", "MFG", "MFGD", "MANUFACTURED", "DATE OF MANUFACTURE", "DATE OF MFG",
		"MADE", "ASSEMBLED", "DATE ASSEMBLED", "PRODUCED", "PRODUCTION", "PROD"}},
	{KindMade, "CURE DATE", []string{"CURE", "CURED", "DATE OF CURE", "DATE CURED"}},
	{KindPacked, "PACKED", []string{"PACKED", "PACKAGED", "PACK", "PKD", "DATE PACKED"}},
	{KindExpiry, "EXP", []string{"EXP", "EXPIRES", "EXPIRES ON", "EXPIRES END", "EXPIRY", "EXPIRATION", "DATE OF EXPIRY",
		"DATE OF EXPIRATION", "USE BY", "USE BEFORE", "DO NOT USE AFTER"}},
	{KindInspect, "INSP/TEST", []string{"INSP TEST", "INSPECT TEST", "INSPECTION TEST", "INSPECT BY", "TEST BY", "RETEST", "RETEST BY"}},
	{KindBestBefore, "BEST BEFORE", []string{"BEST BEFORE", "BEST BEFORE END", "BEST BY", "BEST USED BY", "BBE"}},
	{KindSellBy, "SELL BY", []string{"SELL BY"}},
	{KindReceived, "RECEIVED", []string{"RECEIVED", "RECD", "REC D"}},
	{KindOpened, "OPENED", []string{"OPENED", "OPENED ON"}},
	{KindThawed, "THAWED", []string{"THAWED", "THAWED ON"}},
	{KindCode, "SHELF LIFE CODE", []string{"SHELF LIFE CODE", "SL CODE", "SLC"}},
}

// ErrNoMark is in the error of ReadMark for a text that starts with no mark: it may be
// a date alone, or something else.
var ErrNoMark = errors.New("no mark that is read")

// maxMark is the longest text read as a mark with its date.
const maxMark = 64

// ReadMark reads a mark on a label with the date, or the shelf-life code, after it:
// "ASSEMBLED 10/13", "EXP 05/27", "INSP/TEST 10/16", "CURE DATE 2Q26", "MFD
// 2026-09-01", "SHELF LIFE CODE 4". Case does not count, nor which of space, slash,
// dash, point, colon, comma or equals sign stands after the words. The date is read
// as by Read.
//
// Words that are no mark are refused with a list of those that are; so is a year of
// one digit in a date that a batch is good until, because no decade is safe for it.
func ReadMark(s string, how How) (Mark, error) {
	t := strings.TrimSpace(s)
	if t == "" {
		return Mark{}, errors.New("no mark given: write it like EXP 2027-06")
	}
	if len(t) > maxMark {
		return Mark{}, fmt.Errorf("%s: too long for a mark: write it like EXP 2027-06", quote(t))
	}
	kind, n := markAt(t)
	if kind == KindNone {
		return Mark{}, fmt.Errorf("%s: %w: write one of %s and its date, like EXP 2027-06", quote(t), ErrNoMark, marksRead())
	}
	m := Mark{Kind: kind, Word: strings.Join(strings.Fields(strings.TrimRight(t[:n], betweenWords)), " ")}
	rest := strings.TrimSpace(t[n:])
	var err error
	if kind == KindCode {
		m.Code, err = ReadCode(rest)
	} else {
		m.Date, err = Read(rest, how)
	}
	if err == nil && m.Date.guess&decade != 0 && kind.Ahead() {
		err = fmt.Errorf("%s: a year of one digit does not say its decade: write the date like 2027-181", quote(rest))
	}
	if err != nil {
		return Mark{}, fmt.Errorf("%s: %w", strings.ToUpper(m.Word), err)
	}
	return m, nil
}

const betweenWords = " /-.:,=_'\t"

// markAt finds the longest mark that t starts with, and where what follows it
// starts; KindNone if there is none.
func markAt(t string) (kind Kind, end int) {
	for _, m := range marks {
		for _, words := range m.words {
			n := startsWith(t, words)
			if n == 0 {
				continue
			}
			if more := startsWith(t[n:], "DATE"); more > 0 {
				n += more
			}
			if n > end {
				kind, end = m.kind, n
			}
		}
	}
	return kind, end
}

// startsWith is how far t goes on after the words it starts with and the signs behind
// them, or zero if it does not start with them. A word ends at a sign, at a digit or
// with the text.
func startsWith(t, words string) int {
	i := 0
	for word := range strings.SplitSeq(words, " ") {
		n := i + len(word)
		if n > len(t) || !strings.EqualFold(t[i:n], word) || n < len(t) && letter(t[n]) {
			return 0
		}
		for i = n; i < len(t) && strings.IndexByte(betweenWords, t[i]) >= 0; i++ {
		}
	}
	return i
}

func marksRead() string {
	var shown []string
	for _, m := range marks {
		shown = append(shown, m.shown)
	}
	return strings.Join(shown, ", ")
}
