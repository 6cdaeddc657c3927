package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestPairsAreReadWhole(t *testing.T) {
	p, err := pairsOf("test", " on = 2027-02-01 ; result=pass;by=lab; ", []string{"on", "result"}, []string{"by"})
	require.NoError(t, err)
	assert.Equal(t, pairs{"on": "2027-02-01", "result": "pass", "by": "lab"}, p)
	for text, want := range map[string]string{
		"on=2027-02-01":               "result is missing",
		"on=2027-02-01; result":       "write on=…; with any of result, by behind it, semicolons between",
		"on=1; on=2; result=pass":     "on is there twice",
		"on=1; result=pass; bye=lab":  "is by meant?",
		"on=1, result=pass, by=lab":   "semicolons between the words, not commas",
		"on=1; result=pass; zz=1":     "the words here are on, result, by",
		"on=1; result=; by=the lab":   "semicolons between",
		"on=1; result=pass; =nothing": "the words here are",
	} {
		_, err := pairsOf("test", text, []string{"on", "result"}, []string{"by"})
		if assert.Error(t, err, text) {
			assert.Contains(t, err.Error(), want, text)
		}
	}
}

func FuzzPairs(f *testing.F) {
	f.Add("on=2027-02-01; result=pass; by=lab")
	f.Add("on==;;=;result=\"")
	f.Fuzz(func(t *testing.T, text string) {
		p, err := pairsOf("test", text, []string{"on", "result"}, []string{"by"})
		if err != nil {
			assert.NotContains(t, strings.ReplaceAll(err.Error(), text, ""), "\n\n")
			return
		}
		assert.NotEmpty(t, p["on"])
		assert.NotEmpty(t, p["result"])
		for k, v := range p {
			assert.Contains(t, []string{"on", "result", "by"}, k)
			assert.Equal(t, strings.TrimSpace(v), v)
		}
	})
}
