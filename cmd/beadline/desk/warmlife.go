package desk

import (
	"errors"
	"fmt"
	"time"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/quantity"
	"beadline/cure/warmup"
)

// thawed keeps the use line behind the maker's way of thawing, where the class gives
// one.
func (w *Warm) thawed(use WarmLine) WarmLine {
	s := w.Class.Shelf
	if s == nil || !s.Thaw.Known {
		return use
	}
	th := s.Thaw.Value
	if !th.In.Contains(w.around()) {
		w.stop("This class is thawed in %.4g to %.4g C, and here it lies in %.4g C.", th.In.Lo, th.In.Hi, w.around())
	}
	if th.Takes > use.Span {
		use.Why = "the maker's thaw takes " + quantity.FormatSpanUp(th.Takes)
		use.From = s.Thaw.From
	} else {
		w.mind("The maker's thaw takes %s; by calculation this pack takes longer. The longer counts.", quantity.FormatSpanUp(th.Takes))
	}
	use.Span, use.Likely = max(use.Span, whole(th.Takes, cure.NotBefore)), max(use.Likely, th.Takes)
	return use
}

// life is the end of what leaving the freezer began: the first of the thaw life, the
// out time, and for what is mixed already the pot life in the warmest it lies in. ok is
// false where nothing runs yet.
func (w *Warm) life() (end WarmLine, ok bool) {
	end = WarmLine{Name: WarmEnd, Line: cure.NotAfter, TempC: nan}
	at := func(span, likely time.Duration, why, from string) {
		if !end.Known || span < end.Span {
			end.Known, end.Span, end.Why, end.From = true, whole(span, cure.NotAfter), why, from
		}
		if !end.LikelyKnown || likely < end.Likely {
			end.LikelyKnown, end.Likely = true, whole(likely, cure.Likely)
		}
	}
	if s := w.Class.Shelf; s != nil {
		if v := s.ThawLife; v.Known {
			at(v.Value, v.Value, "its life out of the freezer", v.From)
		}
		if v := s.OutTime; v.Known {
			at(v.Value, v.Value, "its out time, less what was spent before", v.From)
		}
	}
	if w.Class.Kind == catalog.PremixedFrozen {
		w.potLife(&end, at)
	}
	return end, end.Known || end.Why != ""
}

// potLife adds the pot life of what is mixed already. It counts from leaving the
// freezer, or from the end of the thaw where the class says so with a source.
func (w *Warm) potLife(end *WarmLine, at func(span, likely time.Duration, why, from string)) {
	warmest := max(w.around(), w.Room.TempC)
	ask := func(potC float64) (cure.Answer, error) {
		return w.Class.Steady(cure.Application, cure.NotAfter, cure.Steady{Air: w.Room, PotC: potC, PartC: w.Room.TempC})
	}
	line, err := ask(warmest + w.MarginC)
	likely, err2 := ask(warmest)
	var outside *cure.RangeError
	switch err = errors.Join(err, err2); {
	case errors.As(err, &outside):
		w.stop("No pot life can be given here: %s.", outside.Text)
		if !end.Known {
			end.Why = outside.Text
		}
		return
	case err != nil || line.Never:
		return
	}
	start, why := time.Duration(0), "its pot life from leaving the freezer"
	from := line.From
	if s := w.Class.Shelf; s != nil && s.Thaw.Known && s.Thaw.Value.LifeFrom == catalog.FromThawed {
		start, why = s.Thaw.Value.Takes, "its pot life from the end of the thaw"
		from = s.Thaw.From + "; " + from
	}
	at(start+line.Time, start+likely.Likely, fmt.Sprintf("%s, at %.4g C", why, warmest+w.MarginC), from)
}

func (w *Warm) stop(format string, args ...any) {
	w.Stops = append(w.Stops, fmt.Sprintf(format, args...))
}

func (w *Warm) mind(format string, args ...any) {
	w.Mind = append(w.Mind, fmt.Sprintf(format, args...))
}

// Verb is what is done with the class once it is warm: "mix" or "use".
func (w *Warm) Verb() string {
	if w.Class.MixByHand {
		return "mix"
	}
	return "use"
}

// judge says what is against it: a room too damp to open it in, one too cold to warm
// it in, a life that ends first.
func (w *Warm) judge() {
	open, _ := w.line(WarmOpen)
	use, _ := w.line(WarmUse)
	end, runs := w.line(WarmEnd)
	in := "room"
	if w.Medium == warmup.Bath {
		in = "bath"
	}
	switch {
	case !open.LikelyKnown:
		w.stop("It cannot be opened here: it would have to come to %.1f C, %g degrees C above the dew point of the room, and the %s has %.4g C.", w.OpenC, dewMargin, in, w.around())
	case !open.Known:
		w.stop("It is not sure to come clear of the dew point: it would have to come to %.1f C, and the %s, taken %.4g C colder, has %.4g C.", w.OpenC, in, w.MarginC, w.around()-w.MarginC)
	case !use.LikelyKnown:
		w.stop("It does not come warm enough here: %s it at %.4g C, and the %s has %.4g C.", w.Verb(), w.UseC, in, w.around())
	case !use.Known:
		w.stop("It is not sure to come warm enough: %s it at %.4g C, and the %s, taken %.4g C colder, has %.4g C.", w.Verb(), w.UseC, in, w.MarginC, w.around()-w.MarginC)
	}
	switch {
	case !runs || !end.Known || !use.LikelyKnown:
	case use.Likely >= end.Span:
		w.stop("Its life ends before it is warm enough: %s after leaving the freezer, and it is likely to take %s.", WarmSpan(end.Span, end.Line), WarmSpan(use.Likely, cure.Likely))
	case use.Known && use.Span >= end.Span:
		w.stop("It is not sure to be warm enough before its life ends, %s after leaving the freezer: it is likely to take %s, and may take %s. Only the core of a spent pack of the same kind, measured beside it, can tell sooner.", WarmSpan(end.Span, end.Line), WarmSpan(use.Likely, cure.Likely), WarmSpan(use.Span, use.Line))
	}
}
