package tag

import "strings"

// The rows of a label, from the top down. Each writes itself at c.y and moves c.y to
// below itself.

// state is the first row: what was done, and beside it when and by whom, in one line if
// that fits.
func (c *composer) state() error {
	const (
		between  = 2.0  // mm
		mostHead = 0.42 // of the width, so that the rest can be read too
	)
	em, small := min(emState*c.grow, mostHead*c.w/c.r.em(c.f.state, bold)), emSmall*c.grow
	width := c.w - c.r.em(c.f.state, bold)*em - between*c.grow
	lines := []string{strings.Join(c.f.beside, " ")}
	if fit, err := c.shrunk("", lines[0], bold, small, width); err == nil && fit > 0.88*small {
		small = fit
	} else {
		lines = c.f.beside
		for _, l := range lines {
			fit, err := c.shrunk("“"+l+"” beside “"+c.f.state+"”", l, bold, small, width)
			if err != nil {
				return err
			}
			small = min(small, fit)
		}
	}
	block := (capEm + lineEm*float64(len(lines)-1)) * small
	high := max(capEm*em, block+deepEm*small)
	c.put(0, c.y+(high-capEm*em)/2, em, bold, c.f.state)
	for i, l := range lines {
		c.put(c.w-c.r.em(l, bold)*small, c.y+(high-block)/2+lineEm*small*float64(i), small, bold, l)
	}
	c.y += high
	return nil
}

// smallShare is the em of the two small lines, to the large one they stand beside: two
// lines with a gap are as high as its figures.
const smallShare = 0.42

// pieceGap is the distance of the pieces of the use-by, to its letters.
const pieceGap = 0.22

// useBy is the box with the use-by, as large as width and share of height allow: its
// pieces side by side, or, where the letters gain much by it, the small ones above.
func (c *composer) useBy() error {
	line := border * c.grow
	if c.f.heavy {
		line *= 2
	}
	inner := line + 0.9*c.grow
	width, height := c.w-2*inner, boxShare*c.box*c.h-2*inner
	flat, tall := c.flatBox(), c.tallBox()
	em, b := min(width/flat.w, height/flat.h), flat
	if t := min(width/tall.w, height/tall.h); t > 1.3*em {
		em, b = t, tall
	}
	switch {
	case em >= boxLeast:
	case width/flat.w < boxLeast && width/tall.w < boxLeast:
		return &tooSmall{"the use-by", min(flat.w, tall.w)*boxLeast + c.s.Label.W - width, false}
	default:
		return &tooSmall{"the use-by", (flat.h*boxLeast+2*inner)/boxShare/c.box + 2*c.pad.H, true}
	}
	if emState*c.grow > mostState*em && c.grow > 1 {
		return &tooSmall{"the use-by", c.s.Label.W, false} // in letters as large as this
	}
	c.frame(0, c.y, c.w, b.h*em+2*inner, line)
	x, y := (c.w-b.w*em)/2, c.y+inner
	for _, t := range b.texts {
		c.put(x+t.x*em, y+t.y*em, t.em*em, bold, t.s)
	}
	c.y += b.h*em + 2*inner
	return nil
}

// boxed is the use-by in units of its large letters: its lines, each by its left upper
// corner, and their width and height together.
type boxed struct {
	texts []text
	w, h  float64
}

// flatBox has the pieces side by side.
func (c *composer) flatBox() boxed {
	b := boxed{h: capEm}
	for i, p := range c.f.box {
		if i > 0 {
			b.w += pieceGap
		}
		if p.large != "" {
			b.texts = append(b.texts, text{x: b.w, em: 1, s: p.large})
			b.w += c.r.em(p.large, bold)
			continue
		}
		b.texts = append(b.texts, text{x: b.w, em: smallShare, s: p.small[0]}, text{x: b.w, y: capEm * (1 - smallShare), em: smallShare, s: p.small[1]})
		b.w += smallShare * max(c.r.em(p.small[0], bold), c.r.em(p.small[1], bold))
	}
	return b
}

// tallBox has the small pieces in a line above the large one.
func (c *composer) tallBox() boxed {
	var above []string
	large := ""
	for _, p := range c.f.box {
		if p.large != "" {
			large = p.large
			continue
		}
		above = append(above, p.small[0]+" "+p.small[1])
	}
	w, over := c.r.em(large, bold), smallShare*c.r.em(strings.Join(above, "  "), bold)
	b := boxed{w: max(w, over), h: capEm*(1+smallShare) + pieceGap}
	b.texts = []text{{x: (b.w - w) / 2, y: capEm*smallShare + pieceGap, em: 1, s: large}}
	last := above[len(above)-1]
	if len(above) > 1 {
		b.texts = append(b.texts, text{x: (b.w - w) / 2, em: smallShare, s: above[0]})
		b.texts = append(b.texts, text{x: (b.w+max(w, over))/2 - smallShare*c.r.em(last, bold), em: smallShare, s: last})
	} else {
		b.texts = append(b.texts, text{x: (b.w - over) / 2, em: smallShare, s: last})
	}
	return b
}

