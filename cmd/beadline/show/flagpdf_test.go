package show

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/cmd/beadline/desk"
)

// boardOf is the board of a list, its words with single spaces, and how many pages.
func boardOf(t require.TestingT, f *desk.Flags, u Units, most int) (pdf []byte, words string, pages int, notes []string) {
	var b bytes.Buffer
	notes, err := flagPDF(&b, f, u, most, false)
	require.NoError(t, err)
	return b.Bytes(), strings.Join(strings.Fields(textOfPDF(b.Bytes())), " "), len(pageInPDF.FindAll(b.Bytes(), -1)), notes
}

// storeList is a list with rows of every kind, some per location.
func storeList(rows int) string {
	var b strings.Builder
	b.WriteString("batch,class,dom,expiry,opened,location,quantity,unit,held\n")
	for i := range rows {
		class := []string{"polysulfide-b-2", "low-adhesion-2", "grease-general", "polysulfid-b-2"}[i%4]
		expiry := label.DayOf(today.Add(date.PeriodOfDays((i*37)%300 - 60))).Canonical()
		held, opened := "", ""
		switch {
		case i%11 == 0:
			expiry = "03/04/2027"
		case i%13 == 0:
			held = "dented in the van"
		case i%17 == 0:
			opened = "2027-03-01"
		}
		fmt.Fprintf(&b, "B%05dX,%s,2026-10-01,%s,%s,rack %d,%d,kit,%s\n", i, class, expiry, opened, i%3, i%9, held)
	}
	return b.String()
}

// flaggedBatches are the batches of a section in the order of the report.
func flaggedBatches(t require.TestingT, f *desk.Flags) (all []string) {
	for _, g := range f.Groups {
		for _, s := range desk.Sections() {
			require.NoError(t, f.Each(g, s, func(r *desk.Flagged) error {
				if r.Fault != nil && s == desk.NotReadable {
					all = append(all, r.Fault.Batch)
				} else {
					all = append(all, r.Item.Batch)
				}
				return nil
			}))
		}
	}
	return all
}

func TestTheBoardGoesFromSetAsideToTheCautions(t *testing.T) {
	pdf, words, pages, notes := boardOf(t, flagged(t), SI, boardPages)
	assert.Equal(t, 2, pages)
	assert.Empty(t, notes)
	assert.Contains(t, string(pdf), "/MediaBox [0 0 595.28 841.89]", "A4 upright")
	at := -1
	for _, want := range []string{
		"STOCK: WHAT TO DO", "List: stock.csv", "Judged for Mon 8 March 2027.", "1 set aside 2 on hold 1 not readable 1 end soon 0 good for longer 5 rows in the list",
		"SET ASIDE TODAY (1)", "S-2 polysulfide-b-2 rack 2 2.5 kits 28 Feb 2027 8 past 3", "Set aside by, name: Date: Signature:",
		"HOLD – A PERSON MUST DECIDE (2)", "To settle:", "may be used, authority and reference by", "Decided by, name:",
		"NOT READABLE – CORRECT THE LIST (1)", "S-4", "Corrected by, name:",
		"ENDS SOON – USE FIRST (1)", "S-1 polysulfide-b-2 rack 2 4 kits 20 Mar 2027 12 left 2",
		"NEXT 30, 60 AND 90 DAYS", "1 in 30 days, by 7 Apr 2027",
		"DRAW FIRST, OF EACH CLASS", "polysulfide-b-2, 1 good S-1 no rack 2 4 kits",
		"CAUTIONS", "Earliest times are not a release.", "page 2 of 2",
	} {
		i := strings.Index(words, want)
		assert.Greater(t, i, at, "%s\n%s", want, words)
		at = i
	}
	assert.Equal(t, 1, strings.Count(words, "page 1 of 2"))
	pdf, _, _, _ = boardOf(t, flagged(t), US, boardPages)
	assert.Contains(t, string(pdf), "/MediaBox [0 0 612.00 792.00]", "US letter upright")
}

