package verify

import (
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
)

// heatClass: heat is used only where every class in the joint may be heated, and
// not above the lowest ceiling of them.
func (c *checker) heatClass() {
	for _, j := range c.joints {
		for range j.heat {
			for k := range j.Layers {
				cl := c.class(j, k)
				switch {
				case cl == nil:
				case cl.Heat == nil:
					c.fault("heat class", "%s is heated, but %s in its layer %d may not be", j.ID, cl.ID, k+1)
				case j.Heat.ToC > cl.Heat.MaxC+edge:
					c.fault("heat ceiling", "%s is heated to %g C; %s in its layer %d bears %g C", j.ID, j.Heat.ToC, cl.ID, k+1, cl.Heat.MaxC)
				}
			}
		}
	}
}

// heatGasFree: near fuel there is no heat without a recorded gas-free state; a
// joint of which nothing is said is near.
func (c *checker) heatGasFree() {
	for _, j := range c.joints {
		near := j.NearFuel == nil || *j.NearFuel
		if len(j.heat) > 0 && near && !j.Heat.GasFree {
			c.fault("gas-free", "%s is heated and no gas-free state is recorded", j.ID)
		}
	}
}

// heatStart: nobody sets up heat before the joint is tack-free, and heat does not
// come on before the last class laid has flashed off, counted from the last sealant
// laid or fastener torqued wet.
func (c *checker) heatStart() {
	for _, j := range c.joints {
		for _, t := range j.heat {
			flash := time.Duration(0)
			for k := range j.Layers {
				if cl := c.class(j, k); cl != nil && cl.Heat != nil {
					flash = max(flash, cl.Heat.After)
				}
			}
			if off := j.wetEnd().Add(flash); t.End.Before(off) {
				c.fault("heat start", "heat at %s is on from %s; it has flashed off at %s", j.ID, c.when(t.End), c.when(off))
				continue
			}
			if j.Heat.From != job.HeatAfterTackFree {
				continue
			}
			at, ok := c.earliestOf(j, 0, len(j.Layers)-1, cure.TackFree, false)
			if ok && t.Start.Before(at.Add(-notBeforeSlack)) {
				c.fault("heat start", "%s starts at %s; it is tack-free at %s", name(t), c.when(t.Start), c.when(at))
			}
		}
	}
}
