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

// CodeLife is the shelf life behind a one-character US DoD shelf-life code, in
// whole months, and whether the item is of type II: extendable by test. Source:
// 41 CFR 101-27.205.
//
// Code 0 gives ErrUnlimited and X gives ErrNeedsNumber. Lower case is refused,
// and so are I and O (too like 1 and 0), letters beyond S and anything longer:
// a guess could give years.
func CodeLife(code string) (life period.Period, extendable bool, err error) {
	c := strings.TrimSpace(code)
	if m, ok := typeI[c]; ok {
		return period.NewYMD(0, m, 0), false, nil
	}
	if m, ok := typeII[c]; ok {
		return period.NewYMD(0, m, 0), true, nil
	}
	switch c {
	case "0":
		return period.Period{}, true, ErrUnlimited
	case "X":
		return period.Period{}, true, ErrNeedsNumber
	case "":
		return period.Period{}, false, errors.New("shelf-life code is empty: write one letter A to S or one digit 1 to 9")
	case "I", "O":
		return period.Period{}, false, fmt.Errorf("shelf-life code %s: no such code: is it the digit %s?", quote(c), map[string]string{"I": "1", "O": "0"}[c])
	}
	if up := strings.ToUpper(c); up != c && len(c) == 1 {
		return period.Period{}, false, fmt.Errorf("shelf-life code %s: codes are capital letters or digits: is it %s?", quote(c), up)
	}
	return period.Period{}, false, fmt.Errorf("shelf-life code %s: no such code: write one letter A to S (not I or O) or one digit 1 to 9", quote(c))
}
