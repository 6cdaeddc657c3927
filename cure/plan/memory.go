package plan

import (
	"fmt"
	"strings"
	"time"
)

// memory keeps what sealant feels at the places of a job from one plan to the next: its
// lines are dear to work out, and most changes of a job leave them as they are. It is not
// for use by several goroutines.
type memory struct{ feels map[string]map[string]*feel }

// remember gives an input a memory, unless it has one.
func (in Input) remember() Input {
	if in.memory == nil {
		in.memory = &memory{map[string]map[string]*feel{}}
	}
	return in
}

// feels is what sealant feels within a horizon, as far as it is known. All that lines rest
// on beside the class, the bead and the structure of a joint is in the key: the air, the
// start, the mixing, and when anybody works.
func (in Input) feels(h time.Duration) map[string]*feel {
	if in.memory == nil {
		return map[string]*feel{}
	}
	j := in.Job
	var key strings.Builder
	fmt.Fprint(&key, h, j.Start.UnixNano(), j.Zone, j.AirMargin, j.Part, j.Mixing, j.Shifts)
	for _, a := range j.Air {
		fmt.Fprint(&key, " | ", a.Log, " ", a.Forecast)
		if a.Swing != nil {
			fmt.Fprint(&key, " ", *a.Swing)
		}
		if a.Constant != nil {
			fmt.Fprint(&key, " ", *a.Constant)
		}
	}
	k := key.String()
	if in.memory.feels[k] == nil {
		in.memory.feels[k] = map[string]*feel{}
	}
	return in.memory.feels[k]
}
