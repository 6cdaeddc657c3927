package fit

import (
	"fmt"
	"math"
)

// The margin by which a form with more parameters has to foretell left-out points
// better than a simpler one, before it is taken: 20 %, and a tenth of a per cent. Own
// decision: with the few rows of a data sheet a smaller gain is luck.
const (
	marginShare = 0.8
	marginFloor = 0.001
)

// together is the correlation of temperature and log humidity from which their
// effects count as one. Own decision.
const together = 0.99

// Confounded reports that humidity varies but only along with temperature, so that no
// curve can tell which of the two did what.
func Confounded(points []Point) bool {
	var n, st, sh, stt, shh, sth float64
	for _, p := range points {
		if p.RH <= 0 {
			continue
		}
		t, h := p.TempC, math.Log(p.RH)
		n, st, sh, stt, shh, sth = n+1, st+t, sh+h, stt+t*t, shh+h*h, sth+t*h
	}
	tt, hh, th := stt-st*st/n, shh-sh*sh/n, sth-st*sh/n
	if n < 2 || hh <= 1e-12 {
		return false
	}
	return tt <= 1e-12 || th*th >= together*together*tt*hh
}

// Forms lists the forms that the points could be, the simpler ones first. moisture
// says that the cure is a front from the face inward, through the depth of the bead.
func Forms(points []Point, moisture bool) []Form {
	if moisture {
		return []Form{Front, FrontEa}
	}
	forms := []Form{Doubling, Arrhenius}
	if distinct(points, humidity) > 1 {
		forms = append(forms, DoublingHumid, ArrheniusHumid)
	}
	return append(forms, Table)
}

// Choose picks, among fits of the same points listed from the simpler to the less
// simple, the one that foretells left-out points best, and says why. Two forms are
// compared over the points that both can leave out: a table cannot leave out its ends.
//
//   - Of two with as many parameters the one with the smaller error is taken.
//   - More parameters, or a table, must make the error smaller by a fifth and by more
//     than 0.1 %, over at least two points.
//   - Where nothing can be left out, a table, which adds nothing to its rows, goes
//     before any slope.
//
// The index is -1 where no form can be used.
func Choose(fits []Fit) (best int, why string) {
	best = -1
	for i := range fits {
		if _, n := fits[i].Error(); fits[i].Reason != "" || n == 0 {
			continue
		}
		if best < 0 || better(&fits[i], &fits[best]) {
			best = i
		}
	}
	if best >= 0 {
		return best, because(fits, best)
	}
	for i := range fits {
		if fits[i].Reason == "" && (best < 0 || fits[i].Form == Table) {
			best = i
		}
	}
	if best >= 0 {
		why = "the only form that fits"
		if fits[best].Form == Table {
			why = "too few rows to leave one out, and a table adds nothing to them"
		}
	}
	return best, why
}

// better reports whether a, which is not simpler than b, is to be taken instead.
func better(a, b *Fit) bool {
	ea, n := leftOut(a.LeftOut, b.LeftOut)
	eb, _ := leftOut(b.LeftOut, a.LeftOut)
	if n == 0 {
		return false
	}
	if a.Form != Table && len(a.Params) == len(b.Params) {
		return ea < eb*(1-1e-6)-1e-9
	}
	return n >= 2 && ea < marginShare*eb-marginFloor
}

// because puts the choice against the next best of the others, and says why a table
// was not taken.
func because(fits []Fit, best int) string {
	b := &fits[best]
	var rival, table *Fit
	var rivalErr float64
	shared := 0
	for i := range fits {
		if i == best || fits[i].Reason != "" {
			continue
		}
		e, k := leftOut(fits[i].LeftOut, b.LeftOut)
		if fits[i].Form == Table {
			table = &fits[i]
		} else if k > shared || k == shared && k > 0 && e < rivalErr { // more rows say more
			rival, rivalErr, shared = &fits[i], e, k
		}
	}
	own, _ := b.Error()
	why := "foretells left-out rows within " + percent(own)
	if rival != nil {
		why = against(b, rival, shared)
	}
	if table != nil {
		why += "; " + notTable(b, table)
	}
	return why
}

func against(b, rival *Fit, shared int) string {
	mine, _ := leftOut(b.LeftOut, rival.LeftOut)
	its, _ := leftOut(rival.LeftOut, b.LeftOut)
	where := ""
	if shared < len(b.LeftOut) {
		where = fmt.Sprintf(" on the %s that both can leave out", rows(shared))
	}
	switch {
	case mine < its*(1-1e-6)-1e-9:
		return fmt.Sprintf("foretells left-out rows best: within %s, the %s %s%s", percent(mine), rival.Form, percent(its), where)
	case len(rival.Params) == len(b.Params):
		return fmt.Sprintf("foretells left-out rows within %s, as the %s does", percent(mine), rival.Form)
	}
	return fmt.Sprintf("simpler: foretells left-out rows within %s, the %s %s%s: no gain to speak of", percent(mine), rival.Form, percent(its), where)
}

func notTable(b, table *Fit) string {
	mine, n := leftOut(b.LeftOut, table.LeftOut)
	its, _ := leftOut(table.LeftOut, b.LeftOut)
	if n < 2 {
		return "a table cannot be tried on two rows or more"
	}
	return fmt.Sprintf("on the %s that a table can leave out it is %s against %s for the table: no gain to speak of", rows(n), percent(mine), percent(its))
}

func rows(n int) string {
	if n == 1 {
		return "one row"
	}
	return fmt.Sprintf("%d rows", n)
}

func percent(e float64) string { return fmt.Sprintf("%.1f %%", 100*e) }
