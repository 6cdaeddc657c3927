package desk

import (
	"strings"
	"time"

	"github.com/rickb777/date"
	"github.com/rickb777/date/period"

	"beadline/catalog"
	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/cure/quantity"
)

// The limits that the desk adds to those of package shelf.
const (
	LimitUnknownClass shelf.Name = "unknown-class" // no class is known, or it is not in the catalog
	LimitUnreadable   shelf.Name = "unreadable"    // the row of the stock list cannot be read
)

// Rules is what a class says of its shelf life, as package shelf judges by it. A
// class without shelf rules gives none: then only what is printed on the batch
// counts, and a batch with no expiry is held. One provenance may stand for a whole
// block of rules; it makes no rule of what the block does not give.
func Rules(c *catalog.Class) shelf.Rules {
	s := c.Shelf
	if s == nil {
		return shelf.Rules{}
	}
	r := shelf.Rules{
		Standard:  standardOf(c),
		Opened:    lifeOf(s.Opened),
		Installed: lifeOf(s.Installed),
		Unopened:  lifeOf(s.Unopened),
		Store:     storeOf(s.Store),
		Bounds:    storeOf(s.Bounds),
		OutTime:   spanOf(s.OutTime),
		ThawLife:  spanOf(s.ThawLife),
		Thaws:     thawsOf(s),
		Extension: extensionOf(s.Extension),
	}
	if s.Unlimited {
		r.Unopened = shelf.Life{Unlimited: true, From: s.Unopened.From}
	}
	if h := s.Hot; h.Known {
		r.Hot = shelf.Hot{AboveC: h.Value.AboveC, Within: h.Value.Within, From: h.From}
	}
	if v := s.Receipt.Value; s.Receipt.Known {
		r.Receipt = shelf.ReceiptRule{Share: v.Share, Within: v.OrWithin, Over: v.Over, From: s.Receipt.From}
	}
	if c, err := shelf.ParseConvention(string(s.Convention.Value)); err == nil {
		r.Convention = c
	}
	return r
}

func lifeOf(v catalog.Sourced[period.Period]) shelf.Life {
	if !v.Known {
		return shelf.Life{}
	}
	return shelf.Life{Span: v.Value, From: v.From}
}

func storeOf(v catalog.Sourced[quantity.Range]) shelf.Store {
	if !v.Known {
		return shelf.Store{}
	}
	return shelf.Store{Range: v.Value, From: v.From}
}

func spanOf(v catalog.Sourced[time.Duration]) shelf.Span {
	if !v.Known {
		return shelf.Span{}
	}
	return shelf.Span{Max: v.Value, From: v.From}
}

// standardOf is the standard for the storage of seals that a class keeps to, by its
// specification; "" for any other class.
func standardOf(c *catalog.Class) shelf.Standard {
	switch {
	case c.Kind != catalog.Elastomer:
	case strings.HasPrefix(c.Spec, "ISO 2230"):
		return shelf.StandardISO2230
	case strings.HasSuffix(c.Spec, "S5316"), strings.HasSuffix(c.Spec, "P5316"):
		return shelf.StandardSAE5316
	}
	return ""
}

// thawsOf is how often a class may be thawed: its own number, or what refreezing says.
func thawsOf(s *catalog.Shelf) shelf.Thaws {
	switch {
	case s.Thaws.Known:
		return shelf.Thaws{Max: s.Thaws.Value, From: s.Thaws.From}
	case s.Refreeze.Known && s.Refreeze.Value:
		return shelf.Thaws{Max: shelf.AnyThaws, From: s.Refreeze.From}
	case s.Refreeze.Known:
		return shelf.Thaws{Max: 1, From: s.Refreeze.From}
	}
	return shelf.Thaws{}
}

// extensionOf rests on the document that allows it.
func extensionOf(e catalog.Sourced[catalog.Extension]) shelf.Extension {
	v := e.Value
	switch v.Kind {
	case catalog.ExtendHalfOriginal:
		return shelf.Extension{Kind: shelf.HalfOriginal, Max: v.Max, From: v.Authority}
	case catalog.ExtendByPeriod:
		return shelf.Extension{Kind: shelf.FixedExtension, Span: v.By, Max: v.Max, From: v.Authority}
	}
	return shelf.Extension{}
}

// Judge says of batches whether they may be used on one day, or at one moment of it.
// It looks each class up once. It is not safe from several goroutines.
type Judge struct {
	On date.Date
	// Receipt, unless zero, stands in for what the classes say of receipt.
	Receipt shelf.ReceiptRule
	// GTINs says which class a scanned GTIN is; nil: nobody does.
	GTINs *GTINs

	question shelf.Question
	catalog  *catalog.Catalog
	known    map[string]*ruled
}

// ruled is what is known of the class of a batch.
type ruled struct {
	rules    shelf.Rules
	missing  string // why the class is not known; "" if it is
	cautions []string
}

