package sheet

import (
	"strings"

	"beadline/cure"
)

// Temperatures that make one ask for the scale: sealant is not worked at 50 °C, a sheet
// that has only oven temperatures is rare, and one that stays under 40 °F too. A sheet
// in °F with C behind its numbers shows 59, 77, 104. (Common practice, no source.)
const (
	hotWork  = 50  // °C, for application and assembly
	hotCure  = 50  // °C, for the coldest row of another milestone
	coldOnly = 4.5 // °C, for the warmest row of a milestone in °F
)

// doubts asks about scales that look mixed up, once for each milestone.
func (r *reader) doubts() {
	for m := range cure.NumMilestones {
		rows := r.sheet.of(m)
		if len(rows) == 0 {
			continue
		}
		cold, warm := rows[0], rows[0]
		oneC, oneF := true, true
		for _, row := range rows {
			if row.TempC < cold.TempC {
				cold = row
			}
			if row.TempC > warm.TempC {
				warm = row
			}
			f := strings.HasSuffix(row.Temp, "F")
			oneC, oneF = oneC && !f, oneF && f
		}
		hot := cold
		if m.Line() == cure.NotAfter {
			hot = warm
		}
		switch {
		case m.Line() == cure.NotAfter && hot.TempC >= hotWork && !strings.HasSuffix(hot.Temp, "F"),
			m.Line() == cure.NotBefore && oneC && hot.TempC >= hotCure:
			f := strings.TrimSuffix(hot.Temp, "C") + "F"
			r.fault(hot.Line, "temp: %s for %s: is that %s (%.0f °C)? Write F for °F; say --as-written if %s is meant", hot.Temp, m, f, (hot.TempC-32)*5/9, hot.Temp)
		case oneF && warm.TempC <= coldOnly:
			c := strings.TrimSuffix(warm.Temp, "F") + "C"
			r.fault(warm.Line, "temp: no row of %s is warmer than %s (%.0f °C): is that %s? Write C for °C; say --as-written if %s is meant", m, warm.Temp, warm.TempC, c, warm.Temp)
		}
	}
}

// disagreements refuses a milestone whose rows state different things.
func (r *reader) disagreements() {
	first := map[cure.Milestone]Row{}
	for _, row := range r.sheet.Rows {
		f, seen := first[row.Milestone]
		if !seen {
			first[row.Milestone] = row
			continue
		}
		if f.Stated != row.Stated || f.States != row.States {
			r.fault(row.Line, "states: %s here and %s on line %d: the rows of %s must all state the same", said(row), said(f), f.Line, row.Milestone)
		}
	}
}

func said(r Row) string {
	if !r.Stated {
		return "nothing"
	}
	return r.States.String()
}

// of lists the rows of a milestone.
func (s *Sheet) of(m cure.Milestone) (rows []Row) {
	for _, r := range s.Rows {
		if r.Milestone == m {
			rows = append(rows, r)
		}
	}
	return rows
}
