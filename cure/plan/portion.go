package plan

import (
	"fmt"
	"math"
	"strings"
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
)

// portion is what one pot does of one layer.
type portion struct {
	units       float64
	lay, torque time.Duration
	ml          float64 // waste included; 0: not stated
	words       string
}

// units is how many pieces a layer may be divided into: its fasteners, or for a
// length or an area twelve parts.
func units(j *job.Joint, l *job.Layer) int {
	if l.Each > 0 && j.Fasteners != nil || l.Seal == cure.WetInstall {
		return j.Fasteners.Count
	}
	return 12
}

// byCount reports whether a layer's units are fasteners.
func byCount(j *job.Joint, l *job.Layer) bool {
	return j.Fasteners != nil && (l.Seal == cure.WetInstall || l.Each > 0 && l.Spread == 0)
}

// split divides a layer among n pots as evenly as whole pieces allow.
func split(j *job.Joint, l *job.Layer, wet bool, count, n int, waste float64) []portion {
	out := make([]portion, n)
	ml := volume(j, l) / (1 - waste)
	done := 0
	for i := range out {
		c := count / n
		if i < count%n {
			c++
		}
		p := &out[i]
		frac := float64(c) / float64(count)
		p.ml = ml * frac
		switch {
		case l.Spread > 0:
			p.lay = time.Duration(math.Ceil(float64(l.Spread) * frac))
		default:
			p.lay = time.Duration(c) * l.Each
		}
		p.units = frac
		if byCount(j, l) {
			p.units = float64(c)
		}
		if wet {
			t := c
			if !byCount(j, l) { // a faying face: one pot, every fastener
				t = j.Fasteners.Count
			}
			p.torque = torqueTime(j.Fasteners, t)
		}
		p.words = portionWords(j, l, n, done, c, count)
		done += c
	}
	return out
}

// torqueTime is how long n fasteners take in all passes with everyone at it.
func torqueTime(f *job.Fasteners, n int) time.Duration {
	each := (n + f.People - 1) / f.People
	return time.Duration(each*f.Passes) * f.Each
}

// portionWords says which part of a layer a pot serves; taskWords says what is done
// with it.
func portionWords(j *job.Joint, l *job.Layer, n, done, c, count int) string {
	switch {
	case byCount(j, l) && n == 1:
		return fmt.Sprintf("%s, %s: all %d fasteners", j.ID, l.Seal, count)
	case byCount(j, l) && c == 1:
		return fmt.Sprintf("%s, %s: fastener %d of %d", j.ID, l.Seal, done+1, count)
	case byCount(j, l):
		return fmt.Sprintf("%s, %s: fasteners %d to %d of %d", j.ID, l.Seal, done+1, done+c, count)
	case n == 1:
		return fmt.Sprintf("%s, %s", j.ID, l.Seal)
	}
	return fmt.Sprintf("%s, %s: part %d of %d", j.ID, l.Seal, done*n/count+1, n)
}

func taskWords(j *job.Joint, l *job.Layer, portion string) string {
	what := layVerbs[l.Seal]
	if _, part, ok := strings.Cut(portion, ": "); ok {
		if !byCount(j, l) {
			what += ","
		}
		what += " " + part
	}
	return what + ", " + j.ID
}

// volume is a layer's sealant in place, ml; 0 where the job does not state it.
func volume(j *job.Joint, l *job.Layer) float64 {
	bd := l.Bead
	v := bd.AreaMM2 * bd.ThicknessMM / 1000
	v += bd.LengthMM * bd.LegMM * bd.LegMM / 2 / 1000
	if j.Fasteners != nil {
		v += bd.PerFastenerML * float64(j.Fasteners.Count)
	}
	return v
}

// layVerbs are the trade's words for laying each kind of seal.
var layVerbs = map[cure.Seal]string{cure.Faying: "spread the faying film", cure.WetInstall: "coat and insert", cure.Overcoat: "overcoat",
	cure.Injection: "inject", cure.Fillet: "lay the fillet", cure.FormedGasket: "lay the gasket"}
