package tag

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
)

// PNG writes the one page of a drawing as a picture of the sheet's size, which it holds
// too, so that it prints at its size. Errors: more pages than one; a font that fails.
func (d *Drawing) PNG(w io.Writer) error {
	if d.Pages != 1 {
		return fault("out", "%d labels make %d pages, and a PNG has one: write a PDF", len(d.Labels), d.Pages)
	}
	img, err := d.picture()
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		return err
	}
	return withDPI(w, b.Bytes(), d.Sheet.DPI)
}

func (d *Drawing) picture() (*image.Gray, error) {
	paper, dot := d.Sheet.paper(), d.Sheet.dot()
	px := func(mm float64) int { return int(math.Round(mm / dot)) }
	img := image.NewGray(image.Rect(0, 0, px(paper.W), px(paper.H)))
	draw.Draw(img, img.Bounds(), image.White, image.Point{}, draw.Src)
	block := func(q rect) {
		x, y := px(q.x), px(q.y)
		// Edges are rounded, not widths, so that what touches in mm touches here.
		draw.Draw(img, image.Rect(x, y, max(px(q.x+q.w), x+1), max(px(q.y+q.h), y+1)), image.Black, image.Point{}, draw.Src)
	}
	faces := faces{newRuler(), map[faceKey]font.Face{}}
	for _, l := range d.Labels {
		for _, q := range l.laid.rects {
			block(rect{l.X + q.x, l.Y + q.y, q.w, q.h})
		}
		for _, s := range l.Symbols {
			s.blocks(block)
		}
		for _, t := range l.laid.texts {
			if err := faces.write(img, t, l.X, l.Y, dot); err != nil {
				return nil, err
			}
		}
	}
	return img, nil
}

// faces are the fonts at the sizes in use, in pixels.
type faces struct {
	r     *ruler
	known map[faceKey]font.Face
}

type faceKey struct {
	w    weight
	size float64
}

// write sets a line of words letter by letter, where the ruler has them, each on its
// sub-pixel place.
func (fs faces) write(img draw.Image, t text, x, y, dot float64) error {
	key := faceKey{t.w, t.em / dot}
	face := fs.known[key]
	if face == nil {
		var err error
		face, err = opentype.NewFace(fonts()[t.w], &opentype.FaceOptions{Size: key.size, DPI: 72, Hinting: font.HintingNone})
		if err != nil {
			return fmt.Errorf("the font at %.1f pixels: %w", key.size, err)
		}
		fs.known[key] = face
	}
	at := (x + t.x) / dot
	for _, c := range t.s {
		p := fixed.Point26_6{X: fixed.Int26_6(math.Round(at * 64)), Y: fixed.Int26_6(math.Round((y + t.y) / dot * 64))}
		if box, mask, corner, _, ok := face.Glyph(p, c); ok {
			draw.DrawMask(img, box, image.NewUniform(color.Black), image.Point{}, mask, corner, draw.Over)
		}
		em, _ := fs.r.glyph(c, t.w)
		at += em * key.size
	}
	return nil
}

// withDPI writes a PNG with its resolution, a pHYs chunk behind the header (PNG
// specification, 11.3.5.3): pixels per metre.
func withDPI(w io.Writer, data []byte, dpi int) error {
	const header = 8 + 4 + 4 + 13 + 4 // signature and IHDR
	perMetre := uint32(math.Round(float64(dpi) / 0.0254))
	chunk := []byte("pHYs")
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = append(chunk, 1) // the unit is the metre
	var out []byte
	out = append(out, data[:header]...)
	out = binary.BigEndian.AppendUint32(out, uint32(len(chunk)-4))
	out = append(out, chunk...)
	out = binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(chunk))
	_, err := w.Write(append(out, data[header:]...))
	return err
}
