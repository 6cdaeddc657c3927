package airlog

import (
	"fmt"
	"strings"
	"time"
)

// The years a log may be from. Outside them the logger's clock was reset or a digit
// slipped.
const (
	minYear = 1970
	maxYear = 2199
)

// calendar turns the times of a log into instants. It remembers what neighbouring
// rows share: the day, the offset, the stretch of one offset in the zone.
type calendar struct {
	zone *time.Location // of local times; nil: refuse them
	gap  zoneStretch

	day      [10]byte // the date read last, as written
	dayStart int64    // its midnight, in seconds since 1970 as if it were UTC

	offset     int // seconds east; the one seen last
	offsetZone *time.Location
}

// instant is a time read. Twice is set where the clocks went back: then later is
// the other time it can mean.
type instant struct {
	at, later time.Time
	twice     bool
}

// read gives the instant that b names. The forms are RFC 3339, the same without
// seconds or with a space for the T, and both without an offset.
func (c *calendar) read(b []byte) (instant, *Error) {
	if len(b) < len("2027-03-08T07:00") || b[4] != '-' || b[7] != '-' || b[13] != ':' || b[10] != 'T' && b[10] != ' ' && b[10] != 't' {
		return instant{}, notATime(b)
	}
	if string(b[:10]) != string(c.day[:]) {
		if err := c.newDay(b); err != nil {
			return instant{}, err
		}
	}
	h, m := digits(b[11:13]), digits(b[14:16])
	s, nanos, rest, ok := seconds(b[16:])
	if h < 0 || m < 0 || !ok {
		return instant{}, notATime(b)
	}
	if h > 23 || m > 59 || s > 59 {
		return instant{}, &Error{What: "no such time of day: " + shown(b), Remedy: "hours run from 00 to 23, minutes and seconds from 00 to 59"}
	}
	wall := c.dayStart + int64(h*3600+m*60+s)
	if len(rest) == 0 {
		return c.local(b, wall, nanos)
	}
	offset, ok := readOffset(rest)
	if !ok {
		return instant{}, notATime(b)
	}
	return instant{at: time.Unix(wall-int64(offset), nanos).In(c.placeAt(offset))}, nil
}

func notATime(b []byte) *Error {
	if isBlank(b) {
		return &Error{What: "the time is empty", Remedy: "give it, or delete the row"}
	}
	return &Error{What: "not a time: " + shown(b), Remedy: "write it like 2027-03-08T07:00 or 2027-03-08T07:00:00+01:00"}
}

// newDay reads the date at the start of b.
func (c *calendar) newDay(b []byte) *Error {
	century, year, month, day := digits(b[:2]), digits(b[2:4]), digits(b[5:7]), digits(b[8:10])
	if century < 0 || year < 0 || month < 0 || day < 0 {
		return notATime(b)
	}
	year += 100 * century
	t := time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC)
	// time.Date turns 30 February into 2 March.
	if t.Day() != day || int(t.Month()) != month {
		return &Error{What: "no such day: " + shown(b[:10]), Remedy: "write year-month-day, like 2027-03-08"}
	}
	if year < minYear || year > maxYear {
		return &Error{What: fmt.Sprintf("the year is %04d", year), Remedy: "check the logger's clock"}
	}
	copy(c.day[:], b)
	c.dayStart = t.Unix()
	return nil
}

// digits reads two decimal digits; -1 if they are not.
func digits(b []byte) int {
	hi, lo := b[0]-'0', b[1]-'0'
	if hi > 9 || lo > 9 {
		return -1
	}
	return int(hi)*10 + int(lo)
}

// seconds reads ":05" or ":05.25" if b starts so, and gives what follows.
func seconds(b []byte) (s int, nanos int64, rest []byte, ok bool) {
	if len(b) == 0 || b[0] != ':' {
		return 0, 0, b, true
	}
	if len(b) < 3 {
		return 0, 0, b, false
	}
	s, b = digits(b[1:3]), b[3:]
	if s < 0 {
		return 0, 0, b, false
	}
	if len(b) == 0 || b[0] != '.' {
		return s, 0, b, true
	}
	i := 1
	for unit := int64(1e8); i < len(b) && b[i] >= '0' && b[i] <= '9'; i++ {
		nanos += int64(b[i]-'0') * unit
		unit /= 10
	}
	return s, nanos, b[i:], i > 1
}

// readOffset reads Z, +01:00 or +0100 and gives seconds east of UTC.
func readOffset(b []byte) (int, bool) {
	if len(b) == 1 && (b[0] == 'Z' || b[0] == 'z') {
		return 0, true
	}
	colon := len(b) == len("+01:00") && b[3] == ':'
	if !colon && len(b) != len("+0100") || b[0] != '+' && b[0] != '-' {
		return 0, false
	}
	h, m := digits(b[1:3]), digits(b[len(b)-2:])
	if h < 0 || h > 23 || m < 0 || m > 59 {
		return 0, false
	}
	if b[0] == '-' {
		return -(h*3600 + m*60), true
	}
	return h*3600 + m*60, true
}

// placeAt is the zone in which an instant written with this offset is kept.
func (c *calendar) placeAt(offset int) *time.Location {
	if c.zone != nil {
		return c.zone
	}
	if c.offsetZone == nil || offset != c.offset {
		c.offset, c.offsetZone = offset, time.UTC
		if offset != 0 {
			east := time.FixedZone("", offset)
			name := time.Unix(0, 0).In(east).Format("UTC-07:00")
			c.offsetZone = time.FixedZone(name, offset)
		}
	}
	return c.offsetZone
}

