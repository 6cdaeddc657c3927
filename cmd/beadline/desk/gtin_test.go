package desk

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestGTINsFindTheirClassAtAnyLength(t *testing.T) {
	g, err := ReadGTINs(strings.NewReader("\ufeffclass, gtin\npolysulfide-b-2,09520123456788\nlow-adhesion-2,9520000000042\n"), "g.csv")
	require.NoError(t, err)
	assert.Equal(t, "polysulfide-b-2", g.Class("9520123456788"))
	assert.Equal(t, "polysulfide-b-2", g.Class("09520123456788"))
	assert.Equal(t, "low-adhesion-2", g.Class("09520000000042"))
	assert.Empty(t, g.Class("09520000000059"))
	assert.Empty(t, g.Class(""))
	assert.Empty(t, (*GTINs)(nil).Class("9520123456788"))
}

func TestBadGTINFilesSayWhere(t *testing.T) {
	for text, want := range map[string]string{
		"":                                "g.csv: the file is empty",
		"batch,class\n":                   "g.csv:1: the header needs the columns gtin and class",
		"gtin,class\n9520123456788\n":     "g.csv:2: 1 fields",
		"gtin,class\n9520123456788,\n":    "g.csv:2: GTIN 9520123456788 has no class",
		"gtin,class\n9520123456789,x\n":   "for these digits it is 8",
		"gtin,class\n95201234567AA,x\n":   "digits only",
		"gtin,class\n952,x\n":             "8, 12, 13 or 14",
		"gtin,class\n9520123456788,\"x\n": "g.csv:2",
		"gtin,class\n9520123456788,a\n09520123456788,b\n": "g.csv:3: GTIN 09520123456788 is b here and a before",
	} {
		_, err := ReadGTINs(strings.NewReader(text), "g.csv")
		if assert.Error(t, err, text) {
			assert.Contains(t, err.Error(), want)
			assert.NotContains(t, err.Error(), "\n")
		}
	}
}

func FuzzReadGTINs(f *testing.F) {
	for _, s := range []string{"gtin,class\n9520123456788,b-2\n", "class;gtin\n", "\ufeffgtin,class\n\"9520123456788\",\"b\n2\"\n", "gtin,class\n952,\n"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		g, err := ReadGTINs(strings.NewReader(text), "g.csv")
		if err != nil {
			assert.True(t, strings.HasPrefix(err.Error(), "g.csv"), err)
			assert.NotContains(t, err.Error(), "\n")
			return
		}
		for number, class := range g.class {
			assert.Len(t, number, 14)
			assert.NotEmpty(t, class)
		}
	})
}