// Who must decide and what would settle it stand at each row on hold, as they are in
// the judgement.
func TestTheBoardSaysWhoDecidesOnWhatEvidence(t *testing.T) {
	f := flagOf(t, storeList(200), desk.FlagQuestion{Until: today})
	_, words, _, _ := boardOf(t, f, SI, boardPages)
	n := 0
	require.NoError(t, f.Each(f.Groups[0], desk.OnHold, func(r *desk.Flagged) error {
		for _, l := range r.Judgement.Limits {
			if l.Past && l.Counts && l.Who != "" {
				n++
				assert.Contains(t, words, "To settle: "+l.Who+" "+l.Evidence)
			}
		}
		return nil
	}))
	assert.Greater(t, n, 10)
	assert.Equal(t, f.Counts.Hold, strings.Count(words, "stays on hold"))
}

func TestTheBoardHasEveryFlaggedBatchOnceInItsOrder(t *testing.T) {
	for _, by := range []bool{false, true} {
		f := flagOf(t, storeList(300), desk.FlagQuestion{Until: today.Add(30), ByLocation: by})
		_, words, pages, _ := boardOf(t, f, SI, boardPages)
		at := 0
		for _, batch := range flaggedBatches(t, f) {
			require.Equal(t, 1, strings.Count(words, batch), batch)
			i := strings.Index(words[at:], batch)
			require.GreaterOrEqual(t, i, 0, "%s out of order", batch)
			at += i
		}
		for i := range pages {
			assert.Equal(t, 1, strings.Count(words, fmt.Sprintf("page %d of %d", i+1, pages)))
		}
		for i := range 3 {
			assert.Equal(t, by, strings.Contains(words, fmt.Sprintf("Location: rack %d ", i)))
		}
		assert.Contains(t, words, "SET ASIDE TODAY, continued")
	}
}

// An independent reader of PDFs finds the same.
func TestAnotherReaderFindsEveryBatchOnTheBoard(t *testing.T) {
	reader, err := exec.LookPath("pdftotext")
	if err != nil {
		t.Skip("pdftotext is not installed: the pages are not read back by another program")
	}
	f := flagOf(t, storeList(300), desk.FlagQuestion{Until: today.Add(30), ByLocation: true, Draw: 3})
	name := filepath.Join(t.TempDir(), "flags.pdf")
	var b bytes.Buffer
	_, err = FlagPDF(&b, f, SI)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(name, b.Bytes(), 0o600))
	text, err := exec.Command(reader, "-layout", name, "-").Output()
	require.NoError(t, err)
	_, _, pages, _ := boardOf(t, f, SI, boardPages)
	assert.Equal(t, pages, bytes.Count(text, []byte("\f")), "a form feed ends each page")
	assert.Contains(t, string(text), fmt.Sprintf("page %d of %d", pages, pages))
	assert.Contains(t, string(text), "HOLD – A PERSON MUST DECIDE")
	for _, batch := range flaggedBatches(t, f) {
		assert.Contains(t, string(text), batch)
	}
}

func TestTheSameListHasTheSameBoard(t *testing.T) {
	q := desk.FlagQuestion{Until: today.Add(30), Draw: 3}
	var first bytes.Buffer
	_, err := FlagPDF(&first, flagOf(t, storeList(80), q), SI)
	require.NoError(t, err)
	for range 3 {
		var again bytes.Buffer
		_, err := FlagPDF(&again, flagOf(t, storeList(80), q), SI)
		require.NoError(t, err)
		require.True(t, bytes.Equal(first.Bytes(), again.Bytes()))
	}
	_, err = FlagPDF(failing{}, flagOf(t, storeList(8), q), SI)
	assert.ErrorIs(t, err, io.ErrClosedPipe)
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, io.ErrClosedPipe }

func TestABoardWithNothingToDoSaysSo(t *testing.T) {
	for _, by := range []bool{false, true} {
		_, words, pages, _ := boardOf(t, flagOf(t, "batch,class\n", desk.FlagQuestion{Until: today, ByLocation: by}), SI, boardPages)
		assert.Equal(t, 1, pages)
		assert.Contains(t, words, "Nothing to do.")
		assert.NotContains(t, words, "ocation")
		assert.NotContains(t, words, "(0)")
	}
}

