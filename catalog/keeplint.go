package catalog

import (
	"fmt"
	"time"

	"github.com/rickb777/date/period"

	"beadline/cure/quantity"
)

// keeping checks the shelf rules against each other and against the rest of the class.
func (l linter) keeping() {
	sh := l.c.Shelf
	if sh == nil {
		return
	}
	l.storing(sh)
	l.thawing(sh)
	l.lives(sh)
}

// storing checks the temperatures: bounds hold the store range, and a hot spell begins
// above that range and within the bounds.
func (l linter) storing(sh *Shelf) {
	s, b, h := sh.Store, sh.Bounds, sh.Hot
	if s.Known && b.Known && (b.Value.Lo > s.Value.Lo || b.Value.Hi < s.Value.Hi) {
		l.fail(fmt.Sprintf("shelf: the bounds %s do not hold the store range %s", temps(b.Value), temps(s.Value)), "the bounds are the wider ones")
	}
	if s.Known && h.Known && h.Value.AboveC < s.Value.Hi {
		l.fail(fmt.Sprintf("shelf: a hot spell above %s begins inside the store range %s", celsius(h.Value.AboveC), temps(s.Value)), "let it begin at the upper end")
	}
	if b.Known && h.Known && h.Value.AboveC >= b.Value.Hi {
		l.fail(fmt.Sprintf("shelf: a hot spell above %s begins outside the bounds %s", celsius(h.Value.AboveC), temps(b.Value)), "there it is held already: let the spell begin below")
	}
	if s.Known && s.Value.Hi > 60 {
		l.fail(fmt.Sprintf("shelf: %s is no place to store anything", temps(s.Value)), "check the unit")
	}
}

// thawing checks the rules of what is kept frozen.
func (l linter) thawing(sh *Shelf) {
	if n := sh.Thaws; n.Known && sh.Refreeze.Known && sh.Refreeze.Value != (n.Value > 1) {
		l.fail(fmt.Sprintf("shelf: thaws: %d does not go with refreeze: %t", n.Value, sh.Refreeze.Value), "what may be thawed once is never refrozen; leave one of them out")
	}
	th := sh.Thaw
	if !th.Known {
		return
	}
	for _, max := range []struct {
		what string
		Sourced[time.Duration]
	}{{"thaw-life", sh.ThawLife}, {"out-time", sh.OutTime}} {
		if max.Known && th.Value.Takes >= max.Value {
			l.fail(fmt.Sprintf("shelf: thawing takes %s, and the %s is %s", quantity.FormatSpan(th.Value.Takes), max.what, quantity.FormatSpan(max.Value)), "the pack would be past it as it is thawed: check both")
		}
	}
	if s := sh.Store; s.Known && th.Value.In.Lo <= s.Value.Hi {
		l.fail(fmt.Sprintf("shelf: thawing in %s begins where it is stored, %s", temps(th.Value.In), temps(s.Value)), "a thaw is warmer than the store")
	}
	if h := l.c.Heat; h != nil && th.Value.In.Hi > h.MaxC {
		l.fail(fmt.Sprintf("shelf: thawing in %s goes above the ceiling of heat, %s", temps(th.Value.In), celsius(h.MaxC)), "check one against the other")
	}
	if b := sh.Bounds; b.Known && th.Value.In.Hi > b.Value.Hi {
		l.fail(fmt.Sprintf("shelf: thawing in %s leaves the bounds %s", temps(th.Value.In), temps(b.Value)), "check one against the other")
	}
}

// lives checks the lives, their extension and what must be left on receipt.
func (l linter) lives(sh *Shelf) {
	if sh.Unlimited && sh.Extension.Value.Kind != "" && sh.Extension.Value.Kind != ExtendNone {
		l.fail("shelf: an unlimited life needs no extension", "write extension: none")
	}
	rc := sh.Receipt
	if !rc.Known {
		return
	}
	if sh.Unlimited {
		l.fail("shelf: an unlimited life has no share to be left on receipt", "leave receipt out")
	}
	if v := rc.Value; !v.Over.IsZero() && days(v.OrWithin) >= days(v.Over) {
		l.fail(fmt.Sprintf("shelf: receipt within %s of manufacture, for lives over %s", quantity.FormatLife(v.OrWithin), quantity.FormatLife(v.Over)), "such a life could be over on receipt: let or-within be the shorter")
	}
}

// days is roughly how many days a life has, to compare one with another.
func days(p period.Period) float64 {
	return 365.25*float64(p.Years()) + 30.4375*float64(p.Months()) + float64(p.Days())
}
