package inputs

import (
	"time"

	"github.com/rickb777/date/period"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
)

// The keys, in the order in which they are written.

// The ranges of numbers: own decisions, wider than anything a record can mean.
const (
	maxThaws    = 10_000
	maxReadings = 1_000_000_000
	minC, maxC  = -273.15, 1000 // °C; the lower is absolute zero (ITS-90)
	maxSpan     = 100 * 365 * 24 * time.Hour
)

type (
	item    = shelf.Item
	part    = shelf.Part
	receipt = shelf.Receipt
	test    = shelf.Test
	storage = shelf.Storage
	freed   = shelf.Freed
	event   = shelf.Event
)

var itemFields = []field[item]{
	text("batch", func(it *item) *string { return &it.Batch }),
	text("container", func(it *item) *string { return &it.Container }),
	text("class", func(it *item) *string { return &it.Class }),
	text("code", func(it *item) *string { return &it.Code }),
	text("standard", func(it *item) *shelf.Standard { return &it.Standard }),
	text("polymer", func(it *item) *string { return &it.Polymer }),
	dated("dom", func(it *item) *label.Date { return &it.DOM }),
	dated("expiry", func(it *item) *label.Date { return &it.Expiry }),
	dated("inspect", func(it *item) *label.Date { return &it.Inspect }),
	dated("best-before", func(it *item) *label.Date { return &it.BestBefore }),
	objects("parts", partFields, func(it *item) *[]part { return &it.Parts }),
	object("received", receiptFields, func(it *item) *receipt { return &it.Received }),
	dated("opened", func(it *item) *label.Date { return &it.Opened }),
	dated("installed", func(it *item) *label.Date { return &it.Installed }),
	list("thawed", dateKind, func(it *item) *[]label.Date { return &it.Thawed }),
	list("refrozen", dateKind, func(it *item) *[]label.Date { return &it.Refrozen }),
	count("thaw-count", maxThaws, func(it *item) *int { return &it.ThawCount }),
	seconds("out-used-s", func(it *item) *time.Duration { return &it.OutUsed }),
	dated("out-as-of", func(it *item) *label.Date { return &it.OutAsOf }),
	objects("tests", testFields, func(it *item) *[]test { return &it.Tests }),
	objects("storage", storageFields, func(it *item) *[]storage { return &it.Storage }),
	conditions("condition", func(it *item) *shelf.Condition { return &it.Condition }),
	dated("condition-on", func(it *item) *label.Date { return &it.ConditionOn }),
	text("held", func(it *item) *string { return &it.Held }),
	dated("held-on", func(it *item) *label.Date { return &it.HeldOn }),
	objects("freed", freedFields, func(it *item) *[]freed { return &it.Freed }),
	text("scrapped", func(it *item) *string { return &it.Scrapped }),
}

var partFields = []field[part]{
	text("name", func(p *part) *string { return &p.Name }),
	text("lot", func(p *part) *string { return &p.Lot }),
	text("kit", func(p *part) *string { return &p.Kit }),
	text("from", func(p *part) *string { return &p.From }),
	dated("dom", func(p *part) *label.Date { return &p.DOM }),
	dated("expiry", func(p *part) *label.Date { return &p.Expiry }),
}

var receiptFields = []field[receipt]{
	dated("on", func(r *receipt) *label.Date { return &r.On }),
	truth("no-papers", func(r *receipt) *bool { return &r.NoPapers }),
}

var testFields = []field[test]{
	dated("on", func(t *test) *label.Date { return &t.On }),
	truth("passed", func(t *test) *bool { return &t.Passed }),
	text("by", func(t *test) *string { return &t.By }),
	text("authority", func(t *test) *string { return &t.Authority }),
	text("reference", func(t *test) *string { return &t.Reference }),
	text("results", func(t *test) *string { return &t.Results }),
	dated("to", func(t *test) *label.Date { return &t.To }),
	life("span", func(t *test) *period.Period { return &t.Span }),
	dated("given", func(t *test) *label.Date { return &t.Given }),
}

var storageFields = []field[storage]{
	text("where", func(s *storage) *string { return &s.Where }),
	dated("from", func(s *storage) *label.Date { return &s.From }),
	dated("to", func(s *storage) *label.Date { return &s.To }),
	truth("measured", func(s *storage) *bool { return &s.Measured }),
	celsius("min-c", func(s *storage) *float64 { return &s.MinC }),
	celsius("max-c", func(s *storage) *float64 { return &s.MaxC }),
	dated("hot-from", func(s *storage) *label.Date { return &s.HotFrom }),
	seconds("spent-s", func(s *storage) *time.Duration { return &s.Spent }),
	celsius("mean-kinetic-c", func(s *storage) *float64 { return &s.MeanKineticC }),
	count("readings", maxReadings, func(s *storage) *int { return &s.Readings }),
	list("notes", textKind, func(s *storage) *[]string { return &s.Notes }),
}

var freedFields = []field[freed]{
	text("limit", func(f *freed) *shelf.Name { return &f.Limit }),
	dated("on", func(f *freed) *label.Date { return &f.On }),
	text("by", func(f *freed) *string { return &f.By }),
	text("authority", func(f *freed) *string { return &f.Authority }),
	text("reference", func(f *freed) *string { return &f.Reference }),
	text("why", func(f *freed) *string { return &f.Why }),
}

var eventFields = []field[event]{
	text("kind", func(e *event) *shelf.EventKind { return &e.Kind }),
	dated("when", func(e *event) *label.Date { return &e.When }),
	text("by", func(e *event) *string { return &e.By }),
	text("authority", func(e *event) *string { return &e.Authority }),
	text("reference", func(e *event) *string { return &e.Reference }),
	text("note", func(e *event) *string { return &e.Note }),
	truth("no-papers", func(e *event) *bool { return &e.NoPapers }),
	object("storage", storageFields, func(e *event) *storage { return &e.Storage }),
	truth("passed", func(e *event) *bool { return &e.Passed }),
	text("results", func(e *event) *string { return &e.Results }),
	dated("to", func(e *event) *label.Date { return &e.To }),
	life("span", func(e *event) *period.Period { return &e.Span }),
	text("limit", func(e *event) *shelf.Name { return &e.Limit }),
	conditions("condition", func(e *event) *shelf.Condition { return &e.Condition }),
}
