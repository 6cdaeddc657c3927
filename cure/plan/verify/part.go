package verify

import (
	"math"
	"time"

	"beadline/cure"
)

// path is the temperature of a joint's structure from the job's start, as one line
// reads the air. The structure follows the air with its time constant,
//
//	dT/dt = (T_air − T)/τ,
//
// is kept warm for each sitting of wet work if the joint is warmed, follows the air
// again from there, and follows the heat, where that is warmer, once it is on.
type path struct {
	air  *airs
	line cure.Line
	tau  float64 // s; 0: the structure is at air temperature
	hold []hold  // in order of their end
	heat float64 // s when heat comes on; +Inf: never
	toC  float64 // °C of the heat

	decay float64   // of a whole half step
	x     []float64 // °C by the half step, without the hold
}

// hold is a stretch of time, in seconds, over which the structure is kept warm.
type hold struct{ from, to, c float64 }

type pathKey struct {
	line   cure.Line
	heated bool
}

// part is the path of a joint's structure, with or without the heat of the plan.
func (c *checker) part(j *joint, line cure.Line, heated bool) *path {
	key := pathKey{line, heated && len(j.heat) > 0}
	if p := j.paths[key]; p != nil {
		return p
	}
	p := &path{air: c.air, line: line, heat: math.Inf(1)}
	structure := c.job.Part
	if j.Part != nil {
		structure = *j.Part
	}
	if structure.Set && structure.Tau > 0 {
		p.tau = structure.Tau.Seconds()
		p.decay = math.Exp(-half / p.tau)
		p.x = []float64{structure.AtC}
	}
	for _, w := range j.warm {
		if end := j.sittingEnd(w.Layer); end.After(w.End) {
			p.hold = append(p.hold, hold{c.air.seconds(w.End), c.air.seconds(end), j.Warm.ToC})
		}
	}
	if key.heated {
		p.heat, p.toC = c.air.seconds(j.heat[0].End), j.Heat.ToC
	}
	j.paths[key] = p
	return p
}

// sittingEnd is when the last of a sitting is laid or torqued wet.
func (j *joint) sittingEnd(begin int) (end time.Time) {
	ts := j.sitting(begin)
	for k := begin; k < len(j.Layers) && (k == begin || !j.Layers[k].AfterSet); k++ {
		ts = append(ts, j.torqueOf(k)...)
	}
	return last(ts)
}

// towards is the temperature the structure follows at an instant.
func (p *path) towards(u float64) float64 {
	return p.heated(p.air.at(p.line, u).c, u)
}

// heated is the air at c °C, or the heat where it is on and warmer.
func (p *path) heated(c, u float64) float64 {
	if u >= p.heat && c < p.toC {
		return p.toC
	}
	return c
}

// feel is what sealant on the structure feels. Relative humidity is judged as far
// from its temperature as the air's is.
func (p *path) feel(u float64) feeling {
	a := p.air.at(p.line, u)
	f := feeling{temp: p.own(u), pv: a.pv}
	f.judge = f.temp
	if p.heated(a.c, u) == a.c { // heat is steady: no doubt about the air enters
		f.judge += p.air.judge(p.line, u) - a.c
	}
	for _, h := range p.hold {
		if u >= h.from && u < h.to {
			f.temp, f.judge = math.Max(f.temp, h.c), math.Max(f.judge, h.c)
		}
	}
	return f
}

// own is the structure's temperature but for what keeps it warm just then.
func (p *path) own(u float64) float64 {
	if p.tau == 0 {
		return p.towards(u)
	}
	u = math.Max(0, u)
	i := int(u / half)
	for k := len(p.x) - 1; k < i; k++ {
		p.x = append(p.x, p.advance(p.x[k], float64(k)*half, float64(k+1)*half))
	}
	if v := float64(i) * half; v != u {
		return p.advance(p.x[i], v, u)
	}
	return p.x[i]
}

// advance takes the temperature x at u to v, across the end of a hold and the
// start of heat. Holds end in the order they are in.
func (p *path) advance(x, u, v float64) float64 {
	for u < v {
		next, let := v, math.Inf(-1)
		if p.heat > u && p.heat < next {
			next = p.heat
		}
		for _, h := range p.hold {
			if h.to > u && h.to <= next {
				if h.to < next {
					next, let = h.to, math.Inf(-1)
				}
				let = math.Max(let, h.c)
			}
		}
		// Just under next, so that heat that comes on there is not on before.
		x = math.Max(p.follow(x, u, next, p.towards(u), p.before(next)), let)
		u = next
	}
	return x
}

// before is the temperature followed up to an instant, heat that comes on right
// then left out.
func (p *path) before(u float64) float64 {
	if u > p.heat {
		return p.towards(u)
	}
	return p.air.at(p.line, u).c
}

// Where the air moves by more than jumpC over a step, it is looked at more closely,
// down to jumpMin seconds.
const (
	jumpC   = 0.02
	jumpMin = 0.01
)

// follow is the exact solution while what is followed runs straight from a to b:
//
//	T = a + s·(w − τ) + (x − a + s·τ)·e^(−w/τ),  s = (b − a)/w
func (p *path) follow(x, u, v, a, b float64) float64 {
	w := v - u
	if math.Abs(b-a) > jumpC && w > jumpMin {
		m := (u + v) / 2
		if mid := p.before(m); math.Abs(2*mid-a-b) > jumpC/10 {
			return p.follow(p.follow(x, u, m, a, mid), m, v, mid, b)
		}
	}
	decay := p.decay
	if w != half {
		decay = math.Exp(-w / p.tau)
	}
	s := (b - a) / w
	return a + s*(w-p.tau) + (x-a+s*p.tau)*decay
}
