package desk

import (
	"fmt"
	"math"

	"beadline/cure"
	"beadline/cure/air"
	"beadline/cure/warmup"
)

// warmestRoomC is the warmest room, in °C, that people are sent to wait in (own
// decision).
const warmestRoomC = 32

// fixes looks for what would do instead: one change at a time, each asked in full, and
// the smallest of its kind that has no stop.
func (w *Warm) fixes() (said []string) {
	alone := []string{w.withFan(), w.inWarmerRoom()}
	if alone[0] == "" && alone[1] == "" {
		alone = append(alone, w.withFanInWarmerRoom())
	}
	for _, s := range append(alone, w.inDrierAir(), w.inBath(), w.inSmallerPack()) {
		if s != "" {
			said = append(said, s)
		}
	}
	if said == nil {
		said = append(said, "Nothing looked at here does: a fan, a warmer or drier room, a water bath within the class's ceiling, a smaller pack. Go by the maker's thaw procedure.")
	}
	return said
}

// does asks the changed question; ok is false where something is against it still.
func (w *Warm) does(change func(q *WarmQuestion)) (answer string, ok bool) {
	q := w.WarmQuestion
	change(&q)
	v, err := askWarm(q)
	if err != nil || len(v.Stops) > 0 {
		return "", false
	}
	return v.Earliest() + ".", true
}

func (w *Warm) withFan() string {
	if w.Medium != warmup.StillAir {
		return ""
	}
	s, ok := w.does(func(q *WarmQuestion) { q.Fan = true })
	if !ok {
		return ""
	}
	return "A fan on it from all sides: " + s
}

func (w *Warm) withFanInWarmerRoom() string {
	if w.Medium != warmup.StillAir {
		return ""
	}
	return w.inRoom("A fan on it from all sides, in a room of %g C, its air warmed and not wetted (%.0f %% RH): ", true)
}

// inDrierAir looks for the dampest air of the same room in which it can be opened.
func (w *Warm) inDrierAir() string {
	if open, _ := w.line(WarmOpen); open.Known {
		return "" // the dew point is not what stops it
	}
	for rh := math.Floor(w.Room.RH); rh >= 10; rh-- {
		if s, ok := w.does(func(q *WarmQuestion) { q.Room.RH = rh }); ok {
			return fmt.Sprintf("Drier air, %g %% RH or less: %s", rh, s)
		}
	}
	return ""
}

func (w *Warm) inWarmerRoom() string {
	if w.Medium == warmup.Bath {
		return ""
	}
	return w.inRoom("A room of %g C, its air warmed and not wetted (%.0f %% RH): ", w.Fan)
}

// inRoom looks for the coldest warmer room that does; warming air keeps its water. The
// words take its temperature and humidity.
func (w *Warm) inRoom(words string, fan bool) string {
	ceiling, _ := WarmCeiling(w.Class)
	pv := w.Room.Vapour()
	for c := math.Floor(w.Room.TempC) + 1; c <= math.Min(ceiling, warmestRoomC); c++ {
		room := cure.Air{TempC: c, RH: air.Humidity(c, pv)}
		if s, ok := w.does(func(q *WarmQuestion) { q.Room, q.Fan = room, fan }); ok {
			return fmt.Sprintf(words, c, room.RH) + s
		}
	}
	return ""
}

// inBath looks for the coldest water bath that does, where the class has a rule for
// warmth.
func (w *Warm) inBath() string {
	ceiling, why := WarmCeiling(w.Class)
	if math.IsInf(ceiling, 1) {
		return ""
	}
	from := math.Floor(w.around()) + 1
	for c := from; c <= ceiling; c++ {
		if s, ok := w.does(func(q *WarmQuestion) { q.BathC, q.Fan = c, false }); ok {
			return fmt.Sprintf("A water bath of %g C, the pack closed and in a watertight bag, only if the maker's procedure has one (never above %.4g C, %s): %s", c, ceiling, why, s)
		}
	}
	return ""
}

// inSmallerPack looks for the largest smaller pack, to 5 ml.
func (w *Warm) inSmallerPack() string {
	const step, least = 5.0, 10.0 // ml
	try := func(n float64) (string, bool) {
		return w.does(func(q *WarmQuestion) { q.Pack = warmup.Pack{Shape: w.Pack.Shape, VolumeML: n * step} })
	}
	most := math.Ceil(w.Pack.Contents()/step) - 1
	lo, hi := 0.0, most+1 // lo does, hi does not
	said := ""
	for hi-lo > 1 {
		n := math.Floor((lo + hi) / 2)
		if s, ok := try(n); ok {
			lo, said = n, s
		} else {
			hi = n
		}
	}
	if lo*step < least {
		return ""
	}
	return fmt.Sprintf("Packs of %g ml or less, apart from each other: %s", lo*step, said)
}
