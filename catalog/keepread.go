package catalog

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/goccy/go-yaml/ast"
	"github.com/rickb777/date/period"

	"beadline/cure/quantity"
)

var shelfKeys = []string{"unopened", "opened", "installed", "store", "rh", "bounds", "hot", "extension", "authority",
	"out-time", "thaw-life", "thaw", "thaws", "refreeze", "receipt", "convention"}

// shelf reads the shelf rules. Its from is one text for all of them, or a block with
// one text per key.
func (r *reader) shelf(n ast.Node, what string) *Shelf {
	s := r.section(n, what+", shelf", []string{"from"}, shelfKeys)
	if s == nil {
		return nil
	}
	from := s.provenance(shelfKeys, "authority", "convention")
	sh := &Shelf{
		Opened:    sourced(s, "opened", from, life),
		Installed: sourced(s, "installed", from, life),
		Store:     sourced(s, "store", from, storeRange),
		StoreRH:   sourced(s, "rh", from, humidityRange),
		Bounds:    sourced(s, "bounds", from, storeRange),
		Hot:       sourcedBlock(s, "hot", from, []string{"above", "use-within"}, nil, hotSpell),
		Extension: s.extension(from),
		OutTime:   sourced(s, "out-time", from, span),
		ThawLife:  sourced(s, "thaw-life", from, span),
		Thaw:      sourcedBlock(s, "thaw", from, []string{"takes", "in"}, []string{"life-from"}, thaw),
		Thaws:     sourced(s, "thaws", from, howOften),
		Refreeze:  sourced(s, "refreeze", from, yesNo),
		Receipt:   s.receipt(from),
	}
	if text, _ := plainText(s.fieldOr("unopened")); text == "unlimited" {
		sh.Unlimited, sh.Unopened.From = true, from["unopened"]
	} else {
		sh.Unopened = sourced(s, "unopened", from, life)
	}
	sh.Convention = sourced(s, "convention", from, func(t string) (Convention, error) {
		w, err := oneOf([]string{string(FirstOfMonth), string(LastOfMonth), string(EndOfQuarter)})(t)
		return Convention(w), err
	})
	if !sh.Convention.Known {
		sh.Convention.Value = FirstOfMonth
	}
	s.authority(sh)
	return sh
}

func (s *section) fieldOr(key string) ast.Node {
	if n := s.fields[key]; n != nil {
		return n
	}
	return &ast.NullNode{}
}

func (s *section) authority(sh *Shelf) {
	e := &sh.Extension.Value
	e.Authority = value(s, "authority", phrase(maxName))
	switch extends := e.Kind == ExtendHalfOriginal || e.Kind == ExtendByPeriod; {
	case extends && e.Authority == "":
		s.fail("extension", "an extension needs the document that allows it", "add authority: \"…\", or write extension: none")
	case !extends && e.Authority != "" && (sh.Extension.Known || !s.has("extension")): // else that is the fault
		s.fail("authority", "there is no extension to authorise", "leave authority out, or give the extension")
	}
}

// provenance reads from: one text for every key, or a block of texts by key that
// covers each key present except those named as free.
func (s *section) provenance(keys []string, free ...string) map[string]string {
	from := map[string]string{}
	if !s.has("from") {
		return from
	}
	if _, block := pairs(s.fields["from"]); !block {
		text := value(s, "from", phrase(maxFrom))
		for _, k := range keys {
			from[k] = text
		}
		return from
	}
	p := s.r.section(s.fields["from"], s.what+", from", nil, keys)
	if p == nil {
		return from
	}
	for _, k := range keys {
		from[k] = value(p, k, phrase(maxFrom))
		if s.has(k) && !p.has(k) && !slices.Contains(free, k) {
			s.fail(k, "nothing says where the number comes from", fmt.Sprintf("add %s: \"…\" to the from block", k))
		}
	}
	return from
}

// sourced reads a value and puts its provenance beside it.
func sourced[T any](s *section, key string, from map[string]string, read func(string) (T, error)) Sourced[T] {
	if !s.has(key) {
		return Sourced[T]{}
	}
	before := s.r.errors
	v := value(s, key, read)
	return Sourced[T]{v, s.r.errors == before, from[key]}
}