// local reads a time without an offset: the clock on the wall in c.zone.
func (c *calendar) local(b []byte, wall, nanos int64) (instant, *Error) {
	if c.zone == nil {
		return instant{}, &Error{
			What:   "the time " + shown(b) + " does not say its offset from UTC",
			Remedy: "give --zone, like --zone Europe/Berlin, or write the offset: 2027-03-08T07:00+01:00",
		}
	}
	first, second, n := c.gap.resolve(c.zone, wall)
	switch n {
	case 0:
		return instant{}, &Error{
			What:   fmt.Sprintf("the time %s does not exist in %s: the clocks went forward past it", shown(b), placeName(c.zone)),
			Remedy: "check --zone; the times of a logger that never changes its clock need their offset from UTC",
		}
	case 1:
		return instant{at: time.Unix(first, nanos).In(c.zone)}, nil
	}
	return instant{at: time.Unix(first, nanos).In(c.zone), later: time.Unix(second, nanos).In(c.zone), twice: true}, nil
}

// placeName is how a message names a zone.
func placeName(zone *time.Location) string {
	if name := zone.String(); name != "" && name != "Local" {
		return name
	}
	return "this computer's zone"
}

// zoneStretch remembers a stretch of wall-clock time that has one offset only.
type zoneStretch struct{ lo, hi, offset int64 }

// How clocks change, in seconds, from the IANA time-zone data 2025b (all zones, 1970
// on, looked through one by one): never by more than 24 h, where a place crossed the
// date line, and never twice within six days.
const (
	nearChange = 26 * 3600     // farther from a change a wall-clock time is not touched by it
	calm       = 3 * 24 * 3600 // with nearChange on both sides, less than six days
)

// resolve gives the instants, in seconds since 1970, at which clocks in the zone
// show wall (seconds since 1970 as if it were UTC): none, one or two, the earlier
// first.
//
// It compares offsets and leaves Time.ZoneBounds alone: for 31 December of a leap
// year that gives bounds that do not hold the time asked for (seen in Go 1.26).
func (z *zoneStretch) resolve(zone *time.Location, wall int64) (first, second int64, n int) {
	if wall >= z.lo && wall < z.hi {
		return wall - z.offset, wall - z.offset, 1
	}
	before, after := offsetAt(zone, wall-nearChange), offsetAt(zone, wall+nearChange)
	if before == after {
		if offsetAt(zone, wall+nearChange+calm) == before {
			*z = zoneStretch{wall, wall + calm, before}
		}
		return wall - before, wall - before, 1
	}
	early, late := wall-max(before, after), wall-min(before, after)
	isEarly := offsetAt(zone, early) == wall-early
	isLate := offsetAt(zone, late) == wall-late
	switch {
	case isEarly && isLate:
		return early, late, 2
	case isEarly:
		return early, early, 1
	case isLate:
		return late, late, 1
	}
	return 0, 0, 0
}

// offsetAt is the offset of the zone at an instant, in seconds east of UTC.
func offsetAt(zone *time.Location, unix int64) int64 {
	_, offset := time.Unix(unix, 0).In(zone).Zone()
	return int64(offset)
}

// ambiguous is a row whose local time occurs twice.
type ambiguous struct {
	row   int
	later time.Time
}

// settle chooses between the two meanings of each doubtful row by the order of the
// rows: the earlier, unless that is not after the row before. It gives a note for
// each night.
func settle(samples []Sample, doubt []ambiguous, zone *time.Location) []string {
	var nights []night
	for _, a := range doubt {
		at := &samples[a.row].At
		if len(nights) == 0 || at.Sub(nights[len(nights)-1].first) > 24*time.Hour {
			nights = append(nights, night{first: *at, last: *at})
		}
		n := &nights[len(nights)-1]
		if at.Before(n.first) {
			n.first = *at
		}
		if at.After(n.last) {
			n.last = *at
		}
		if a.row > 0 && !at.After(samples[a.row-1].At) {
			*at = a.later
			n.asLater++
		} else {
			n.asEarlier++
		}
	}
	var notes []string
	for _, n := range nights {
		notes = append(notes, n.note(zone))
	}
	return notes
}

// night counts how the doubtful rows of one change of clocks were read.
type night struct {
	first, last        time.Time // on the clock, first pass
	asEarlier, asLater int
}

func (n night) note(zone *time.Location) string {
	times := n.first.Format("15:04")
	if !n.last.Equal(n.first) {
		times += " to " + n.last.Format("15:04")
	}
	var b strings.Builder
	fmt.Fprintf(&b, "the clocks went back on %s in %s and show %s twice: by the order of the rows, ", n.first.Format("Mon 2 Jan 2006"), placeName(zone), times)
	switch {
	case n.asLater == 0:
		fmt.Fprintf(&b, "%s taken as the first pass", rows(n.asEarlier))
	case n.asEarlier == 0:
		fmt.Fprintf(&b, "%s taken as the second pass", rows(n.asLater))
	default:
		fmt.Fprintf(&b, "%s taken as the first pass, %d as the second", rows(n.asEarlier), n.asLater)
	}
	return b.String()
}

func rows(n int) string {
	if n == 1 {
		return "1 row"
	}
	return fmt.Sprintf("%d rows", n)
}
