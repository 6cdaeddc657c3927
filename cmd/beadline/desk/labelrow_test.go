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
	"beadline/catalog/label/tag"
	"beadline/catalog/shelf"
	"beadline/catalog/stock"
)

// rowOf is a row of a list as the judge gives it.
func rowOf(line int, container string, unreadable bool) Checked {
	c := Checked{Item: shelf.Item{Container: container}, Row: &stock.Row{Line: line}}
	if unreadable {
		l := held(LimitUnreadable, "Its row cannot be read.", "the stock list")
		c.Judgement = shelf.Judgement{Verdict: shelf.Hold, Governing: l, Limits: []shelf.Limit{l}}
	}
	return c
}

// Of several rows a label is made from one alone, and never from one that may be of
// another container.
func TestOneRowIsPickedByItsContainer(t *testing.T) {
	one, two, blank := rowOf(2, "1", false), rowOf(9, "2", false), rowOf(4, "", false)
	for _, x := range []struct {
		name       string
		rows       []Checked
		containers []string
		state      tag.State
		line       int
		why        string
	}{
		{"the only one", []Checked{blank}, []string{"7", "8"}, tag.Opened, 4, ""},
		{"the only one, of another container", []Checked{one}, []string{"7"}, tag.Opened, 0, "line 2 is container 1, not 7"},
		{"a pot has a number of its own", []Checked{one}, []string{"7"}, tag.Mixed, 2, ""},
		{"by its container", []Checked{one, two}, []string{"2"}, tag.Opened, 9, ""},
		{"none named", []Checked{two, one}, nil, tag.Opened, 0, "lines 2 and 9: say which by --container"},
		{"two named", []Checked{one, two}, []string{"1", "2"}, tag.Opened, 0, "lines 2 and 9"},
		{"none of that container", []Checked{one, two}, []string{"3"}, tag.Opened, 0, "lines 2 and 9"},
		{"two of that container", []Checked{one, rowOf(5, "1", false), two}, []string{"1"}, tag.Opened, 0, "lines 2, 5 and 9"},
		{"one not readable, perhaps of that", []Checked{one, two, rowOf(6, "", true)}, []string{"1"}, tag.Opened, 0, "lines 2, 6 and 9"},
		{"one not readable, of another", []Checked{one, two, rowOf(6, "3", true)}, []string{"1"}, tag.Opened, 2, ""},
		{"that one not readable", []Checked{two, rowOf(6, "1", true)}, []string{"1"}, tag.Opened, 6, ""},
		{"many", []Checked{one, blank, two, blank, blank, blank, blank}, nil, tag.Opened, 0, "lines 2, 4, 4, 4, 4 and 2 more"},
	} {
		got, err := LabelRow(x.rows, x.containers, x.state)
		if x.why != "" {
			assert.ErrorContains(t, err, x.why, x.name)
			continue
		}
		require.NoError(t, err, x.name)
		assert.Equal(t, x.line, got.Row.Line, x.name)
	}
}

// fromList asks about a batch as a list has it.
func fromList(t require.TestingT, it shelf.Item, s tag.State) *Label {
	q := LabelQuestion{State: s, When: atTwo, Now: atTwo, PotC: 23}
	j := at(atTwo)
	c := j.Item(it)
	c.Row = &stock.Row{Line: 2, Item: it}
	q.From(c, catalog.Builtin())
	l, err := AskLabel(q)
	require.NoError(t, err)
	return l
}

// The earlier of two openings counts; one yet to come is a contradiction and is held.
func TestEarlierOpeningCounts(t *testing.T) {
	it := shelf.Item{Batch: "S-1", Class: "polysulfide-b-2", Expiry: day(t, "2027-12-31")}
	for opened, want := range map[string]string{"": "2027-06-05", "2027-02-01": "2027-05-01", "02/2027": "2027-05-01", "2027-03-05": "2027-06-05"} {
		it.Opened = label.Date{}
		if opened != "" {
			it.Opened = day(t, opened)
		}
		l := fromList(t, it, tag.Opened)
		require.Equal(t, shelf.Use, l.Verdict, "%s: %s", opened, l.Why)
		assert.Equal(t, want, l.UseBy.At.Format(time.DateOnly), opened)
	}
	it.Opened = day(t, "2027-04-05")
	l := fromList(t, it, tag.Opened)
	assert.Equal(t, shelf.Hold, l.Verdict)
	assert.Contains(t, l.Why, "Dates contradict")
}

