package desk

import (
	"fmt"
	"strings"
	"unicode"

	"beadline/catalog/label/tag"
	"beadline/cure/quantity"
)

// PaperSize reads a width and a height as people write them: 70x37mm, 70 × 37 mm,
// 2.75x1.5in, 62mm x 4cm. A unit behind the second counts for both. The error is one
// line that begins with what was written.
func PaperSize(text string) (s tag.Size, err error) {
	bad := fmt.Errorf("%q: write width and height with their unit, like 70x37mm", shortened(text))
	w, h, ok := strings.Cut(strings.ReplaceAll(strings.ToLower(text), "×", "x"), "x")
	if !ok {
		return s, bad
	}
	w, h = strings.TrimSpace(w), strings.TrimSpace(h)
	if strings.IndexFunc(w, unicode.IsLetter) < 0 {
		w += strings.TrimLeftFunc(h, func(r rune) bool { return !unicode.IsLetter(r) })
	}
	if s.W, err = quantity.Length(w); err != nil {
		return tag.Size{}, bad
	}
	if s.H, err = quantity.Length(h); err != nil {
		return tag.Size{}, bad
	}
	return s, nil
}
