package label

import (
	"time"

	"github.com/rickb777/date"
	"github.com/rickb777/date/period"
)

// AddLife is the day that lies a shelf life after d: years and months in one
// step, clamped to the end of the month reached, then days. 31 August 2025 and 6
// months give 28 February 2026, never a day in March; 29 February and 1 year give
// 28 February. The order is that of W3C XML Schema part 2, appendix E.
//
// Only whole years, months and days of the period count; parts of them and hours
// do not. The adding is ours because AddDate and AddPeriod of rickb777/date
// v1.21.1 (and time.AddDate) run over into the next month, which would let a
// batch live up to three days too long.
//
// A period of that library holds at most 3276 years, months or days each; more
// turns into a negative one, so check what you build from a user's number.
func AddLife(d date.Date, life period.Period) date.Date {
	y, m, day := d.Date()
	months := 12*(y+life.Years()) + int(m) - 1 + life.Months()
	year, month := floorDiv(months, 12)
	day = min(day, date.DaysIn(year, time.Month(month+1)))
	return date.New(year, time.Month(month+1), day).Add(date.PeriodOfDays(life.Days()))
}

// AddLifeToMonthEnd adds a life to a date that stands for a whole month or
// quarter and is counted from its last day: whole months lead to the last day of
// the month reached, so that a mark 02/27 with 3 months ends 05/27, that is on 31
// May and not on the 28th. Days come after.
func AddLifeToMonthEnd(d date.Date, life period.Period) date.Date {
	y, m, _ := d.Date()
	months := 12*(y+life.Years()) + int(m) - 1 + life.Months()
	year, month := floorDiv(months, 12)
	return EndOfMonth(year, time.Month(month+1)).Add(date.PeriodOfDays(life.Days()))
}

func floorDiv(a, b int) (q, r int) {
	q, r = a/b, a%b
	if r < 0 {
		q, r = q-1, r+b
	}
	return q, r
}
