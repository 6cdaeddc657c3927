package register

import (
	"errors"
	"fmt"
	"time"
)

// Lay makes the write of a whole line from events that carry their own ids, stations,
// zones and times of recording, in the order in which they were recorded, as one that is
// read from elsewhere or made up for a trial. It holds them to all rules of Append but
// that of the clock here; the error is *Refused, and names the event by its number. The
// events are changed: texts are cleaned, and lines and places on it filled in.
func Lay(key Key, events []*Event) (*Write, error) {
	w := &Write{Key: key, After: Head{Key: key}}
	if len(events) == 0 {
		return nil, fmt.Errorf("%s: a line of no events", key)
	}
	refused := func(e *Event, seq int, err error) error {
		return &Refused{e, fmt.Sprintf("event %d: %s", seq, err)}
	}
	var last time.Time
	var hash Hash
	ids := make(map[string]bool, len(events))
	for i, e := range events {
		seq := i + 1
		if err := e.layable(last); err != nil {
			return nil, refused(e, seq, err)
		}
		if ids[e.ID] {
			return nil, refused(e, seq, fmt.Errorf("its id %s is that of an event before it", e.ID))
		}
		ids[e.ID] = true
		e.Key, e.Seq, e.Recorded, last = key, seq, e.Recorded.UTC(), e.Recorded
		body, err := e.encode()
		if err != nil {
			return nil, refused(e, seq, err)
		}
		hash = hash.Next(body)
		w.Add = append(w.Add, Record{seq, e.ID, body, hash})
	}
	s := Fold(key, events, zoneNamed(events[len(events)-1].Zone))
	if len(s.Problems) > 0 {
		x := s.Problems[0]
		return nil, refused(x.Event, x.Event.Seq, errors.New(x.Text))
	}
	var err error
	w.Projection, err = projectState(s)
	return w, err
}

// layable cleans an event and holds it to what needs no other event but the one in front.
func (e *Event) layable(last time.Time) error {
	if err := e.clean(); err != nil {
		return err
	}
	switch {
	case e.ID == "":
		return errors.New("it has no id")
	case e.By == "":
		return errors.New("nobody is named who did it")
	case e.At.IsZero():
		return errors.New("when it happened is not said")
	case e.Recorded.IsZero() || !e.Recorded.Equal(e.Recorded.Truncate(time.Millisecond)):
		return errors.New("when it was recorded is not said, to the millisecond")
	case e.Recorded.Before(last):
		return errors.New("it was recorded before the one in front of it")
	case e.At.Earliest().After(e.Recorded.Add(slack)):
		return fmt.Errorf("it was recorded before it happened, %s", e.At)
	}
	return nil
}
