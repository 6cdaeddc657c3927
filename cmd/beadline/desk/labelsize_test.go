package desk

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/label/tag"
)

// One inch is 25.4 mm (ISO 80000-3).
func TestPaperSizes(t *testing.T) {
	for text, want := range map[string]tag.Size{
		"70x37mm": {W: 70, H: 37}, "70 × 37 mm": {W: 70, H: 37}, "70X37MM": {W: 70, H: 37},
		"4x2in": {W: 101.6, H: 50.8}, "62mm x 4cm": {W: 62, H: 40}, "2.5x0mm": {W: 2.5},
	} {
		got, err := PaperSize(text)
		require.NoError(t, err, text)
		assert.InDelta(t, want.W, got.W, 1e-9, text)
		assert.InDelta(t, want.H, got.H, 1e-9, text)
	}
	for _, text := range []string{"", "70", "70x37", "x", "70xmm", "mmx37", "-70x37mm", "70x37x2mm", "axb", "1e999x2mm", "70x37kg"} {
		_, err := PaperSize(text)
		assert.ErrorContains(t, err, "like 70x37mm", text)
	}
}

func FuzzPaperSize(f *testing.F) {
	for _, s := range []string{"70x37mm", "70 × 37 mm", "4x2in", "x", "1e9x1mm", "\x00x\xffmm"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := PaperSize(text)
		if err != nil {
			assert.Contains(t, err.Error(), "like 70x37mm")
			assert.NotContains(t, err.Error(), "\n")
			assert.Zero(t, s)
			return
		}
		for _, side := range []float64{s.W, s.H} {
			assert.False(t, math.IsNaN(side) || math.IsInf(side, 0) || side < 0)
		}
		// Whatever it is, the sheet takes it or refuses it, and never for long.
		_, _ = tag.Draw(nil, tag.Sheet{Label: s, DPI: 300})
	})
}
