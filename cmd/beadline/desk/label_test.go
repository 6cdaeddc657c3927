package desk

import (
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
)

// atTwo is 02:00 on 5 March 2027, when nobody does sums.
var atTwo = time.Date(2027, 3, 5, 2, 0, 0, 0, time.UTC)

// labelled asks about a container with an expiry, opened, thawed or mixed at two.
func labelled(t testing.TB, id string, s tag.State, change func(*LabelQuestion)) *Label {
	t.Helper()
	q := LabelQuestion{Class: class(t, "", id), State: s, When: atTwo, Now: atTwo, PotC: 23,
		Item: shelf.Item{Batch: "S-2207", Expiry: day(t, "2027-12-31")}}
	if change != nil {
		change(&q)
	}
	l, err := AskLabel(q)
	require.NoError(t, err)
	return l
}

// In the Faroes the clock shows 01:10 twice on 31 October 2027, an hour apart: who reads
// the label at the second must not take it for the first. 23:10 WEST and 2 h is 01:10 WEST.
func TestUseByInAnHourThatComesTwiceIsBeforeIt(t *testing.T) {
	faroe, err := time.LoadLocation("Atlantic/Faroe")
	require.NoError(t, err)
	ask := func(utc string) *Label {
		at, err := time.Parse(time.RFC3339, utc)
		require.NoError(t, err)
		return labelled(t, "polysulfide-b-2", tag.Mixed, func(q *LabelQuestion) {
			q.When, q.Now = at.In(faroe), at.In(faroe)
		})
	}
	l := ask("2027-10-30T22:10:00Z")
	require.Equal(t, shelf.Use, l.Verdict)
	assert.Equal(t, "00:59 WEST", l.UseBy.At.Format("15:04 MST"))
	assert.Contains(t, l.Assumed[0], "the clock shows that hour twice")
	assert.Equal(t, "01:10 WET", ask("2027-10-30T23:10:00Z").UseBy.At.Format("15:04 MST"))
	assert.Equal(t, "00:59 WEST", ask("2027-10-30T21:59:00Z").UseBy.At.Format("15:04 MST"))
}

// The days of use are sums by hand with a calendar: 5 March and 3 months are 5 June.
func TestUseByIsTheEarliestEnd(t *testing.T) {
	for _, x := range []struct {
		name, class string
		state       tag.State
		change      func(*LabelQuestion)
		want, note  string
	}{
		{"opened life of 3 months", "polysulfide-b-2", tag.Opened, nil, "2027-06-05", "opened life 3 months"},
		{"expiry before that", "polysulfide-b-2", tag.Opened, func(q *LabelQuestion) { q.Item.Expiry = day(t, "05/2027") }, "2027-05-31", "expiry on the container"},
		{"9 months from manufacture", "polysulfide-b-2", tag.Opened,
			func(q *LabelQuestion) { q.Item.Expiry, q.Item.DOM = label.Date{}, day(t, "2026-08-01") }, "2027-05-01", "life 9 months, made 1 August 2026"},
		{"inspect date before that", "polysulfide-b-2", tag.Opened, func(q *LabelQuestion) { q.Item.Inspect = day(t, "2027-04-30") }, "2027-04-30", "then inspect/test"},
		{"out time of 10 days", "film-adhesive-frozen", tag.Thawed, nil, "2027-03-15 02:00", "out time 10 days"},
		{"30 h of it spent", "film-adhesive-frozen", tag.Thawed, func(q *LabelQuestion) { q.Item.OutUsed = 30 * time.Hour }, "2027-03-13 20:00", "out time 10 days, 30 h spent before"},
		{"thaw life of 2 h", "polysulfide-b-2-premixed", tag.Thawed, func(q *LabelQuestion) { q.PotC = 20 }, "2027-03-05 04:00", "application until 04:00 at 20 C"},
		// A pot 10 °C over the 25 °C of the rating has half the 2 h (the class's doubling
		// rule of 10 °C).
		{"warm cartridge", "polysulfide-b-2-premixed", tag.Thawed, func(q *LabelQuestion) { q.PotC = 35 }, "2027-03-05 03:00", "application until 03:00 at 35 C"},
		{"mixed warm", "polysulfide-b-2", tag.Mixed, func(q *LabelQuestion) { q.PotC = 35 }, "2027-03-05 03:00", "application until 03:00 at 35 C"},
		// Cold never lengthens it.
		{"mixed cold", "polysulfide-b-2", tag.Mixed, func(q *LabelQuestion) { q.PotC = 5 }, "2027-03-05 04:00", "application until 04:00 at 5 C"},
		{"mixed on its last evening", "polysulfide-b-2", tag.Mixed, func(q *LabelQuestion) {
			q.When = time.Date(2027, 3, 5, 23, 30, 0, 0, time.UTC)
			q.Now, q.Item.Expiry = q.When, day(t, "2027-03-05")
		}, "2027-03-05", "expiry on the container"},
	} {
		l := labelled(t, x.class, x.state, x.change)
		require.Equal(t, shelf.Use, l.Verdict, "%s: %s", x.name, l.Why)
		form := time.DateOnly
		if l.UseBy.Timed {
			form = "2006-01-02 15:04"
		}
		assert.Equal(t, x.want, l.UseBy.At.Format(form), x.name)
		assert.Contains(t, l.Notes, x.note, x.name)
		assert.NotEmpty(t, l.Why, x.name)
		assert.NotEmpty(t, l.Source, x.name)
	}
}