// frame draws a border within a rectangle.
func (c *composer) frame(x, y, w, h, line float64) {
	c.out.rects = append(c.out.rects, rect{x, y, w, line}, rect{x, y + h - line, w, line},
		rect{x, y + line, line, h - 2*line}, rect{x + w - line, y + line, line, h - 2*line})
}

// notes are the lines below the box.
func (c *composer) notes() error {
	em, w := emSmall*c.grow, regular
	if c.f.heavy {
		w = bold
	}
	notes := c.f.notes
	if one := strings.Join(notes, "; "); c.dense && c.r.em(one, w)*em <= c.w {
		notes = []string{one}
	}
	for i, n := range notes {
		if i > 0 {
			c.y += 0.3 * em
			w = regular
		}
		c.lines(c.r.fold(n, w, c.w/em), 0, em, w)
	}
	return nil
}

// lines writes lines of words one below the other.
func (c *composer) lines(ls []string, x, em float64, w weight) {
	for i, l := range ls {
		c.put(x, c.y, em, w, l)
		c.y += capEm * em
		if i+1 < len(ls) {
			c.y += (lineEm - capEm) * em
		}
	}
	c.y += deepEm * em
}

// lower is what the container is, with the symbols: the Data Matrix on the right, as
// large as the words beside it are high; the Code 128 beside it or below.
func (c *composer) lower() error {
	top, above := c.y, c.out.marks()
	sizes := modules(c.s.dot(), mostSquare, c.floor)
	var err error
	for i, module := range sizes {
		least := i == len(sizes)-1 // this one may stand higher than the words
		if err = c.lowerWith(module, least); err == nil {
			return nil
		}
		c.y = top
		c.out.keep(above)
	}
	return err
}

func (c *composer) lowerWith(module float64, least bool) error {
	top := c.y
	m := c.f.matrix
	side := float64(m.cols+2*matrixQuiet) * module
	width := c.w - side - gapSide*c.grow
	beside, below := c.lowerRows()
	if err := c.stack(beside, width, gapSide*c.grow+matrixQuiet*module); err != nil {
		return err
	}
	if c.y-top < side {
		if !least {
			return &tooSmall{"the Data Matrix", c.s.Label.H + side - (c.y - top), true}
		}
		c.y = top + side
	}
	c.out.symbols = append(c.out.symbols, placed{symbol: m, module: module, height: float64(m.rows) * module,
		x: c.w - side + matrixQuiet*module, y: top + (c.y-top-side)/2 + matrixQuiet*module})
	if len(below) == 0 {
		return nil
	}
	c.y += gapRow * c.grow
	return c.stack(below, c.w, c.pad.W)
}

// lowerRow is a row of words or bars in a width; right is the blank beside it, which
// counts for a quiet zone.
type lowerRow func(width, right float64) error

// lowerRows are the rows beside the Data Matrix and those below. A Code 128 without
// fields has the batch in large letters for its readable characters, the state stands
// in the first row.
func (c *composer) lowerRows() (beside, below []lowerRow) {
	var bars []lowerRow
	beside = []lowerRow{c.what}
	switch {
	case c.bars == nil:
		beside = append(beside, c.batch)
	case c.bars.code.Form == Code128:
		bars = []lowerRow{c.bar, c.batch}
	default:
		beside = append(beside, c.batch)
		bars = []lowerRow{c.bar, c.barHRI}
	}
	if c.beside {
		return append(beside, bars...), nil
	}
	return beside, bars
}

func (c *composer) stack(rows []lowerRow, width, right float64) error {
	for i, row := range rows {
		if i > 0 {
			c.y += gapRow * c.grow
		}
		if err := row(width, right); err != nil {
			return err
		}
	}
	return nil
}

// what is the class, and what that is in words.
func (c *composer) what(width, _ float64) error {
	if c.dense {
		return c.whatRunning(width)
	}
	em, err := c.shrunk("“"+c.f.class+"”", c.f.class, bold, emClass*c.grow, width)
	if err != nil {
		return err
	}
	c.lines([]string{c.f.class}, 0, em, bold)
	if c.f.name != "" {
		c.y += 0.2 * c.grow
		em = emName * c.grow
		if one, err := c.shrunk("", c.f.name, regular, em, width); err == nil && one > 0.8*em {
			em = one
		}
		c.lines(c.r.fold(c.f.name, regular, width/em+1e-9), 0, em, regular)
	}
	return nil
}

