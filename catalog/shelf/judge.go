package shelf

import (
	"fmt"
	"slices"

	"github.com/rickb777/date"

	"beadline/catalog/label"
)

// Judge says whether an item may be used on a day, the whole of it, with every limit
// that applies. It is JudgeFor with nothing but the day.
func Judge(it Item, r Rules, on date.Date) Judgement { return JudgeFor(&it, &r, Question{On: on}) }

// JudgeFor says whether an item may be used at the moment asked about, with every
// limit that applies.
//
//   - If any limit that rejects is past, the verdict is reject, and the earliest of
//     those governs.
//   - Else, if any that holds is past, hold; one without a date (undated, dates that
//     contradict) comes before the dated.
//   - Else use, and the earliest limit to come governs.
//
// A printed expiry always wins over a computed life; the computed one is then listed
// for information. The shelf-life code of an item wins over the life of its class, and
// so does the standard that governs a seal. With Question.Until, a limit that ends
// before that moment holds the batch for this job.
//
// Later, with the same records, the verdict is the same or worse; only records dated
// after the moment judged (a contradiction until their time has come; a hold freed, a
// test passed), or dates no label can mean, can make it better. The order of records
// in their lists makes no difference. Nothing of it or r is changed or kept.
func JudgeFor(it *Item, r *Rules, q Question) Judgement {
	own, terms, a := it.inOrder(), *r, q.asked()
	a.sorted = true
	terms.fit(&own)
	found := kept{all: make([]mark, 0, 8)}
	s := sink{it: &own, q: &a, kept: &found}
	collect(&own, &terms, &a, &s)
	outlastRule{}.marks(q.Until, &s)
	slices.SortStableFunc(found.all, func(a, b mark) int { return a.compare(&b) })

	t := &telling{it: &own, rules: &terms, q: &a, until: q.Until}
	j := Judgement{On: q.On, At: int(a.at), Timed: a.timed, Verdict: found.all[0].demands(), Limits: make([]Limit, 0, len(found.all))}
	for _, m := range found.all {
		j.Limits = append(j.Limits, t.limit(m))
	}
	j.Governing = j.Limits[0]
	j.Assumed = append(readings(&own), t.assumed...)
	return j
}

// Glance is Judge without the words, for going through a whole store: the verdict,
// and the last day of use by the governing limit if that has a day. It allocates
// nothing for an item with up to 16 thaws whose code and standard are known.
func Glance(it *Item, r *Rules, on date.Date) (v Verdict, last date.Date, dated bool) {
	q := asked{on: on}
	s := sink{it: it, q: &q}
	if it.special() {
		terms := *r
		terms.fit(it)
		collect(it, &terms, &q, &s)
	} else {
		collect(it, r, &q, &s)
	}
	return s.best.demands(), s.best.date, s.best.dated
}

// mark is a limit before it is put into words.
type mark struct {
	rule    rule
	date    date.Date // last day of use, if dated
	start   date.Date // the day a life was counted from, or the trouble came up
	n       int32     // which of a list of the item's: part, spell of storage, test
	with    int32     // the other of two parts that do not belong together
	freed   int32     // one more than the index of the Freed that lifts it; 0: none does
	steps   int16     // how many extensions count in date
	minute  int16     // of date, if timed
	from    int16     // minute of start; -1 where not known
	kind    uint8     // which of its rule's cases it is
	about   uint8     // of a contradiction: which date
	verdict Verdict
	dated   bool
	timed   bool
	past    bool
	counts  bool
	byHour  bool // its time ends within the day judged, and which hour that is counts
}

// dayMark is a limit with a last day of use.
func dayMark(r rule, last date.Date, v Verdict, q *asked) mark {
	return mark{rule: r, date: last, dated: true, verdict: v, past: q.on.After(last), counts: true}
}

// timeMark is a limit with a last minute of use. To a question about the whole of that
// day the answer is for a person to give.
func timeMark(r rule, last date.Date, minute int16, v Verdict, q *asked) mark {
	m := dayMark(r, last, v, q)
	m.minute, m.timed = minute, true
	switch {
	case q.on != last:
	case q.timed:
		m.past = q.at > minute
	default:
		m.past, m.byHour, m.verdict = true, true, Hold
	}
	return m
}

// doubt is a hold without a date.
func doubt(r rule, kind uint8) mark {
	return mark{rule: r, verdict: Hold, past: true, counts: true, kind: kind}
}

// rule is one reason for a batch to end. Each rule has its type, which also has a
// method marks that says when it applies. words puts what was found into a sentence
// and names what it rests on; decide says who must settle a hold, and by what.
type rule interface {
	name() Name
	words(m mark, t *telling) (reason, source string)
	decide(m mark, t *telling) (who, evidence string)
}

// sink takes the marks of all rules: every one for a judgement, and for a glance the
// one that governs alone.
type sink struct {
	it   *Item
	q    *asked
	kept *kept // nil for a glance
	best mark
	some bool
}

// kept are all the marks, behind a pointer of their own: so that what a glance looks
// at need not leave the stack.
type kept struct{ all []mark }

// glance reports whether only the mark that governs is wanted.
func (s *sink) glance() bool { return s.kept == nil }

func (s *sink) add(m mark) { s.put(&m) }

func (s *sink) put(m *mark) {
	if m.past && m.counts && m.verdict == Hold && len(s.it.Freed) > 0 {
		s.free(m)
	}
	switch {
	case s.kept != nil:
		s.kept.all = append(s.kept.all, *m)
	case m.counts && (!s.some || m.compare(&s.best) < 0):
		s.best, s.some = *m, true
	}
}

