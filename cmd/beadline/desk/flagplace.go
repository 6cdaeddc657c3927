package desk

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"
	"sync"

	"beadline/cure/nearest"
)

// Where rows are. Locations have numbers, so that a flagged row needs no string.

// maxPlaces is how many locations a list may be grouped by. More is no grouping.
const maxPlaces = 10_000

// locations numbers locations from 1; 0 is for rows without one. Capitals do not count:
// of several spellings the one that sorts first is shown.
type locations struct {
	mu     sync.Mutex
	number map[string]uint16 // by folded name
	names  []string          // by number
	full   bool              // there are more than could be numbered
}

func newLocations() *locations { return &locations{number: map[string]uint16{}, names: []string{""}} }

// find is the number of a location with a name, 0 once there are too many.
func (p *locations) find(name string) uint16 {
	folded := strings.ToLower(name)
	p.mu.Lock()
	defer p.mu.Unlock()
	n, ok := p.number[folded]
	switch {
	case ok:
		p.names[n] = min(p.names[n], name)
		return n
	case len(p.names) > maxPlaces:
		p.full = true
		return 0
	}
	n = uint16(len(p.names))
	p.number[folded], p.names = n, append(p.names, name)
	return n
}

// placeCache is what one worker remembers of the numbers.
type placeCache map[string]uint16

func (c placeCache) find(p *locations, name []byte) uint16 {
	if len(name) == 0 {
		return 0
	}
	n, ok := c[string(name)]
	if !ok {
		if len(c) > maxPlaces {
			clear(c)
		}
		s := string(name)
		n = p.find(s)
		c[s] = n
	}
	return n
}

// group sorts the rows into their groups.
func (f *Flags) group(p *locations) {
	all := Group{}
	for s := range numSections {
		all.Rows[s] = f.Counts.Of(s)
	}
	if f.ByLocation && p.full {
		f.ByLocation = false
		f.Warnings = append(f.Warnings, fmt.Sprintf("%s has more than %d different locations, so its rows are not grouped by them; --location names one.", f.Name, maxPlaces))
		for _, r := range f.runs {
			for i := range r.entries {
				r.entries[i].at &= 1<<offsetBits - 1
			}
		}
	}
	if !f.ByLocation {
		f.Groups = []Group{all}
		return
	}
	first := make([]uint64, len(p.names)) // the most urgent row of each place, but for its line
	counts := make([]Group, len(p.names))
	for _, r := range f.runs {
		for _, e := range r.entries {
			n, key := e.place(), e.key&^maxLines
			if counts[n].Rows == (Group{}).Rows || key < first[n] {
				first[n] = key
			}
			counts[n].Rows[e.section()]++
		}
	}
	order := make([]uint16, 0, len(p.names))
	for n := range p.names {
		if counts[n].Rows != (Group{}).Rows {
			order = append(order, uint16(n))
		}
	}
	slices.SortFunc(order, func(a, b uint16) int {
		return cmp.Or(cmp.Compare(first[a], first[b]), cmp.Compare(strings.ToLower(p.names[a]), strings.ToLower(p.names[b])))
	})
	rank := make([]uint64, len(p.names))
	for i, n := range order {
		rank[n] = uint64(i)
		f.Groups = append(f.Groups, Group{Place: p.names[n], Rows: counts[n].Rows, rank: uint16(i)})
	}
	if f.Groups == nil {
		f.Groups = []Group{all}
	}
	for _, r := range f.runs {
		for i, e := range r.entries {
			r.entries[i].at = rank[e.place()]<<offsetBits | uint64(e.offset())
		}
		slices.SortFunc(r.entries, byPlace)
	}
}

// inLocation reports whether a place is the location asked for, or of a register stands
// at that site. Capitals do not count.
func inLocation(place, location string, register bool) bool {
	return strings.EqualFold(place, location) || register && inSite([]byte(place), []byte(location))
}

// inSite reports whether a place stands at a site: its name is that of the site, " / " and
// more, as in "North / cold store".
func inSite(place, site []byte) bool {
	at := bytes.Index(place, []byte(" / "))
	for rest := place; at >= 0; {
		if bytes.EqualFold(place[:len(place)-len(rest)+at], site) {
			return true
		}
		rest = rest[at+len(" / "):]
		at = bytes.Index(rest, []byte(" / "))
	}
	return false
}

func noSuchLocation(l *List, location string, p *locations) error {
	name, what, has := l.Name, "no row has the location", "the list has"
	if l.Register {
		what, has = "nothing in stock is at the place or site", "there is"
	}
	known := slices.Clone(p.names[1:])
	if l.Register {
		for _, place := range p.names[1:] {
			if site, _, ok := strings.Cut(place, " / "); ok {
				known = append(known, site)
			}
		}
	}
	slices.Sort(known)
	known = slices.Compact(known)
	if len(known) == 0 {
		if l.Register {
			return fmt.Errorf("%s: %s %q: no place is recorded of anything", name, what, location)
		}
		return fmt.Errorf("%s: no row has a location, so none is at %q", name, location)
	}
	if near := nearest.Names(location, known, 3); near != nil {
		return fmt.Errorf("%s: %s %q: the nearest are %s", name, what, location, strings.Join(near, ", "))
	}
	more := ""
	if len(known) > 6 {
		more = fmt.Sprintf(" and %d more", len(known)-6)
		known = known[:6]
	}
	return fmt.Errorf("%s: %s %q: %s %s%s", name, what, location, has, strings.Join(known, ", "), more)
}
