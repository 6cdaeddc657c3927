package label

import (
	"fmt"
	"strings"
)

// CheckDigit is the check digit that belongs behind a row of digits: weights 3, 1, 3,
// … from the right (GS1 General Specifications, check digit of GTIN, SSCC and GLN).
// Anything but digits gives 0, the zero byte.
func CheckDigit(digits string) byte {
	if !isNumber(digits) {
		return 0
	}
	sum, weight := 0, 3
	for i := len(digits) - 1; i >= 0; i-- {
		sum += weight * int(digits[i]-'0')
		weight = 4 - weight
	}
	return byte('0' + (10-sum%10)%10)
}

// GTIN reads a trade item number and fills it with zeros in front to its 14 digits.
// It has 8, 12, 13 or 14 digits, of which the last is the check digit; 9 to 11 are read
// too, since a spreadsheet takes zeros off in front, which the check digit does not
// see. Spaces between digits do not count. The error is one line without the number's
// name, like `"952": …`.
func GTIN(s string) (string, error) {
	digits := strings.ReplaceAll(strings.TrimSpace(s), " ", "")
	switch {
	case !isNumber(digits):
		return "", fmt.Errorf("%s: a GTIN has digits only: copy it from the label", quote(s))
	case len(digits) < 8 || len(digits) > 14:
		return "", fmt.Errorf("%s: it has %d digits: a GTIN has 8, 12, 13 or 14", quote(s), len(digits))
	}
	last := len(digits) - 1
	if check := CheckDigit(digits[:last]); digits[last] != check {
		return "", fmt.Errorf("%s: the check digit is wrong: for these digits it is %c, so one of them is mistyped", quote(s), check)
	}
	return strings.Repeat("0", 14-len(digits)) + digits, nil
}
