package desk

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rickb777/date"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/catalog/label/scan"
	"beadline/catalog/label/tag"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
)

// printedCode is what a scanner sends of one symbol of a label that was drawn.
type printedCode struct {
	name, class string
	label       *Label
	code        tag.Code
}

// printedCodes are all symbols of labels for containers opened, thawed and mixed, with a
// GTIN and without, on a label with room for a GS1-128 and on one without.
func printedCodes(t testing.TB) (all []printedCode) {
	t.Helper()
	for _, x := range []struct {
		class string
		state tag.State
	}{{"polysulfide-b-2", tag.Opened}, {"film-adhesive-frozen", tag.Thawed}, {"polysulfide-b-2-premixed", tag.Thawed}, {"polysulfide-b-2", tag.Mixed}} {
		l := labelled(t, x.class, x.state, nil)
		require.Equal(t, shelf.Use, l.Verdict, l.Why)
		for _, gtin := range []string{"", "09520123456788"} { // GS1 Digital Link examples
			for _, size := range []tag.Size{{W: 70, H: 37}, {W: 150, H: 60}} {
				for _, containers := range [][]string{nil, {"2"}} {
					d, err := tag.Draw(l.Tags(containers, "", gtin, func(s string) string { return s }), tag.Sheet{Label: size, DPI: 300})
					require.NoError(t, err)
					for _, s := range d.Labels[0].Symbols {
						all = append(all, printedCode{fmt.Sprintf("%s %s %v %s %q", x.class, x.state, containers, s.Code.Form, s.Code.Text), x.class, l, s.Code})
					}
				}
			}
		}
	}
	return all
}

// listOf is a stock list with one batch of a class, good for long.
func listOf(t testing.TB, rows ...string) *List {
	t.Helper()
	name := filepath.Join(t.TempDir(), "stock.csv")
	require.NoError(t, os.WriteFile(name, []byte("batch,class,dom,expiry\n"+strings.Join(rows, "\n")+"\n"), 0o600))
	l, err := OpenList(&bytes.Buffer{}, name, stock.Options{}.Encoding)
	require.NoError(t, err)
	t.Cleanup(func() { l.Close() })
	return l
}

// asked judges what a scanner sends, as a person at the desk does: found on a list where
// there is one, else by itself.
func asked(t require.TestingT, j *Judge, sent, class string, list *List) Checked {
	s, err := scan.Parse(sent, j.On)
	if err != nil { // a plain code
		plain, ok := scan.Plain(sent)
		if !ok {
			plain = sent
		}
		if list == nil {
			p, ok := StickerTyped(plain)
			require.True(t, ok, "%q", sent)
			return j.Alone(p, class)
		}
		rows, _, err := j.LabelOn(list, stock.Options{}, plain)
		require.NoError(t, err)
		return rows[Worst(rows)]
	}
	if list == nil {
		it, err := FromScan(&s, class, nil)
		require.NoError(t, err)
		return j.Scanned(it, &s)
	}
	rows, _, err := j.BatchOn(list, stock.Options{}, s.Lot)
	require.NoError(t, err)
	c := j.Against(rows[Worst(rows)], &s)
	return c
}

// at has a judge answer for a moment.
func at(when time.Time) *Judge {
	j := NewJudge(catalog.Builtin(), date.NewAt(when))
	j.Ask(shelf.Question{On: date.NewAt(when), At: when.Hour()*60 + when.Minute(), Timed: true, Zone: when.Location()})
	return j
}

// Whatever code of whatever label is scanned, past the use-by that is printed in large
// letters no answer is "use"; before it the answer is "use", or a hold that says why.
func TestScannedLabelIsNeverUsedAfterItsUseBy(t *testing.T) {
	codes := printedCodes(t)
	lists := map[string]*List{}
	for _, c := range codes {
		if lists[c.class] == nil {
			lists[c.class] = listOf(t, "S-2207,"+c.class+",2027-03-01,2027-12-31")
		}
	}
	for _, c := range codes { // about the use-by, and about the day's end before and after it
		for _, minutes := range []int{-1441, -1440, -90, -1, 0, 1, 90, 1380, 1440, 1441, 2880, 100_000} {
			for _, list := range []*List{nil, lists[c.class]} {
				c.neverAfter(t, minutes, c.code.Scanned(), list)
			}
		}
	}
	rapid.Check(t, func(r *rapid.T) {
		c := rapid.SampledFrom(codes).Draw(r, "code")
		minutes := rapid.OneOf(rapid.IntRange(-150, 150), rapid.IntRange(-1500, 4500), rapid.IntRange(-100_000, 400_000)).Draw(r, "minutes after the use-by")
		sent := c.code.Scanned()
		if rapid.Bool().Draw(r, "no identifier") && c.code.Form != tag.GS1128 {
			sent = c.code.Text
		}
		var list *List
		if rapid.Bool().Draw(r, "listed") {
			list = lists[c.class]
		}
		c.neverAfter(r, minutes, sent, list)
	})
	// What carries its end is of use, not held for good.
	for _, c := range codes {
		if c.code.Form == tag.GS1DataMatrix || strings.Contains(c.code.Text, "14D") {
			for _, list := range []*List{nil, lists[c.class]} {
				got := asked(t, at(c.label.When.Add(time.Minute)), c.code.Scanned(), c.class, list)
				assert.Equal(t, shelf.Use, got.Judgement.Verdict, "%s: %s", c.name, got.Judgement.Governing.Reason)
				assert.Equal(t, LimitPrinted, got.Judgement.Governing.Name, c.name)
			}
		}
	}
}

