package label

import (
	"errors"
	"fmt"
	"strings"

	"github.com/rickb777/date/period"
)

// CodeSource names where the shelf-life codes of CodeLife come from.
const CodeSource = "US DoD shelf-life codes, 41 CFR 101-27.205"

// ErrUnlimited is what CodeLife answers for code 0: the item does not
// deteriorate, so there is no life to count.
var ErrUnlimited = errors.New("shelf-life code 0: the item does not deteriorate, there is no shelf life to count")

// ErrNeedsNumber is what CodeLife answers for code X: more than 60 months, and
// the code does not say how many.
var ErrNeedsNumber = errors.New("shelf-life code X: more than 60 months, the code does not say how many: give the shelf life itself, like 84 months")

// typeI are the letters for items whose life cannot be extended, in months. N, P
// and the 36 of Q are from memory: the copy of the regulation that was read
// misprints them.
var typeI = map[string]int{
	"A": 1, "B": 2, "C": 3, "D": 4, "E": 5, "F": 6, "G": 9, "H": 12, "J": 15,
	"K": 18, "L": 21, "M": 24, "N": 27, "P": 30, "Q": 36, "R": 48, "S": 60,
}

// typeII are the digits for items whose life may be extended after a test, in
// months.
var typeII = map[string]int{
	"1": 3, "2": 6, "3": 9, "4": 12, "5": 18, "6": 24, "7": 36, "8": 48, "9": 60,
}

// Code is a one-character US DoD shelf-life code. The zero value is no code: ask
// IsZero. Source: 41 CFR 101-27.205.
type Code struct {
	char   byte
	months int
}

// IsZero reports whether there is no code.
func (c Code) IsZero() bool { return c.char == 0 }

// String is the code as printed: "A", "4"; "" for no code.
func (c Code) String() string {
	if c.IsZero() {
		return ""
	}
	return string(rune(c.char))
}

// Type is "I" for a letter, a life that cannot be extended, "II" for a digit 1 to 9
// or X, one that can after a test, and "" for 0, an item that does not deteriorate.
func (c Code) Type() string {
	switch {
	case c.IsZero() || c.char == '0':
		return ""
	case c.Extendable():
		return "II"
	}
	return "I"
}

// Extendable reports whether the item is of type II: its life may be extended when a
// test is passed.
func (c Code) Extendable() bool { return c.char == 'X' || c.char >= '1' && c.char <= '9' }

// End is the mark that the end of life bears: KindExpiry (EXP) for type I,
// KindInspect (INSP/TEST) for type II, KindNone for code 0 and for no code.
func (c Code) End() Kind {
	switch c.Type() {
	case "I":
		return KindExpiry
	case "II":
		return KindInspect
	}
	return KindNone
}

// Life is the shelf life behind the code, in whole months. Code 0 gives
// ErrUnlimited and X gives ErrNeedsNumber; no code is an error too.
func (c Code) Life() (period.Period, error) {
	switch c.char {
	case 0:
		return period.Period{}, errNoCode
	case '0':
		return period.Period{}, ErrUnlimited
	case 'X':
		return period.Period{}, ErrNeedsNumber
	}
	return period.NewYMD(0, c.months, 0), nil
}

var errNoCode = errors.New("shelf-life code is empty: write one letter A to S or one digit 1 to 9")

// ReadCode reads a shelf-life code: one letter A to S but I and O, one digit, or X.
// Lower case is refused, and so are I and O (too like 1 and 0), letters beyond S and
// anything longer: a guess could give years.
func ReadCode(s string) (Code, error) {
	c := strings.TrimSpace(s)
	if m, ok := typeI[c]; ok {
		return Code{c[0], m}, nil
	}
	if m, ok := typeII[c]; ok {
		return Code{c[0], m}, nil
	}
	switch c {
	case "0", "X":
		return Code{char: c[0]}, nil
	case "":
		return Code{}, errNoCode
	case "I", "O":
		return Code{}, fmt.Errorf("shelf-life code %s: no such code: is it the digit %s?", quote(c), map[string]string{"I": "1", "O": "0"}[c])
	}
	if up := strings.ToUpper(c); up != c && len(c) == 1 {
		return Code{}, fmt.Errorf("shelf-life code %s: codes are capital letters or digits: is it %s?", quote(c), up)
	}
	return Code{}, fmt.Errorf("shelf-life code %s: no such code: write one letter A to S (not I or O) or one digit 1 to 9", quote(c))
}

// CodeLife is the shelf life behind a shelf-life code, in whole months, and whether
// the item is of type II: extendable by test. It is ReadCode and Life in one, with
// the errors of both; code 0 counts as extendable here, as nothing ends.
func CodeLife(code string) (life period.Period, extendable bool, err error) {
	c, err := ReadCode(code)
	if err != nil {
		return period.Period{}, false, err
	}
	life, err = c.Life()
	return life, c.Extendable() || c.char == '0', err
}