// What check holds or rejects gets no use-by, at the moment of opening or since.
func TestNoUseByForWhatIsHeldOrRejected(t *testing.T) {
	for _, x := range []struct {
		name, class string
		state       tag.State
		change      func(*LabelQuestion)
		verdict     shelf.Verdict
		why         string
	}{
		{"expired", "polysulfide-b-2", tag.Opened, func(q *LabelQuestion) { q.Item.Expiry = day(t, "2027-03-04") }, shelf.Reject, "Expired"},
		{"no date", "polysulfide-b-2", tag.Opened, func(q *LabelQuestion) { q.Item.Expiry = label.Date{} }, shelf.Hold, "No date"},
		{"no opened life", "epoxy-paste", tag.Opened, nil, shelf.Hold, "no opened life is known"},
		{"not frozen stock", "polysulfide-b-2", tag.Thawed, nil, shelf.Hold, "no out time is known"},
		{"opened life over since", "polysulfide-b-2", tag.Opened, func(q *LabelQuestion) { q.Now = atTwo.AddDate(0, 4, 0) }, shelf.Reject, "opened life ended 5 June 2027"},
		{"thaw life over since", "polysulfide-b-2-premixed", tag.Thawed, func(q *LabelQuestion) { q.Now = atTwo.Add(3 * time.Hour) }, shelf.Reject, "ended"},
		{"pot over since", "polysulfide-b-2", tag.Mixed, func(q *LabelQuestion) { q.Now = atTwo.Add(3 * time.Hour) }, shelf.Reject, "application time ended"},
		{"out time spent", "film-adhesive-frozen", tag.Thawed, func(q *LabelQuestion) { q.Item.OutUsed = 241 * time.Hour }, shelf.Reject, ""},
		{"pot out of all range", "polysulfide-b-2", tag.Mixed, func(q *LabelQuestion) { q.PotC = 70 }, shelf.Hold, "application"},
		{"no pot life known", "epoxy-primer", tag.Mixed, func(q *LabelQuestion) { q.Class = class(t, unknownPotLife, "quiet") }, shelf.Hold, "No application time is known"},
		{"kit opened too long ago", "polysulfide-b-2", tag.Mixed, func(q *LabelQuestion) { q.Item.Opened = day(t, "2026-11-01") }, shelf.Reject, "opened life ended"},
	} {
		l := labelled(t, x.class, x.state, x.change)
		assert.Equal(t, x.verdict, l.Verdict, "%s: %s", x.name, l.Why)
		assert.Contains(t, l.Why, x.why, x.name)
		assert.True(t, l.UseBy.At.IsZero(), x.name)
		assert.NotEmpty(t, l.Next, x.name)
		tags := l.Tags([]string{"1"}, "Tech 1", "", func(s string) string { return s })
		require.Len(t, tags, 1)
		assert.True(t, tags[0].State.Forbids(), x.name)
		_, err := tag.Draw(tags, tag.Sheet{Page: tag.A4, Label: tag.Size{W: 70, H: 37}, DPI: 300})
		assert.NoError(t, err, x.name)
	}
}

const unknownPotLife = `
- id: quiet
  name: Primer of which no pot life is known
  kind: primer
  curves:
    tack-free: {doubling: {ref: 25C, time: 30min, step: 10C}, range: 10..35C, from: test}
  shelf: {unopened: 12 months, from: test}
  cautions: []
  from: test
`

func TestOnlyWhatIsMixedByHandIsMixed(t *testing.T) {
	assert.ErrorContains(t, Labelled(class(t, "", "polysulfide-b-2-premixed"), tag.Mixed), "say thawed")
	assert.ErrorContains(t, Labelled(class(t, "", "silicone-neutral"), tag.Mixed), "say opened")
	assert.NoError(t, Labelled(class(t, "", "polysulfide-b-2"), tag.Mixed))
}

