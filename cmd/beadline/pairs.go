package main

import (
	"slices"
	"strings"

	"beadline/cure/nearest"
)

// pairs are the words of one flag such as "name=accelerator; lot=A-7".
type pairs map[string]string

// pairsOf reads them; every key must be one of those known, and those needed be there.
func pairsOf(flag, text string, needed, known []string) (pairs, error) {
	all := slices.Concat(needed, known)
	p := pairs{}
	for part := range strings.SplitSeq(text, ";") {
		if strings.TrimSpace(part) == "" {
			continue
		}
		key, value, ok := strings.Cut(part, "=")
		key, value = strings.ToLower(strings.TrimSpace(key)), strings.TrimSpace(value)
		switch {
		case !ok || value == "":
			return nil, usagef("--%s %q: write %s=…; with any of %s behind it, semicolons between", flag, strings.TrimSpace(part), all[0], strings.Join(all[1:], ", "))
		case strings.Contains(value, "=") && strings.Contains(value, ","):
			return nil, usagef("--%s %q: put semicolons between the words, not commas", flag, text)
		case !slices.Contains(all, key):
			hint := "the words here are " + strings.Join(all, ", ")
			if near := nearest.Names(key, all, 1); near != nil {
				hint = "is " + near[0] + " meant?"
			}
			return nil, usagef("--%s: %q is not known: %s", flag, key, hint)
		case p[key] != "":
			return nil, usagef("--%s: %s is there twice: keep one", flag, key)
		}
		p[key] = value
	}
	for _, n := range needed {
		if p[n] == "" {
			return nil, usagef("--%s %q: %s is missing: write %s", flag, text, n, strings.Join(needed, "=…; ")+"=…")
		}
	}
	return p, nil
}
