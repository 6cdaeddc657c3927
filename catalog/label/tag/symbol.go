package tag

import (
	"fmt"
	"math"
	"strings"

	"github.com/boombuler/barcode"
	"github.com/boombuler/barcode/code128"
	"github.com/boombuler/barcode/datamatrix"
)

// Least and largest modules, in mm.
const (
	// LeastModule is the narrowest bar and the smallest square that is drawn: a
	// technician's label is copied, smeared and read by a cheap scanner. GS1 asks for
	// more where goods are scanned in distribution: 0.495 mm for GS1-128 (from memory);
	// see Distribution.
	LeastModule = 0.25
	// goodModule is tried first.
	goodModule = 0.33
	// No scanner needs larger ones.
	mostBar, mostSquare = 0.6, 1.0
	// Distribution is the narrowest bar of a GS1-128 that GS1 General Specifications
	// allow where goods are scanned in general distribution, in mm (from memory).
	Distribution = 0.495
)

// Quiet zones, in modules: 1 around a Data Matrix (ISO/IEC 16022), 10 on either side of
// a Code 128 (ISO/IEC 15417); both from memory.
const (
	matrixQuiet = 1
	barQuiet    = 10
)

// leastBars is the least height of the bars in mm (ISO/IEC 15417 asks for 5 mm, or 15 %
// of the length where it is read by hand; from memory).
const leastBars = 5.0

// symbol is a code as dark and light modules, without its quiet zone. A Code 128 has
// one row.
type symbol struct {
	code       Code
	cols, rows int
	dark       []bool // row by row
}

// newSymbol encodes a code.
func newSymbol(c Code) (*symbol, error) {
	var img barcode.Barcode
	var err error
	switch c.Form {
	case GS1DataMatrix:
		fnc1 := string([]byte{datamatrix.FNC1})
		img, err = datamatrix.Encode(fnc1 + strings.ReplaceAll(c.Text, groupSeparator, fnc1))
	case Format06:
		img, err = datamatrix.Encode(c.Text)
	case GS1128:
		fnc1 := string(code128.FNC1)
		img, err = code128.Encode(fnc1 + strings.ReplaceAll(c.Text, groupSeparator, fnc1))
	default:
		img, err = code128.Encode(c.Text)
	}
	if err != nil {
		return nil, fmt.Errorf("%s of %q: %w", c.Form, c.Text, err)
	}
	b := img.Bounds()
	s := &symbol{code: c, cols: b.Dx(), rows: b.Dy()}
	for y := range s.rows {
		for x := range s.cols {
			r, _, _, _ := img.At(b.Min.X+x, b.Min.Y+y).RGBA()
			s.dark = append(s.dark, r < 0x8000)
		}
	}
	return s, nil
}

func (s *symbol) matrix() bool { return s.rows > 1 }

// runs calls draw for every run of dark modules in a row: from module x of row y on, n
// of them.
func (s *symbol) runs(draw func(x, y, n int)) {
	for y := range s.rows {
		row := s.dark[y*s.cols : (y+1)*s.cols]
		for x := 0; x < s.cols; {
			n := 0
			for x+n < s.cols && row[x+n] {
				n++
			}
			if n > 0 {
				draw(x, y, n)
			}
			x += n + 1
		}
	}
}

// modules are the sizes of a module to try, in mm, from the largest down: whole dots of
// the printer, so that all bars of one width come out alike.
func modules(dot, most, least float64) []float64 {
	const near = 1e-9
	var all []float64
	for n := math.Floor(most/dot + near); n >= 1 && n*dot > least-near; n-- {
		all = append(all, n*dot)
	}
	return all
}