// whatRunning is the same in one running text, the class in bold.
func (c *composer) whatRunning(width float64) error {
	em := emLeast * c.grow
	head := c.r.em(c.f.class, bold)
	if head*em > width {
		return &tooSmall{"“" + c.f.class + "”", head*em + c.s.Label.W - width, false}
	}
	c.put(0, c.y, em, bold, c.f.class)
	first, rest := c.f.name, ""
	for first != "" && c.r.em(first, regular) > width/em-head-0.4 {
		cut := strings.LastIndexByte(first, ' ')
		rest = strings.TrimSpace(first[max(cut, 0):] + " " + rest)
		first = first[:max(cut, 0)]
	}
	if first != "" {
		c.put((head+0.4)*em, c.y, em, regular, first)
	}
	c.y += (capEm + deepEm) * em
	if rest != "" {
		c.y += (lineEm - capEm - deepEm) * em
		c.lines(c.r.fold(rest, regular, width/em), 0, em, regular)
	}
	return nil
}

// batch is the batch and the container, in one line or, where that is too long, in two.
func (c *composer) batch(width, _ float64) error {
	const (
		word  = 0.6 // the small words before the numbers, to the numbers
		least = 1.3 // em of those words
	)
	em := emBatch * c.grow
	parts := [][2]string{{"BATCH ", c.f.batch}}
	if c.f.cont != "" {
		parts = append(parts, [2]string{"CONTAINER ", c.f.cont})
	}
	long := func(p [2]string) float64 { return word*c.r.em(p[0], bold) + c.r.em(p[1], bold) }
	write := func(p [2]string, x, em float64) {
		small := max(word*em, least)
		c.put(x, c.y+capEm*(em-small), small, bold, p[0])
		c.put(x+small*c.r.em(p[0], bold), c.y, em, bold, p[1])
	}
	if len(parts) == 2 {
		if sum := long(parts[0]) + 0.8 + long(parts[1]); sum*0.75*em <= width {
			em = min(em, width/sum)
			write(parts[0], 0, em)
			write(parts[1], (long(parts[0])+0.8)*em, em)
			c.y += capEm * em
			return nil
		}
	}
	for i, p := range parts {
		if i > 0 {
			c.y += 0.4 * em
		}
		fit := min(em, width/long(p))
		if word*fit < least {
			fit = (width - least*c.r.em(p[0], bold)) / c.r.em(p[1], bold)
		}
		if fit < emLeast {
			return &tooSmall{"“" + p[0] + p[1] + "”", long(p)*emLeast + c.s.Label.W - width, false}
		}
		write(p, 0, fit)
		c.y += capEm * fit
	}
	return nil
}

// bar is the Code 128, with its quiet zones: on the left the margin counts, on the right
// the blank given.
func (c *composer) bar(width, right float64) error {
	var need float64
	for _, module := range modules(c.s.dot(), mostBar, c.least) {
		quiet := barQuiet * module
		x := max(0, quiet-c.pad.W)
		bars := float64(c.bars.cols) * module
		if need = x + bars + max(0, quiet-right); need > width {
			continue
		}
		high := max(leastBars, min(leastBars*c.grow, 14))
		c.out.symbols = append(c.out.symbols, placed{symbol: c.bars, x: x, y: c.y, module: module, height: high})
		c.y += high
		return nil
	}
	return &tooSmall{"the Code 128 of “" + c.bars.code.HRI() + "”", need + c.s.Label.W - width, false}
}

// barHRI is what a GS1-128 says in readable characters.
func (c *composer) barHRI(width, _ float64) error {
	hri := c.bars.code.HRI()
	em, err := c.shrunk("“"+hri+"”", hri, regular, emHRI*c.grow, width)
	if err != nil {
		return err
	}
	c.lines([]string{hri}, 0, em, regular)
	return nil
}

// matrixHRI is what the Data Matrix says in readable characters, folded between its
// parts.
func (c *composer) matrixHRI() error {
	em := emHRI * c.grow
	var rows []string
	for _, part := range c.f.matrix.code.Readable {
		if c.r.em(part, regular)*em > c.w {
			em = c.w / c.r.em(part, regular)
		}
	}
	if em < emHRI*0.75 {
		return &tooSmall{"the readable line of the Data Matrix", c.s.Label.W - c.w + c.w*emHRI/em, false}
	}
	for _, part := range c.f.matrix.code.Readable {
		n := len(rows)
		if n > 0 && c.r.em(rows[n-1]+" "+part, regular)*em <= c.w {
			rows[n-1] += " " + part
			continue
		}
		rows = append(rows, part)
	}
	for i, row := range rows {
		c.put(c.w-c.r.em(row, regular)*em, c.y, em, regular, row)
		c.y += capEm * em
		if i+1 < len(rows) {
			c.y += (lineEm - capEm) * em
		}
	}
	return nil
}
