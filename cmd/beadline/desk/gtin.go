package desk

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"

	"beadline/catalog/label"
)

// GTINs says which class the article numbers of a person's suppliers are of.
type GTINs struct {
	Name  string            // of the file
	class map[string]string // by GTIN of 14 digits
}

// ReadGTINs reads a file of two columns, gtin and class, with a header and in either
// order; GTINs as label.GTIN reads them. Errors, each one line with file and line: no such columns, a
// GTIN that is none (its check digit is worked out too), one that is given two
// classes, a row without a class.
func ReadGTINs(r io.Reader, name string) (*GTINs, error) {
	in := csv.NewReader(r)
	in.FieldsPerRecord = -1
	in.TrimLeadingSpace = true
	head, err := in.Read()
	if err == io.EOF {
		return nil, fmt.Errorf("%s: the file is empty: it needs a header gtin,class", name)
	}
	if err != nil {
		return nil, csvError(name, err)
	}
	gtin, class := -1, -1
	for i, h := range head {
		switch strings.ToLower(strings.TrimSpace(strings.TrimPrefix(h, "\ufeff"))) {
		case "gtin":
			gtin = i
		case "class":
			class = i
		}
	}
	if gtin < 0 || class < 0 {
		return nil, fmt.Errorf("%s:1: the header needs the columns gtin and class: write gtin,class", name)
	}
	g := &GTINs{Name: name, class: map[string]string{}}
	for {
		row, err := in.Read()
		if err == io.EOF {
			return g, nil
		}
		if err != nil {
			return nil, csvError(name, err)
		}
		line, _ := in.FieldPos(0)
		if len(row) <= max(gtin, class) {
			return nil, fmt.Errorf("%s:%d: %d fields: write a GTIN and a class", name, line, len(row))
		}
		if err := g.add(strings.TrimSpace(row[gtin]), strings.TrimSpace(row[class])); err != nil {
			return nil, fmt.Errorf("%s:%d: %w", name, line, err)
		}
	}
}

func (g *GTINs) add(number, class string) error {
	full, err := label.GTIN(number)
	switch {
	case err != nil:
		return fmt.Errorf("gtin %w", err)
	case class == "":
		return fmt.Errorf("GTIN %s has no class: write a class id such as polysulfide-b-2", number)
	case g.class[full] != "" && g.class[full] != class:
		return fmt.Errorf("GTIN %s is %s here and %s before: keep one", number, class, g.class[full])
	}
	g.class[full] = class
	return nil
}

// Class is the class of a GTIN, or "".
func (g *GTINs) Class(number string) string {
	full, err := label.GTIN(number)
	if g == nil || err != nil {
		return ""
	}
	return g.class[full]
}

func csvError(name string, err error) error {
	var pe *csv.ParseError
	if errors.As(err, &pe) {
		return fmt.Errorf("%s:%d: %w: put quotes around a whole field, or leave them out", name, pe.Line, pe.Err)
	}
	return fmt.Errorf("%s: %w", name, err)
}