// A thaw is added to those on record, and what is on record is no thaw more. Film
// adhesive has 10 days out: out on 1 March for 24 h, back, and 30 h summed before that,
// leaves 186 h from 02:00 on 5 March: 20:00 on 12 March.
func TestThawIsAddedToThoseOnRecord(t *testing.T) {
	moment := func(day, hour int) label.Date { return label.At(date.New(2027, time.March, day), 60*hour) }
	it := shelf.Item{Batch: "F-1", Class: "film-adhesive-frozen", DOM: day(t, "2027-01-04"), Expiry: day(t, "2027-12-31"),
		Thawed: []label.Date{moment(1, 2)}, Refrozen: []label.Date{moment(2, 2)}}
	used := it
	used.Thawed = []label.Date{day(t, "2027-02-20"), moment(1, 2)}
	used.OutUsed = 30 * time.Hour
	for _, x := range []struct {
		name string
		it   shelf.Item
		want string
	}{
		{"24 h spent", it, "2027-03-14 02:00"},
		{"24 h spent, and 30 h before that", used, "2027-03-12 20:00"},
	} {
		rules := Rules(class(t, "", "film-adhesive-frozen"))
		l := &Label{LabelQuestion: LabelQuestion{Class: class(t, "", "film-adhesive-frozen"), State: tag.Thawed, Item: x.it, When: atTwo, Now: atTwo}}
		l.happened()
		rules.Thaws = shelf.Thaws{Max: shelf.AnyThaws} // the sum alone is asked about
		v := shelf.JudgeFor(&l.Item, &rules, l.Asked())
		found := false
		for _, o := range v.Limits {
			if o.Name == shelf.LimitOutTime && o.Dated {
				found = true
				assert.Equal(t, x.want, o.Date.Format(time.DateOnly)+" "+time.Unix(int64(o.Minute)*60, 0).UTC().Format("15:04"), "%s: %s", x.name, o.Reason)
			}
		}
		assert.True(t, found, "%s: %+v", x.name, v.Limits)
		n := len(l.Item.Thawed)
		l.happened()
		assert.Len(t, l.Item.Thawed, n, "the same minute is the same thaw")
	}
	premixed := shelf.Item{Batch: "P-1", Class: "polysulfide-b-2-premixed", DOM: day(t, "2027-03-01"), Thawed: []label.Date{day(t, "2027-03-02")}}
	assert.Equal(t, shelf.Reject, fromList(t, premixed, tag.Thawed).Verdict)
}

// Whatever a list has of a batch: what check does not pass gets no use-by, and no use-by
// lies after the end that check gives it.
func TestLabelNeverKnowsLessThanCheck(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		days := func(name string, from, to int) label.Date {
			if rapid.Bool().Draw(r, "no "+name) {
				return label.Date{}
			}
			return label.At(date.New(2027, time.March, 5).Add(date.PeriodOfDays(rapid.IntRange(from, to).Draw(r, name))), 0)
		}
		it := shelf.Item{Batch: "S-1", Class: rapid.SampledFrom([]string{"polysulfide-b-2", "film-adhesive-frozen", "adhesion-promoter", "epoxy-paste", "unheard-of", ""}).Draw(r, "class"),
			DOM: days("dom", -400, 1), Expiry: days("expiry", -10, 300), Inspect: days("inspect", -10, 300), BestBefore: days("best before", -10, 300),
			Opened: days("opened", -100, 2), Condition: shelf.Condition(rapid.SampledFrom([]int{0, 0, 0, int(shelf.Damaged), int(shelf.Skinned)}).Draw(r, "condition")),
			Held: rapid.SampledFrom([]string{"", "", "left on the ramp"}).Draw(r, "held")}
		if hot := days("hot", -60, 1); !hot.IsZero() {
			it.Storage = []shelf.Storage{{From: hot, HotFrom: hot}}
		}
		check := at(atTwo).Item(it).Judgement
		l := fromList(r, it, tag.Opened)
		assert.GreaterOrEqual(r, l.Verdict, check.Verdict, "%s / %s", check.Governing.Reason, l.Why)
		if l.Verdict != shelf.Use {
			return
		}
		for _, o := range check.Limits {
			if o.Counts && o.Dated {
				assert.False(r, date.NewAt(l.UseBy.At).After(o.Date), "%s ends %s, label %s", o.Name, o.Date, l.UseBy.At)
			}
		}
	})
}
