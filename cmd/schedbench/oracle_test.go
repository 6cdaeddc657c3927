package main

import "math"

// earliest is the makespan of an earliest schedule of a small instance, found without
// the core: it puts every activity as early as lags allow, looks for an instant at
// which a resource is asked for too much, and tries every way to have one of the
// activities at that instant end before another begins, until nothing clashes. (The
// way of B. De Reyck, W. Herroelen, European Journal of Operational Research 111,
// 1998, 152-174, without its bounds.) ok is false where there is no schedule.
func earliest(p *instance) (makespan int, ok bool) {
	for _, a := range p.activities {
		for r, n := range a.requests {
			if a.duration > 0 && n > p.units[r] {
				return 0, false
			}
		}
	}
	best := math.MaxInt
	var try func(lags []lag)
	try = func(lags []lag) {
		start := settle(p, lags)
		if start == nil || start[p.sink()] >= best {
			return
		}
		clash := crowd(p, start)
		if clash == nil {
			best = start[p.sink()]
			return
		}
		for _, a := range clash {
			for _, b := range clash {
				if a != b {
					try(append(lags[:len(lags):len(lags)], lag{from: a, to: b, fromEnd: true}))
				}
			}
		}
	}
	try(p.lags)
	return best, best < math.MaxInt
}

// settle gives the earliest starts that keep the lags, with the source at 0, or nil
// where lags go round in a circle that no start keeps.
func settle(p *instance, lags []lag) []int {
	start := make([]int, len(p.activities))
	for range len(start) + 1 {
		moved := false
		for _, l := range lags {
			t := start[l.from] + l.length
			if l.fromEnd {
				t += p.activities[l.from].duration
			}
			if t > start[l.to] {
				start[l.to], moved = t, true
			}
		}
		if start[0] > 0 {
			return nil
		}
		if !moved {
			return start
		}
	}
	return nil
}

// crowd gives the activities that run at an instant at which they ask for too much.
func crowd(p *instance, start []int) []int {
	for _, t := range start {
		for r, units := range p.units {
			var running []int
			sum := 0
			for i, a := range p.activities {
				if start[i] <= t && t < start[i]+a.duration && a.requests[r] > 0 {
					running = append(running, i)
					sum += a.requests[r]
				}
			}
			if sum > units {
				return running
			}
		}
	}
	return nil
}