// What does not go on the pages is counted on the first page, on the last, and in the
// notes; all that is printed is the most urgent.
func TestABoardThatIsTooLongIsCutAndSaysSo(t *testing.T) {
	f := flagOf(t, storeList(3000), desk.FlagQuestion{Until: today.Add(30), Draw: 3})
	_, words, pages, notes := boardOf(t, f, SI, 12)
	require.LessOrEqual(t, pages, 12)
	all := flaggedBatches(t, f)
	n := slices.IndexFunc(all, func(b string) bool { return !strings.Contains(words, b) })
	require.Positive(t, n)
	left := 0
	for _, b := range all[n:] {
		if !strings.Contains(words, b+" ") {
			left++
		}
	}
	require.Len(t, notes, 1)
	want := "Not all is on these pages, 12 at most: " + grouped(len(all)-n) + " rows more: use --format csv, or --location for a part."
	assert.Equal(t, want, notes[0])
	assert.Equal(t, 2, strings.Count(words, want))
	assert.InDelta(t, len(all)-n, left, 12, "but for the batches to draw first, nothing comes behind the cut")
	first, _, _ := strings.Cut(words, "page 1 of")
	assert.Contains(t, first, want)
	assert.Contains(t, words, "NOT READABLE – CORRECT THE LIST: "+grouped(f.Counts.Unreadable)+" of "+grouped(f.Counts.Unreadable)+" rows")
	assert.Contains(t, words, "Earliest times are not a release.")

	f = flagOf(t, storeList(3000), desk.FlagQuestion{Until: today.Add(-999), Draw: 1000})
	_, words, pages, notes = boardOf(t, f, SI, 50)
	require.LessOrEqual(t, pages, 51)
	require.Len(t, notes, 1)
	assert.Contains(t, words, "batches")
}

func TestOneRowMoreIsARow(t *testing.T) {
	assert.Equal(t, "1 row", countOf(1, "row", "rows"))
	assert.Equal(t, "3,214 rows", countOf(3214, "row", "rows"))
	assert.Equal(t, "1,003,214", grouped(1003214))
	assert.Equal(t, "999", grouped(999))
}

// A letter that the pages have no shape for is a box, and the pages say what that
// means; nobody reads a Hebrew word from its end.
func TestALetterWithoutAShapeIsABox(t *testing.T) {
	list := "batch,class,expiry,location\n" +
		"批-1,polysulfide-b-2,2026-01,棚 3\n" +
		"Küche-Ж,polysulfide-b-2,2026-01,\"Ω, \u05e9\u05dc\"\n" +
		"e\u0301tage,polysulfide-b-2,2026-01,😀 \u202erack\n"
	_, words, _, _ := boardOf(t, flagOf(t, list, desk.FlagQuestion{Until: today}), SI, boardPages)
	for _, want := range []string{"□-1 ", "□ 3", "Küche-Ж ", "Ω, □□", "étage", "□ □rack", "□ stands for a letter"} {
		assert.Contains(t, words, want)
	}
	_, words, _, _ = boardOf(t, flagged(t), SI, boardPages)
	assert.NotContains(t, words, "□")
}

func TestATextTooLongForItsColumnGoesBelow(t *testing.T) {
	long := "S-" + strings.Repeat("W", 4000)
	list := "batch,class,expiry,location\n" + long + ",polysulfide-b-2,2026-01," + strings.Repeat("rack ", 700) + "\n"
	_, words, pages, _ := boardOf(t, flagOf(t, list, desk.FlagQuestion{Until: today}), SI, boardPages)
	assert.Greater(t, pages, 1)
	assert.Contains(t, words, "see below polysulfide-b-2 see below")
	assert.Equal(t, 4000, strings.Count(words, "W")-strings.Count(words, "WHAT"))
	assert.Equal(t, 700, strings.Count(words, "rack"))
}

// Whatever is in the list, its lines fit their columns, nothing is lost but white space
// and what has no shape, and no control character reaches a page.
func TestFoldedLinesFitTheirWidth(t *testing.T) {
	l := newLetters()
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.StringOf(rapid.SampledFrom([]rune("aW-_ \t\n批é\u0301\u200b")))).Draw(t, "text")
		style := rapid.SampledFrom([]string{"", "B"}).Draw(t, "style")
		checkFold(t, l, text, style, rapid.Float64Range(6, 100).Draw(t, "width"))
	})
}