// neverAfter wants no use so many minutes after the use-by, and before it use, or a hold
// of the label's that says who settles it, by what.
func (c *printedCode) neverAfter(t require.TestingT, minutes int, sent string, list *List) {
	end := ends(c.label.UseBy)
	when := end.Add(time.Duration(minutes) * time.Minute)
	if when.Before(c.label.When) {
		return
	}
	j := asked(t, at(when), sent, c.class, list).Judgement
	g := j.Governing
	// The end of a day is the first minute of the next.
	if when.After(end) || !c.label.UseBy.Timed && when.Equal(end) {
		assert.NotEqual(t, shelf.Use, j.Verdict, "%s at %v, after %v: %s", c.name, when, end, g.Reason)
		return
	}
	assert.NotEqual(t, shelf.Reject, j.Verdict, "%s at %v, before %v: %s", c.name, when, end, g.Reason)
	if j.Verdict == shelf.Hold {
		assert.Equal(t, LimitPrinted, g.Name, "%s: %s", c.name, g.Reason)
		assert.True(t, g.Reason != "" && g.Who != "" && g.Evidence != "", "%+v", g)
	}
}

// To the minute: a pot mixed at 02:00, at 23 °C good for 2 h by the class's application
// time, is used at 04:00 and not at 04:01.
func TestPrintedMinuteIsTheLast(t *testing.T) {
	l := labelled(t, "polysulfide-b-2", tag.Mixed, nil)
	x := l.Tags([]string{"2"}, "", "09520123456788", func(s string) string { return s })[0]
	c, err := x.MatrixCode()
	require.NoError(t, err)
	list := listOf(t, "S-2207,polysulfide-b-2,2027-03-01,2027-12-31")
	for _, listed := range []*List{nil, list} {
		got := asked(t, at(atTwo.Add(120*time.Minute)), c.Scanned(), "polysulfide-b-2", listed)
		assert.Equal(t, shelf.Use, got.Judgement.Verdict)
		assert.Equal(t, "2", got.Item.Container)
		got = asked(t, at(atTwo.Add(121*time.Minute)), c.Scanned(), "polysulfide-b-2", listed)
		g := got.Judgement.Governing
		assert.Equal(t, shelf.Reject, got.Judgement.Verdict)
		assert.Equal(t, LimitPrinted, g.Name)
		assert.Equal(t, "the label printed when it was mixed", g.Source)
		assert.Contains(t, g.Reason, "container 2, mixed from batch S-2207. Its use-by, 5 March 2027 04:00, is past.")
		// Of the whole day the hour decides, and is asked for.
		j := NewJudge(catalog.Builtin(), date.NewAt(atTwo))
		got = asked(t, j, c.Scanned(), "polysulfide-b-2", listed)
		assert.Equal(t, shelf.Hold, got.Judgement.Verdict)
		assert.Contains(t, got.Judgement.Governing.Evidence, "hour of use")
		// What would be done only at 05:00 is not begun with it.
		j = at(atTwo.Add(time.Hour))
		q := j.question
		q.Until = label.At(j.On, 5*60)
		j.Ask(q)
		got = asked(t, j, c.Scanned(), "polysulfide-b-2", listed)
		assert.Equal(t, shelf.Hold, got.Judgement.Verdict)
		assert.Equal(t, shelf.LimitOutlast, got.Judgement.Governing.Name)
	}
}