// NewJudge makes a judge for a day and the classes of a catalog.
func NewJudge(c *catalog.Catalog, on date.Date) *Judge {
	return &Judge{On: on, question: shelf.Question{On: on}, catalog: c, known: map[string]*ruled{}}
}

// Ask has the judge answer for a moment of the day, or for what a batch must outlast.
// Glance goes on answering for the whole day.
func (j *Judge) Ask(q shelf.Question) { j.On, j.question = q.On, q }

// Question is what it was asked.
func (j *Judge) Question() shelf.Question { return j.question }

// Until is the moment that a batch must outlast, as it was asked; zero: none.
func (j *Judge) Until() label.Date { return j.question.Until }

// Zone is where the clocks of what it judges hang.
func (j *Judge) Zone() *time.Location {
	if j.question.Zone == nil {
		return time.UTC
	}
	return j.question.Zone
}

// Known is the error for a class that is not in the catalog, which names the nearest.
func (j *Judge) Known(class string) error {
	_, err := j.catalog.Find(class)
	return err
}

// Class is a class of its catalog; the error names the nearest.
func (j *Judge) Class(id string) (catalog.Class, error) { return j.catalog.Find(id) }

// class looks a class up. Of a class that is not in the catalog nothing is taken
// for granted, for or against the batch: a person decides.
func (j *Judge) class(id string) *ruled {
	if k := j.known[id]; k != nil {
		return k
	}
	k := &ruled{}
	c, err := j.catalog.Find(id)
	switch {
	case err == nil:
		k.rules, k.cautions = Rules(&c), c.CautionSentences()
		if j.Receipt != (shelf.ReceiptRule{}) {
			k.rules.Receipt = j.Receipt
		}
	default:
		k.missing = sentence(err.Error())
		if id == "" {
			k.missing = "Nothing says which sealant class it is."
		}
		k.rules = shelf.Rules{Extension: shelf.Extension{Kind: shelf.HalfOriginal}, Thaws: shelf.Thaws{Max: shelf.AnyThaws}}
	}
	j.known[id] = k
	return k
}

// sentence makes a sentence of an error: a capital first, a full stop last.
func sentence(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + strings.TrimSuffix(s[1:], ".") + "."
}

// Full judges a batch, with every limit in words.
func (j *Judge) Full(it shelf.Item) shelf.Judgement {
	k := j.class(it.Class)
	v := shelf.JudgeFor(&it, &k.rules, j.question)
	for _, p := range it.Parts {
		if p.Kit == "" && (p.From == "" || len(it.Parts) == 1) {
			v.Assumed = append(v.Assumed, "Nothing says that the "+strings.TrimSpace(p.Name+" "+p.Lot)+" belongs to this kit: both parts must come from one.")
		}
	}
	if k.missing == "" {
		return v
	}
	l := held(LimitUnknownClass, k.missing, "the catalog")
	l.Who = "Say which class it is, from the label or its papers."
	l.Evidence = "The right class, by --class or on the list, or the file that has it, by --catalog, settles it."
	if it.Class == "" {
		l.Evidence = "The class by --class, or its GTIN in a file gtin,class given with --gtins, settles it."
	}
	return holdFirst(v, l)
}

// held is a limit of the desk's, which holds a batch whatever the day.
func held(name shelf.Name, reason, source string) shelf.Limit {
	return shelf.Limit{Name: name, Verdict: shelf.Hold, Past: true, Counts: true, Reason: reason, Source: source}
}

// HoldFirst puts a hold before what package shelf found; a verdict of reject stands all
// the same.
func HoldFirst(v shelf.Judgement, l shelf.Limit) shelf.Judgement { return holdFirst(v, l) }

// holdFirst puts a hold of the desk's before what package shelf found; a verdict of
// reject stands all the same.
func holdFirst(v shelf.Judgement, l shelf.Limit) shelf.Judgement {
	v.Limits = append([]shelf.Limit{l}, v.Limits...)
	if v.Verdict == shelf.Reject {
		v.Limits[0], v.Limits[1] = v.Limits[1], v.Limits[0]
		return v
	}
	v.Verdict, v.Governing = shelf.Hold, l
	return v
}

// Glance is Full without the words: the verdict, and the last day of use by the
// governing limit if that has a day.
func (j *Judge) Glance(it *shelf.Item) (v shelf.Verdict, last date.Date, dated bool) {
	k := j.class(it.Class)
	v, last, dated = shelf.Glance(it, &k.rules, j.On)
	if k.missing != "" && v != shelf.Reject {
		return shelf.Hold, date.Date{}, false
	}
	return v, last, dated
}

// Cautions are the sentences to print with an answer about a class: its own, then
// those for every class.
func (j *Judge) Cautions(class string) []string {
	own := j.class(class).cautions
	return append(append(make([]string, 0, len(own)+4), own...), catalog.GeneralCautions()...)
}

// Catalog is what it goes by.
func (j *Judge) Catalog() *catalog.Catalog { return j.catalog }

// Learn has the judge go by another catalog.
func (j *Judge) Learn(c *catalog.Catalog) { j.catalog, j.known = c, map[string]*ruled{} }