// collect finds the marks of all rules. The calls are spelt out, not looped over, so
// that nothing leaves the stack, and what a plain item has none of is passed over in
// one step. There is always at least one mark that counts: an item with no date is
// undated.
func collect(it *Item, r *Rules, q *asked, s *sink) {
	contradictRule{}.marks(it, q, s)
	if it.special() {
		standardRule{}.marks(r, s)
		codeRule{}.marks(it, r, s)
	}
	undatedRule{}.marks(it, s)
	unknownLifeRule{}.marks(it, r, s)
	farRule{}.marks(it, r, q, s)
	expiryRule{}.marks(it, r, q, s)
	inspectRule{}.marks(it, r, q, s)
	bestBeforeRule{}.marks(it, r, q, s)
	classLifeRule{}.marks(it, r, q, s)
	openedRule{}.marks(it, r, q, s)
	if it.frozen() {
		thawRule{}.marks(it, r, q, s)
		thawLifeRule{}.marks(it, r, q, s)
		outTimeRule{}.marks(it, r, q, s)
	}
	if it.recorded() {
		heldRule{}.marks(it, s)
		scrappedRule{}.marks(it, s)
		conditionRule{}.marks(it, s)
		failedTestRule{}.marks(it, q, s)
		if len(it.Tests) > 0 {
			givenRule{}.marks(it, r, q, s)
		}
		installedRule{}.marks(it, r, q, s)
		partsRule{}.marks(it, s)
		partExpiryRule{}.marks(it, r, q, s)
		receiptRule{}.marks(it, r, q, s)
		storageRules(it, r, q, s)
	}
}

// frozen reports whether anything is recorded of its time out of a freezer.
func (it *Item) frozen() bool {
	return len(it.Thawed) > 0 || len(it.Refrozen) > 0 || it.ThawCount > 0 || it.OutUsed > 0
}

// recorded reports whether an item has any of the records that most have none of.
func (it *Item) recorded() bool {
	return it.Held != "" || it.Scrapped != "" || it.Condition != 0 || len(it.Tests) > 0 || !it.Installed.IsZero() ||
		len(it.Parts) > 0 || !it.Received.On.IsZero() || it.Received.NoPapers || len(it.Storage) > 0
}

// demands is the verdict the mark asks for at the moment judged.
func (m mark) demands() Verdict {
	if m.past && m.counts {
		return m.verdict
	}
	return Use
}

// compare puts the mark that governs first: what rejects, what holds, what is to
// come, what is for information. Of two past ones the undated goes first, as it
// holds whatever the day; of two to come the dated does.
func (m *mark) compare(o *mark) int {
	a, b := m.rank(), o.rank()
	switch {
	case a != b:
		return a - b
	case m.dated != o.dated:
		if m.dated == (a < 2) {
			return 1
		}
		return -1
	case m.dated && m.date != o.date:
		return int(m.date.Sub(o.date))
	case m.dated && m.lastMinute() != o.lastMinute():
		return int(m.lastMinute() - o.lastMinute())
	}
	return int(o.verdict) - int(m.verdict)
}

func (m *mark) rank() int {
	switch {
	case !m.counts:
		return 3
	case !m.past:
		return 2
	case m.verdict == Hold:
		return 1
	}
	return 0
}

// lastMinute is the last minute of use on the mark's day.
func (m *mark) lastMinute() int16 {
	if m.timed {
		return m.minute
	}
	return minutesOfDay - 1
}

// telling is what the words of a limit draw on; they add what they assumed.
type telling struct {
	it      *Item
	rules   *Rules
	q       *asked
	until   label.Date
	assumed []string
	unfreed map[int]bool // which of the item's Freed it has been said of that they count for nothing
}

// limit puts a mark into words.
func (t *telling) limit(m mark) Limit {
	l := Limit{Name: m.rule.name(), Verdict: m.verdict, Past: m.past, Counts: m.counts, ByHour: m.byHour, Freed: m.freed > 0}
	if m.dated {
		l.Date, l.Dated, l.Timed = m.date, true, m.timed
	}
	if l.Timed {
		l.Minute = int(m.minute)
	}
	l.Reason, l.Source = m.rule.words(m, t)
	switch {
	case m.freed > 0:
		l.Reason += " " + t.freedBy(m)
	case !m.counts || !m.past || m.verdict != Hold:
	case m.byHour:
		l.Who, l.Evidence = byHourDecision(m)
	default:
		l.Who, l.Evidence = m.rule.decide(m, t)
	}
	if m.counts && m.past {
		t.notFreed(m)
	}
	return l
}

// byHourDecision is for a limit that ends within the day judged.
func byHourDecision(m mark) (who, evidence string) {
	if m.timed {
		return "Whoever uses it must say at what hour: use it only up to that time, or reject it.", "The hour of use settles it."
	}
	return "Whoever thawed it must say at what hour it left the freezer: use it only within that time, or reject it.",
		"The hour it left the freezer, as written on the container or in the freezer's log, settles it."
}

// assume notes once what was taken for granted.
func (t *telling) assume(format string, args ...any) {
	said := fmt.Sprintf(format, args...)
	if !slices.Contains(t.assumed, said) {
		t.assumed = append(t.assumed, said)
	}
}

// ends writes the last moment of a mark: "31 May 2027", "5 March 2027 10:00".
func (m mark) ends() string {
	if m.timed {
		return label.At(m.date, int(m.minute)).String()
	}
	return label.FormatDay(m.date)
}

// usable is for a limit to come: "usable through 31 May 2027".
func (m mark) usable() string {
	if m.timed {
		return "usable until " + m.ends()
	}
	return "usable through " + m.ends()
}
