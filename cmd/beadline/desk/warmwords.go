package desk

import (
	"fmt"
	"math"
	"strings"
	"time"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/quantity"
	"beadline/cure/warmup"
)

var nan = math.NaN()

// warmWords says what was taken for granted, what to mind, what it rests on, and the
// cautions.
func (w *Warm) warmWords() {
	w.assume("All of the pack has %.4g C when it leaves the cold, and it stands by itself, free on all sides: stacked or boxed packs take longer.", w.FromC)
	in := "room"
	if w.Medium == warmup.Bath {
		in = "bath"
	}
	if w.MarginC > 0 {
		w.assume("On the safe side the %s is %.4g C colder than said: --margin says by how much.", in, w.MarginC)
	}
	w.assume("Nothing in it melts or reacts, so no latent heat is counted; nothing in it stirs: a thin liquid warms up sooner. Frost and dew are wiped off.")
	if c := w.Class; c.Kind == catalog.PremixedFrozen {
		w.assume("For its pot life it is as warm as where it lies from the first moment: cold does not lengthen it.")
	}
	w.minds()
	w.rests()
	w.Cautions = append(warmCautions(w), append(w.Class.CautionSentences(), catalog.GeneralCautions()...)...)
}

// Earliest says in one phrase what may be done when, each by WarmWhen.
func (w *Warm) Earliest() string {
	open, _ := w.line(WarmOpen)
	use, _ := w.line(WarmUse)
	said := fmt.Sprintf("open it %s, %s it %s", WarmWhen(open), w.Verb(), WarmWhen(use))
	if end, ends := w.line(WarmEnd); ends && end.Known {
		said += "; use it up " + WarmWhen(end)
	}
	return said
}

// Answer is Earliest as a heading: "OPEN after 3 h, MIX after 5 h"; at writes when a line
// is, with its "after", "from" or "by".
func (w *Warm) Answer(at func(WarmLine) string) string {
	open, _ := w.line(WarmOpen)
	use, _ := w.line(WarmUse)
	said := fmt.Sprintf("OPEN %s, %s %s", at(open), strings.ToUpper(w.Verb()), at(use))
	if end, ends := w.line(WarmEnd); ends && end.Known {
		said += ", USE UP " + at(end)
	}
	return said
}

// WarmWhen says when a line is as a span from leaving the cold: "after 3 h 15 min",
// "at once", "within 2 h".
func WarmWhen(l WarmLine) string {
	switch {
	case l.Line == cure.NotAfter:
		return "within " + WarmSpan(l.Span, l.Line)
	case l.Span == 0:
		return "at once"
	}
	return "after " + WarmSpan(l.Span, l.Line)
}

// WarmSpan writes a span in whole minutes, above two days in hours, as no pack is known
// closer: of a not-before line rounded up, of a likely one to the nearest minute but no
// less than one, of a not-after line cut off; a not-after line under a minute is in
// seconds.
func WarmSpan(d time.Duration, l cure.Line) string {
	switch l {
	case cure.NotBefore:
		if d < math.MaxInt64-time.Minute {
			d = (d + time.Minute - 1).Truncate(time.Minute)
		}
		return quantity.FormatSpanUp(d)
	case cure.Likely:
		return quantity.FormatSpan(max(time.Minute, d.Round(time.Minute)))
	}
	if d >= time.Minute {
		d = d.Truncate(time.Minute)
	}
	return quantity.FormatSpan(d)
}

// minds says what else the warmth does to the stock.
func (w *Warm) minds() {
	if lo := w.Class.Apply.Part; !lo.IsZero() && w.ToC < lo.Lo { // NaN, where it is not said, is not
		w.mind("%.4g C is colder than %.4g C, the coldest part that the class is laid on: do not %s it so cold unless the maker's data sheet says so.", w.ToC, lo.Lo, w.Verb())
	}
	s := w.Class.Shelf
	if s == nil {
		return
	}
	if h := s.Hot; h.Known && w.around() > h.Value.AboveC {
		w.mind("Once above %.4g C it is to be used within %s.", h.Value.AboveC, quantity.FormatLife(h.Value.Within))
	}
	if s.Refreeze.Known && !s.Refreeze.Value {
		w.mind("Never put it back into the freezer.")
	}
	if s.OutTime.Known {
		w.mind("Its out time is a sum: take off what earlier outings spent.")
	}
}

// Sources of the rules of a warm-up.
const (
	fromDew    = "dew point by WMO-No. 8, Annex 4.B; 3 °C above it: practice of ISO 8502-4 for coating work"
	fromClosed = "read: TM 1-1500-204-23-11: keep frozen goods closed until moisture no longer condenses on the pack; that the core counts, as what is in it meets the air: own decision"
)

// rests lists what the answer rests on.
func (w *Warm) rests() {
	add := func(what, from string) { w.RestsOn = append(w.RestsOn, catalog.Source{What: what, From: from}) }
	add("closed until then", fromClosed)
	add("dew point", fromDew)
	add(fmt.Sprintf("warm enough: %.4g C, %s", w.UseC, w.UseFrom.What), w.UseFrom.From)
	if ceiling, why := WarmCeiling(w.Class); !math.IsInf(ceiling, 1) {
		from := ""
		switch {
		case w.Class.Heat != nil && w.Class.Heat.MaxC == ceiling:
			from = w.Class.Heat.From
		case w.Class.Shelf != nil && w.Class.Shelf.Bounds.Known && w.Class.Shelf.Bounds.Value.Hi == ceiling:
			from = w.Class.Shelf.Bounds.From
		default:
			from = w.Class.Curves[cure.Application].From
		}
		add(fmt.Sprintf("never warmer than %.4g C, %s", ceiling, why), from)
	}
	for _, l := range w.Lines {
		if l.From != "" {
			add(l.Why, l.From)
		}
	}
	for _, f := range w.Pack.Figures(w.Medium) {
		what := fmt.Sprintf("%s: likely %.4g, safe %.4g %s", f.Name, f.Likely, f.Safe, f.Unit)
		add(what, f.From)
	}
	add(fmt.Sprintf("Biot number: likely %.2f, safe %.2f", w.Likely.Biot(), w.Safe.Biot()), biotWords(w.Likely, w.Safe))
}

func biotWords(likely, safe warmup.Body) string {
	said := "so the outside warms well before the core"
	if max(likely.Biot(), safe.Biot()) < warmup.LumpBiot {
		said = "so it warms as one lump, near enough"
	}
	return said + "; the core is calculated exactly, as a short cylinder: Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, chapter 5 (memory; checked by finite volumes)"
}

// warmCautions are those of warming up itself: common practice, no source.
func warmCautions(w *Warm) []string {
	said := []string{"No hot plate, oven, microwave, heat gun or flame (common practice, no source).",
		"Keep it closed until then, and wipe it dry before you open it."}
	if w.FromC < 0 {
		said = append([]string{"Deep-frozen packs burn the skin: cold gloves and eye protection (common practice, no source)."}, said...)
	}
	if w.Medium == warmup.Bath {
		said = append(said, "A bath only if the maker's procedure has one: measure the water, keep it out of the pack, and take the pack out at once when it is warm.")
	}
	return said
}
