package register

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// The longest texts that are recorded, in bytes.
const (
	maxName = 200  // numbers, names, places
	maxWhy  = 4000 // reasons, results
	maxID   = 64
)

// Clean makes a text fit to be recorded: the spaces around it go, and letters with marks
// are composed (Unicode NFC), so that what looks the same is the same. It refuses what
// is longer than most bytes, is not UTF-8, or has characters in it that cannot be seen or
// turn the line around.
func Clean(text string, most int) (string, error) {
	if len(text) > most {
		return "", fmt.Errorf("it is %d bytes long: write at most %d", len(text), most)
	}
	if !utf8.ValidString(text) {
		return "", fmt.Errorf("it is not UTF-8 text")
	}
	text = norm.NFC.String(strings.TrimSpace(text))
	for i, r := range text {
		if unicode.IsControl(r) || r == '\u2028' || r == '\u2029' || unicode.Is(unicode.Bidi_Control, r) || r == utf8.RuneError || r == '\ufeff' || r == '\u200b' {
			return "", fmt.Errorf("character %d (U+%04X) cannot be seen: leave it out", utf8.RuneCountInString(text[:i])+1, r)
		}
	}
	return text, nil
}

// clean cleans all texts of an event in place. The error names the field.
func (e *Event) clean() error {
	for _, f := range []struct {
		name string
		to   *string
		most int
	}{
		{"id", &e.ID, maxID}, {"by", &e.By, maxName}, {"station", &e.Station, maxName}, {"zone", &e.Zone, maxName}, {"why", &e.Why, maxWhy},
		{"authority", &e.Authority, maxName}, {"reference", &e.Reference, maxName}, {"corrects", &e.Corrects, maxID},
		{"container", &e.Container, maxName}, {"place", &e.Place, maxName}, {"to", &e.To, maxName}, {"as", &e.As, maxName},
		{"unit", &e.Unit, maxName}, {"verdict", &e.Verdict, maxWhy}, {"classes-of", &e.ClassesOf, maxWhy},
	} {
		if err := cleanField(f.name, f.to, f.most); err != nil {
			return err
		}
	}
	if r := e.Receipt; r != nil {
		for _, f := range []struct {
			name string
			to   *string
		}{{"gtin", &r.GTIN}, {"maker-batch", &r.MakerBatch}, {"supplier", &r.Supplier}, {"order", &r.Order}, {"certificate", &r.Certificate},
			{"pack", &r.Pack}, {"source", &r.Source}, {"class", &r.Label.Class}} {
			if err := cleanField(f.name, f.to, maxName); err != nil {
				return err
			}
		}
	}
	if l := e.Log; l != nil {
		for _, f := range []struct {
			name string
			to   *string
		}{{"log", &l.Name}, {"sha256", &l.SHA256}, {"place of the log", &l.Place}} {
			if err := cleanField(f.name, f.to, maxName); err != nil {
				return err
			}
		}
	}
	if u := e.Use; u != nil {
		if err := cleanField("job", &u.Job, maxName); err != nil {
			return err
		}
		if err := cleanField("mix", &u.Mix, maxName); err != nil {
			return err
		}
		for i := range u.Joints {
			if err := cleanField("joint", &u.Joints[i], maxName); err != nil {
				return err
			}
		}
	}
	return nil
}

func cleanField(name string, to *string, most int) error {
	s, err := Clean(*to, most)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	*to = s
	return nil
}

// MakeBatch cleans what names a batch.
func MakeBatch(number, maker string) (b Batch, err error) {
	if b.Number, err = Clean(number, maxName); err != nil {
		return b, fmt.Errorf("batch: %w", err)
	}
	if b.Number == "" {
		return b, fmt.Errorf("batch: there is none: write the number on the label")
	}
	if b.Maker, err = Clean(maker, maxName); err != nil {
		return b, fmt.Errorf("maker: %w", err)
	}
	return b, nil
}
