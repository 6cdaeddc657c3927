package register

import (
	"sync"
	"time"

	"beadline/catalog/shelf"
	"beadline/catalog/stock"
)

// project is what is kept of a line for those who ask for many. It depends on its events
// alone: clocks hang in the zone in which the last of them was recorded.
func project(key Key, events []*Event) (Projection, error) {
	if _, ok := key.Batch(); !ok || len(events) == 0 {
		return Projection{}, nil
	}
	return projectState(Fold(key, events, zoneNamed(events[len(events)-1].Zone)))
}

// projectState is project for a line that is folded already, on the clocks that hang in
// the zone of its last event.
func projectState(s *State) (p Projection, err error) {
	if _, ok := s.Key.Batch(); !ok {
		return p, nil
	}
	for _, part := range s.Parts {
		text, err := part.record(s.Batch.Maker)
		if err != nil {
			return p, err
		}
		p.Lots = append(p.Lots, Lot{Container: part.Container, Place: part.Place, Class: part.Item.Class, Stocked: part.Stocked(), Row: string(text)})
		p.Reserved = append(p.Reserved, part.reservedByJob()...)
	}
	p.Served = s.served()
	return p, nil
}

// served is what is projected of the joints that something of a line went to. It does not
// depend on clocks.
func (s *State) served() (all []Served) {
	for _, e := range s.Events {
		if e.Kind != KindDrawn || e.Use == nil || s.Corrected[e.ID] != nil {
			continue
		}
		joints := e.Use.Joints
		if len(joints) == 0 && e.Use.Job != "" {
			joints = []string{""} // so that it is found by its job
		}
		for _, j := range joints {
			all = append(all, Served{Key: s.Key, Seq: e.Seq, Joint: j, Job: e.Use.Job, Mix: e.Use.Mix, At: e.At.Instant()})
		}
	}
	return all
}

// unchanged is how many are the same at the start of both: the more, the longer the line.
func unchanged(old, now []Served) int {
	n := 0
	for n < min(len(old), len(now)) && old[n] == now[n] {
		n++
	}
	return n
}

// zoneNamed is the zone of a name; UTC where there is no such zone here.
func zoneNamed(name string) *time.Location {
	if z, ok := zones.Load(name); ok {
		return z.(*time.Location)
	}
	z, err := time.LoadLocation(name)
	if err != nil || name == "" || name == "Local" {
		return time.UTC
	}
	zones.Store(name, z)
	return z
}

// zones are those that zoneNamed has found: to find one is to read a file. There are not
// many.
var zones sync.Map

// reservedByJob adds up what of a part is reserved, in the order of the reservations.
func (p *Part) reservedByJob() []Reserved {
	var all []Reserved
	at := map[string]int{}
	for _, r := range p.Reserved {
		i, ok := at[r.Job]
		if !ok {
			i, at[r.Job] = len(all), len(all)
			all = append(all, Reserved{Job: r.Job, Container: p.Container, Place: p.Place})
		}
		all[i].Amount += r.Amount
	}
	return all
}

// record is a part as a record of a stock list. One with more on it than a list can hold
// is held there, and says so.
func (p *Part) record(maker string) ([]byte, error) {
	row := p.Row()
	row.GTIN = "" // the list of a register has no column for it
	row.Extra = stock.ByMaker(maker)
	text, err := stock.AppendRow(nil, &row)
	if err == nil {
		return text, nil
	}
	row.Item = shelf.Item{Batch: p.Item.Batch, Container: p.Item.Container, Class: p.Item.Class,
		Held: "its record is too long for a list: check it by its number"}
	return stock.AppendRow(nil, &row)
}
