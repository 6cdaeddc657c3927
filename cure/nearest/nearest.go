// Package nearest finds the known names closest to a misspelt word, so that a
// refusal can say what was probably meant.
package nearest

import (
	"slices"
	"strings"
)

// Names lists up to limit of the known names that resemble word, best first, ties in
// the order of known. A name resembles a word when few letters differ (one letter
// in three at most, a swap of neighbours counting once) or when they share a whole
// word between hyphens, spaces, underscores, slashes or points, or when the name
// holds all the parts of a word such as b-2. Case does not count. The list is empty
// when nothing resembles the word, or when the word is empty.
func Names(word string, known []string, limit int) []string {
	type candidate struct {
		name  string
		score float64
	}
	w := strings.ToLower(strings.TrimSpace(word))
	if w == "" || limit <= 0 {
		return nil
	}
	wordParts := parts(w)
	var found []candidate
	seen := map[string]bool{}
	for _, name := range known {
		if seen[name] {
			continue
		}
		seen[name] = true
		if s, ok := score(w, wordParts, strings.ToLower(name)); ok {
			found = append(found, candidate{name, s})
		}
	}
	slices.SortStableFunc(found, func(a, b candidate) int {
		switch {
		case a.score < b.score:
			return -1
		case a.score > b.score:
			return 1
		}
		return 0
	})
	var names []string
	for _, c := range found[:min(limit, len(found))] {
		names = append(names, c.name)
	}
	return names
}

// score is 0 for the same word and grows with the difference; ok says whether the
// two resemble each other at all. Shared parts lower the score, so that of two
// names equally far in letters the one with the same words comes first.
func score(w string, wordParts []string, name string) (s float64, ok bool) {
	longest := max(len([]rune(w)), len([]rune(name)))
	if longest == 0 {
		return 0, false
	}
	d := Distance(w, name)
	shared, strong := sharing(wordParts, parts(name))
	alike := d <= max(1, longest/3) && d < longest
	return float64(d)/float64(longest) - shared, alike || strong
}

// sharing is the fraction of the parts that two names have in common; strong is
// true when one of those is a real word, not a number or a letter or two, or when
// the name holds every part of a.
func sharing(a, b []string) (fraction float64, strong bool) {
	common := 0
	for _, p := range a {
		for _, q := range b {
			// A part misspelt by one letter still counts, if it is long enough.
			if p == q || len(p) > 4 && len(q) > 4 && Distance(p, q) <= 1+len(p)/6 {
				common++
				strong = strong || len(p) > 2
				break
			}
		}
	}
	return float64(common) / float64(max(len(a), len(b), 1)), strong || len(a) > 1 && common == len(a)
}

func parts(s string) []string {
	return strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune("- _/.,", r) })
}

// Distance counts the letters to insert, delete, change or swap with a neighbour
// that turn a into b (the restricted Damerau-Levenshtein distance).
func Distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	before, above, row := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range above {
		above[j] = j
	}
	for i := range x {
		row[0] = i + 1
		for j := range y {
			cost := 1
			if x[i] == y[j] {
				cost = 0
			}
			row[j+1] = min(above[j]+cost, above[j+1]+1, row[j]+1)
			if i > 0 && j > 0 && x[i] == y[j-1] && x[i-1] == y[j] {
				row[j+1] = min(row[j+1], before[j-1]+1)
			}
		}
		before, above, row = above, row, before
	}
	return above[len(y)]
}
