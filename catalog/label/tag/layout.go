package tag

import (
	"fmt"
	"math"
)

// Sizes of letters, as the em in mm, on the smallest label. They grow with the label.
// A normal eye reads 5 minutes of arc, 1.0 mm at an arm's length of 0.7 m (the line 6/6
// of an eye chart; from memory): small print has figures of 1.2 mm and more, the use-by
// of 4 mm and more.
const (
	emState  = 3.9
	emSmall  = 2.15
	emClass  = 2.6
	emName   = 1.95
	emBatch  = 3.2
	emHRI    = 1.75
	emLeast  = 1.7  // of words that have to shrink to their line
	boxLeast = 5.8  // the use-by: figures of 4 mm
	boxShare = 0.31 // of the height within the margins that the use-by may take
)

// Distances in mm on the smallest label.
const (
	gapRow  = 0.6
	gapSide = 1.0 // between the words and the Data Matrix
	border  = 0.5
	// mostSpread is what a gap between rows gets at most of the height left over.
	mostSpread = 2.5
)

// mostState is the size of the state's letters at most, to those of the use-by: nothing
// on a label is larger than that.
const mostState = 0.8

// mostGrowth is how much larger than on the smallest label the words get.
const mostGrowth = 5.0

// text is a line of words on a label: x from its left end, y at its base line, in mm.
type text struct {
	x, y, em float64
	w        weight
	s        string
}

// rect is a black area in mm.
type rect struct{ x, y, w, h float64 }

// placed is a symbol with its corner, module and height in mm, without quiet zone.
type placed struct {
	*symbol
	x, y, module, height float64
}

func (p placed) width() float64 { return float64(p.cols) * p.module }

// laid is a label laid out, in mm from its upper left corner.
type laid struct {
	texts   []text
	rects   []rect
	symbols []placed
}

// marks are how many there are of each kind.
func (l *laid) marks() [3]int { return [3]int{len(l.texts), len(l.rects), len(l.symbols)} }

// keep drops all marks but the first of each kind.
func (l *laid) keep(n [3]int) {
	l.texts, l.rects, l.symbols = l.texts[:n[0]], l.rects[:n[1]], l.symbols[:n[2]]
}

// tooSmall is why a layout did not come out.
type tooSmall struct {
	what   string
	needMM float64 // of the label's width or height
	tall   bool
}

func (e *tooSmall) Error() string {
	side := "wide"
	if e.tall {
		side = "high"
	}
	return fmt.Sprintf("%s needs a label at least %s mm %s", e.what, number(math.Ceil(e.needMM*2)/2), side)
}

// form is one way to lay a label out.
type form struct {
	grow   float64 // letters and distances, to the smallest label
	box    float64 // the use-by, as a share of boxShare
	bars   *symbol // nil: none
	beside bool    // the Code 128 stands beside the Data Matrix, not below it
	dense  bool    // class and its name run on, notes stand in one line
	floor  float64 // the least module of the Data Matrix, mm
}

// layOut lays a label out: good modules before small ones, then the best content of the
// Code 128 that fits, or none at all, then the largest letters. The use-by shrinks last.
func layOut(f *face, s Sheet, r *ruler) (*laid, error) {
	c := &composer{f: f, s: s, r: r, pad: s.pad()}
	c.w, c.h = s.Label.W-2*c.pad.W, s.Label.H-2*c.pad.H
	l, err := c.best()
	// A tag that forbids is printed rather with its first reason alone than not at all.
	for err != nil && f.heavy && len(f.notes) > 1 {
		f.notes = f.notes[:len(f.notes)-1]
		l, err = c.best()
	}
	if err != nil {
		return nil, fault("label", "%s is too small: %s", s.Label, err.Error())
	}
	return l, nil
}

func (c *composer) best() (l *laid, err error) {
	floors := []float64{goodModule, LeastModule}
	for _, floor := range floors {
		for _, bars := range c.barsToTry() {
			if l, err = c.largest(bars, floor); err == nil {
				return l, nil
			}
		}
	}
	// The Data Matrix says all that the Code 128 does, and the use-by too: a long batch
	// number does without bars rather than without a label.
	for _, floor := range floors {
		if l, err = c.largest(nil, floor); err == nil {
			return l, nil
		}
	}
	return nil, err
}

