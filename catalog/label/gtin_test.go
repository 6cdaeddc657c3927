package label

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Worked examples of the GS1 General Specifications: the digits before, the check
// digit.
func TestCheckDigitsOfTheGS1Specifications(t *testing.T) {
	for digits, want := range map[string]byte{"629104150021": '3', "730001100001": '7', "1234567890123": '1'} {
		assert.Equal(t, want, CheckDigit(digits), digits)
		full, err := GTIN(digits + string(want))
		require.NoError(t, err)
		assert.Len(t, full, 14)
	}
	assert.Zero(t, CheckDigit(""))
	assert.Zero(t, CheckDigit("12A"))
}

func TestAGTINOfAnyLengthIsTheSame(t *testing.T) {
	for _, s := range []string{"9520123456788", "09520123456788", " 952 0123 456788 "} {
		full, err := GTIN(s)
		require.NoError(t, err, s)
		assert.Equal(t, "09520123456788", full)
	}
	for s, want := range map[string]string{"": "digits only", "95201234567AA": "digits only", "9520": "8, 12, 13 or 14",
		"009520123456788": "8, 12, 13 or 14", "9520123456789": "it is 8"} {
		_, err := GTIN(s)
		if assert.Error(t, err, s) {
			assert.Contains(t, err.Error(), want)
		}
	}
}

func TestOneWrongDigitOfAGTINIsFound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := []byte("09520123456788")
		i := rapid.IntRange(0, 13).Draw(t, "at")
		d := byte('0' + rapid.IntRange(0, 9).Draw(t, "digit"))
		same := b[i] == d
		b[i] = d
		_, err := GTIN(string(b))
		assert.Equal(t, same, err == nil)
	})
}