func checkFold(t require.TestingT, l *letters, text, style string, width float64) {
	shown := l.shown(text)
	lines := l.fold(text, style, 10, width)
	require.Equal(t, strings.Join(strings.Fields(shown), ""), strings.ReplaceAll(strings.Join(lines, ""), " ", ""))
	for _, line := range lines {
		require.LessOrEqual(t, l.width(line, style, 10), width+1e-9, "%q", line)
		require.False(t, strings.ContainsFunc(line, unicode.IsControl), "%q", line)
		require.LessOrEqual(t, l.width(l.shorten(line, style, 10, 0.6*width), style, 10), 0.6*width+1e-9)
	}
}

func FuzzFoldedLinesFitTheirWidth(f *testing.F) {
	for _, s := range []string{"", "S-2207", "a\x00b\xffc", "批次 棚", "e\u0301 \u202e", strings.Repeat("W", 99)} {
		f.Add(s, 20.)
	}
	f.Fuzz(func(t *testing.T, text string, width float64) {
		if !(width >= 6 && width < 1e4) { // no column is narrower
			t.Skip("narrower than any column")
		}
		checkFold(t, newLetters(), text, "B", width)
	})
}

// Any list makes pages: no crash, and each row is on them or counted.
func TestAnyListMakesABoard(t *testing.T) {
	cell := rapid.SampledFrom([]string{"", "rack 2", "Küche", "棚", strings.Repeat("far ", 90), strings.Repeat("x", 300), "\"a\nb\"", "\x01"})
	rapid.Check(t, func(t *rapid.T) {
		var b strings.Builder
		b.WriteString("batch,class,dom,expiry,location,quantity,unit,held\n")
		n := rapid.IntRange(0, 25).Draw(t, "rows")
		for i := range n {
			fmt.Fprintf(&b, "N%03dN%s,%s,2026-10-01,%s,%s,%s,%s,%s\n", i, rapid.SampledFrom([]string{"", "-批", "-" + strings.Repeat("W", 40)}).Draw(t, "batch"),
				rapid.SampledFrom([]string{"polysulfide-b-2", "grease-general", "none"}).Draw(t, "class"),
				rapid.SampledFrom([]string{"2027-03-10", "2027-02", "03/04/2027", ""}).Draw(t, "expiry"), cell.Draw(t, "location"),
				rapid.SampledFrom([]string{"", "2.5", "-1"}).Draw(t, "quantity"), cell.Draw(t, "unit"), cell.Draw(t, "held"))
		}
		l, err := desk.NewList(strings.NewReader(b.String()), "s.csv", 0)
		require.NoError(t, err)
		f, err := desk.NewJudge(catalog.Builtin(), today).Flag(l, desk.FlagQuestion{Until: today.Add(30), ByLocation: rapid.Bool().Draw(t, "by"), Draw: rapid.IntRange(0, 3).Draw(t, "draw")})
		require.NoError(t, err)
		most := rapid.SampledFrom([]int{4, boardPages}).Draw(t, "most")
		var out bytes.Buffer
		board := newBoard(f, SI)
		board.most, board.kept = most, 2
		board.pdf.SetCompression(false)
		require.NoError(t, walkFlags(f, board))
		board.finish()
		require.NoError(t, board.pdf.Output(&out))
		words := textOfPDF(out.Bytes())
		require.False(t, strings.ContainsFunc(words, func(r rune) bool { return unicode.IsControl(r) && r != '\n' }))
		missing := 0
		for _, batch := range flaggedBatches(t, f) {
			if len(batch) > 5 {
				batch = batch[:5]
			}
			if !strings.Contains(words, batch) {
				missing++
			}
		}
		unprinted := 0
		for _, k := range board.unprinted {
			unprinted += k
		}
		require.LessOrEqual(t, missing, unprinted)
		if most == boardPages {
			require.Zero(t, unprinted)
		}
	})
}

// A list of 20 000 rows, of which 500 pages are printed.
func BenchmarkFlagPDF(b *testing.B) {
	list := storeList(20000)
	b.ReportAllocs()
	for b.Loop() {
		notes, err := FlagPDF(io.Discard, flagOf(b, list, desk.FlagQuestion{Until: today.Add(30)}), SI)
		require.NoError(b, err)
		require.Len(b, notes, 1)
	}
}