// Every built-in class gets, in every state that it can have, a use-by or a reason, and
// its label fits the usual sheet.
func TestEveryClassGetsALabelOrAReason(t *testing.T) {
	for _, c := range catalog.Builtin().All() {
		for _, s := range []tag.State{tag.Opened, tag.Thawed, tag.Mixed} {
			if Labelled(&c, s) != nil {
				continue
			}
			l := labelled(t, c.ID, s, func(q *LabelQuestion) { q.Item.DOM = day(t, "2027-03-01") })
			assert.Equal(t, l.Verdict == shelf.Use, !l.UseBy.At.IsZero(), "%s %s", c.ID, s)
			assert.NotEmpty(t, l.Why, "%s %s", c.ID, s)
			tags := l.Tags([]string{"12"}, "Tech 1", "", func(s string) string { return s })
			_, err := tag.Draw(tags, tag.Sheet{Page: tag.A4, Label: tag.Size{W: 70, H: 37}, DPI: 300})
			assert.NoError(t, err, "%s %s", c.ID, s)
		}
	}
}

// What a label's Data Matrix carries is read by the program's own reader as what was
// meant: batch, container, and a last day or minute that is never later than printed.
func TestOwnReaderReadsTheLabel(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		q := LabelQuestion{State: tag.Opened, Class: class(t, "", "polysulfide-b-2"), When: atTwo, Now: atTwo, PotC: 23,
			Item: shelf.Item{Batch: rapid.StringMatching(`[A-Z0-9][A-Z0-9/-]{0,18}[A-Z0-9]`).Draw(r, "batch"), Expiry: day(t, "2027-12-31")}}
		switch rapid.IntRange(0, 2).Draw(r, "state") {
		case 1:
			q.State, q.Class = tag.Thawed, class(t, "", "film-adhesive-frozen")
		case 2:
			q.State = tag.Mixed
		}
		l, err := AskLabel(q)
		require.NoError(r, err)
		require.Equal(r, shelf.Use, l.Verdict)
		gtin := rapid.SampledFrom([]string{"", "09520123456788"}).Draw(r, "gtin") // GS1 Digital Link examples
		number := rapid.StringMatching(`[A-Z0-9]{1,6}`).Draw(r, "container")
		x := l.Tags([]string{number}, "", gtin, func(s string) string { return s })[0]
		c, err := x.MatrixCode()
		require.NoError(r, err)
		for _, sent := range []string{c.Text, c.Scanned()} {
			if gtin == "" && sent == c.Text {
				require.True(r, scan.Looks(sent))
			}
			got, err := scan.Parse(sent, date.NewAt(atTwo))
			require.NoError(r, err)
			assert.Equal(r, q.Item.Batch, got.Lot)
			assert.Equal(r, x.Serial(), got.Serial)
			state, of, ok := tag.ReadState(got.Serial)
			assert.True(r, ok && state == q.State && of == number, "%q", got.Serial)
			assert.Equal(r, gtin, got.GTIN)
			assert.False(r, got.Doubt, "%q: %v", sent, got.Warnings)
			if gtin == "" && q.State == tag.Mixed {
				assert.True(r, got.Expiry.IsZero(), "%v", got.Expiry)
				continue
			}
			require.False(r, got.Expiry.IsZero(), "%q", sent)
			last := got.Expiry.Last()
			end := time.Date(last.Year(), last.Month(), last.Day()+1, 0, 0, 0, 0, time.UTC)
			if m, ok := got.Expiry.Clock(); ok {
				end = time.Date(last.Year(), last.Month(), last.Day(), 0, m, 0, 0, time.UTC)
			}
			assert.False(r, end.After(ends(l.UseBy)), "%v is later than the print, %v", got.Expiry, l.UseBy)
			if gtin != "" || !l.UseBy.Timed {
				assert.True(r, end.Equal(ends(l.UseBy)), "%v is not the print, %v", got.Expiry, l.UseBy)
			}
		}
	})
}

// A minute rounds down, and seconds of the start do not add to it.
func TestUseByRoundsToTheSafeMinute(t *testing.T) {
	l := labelled(t, "polysulfide-b-2", tag.Mixed, func(q *LabelQuestion) {
		q.When = atTwo.Add(59 * time.Second)
		q.Now, q.PotC = q.When, 26.5
	})
	// 2 h · 2^(−1.5/10) = 1 h 48 min 9 s by the doubling rule.
	assert.Equal(t, "03:48", l.UseBy.At.Format("15:04"))
}

// The clock of the place is printed, and what is judged is the moment, whatever zone the
// clock of the computer has.
func TestUseByIsOnTheClockOfThePlace(t *testing.T) {
	faroe, err := time.LoadLocation("Atlantic/Faroe")
	require.NoError(t, err)
	// On 28 March 2027 clocks there go from 01:00 to 02:00 (WET to WEST).
	when := time.Date(2027, 3, 28, 0, 30, 0, 0, faroe)
	l := labelled(t, "polysulfide-b-2-premixed", tag.Thawed, func(q *LabelQuestion) { q.When, q.Now = when, when.UTC() })
	assert.Equal(t, "03:30 WEST", l.UseBy.At.Format("15:04 MST"))
	assert.Equal(t, 2*time.Hour, l.UseBy.At.Sub(when))
}