// sourcedBlock is sourced for a value of several keys.
func sourcedBlock[T any](s *section, key string, from map[string]string, required, optional []string, read func(*section) T) (v Sourced[T]) {
	if !s.has(key) {
		return v
	}
	before := s.r.errors
	if p := s.r.section(s.fields[key], s.what+", "+key, required, optional); p != nil {
		v = Sourced[T]{read(p), true, from[key]}
	}
	v.Known = s.r.errors == before
	return v
}

// isBlock reports whether a key stands before a block of keys.
func (s *section) isBlock(key string) bool {
	_, block := pairs(s.fieldOr(key))
	return block
}

func hotSpell(p *section) HotSpell {
	return HotSpell{value(p, "above", quantity.Temp), value(p, "use-within", life)}
}

// thaw reads {takes: 30min, in: 18..30C, life-from: thawed}.
func thaw(p *section) Thaw {
	t := Thaw{Takes: value(p, "takes", span), In: value(p, "in", quantity.TempRange), LifeFrom: FromFreezer}
	if p.has("life-from") {
		t.LifeFrom = LifeFrom(value(p, "life-from", oneOf([]string{string(FromFreezer), string(FromThawed)})))
	}
	return t
}

// extension reads none, half-original, a span such as 6 months, or
// {by: half-original, max: 2}.
func (s *section) extension(from map[string]string) Sourced[Extension] {
	if !s.isBlock("extension") {
		return sourced(s, "extension", from, extensionBy)
	}
	return sourcedBlock(s, "extension", from, []string{"by"}, []string{"max"}, func(p *section) Extension {
		e := value(p, "by", extensionBy)
		e.Max = value(p, "max", howOften)
		if e.Kind == ExtendNone {
			p.fail("by", "none is no extension to count", "write extension: none")
		}
		return e
	})
}

func extensionBy(text string) (Extension, error) {
	switch ExtensionKind(text) {
	case ExtendNone, ExtendHalfOriginal:
		return Extension{Kind: ExtensionKind(text)}, nil
	}
	by, err := life(text)
	if err != nil {
		return Extension{}, fmt.Errorf("%s: write none, half-original or a span such as 6 months", quoted(text))
	}
	return Extension{Kind: ExtendByPeriod, By: by}, nil
}

// receipt reads 85%, or {share: 75%, or-within: 1 year, over: 4 years}.
func (s *section) receipt(from map[string]string) Sourced[Receipt] {
	if !s.isBlock("receipt") {
		return sourced(s, "receipt", from, func(text string) (Receipt, error) {
			share, err := share(text)
			return Receipt{Share: share}, err
		})
	}
	return sourcedBlock(s, "receipt", from, []string{"share"}, []string{"or-within", "over"}, func(p *section) Receipt {
		if p.has("or-within") != p.has("over") {
			p.r.at(p.token, p.what+": or-within and over go together", "write {share: 75%, or-within: 1 year, over: 4 years}, or the share alone")
		}
		return Receipt{Share: value(p, "share", share), OrWithin: value(p, "or-within", life), Over: value(p, "over", life)}
	})
}

// share reads a percentage above 0 and gives it as a part of 1.
func share(text string) (float64, error) {
	v, err := quantity.Percent(text)
	if err == nil && (v <= 0 || v > 100) {
		return 0, fmt.Errorf("%s: a share of the life lies above 0%% and is at most 100%%", quoted(text))
	}
	return v / 100, err
}

// mostOften bounds what is counted on a shelf; more is a slip (own decision).
const mostOften = 20

// howOften reads a whole number of times, 1 or more.
func howOften(text string) (int, error) {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil || n < 1 || n > mostOften {
		return 0, fmt.Errorf("%s: write how often, a whole number from 1 to %d", quoted(text), mostOften)
	}
	return n, nil
}

// storeRange reads 4..27C, or ..25C where only the upper limit is known.
func storeRange(text string) (quantity.Range, error) {
	t := strings.TrimSpace(text)
	if hi, ok := strings.CutPrefix(t, ".."); ok {
		c, err := quantity.Temp(hi)
		return quantity.Range{Lo: NoLowerBound, Hi: c}, err
	}
	return quantity.TempRange(text)
}

func life(text string) (period.Period, error) {
	p, err := quantity.Life(text)
	if err == nil && p.IsZero() {
		return p, fmt.Errorf("%s: must be more than zero", quoted(text))
	}
	return p, err
}

func span(text string) (time.Duration, error) {
	d, err := quantity.Span(text)
	if err == nil && d <= 0 {
		return 0, fmt.Errorf("%s: must be more than zero", quoted(text))
	}
	return d, err
}
