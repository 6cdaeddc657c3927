package tag

import (
	"math"
	"slices"
)

// Drawing is labels laid out on pages.
type Drawing struct {
	Sheet  Sheet
	Pages  int
	Labels []Label
}

// Label is one label of a drawing.
type Label struct {
	Page    int      // from 0
	X, Y    float64  // of its upper left corner on the page, mm
	Symbols []Symbol // the Data Matrix, then the Code 128 if there is one
	laid    *laid
}

// Symbol is a bar code of a label, as drawn.
type Symbol struct {
	Code Code
	// X, Y, W and H are its place on the page without the quiet zone, in mm.
	X, Y, W, H float64
	Module     float64 // the X dimension: the width of a module, mm
	symbol     *symbol
}

// QuietMM is the blank that must stay around it, in mm: on all sides of a Data Matrix,
// left and right of a Code 128.
func (s Symbol) QuietMM() float64 {
	if s.symbol.matrix() {
		return matrixQuiet * s.Module
	}
	return barQuiet * s.Module
}

// Draw lays labels out on a sheet, in their order. Errors are of type *Error: a tag
// that cannot be said, a sheet that cannot be printed, a label too small for what must
// be on it; symbols are never shrunk under LeastModule.
func Draw(tags []Tag, s Sheet) (*Drawing, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	d := &Drawing{Sheet: s}
	r := newRuler()
	for k := range tags {
		if err := tags[k].check(r); err != nil {
			return nil, err
		}
		f, err := newFace(&tags[k], s.NoBars)
		if err != nil {
			return nil, err
		}
		l, err := layOut(f, s, r)
		if err != nil {
			return nil, err
		}
		d.add(k, l)
	}
	return d, nil
}

// add puts the k-th label on its page, its symbols on whole dots of the printer.
func (d *Drawing) add(k int, l *laid) {
	page, x, y := d.Sheet.place(k)
	label := Label{Page: page, X: x, Y: y, laid: l}
	dot := d.Sheet.dot()
	for _, p := range l.symbols {
		label.Symbols = append(label.Symbols, Symbol{
			Code: p.code, symbol: p.symbol, Module: p.module, W: p.width(), H: p.height,
			X: math.Round((x+p.x)/dot) * dot, Y: math.Round((y+p.y)/dot) * dot,
		})
	}
	slices.SortStableFunc(label.Symbols, func(a, b Symbol) int { return int(a.Code.Form) - int(b.Code.Form) })
	d.Labels = append(d.Labels, label)
	d.Pages = max(d.Pages, page+1)
}

// blocks calls draw for every dark block of a symbol on its page, in mm.
func (s Symbol) blocks(draw func(q rect)) {
	high := s.Module
	if !s.symbol.matrix() {
		high = s.H
	}
	s.symbol.runs(func(x, y, n int) {
		draw(rect{s.X + float64(x)*s.Module, s.Y + float64(y)*s.Module, float64(n) * s.Module, high})
	})
}