// barsToTry are the symbols for the Code 128. A tag that forbids has large letters
// rather than one.
func (c *composer) barsToTry() []*symbol {
	if len(c.f.bars) == 0 || c.f.heavy {
		return append(append([]*symbol{}, c.f.bars...), nil)
	}
	return c.f.bars
}

// largest finds the largest letters with which the label comes out.
func (c *composer) largest(bars *symbol, floor float64) (*laid, error) {
	const steps = 40
	var last error
	c.least = floor
	for i := range steps + 1 {
		grow := mostGrowth * math.Pow(1/mostGrowth, float64(i)/steps)
		for _, beside := range []bool{true, false} {
			// Letters grow no faster than the Data Matrix.
			l, err := c.try(form{grow, 1, bars, beside, false, max(floor, min(0.3*grow, 0.6))})
			if err == nil {
				return l, nil
			}
			last = err
		}
	}
	for box := 1.0; box > 0.3; box -= 0.05 {
		for _, beside := range []bool{true, false} {
			l, err := c.try(form{1, box, bars, beside, true, floor})
			if err == nil {
				return l, nil
			}
			if box == 1 {
				last = err
			}
		}
	}
	return nil, last
}

// composer lays one label out.
type composer struct {
	f    *face
	s    Sheet
	r    *ruler
	pad  Size
	w, h float64 // within the margins
	form
	least float64 // the least module of the Code 128, mm
	out   laid
	y     float64 // from the upper margin
}

// try lays the label out in one form, rows from the top down; what height is left over
// goes between them.
func (c *composer) try(f form) (*laid, error) {
	c.form, c.out, c.y = f, laid{}, 0
	var above [][3]int // how many of each kind of mark lie above each row
	for i, row := range []func() error{c.state, c.useBy, c.notes, c.lower, c.matrixHRI} {
		if i > 0 && c.y > 0 {
			c.y += gapRow * c.grow
		}
		above = append(above, c.out.marks())
		was := c.y
		if err := row(); err != nil {
			return nil, err
		}
		if c.y == was && i > 0 { // an empty row has no gap
			c.y -= gapRow * c.grow
			above = above[:len(above)-1]
		}
	}
	if c.y > c.h+1e-9 {
		return nil, &tooSmall{"all that must be on it", c.y + 2*c.pad.H, true}
	}
	c.spread(above)
	out := c.out
	return &out, nil
}

// spread moves the rows apart by what is left of the height.
func (c *composer) spread(above [][3]int) {
	share := min((c.h-c.y)/float64(max(1, len(above)-1)), mostSpread*c.grow)
	shift := func(kind, i int) float64 {
		rows := 0
		for _, a := range above[1:] {
			if i >= a[kind] {
				rows++
			}
		}
		return float64(rows) * share
	}
	for i := range c.out.texts {
		t := &c.out.texts[i]
		t.x, t.y = t.x+c.pad.W, t.y+c.pad.H+shift(0, i)
	}
	for i := range c.out.rects {
		q := &c.out.rects[i]
		q.x, q.y = q.x+c.pad.W, q.y+c.pad.H+shift(1, i)
	}
	for i := range c.out.symbols {
		p := &c.out.symbols[i]
		p.x, p.y = p.x+c.pad.W, p.y+c.pad.H+shift(2, i)
	}
}

// put writes a line of words, its capitals' top at y.
func (c *composer) put(x, y, em float64, w weight, s string) {
	c.out.texts = append(c.out.texts, text{x, y + capEm*em, em, w, s})
}

// shrunk is the em with which a text fits a width: want, or less down to emLeast.
func (c *composer) shrunk(what, s string, w weight, want, width float64) (float64, error) {
	long := c.r.em(s, w)
	if long*want <= width {
		return want, nil
	}
	if em := width / long; em >= emLeast {
		return em, nil
	}
	return 0, &tooSmall{what, long*emLeast + c.s.Label.W - width, false}
}
