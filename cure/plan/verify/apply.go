package verify

import (
	"time"

	"beadline/cure"
	"beadline/cure/air"
)

const (
	dewMargin = 3.0  // °C a part must be above dew point (practice of ISO 8502-4)
	applyEdge = 1e-3 // °C or % RH that arithmetic may miss a window by
)

// eachMinute looks at every minute of every lay; look returns true to go on.
func (c *checker) eachMinute(look func(t Task, j *joint, apply cure.Apply, u float64) bool) {
	for _, t := range c.tasks {
		if t.Kind != Lay {
			continue
		}
		j := c.joint(t.Joint)
		cl := c.class(j, t.Layer)
		if cl == nil {
			continue
		}
		from, to := c.air.seconds(t.Start), min(c.air.seconds(t.End), c.air.limit)
		for u := from; u < to && look(t, j, cl.Apply, u); u += time.Minute.Seconds() {
		}
	}
}

// partWindow: sealant is laid only while the part is as warm, and as cool, as the
// class allows; the forecast is taken colder for one and warmer for the other.
func (c *checker) partWindow() {
	c.eachMinute(func(t Task, j *joint, apply cure.Apply, u float64) bool {
		if apply.Part.IsZero() {
			return false
		}
		cold := c.part(j, cure.NotBefore, true).feel(u).temp
		warm := c.part(j, cure.NotAfter, true).feel(u).temp
		if cold >= apply.Part.Lo-applyEdge && warm <= apply.Part.Hi+applyEdge {
			return true
		}
		c.fault("part window", "%s: at %s the part is %.1f to %.1f C; the class is laid at %g to %g C",
			name(t), c.when(c.air.instant(u)), cold, warm, apply.Part.Lo, apply.Part.Hi)
		return false
	})
}

// dewPoint: sealant is laid only on a part at least 3 °C above dew point, the
// forecast taken colder for the part and wetter for the air.
func (c *checker) dewPoint() {
	c.eachMinute(func(t Task, j *joint, _ cure.Apply, u float64) bool {
		cold := c.part(j, cure.NotBefore, true).feel(u).temp
		dew := air.DewPoint(c.air.at(cure.NotAfter, u).pv)
		if cold >= dew+dewMargin-applyEdge {
			return true
		}
		c.fault("dew point", "%s: at %s the part is %.1f C and the dew point %.1f C; it must be %g C above",
			name(t), c.when(c.air.instant(u)), cold, dew, dewMargin)
		return false
	})
}

// airHumidity: sealant is laid only while the air is, as is likely, as humid as the
// class asks for.
func (c *checker) airHumidity() {
	c.eachMinute(func(t Task, _ *joint, apply cure.Apply, u float64) bool {
		if apply.RH.IsZero() {
			return false
		}
		s := c.air.at(cure.Likely, u)
		if rh := air.Humidity(s.c, s.pv); rh < apply.RH.Lo-applyEdge || rh > apply.RH.Hi+applyEdge {
			c.fault("air humidity", "%s: at %s the air has %.0f %% RH; the class is laid at %g to %g %%",
				name(t), c.when(c.air.instant(u)), rh, apply.RH.Lo, apply.RH.Hi)
			return false
		}
		return true
	})
}
