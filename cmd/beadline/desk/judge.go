package desk

import (
	"strings"

	"github.com/rickb777/date"

	"beadline/catalog"
	"beadline/catalog/shelf"
)

// The limits that the desk adds to those of package shelf.
const (
	LimitUnknownClass shelf.Name = "unknown-class" // the class is not in the catalog
	LimitUnreadable   shelf.Name = "unreadable"    // the row of the stock list cannot be read
)

// Rules is what a class says of its shelf life, as package shelf judges by it. A
// class without shelf rules gives none: then only what is printed on the batch
// counts, and a batch with no expiry is held.
func Rules(c *catalog.Class) shelf.Rules {
	s := c.Shelf
	if s == nil {
		return shelf.Rules{}
	}
	r := shelf.Rules{
		Unopened: shelf.Life{Span: s.Unopened.Value, Unlimited: s.Unlimited, From: s.Unopened.From},
		Opened:   shelf.Life{Span: s.Opened.Value, From: s.Opened.From},
		Store:    shelf.Store{Range: s.Store.Value, From: s.Store.From},
		OutTime:  shelf.Span{Max: s.OutTime.Value, From: s.OutTime.From},
		ThawLife: shelf.Span{Max: s.ThawLife.Value, From: s.ThawLife.From},
	}
	// One provenance may stand for a whole block of rules; it makes no rule of what
	// the block does not give.
	if !s.Unopened.Known && !s.Unlimited {
		r.Unopened = shelf.Life{}
	}
	if !s.Opened.Known {
		r.Opened = shelf.Life{}
	}
	switch e := s.Extension; e.Value.Kind {
	case catalog.ExtendHalfOriginal:
		r.Extension = shelf.Extension{Kind: shelf.HalfOriginal, From: e.Value.Authority}
	case catalog.ExtendByPeriod:
		r.Extension = shelf.Extension{Kind: shelf.FixedExtension, Span: e.Value.By, From: e.Value.Authority}
	}
	if s.Refreeze.Known {
		r.Thaws = shelf.Thaws{Max: 1, From: s.Refreeze.From}
		if s.Refreeze.Value {
			r.Thaws.Max = shelf.AnyThaws
		}
	}
	if c, err := shelf.ParseConvention(string(s.Convention.Value)); err == nil {
		r.Convention = c
	}
	return r
}

// Judge says of batches whether they may be used on one day. It looks each class up
// once. It is not safe from several goroutines.
type Judge struct {
	On      date.Date
	catalog *catalog.Catalog
	known   map[string]*ruled
}

// ruled is what is known of the class of a batch.
type ruled struct {
	rules    shelf.Rules
	missing  string // why the class is not known; "" if it is
	cautions []string
}

// NewJudge makes a judge for a day and the classes of a catalog.
func NewJudge(c *catalog.Catalog, on date.Date) *Judge {
	return &Judge{On: on, catalog: c, known: map[string]*ruled{}}
}

// class looks a class up. Of a class that is not in the catalog nothing is taken
// for granted, for or against the batch: a person decides.
func (j *Judge) class(id string) *ruled {
	if k := j.known[id]; k != nil {
		return k
	}
	k := &ruled{}
	c, err := j.catalog.Find(id)
	if err == nil {
		k.rules, k.cautions = Rules(&c), c.CautionSentences()
	} else {
		k.missing = sentence(err.Error())
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
	v := shelf.Judge(it, k.rules, j.On)
	if k.missing == "" {
		return v
	}
	return holdFirst(v, shelf.Limit{Name: LimitUnknownClass, Verdict: shelf.Hold, Past: true, Counts: true,
		Reason: k.missing, Source: "the catalog"})
}

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