// The label shortens and never lengthens: a batch that ended sooner, or is held, stays
// so; and an end before the list's expiry is no difference between the two.
func TestPrintedLabelOnlyShortens(t *testing.T) {
	l := labelled(t, "polysulfide-b-2", tag.Opened, nil) // until 5 June 2027
	x := l.Tags(nil, "", "", func(s string) string { return s })[0]
	c, err := x.MatrixCode()
	require.NoError(t, err)
	in := func(row string, when time.Time) Checked {
		return asked(t, at(when), c.Scanned(), "", listOf(t, row))
	}
	got := in("S-2207,polysulfide-b-2,2027-03-01,2027-12-31", atTwo)
	assert.Equal(t, shelf.Use, got.Judgement.Verdict)
	assert.Equal(t, LimitPrinted, got.Judgement.Governing.Name)
	assert.Equal(t, "2027-06-05", got.Judgement.Governing.Date.Format("2006-01-02"))
	for _, o := range got.Judgement.Limits {
		assert.NotEqual(t, LimitList, o.Name)
	}
	got = in("S-2207,polysulfide-b-2,2027-01-01,2027-04-30", atTwo) // the list's expiry governs
	assert.Equal(t, shelf.LimitLabelExpiry, got.Judgement.Governing.Name)
	got = in("S-2207,polysulfide-b-2,2027-01-01,2027-04-30", atTwo.AddDate(0, 2, 0))
	assert.Equal(t, shelf.Reject, got.Judgement.Verdict)
	assert.Equal(t, shelf.LimitLabelExpiry, got.Judgement.Governing.Name)
	got = in("S-2207,polysulfide-b-2,,", atTwo) // a row without a date is held all the same
	assert.Equal(t, shelf.Hold, got.Judgement.Verdict)
}

// S-2207/MIXED is a label, unless the list has a batch of that very spelling.
func TestBatchOfThatVerySpellingWins(t *testing.T) {
	list := listOf(t, "S-2207,polysulfide-b-2,2027-03-01,2027-12-31", "A-1/MIXED,polysulfide-b-2,2027-03-01,2027-12-31", "A-1,polysulfide-b-2,2027-03-01,2027-12-31")
	rows, _, err := at(atTwo).LabelOn(list, stock.Options{}, "A-1/MIXED")
	require.NoError(t, err)
	assert.Equal(t, shelf.Use, rows[0].Judgement.Verdict)
	for _, typed := range []string{"S-2207/MIXED", "S-2207/mixed", " S-2207/MIXED "} {
		rows, _, err = at(atTwo).LabelOn(list, stock.Options{}, typed)
		require.NoError(t, err)
		assert.Equal(t, shelf.Hold, rows[0].Judgement.Verdict)
		assert.Equal(t, "S-2207", rows[0].Item.Batch)
		assert.Equal(t, "This is the label of a container mixed from batch S-2207. Its code carries no hour: read the use-by on the label.", rows[0].Judgement.Governing.Reason)
	}
	_, _, err = at(atTwo).LabelOn(list, stock.Options{}, "S-9/MIXED")
	assert.ErrorContains(t, err, `there is no batch "S-9"`)
}

// A tag DO NOT USE says so to a scanner too.
func TestScannedForbiddingTagForbids(t *testing.T) {
	list := listOf(t, "S-2207,polysulfide-b-2,2027-03-01,2027-12-31")
	for state, want := range map[tag.State]shelf.Verdict{tag.Hold: shelf.Hold, tag.Reject: shelf.Reject} {
		for _, gtin := range []string{"", "09520123456788"} {
			x := tag.Tag{State: state, Class: "polysulfide-b-2", Batch: "S-2207", When: atTwo, GTIN: gtin}
			d, err := tag.Draw([]tag.Tag{x}, tag.Sheet{Label: tag.Size{W: 150, H: 60}, DPI: 300})
			require.NoError(t, err)
			for _, s := range d.Labels[0].Symbols {
				for _, listed := range []*List{nil, list} {
					got := asked(t, at(atTwo), s.Code.Scanned(), "polysulfide-b-2", listed)
					assert.Equal(t, want, got.Judgement.Verdict, "%q", s.Code.Text)
				}
			}
		}
	}
}

// A pot far over what is usual is reported, where the class says nothing of its size; at
// a temperature without times the range is named, and no way round it.
func TestPotSizeAndRangeAreSaid(t *testing.T) {
	l := labelled(t, "polysulfide-b-2", tag.Mixed, func(q *LabelQuestion) { q.PotG = 2000 })
	assert.Contains(t, l.Assumed, "The class says nothing of pot size: a pot of 2 kg may set sooner than a small one; the time is for a pot as the class was tested.")
	l = labelled(t, "epoxy-paste", tag.Mixed, func(q *LabelQuestion) { q.PotG = 100 })
	for _, a := range l.Assumed {
		assert.NotContains(t, a, "nothing of pot size")
	}
	l = labelled(t, "polysulfide-b-2", tag.Mixed, func(q *LabelQuestion) { q.PotC = 60 })
	assert.Equal(t, shelf.Hold, l.Verdict)
	assert.Contains(t, l.Why, "to 49 C")
	assert.NotContains(t, l.Why, "extrapolate")
}
