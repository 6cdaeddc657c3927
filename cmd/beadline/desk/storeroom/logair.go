package storeroom

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"beadline/catalog/shelf"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
	"beadline/cure"
	"beadline/cure/nearest"
)

// AirLog is a logger's record that is to be attached to all that stood at a place.
type AirLog struct {
	Place  string
	Air    *desk.Air
	SHA256 register.Hash // of the file
	By     string
	ByFrom string // see Act
}

// Logged is what became of it.
type Logged struct {
	Register, Place string
	Name            string
	SHA256          register.Hash
	First, Last     time.Time
	Readings        int
	Batches, Parts  int // that it was attached to
	Known           int // parts that had all of it already
	// Overlap is the first and last instant that earlier logs of the place cover too; zero
	// if none does. Disagrees: there they say something else, and the worse counts.
	OverlapFrom, OverlapTo time.Time
	Disagrees              bool
	Use, Hold, Reject      int // parts as they stand now, of those it was attached to and that have something left
	// Changed are those that are worse off by it: on hold or rejected, or now for another
	// reason, that of storage.
	Changed  []LoggedPart
	Notes    []string // gaps, and whatever else looks odd in the log
	LastHere int      // parts that still stand there
}

// LoggedPart is a part of a batch that a log has put on hold, or that is to be set aside.
type LoggedPart struct {
	Holding
	Was shelf.Verdict // before
}

// mostAtOnce is how many batches one transaction takes: more would hold up others too long
// and need too much memory. A run that was broken off between two is finished by another.
const mostAtOnce = 20_000

// LogAir attaches a log to each part of a batch that stood at its place within its time,
// as a stored event of that stretch. Time that an earlier log of the place covers is not
// counted twice; where the two disagree, the one that is worse for the batch counts. The
// same log twice is recorded once.
func (r *Room) LogAir(ctx context.Context, l *AirLog) (*Logged, error) {
	place, err := r.place(ctx, l.Place)
	if err != nil {
		return nil, err
	}
	at := &attaching{Room: r, AirLog: l, sums: map[stretchOf]shelf.Storage{}, did: &Logged{Register: r.Store.Name(), Place: place, Name: l.Air.Name,
		SHA256: l.SHA256, First: l.Air.First(), Last: l.Air.Last(), Readings: len(l.Air.Samples), Notes: l.Air.Notes}}
	keys, err := at.keys(ctx)
	if err != nil {
		return nil, err
	}
	if l.ByFrom != "" {
		at.did.Notes = append(slices.Clip(at.did.Notes), whoWords(l.By, l.ByFrom))
	}
	for some := range slices.Chunk(keys, mostAtOnce) {
		if err := at.attach(ctx, some); err != nil {
			return nil, r.refusal(err)
		}
	}
	if at.did.Parts > 0 {
		_, err = r.Checkpoint(ctx, l.By)
	}
	return at.did, err
}

// place is a place of the register, whatever its capitals; the error names the nearest.
func (r *Room) place(ctx context.Context, name string) (string, error) {
	all, err := r.Store.Places(ctx)
	if err != nil {
		return "", err
	}
	clean, err := register.Clean(name, 200)
	if err != nil {
		return "", fmt.Errorf("place: %w", err)
	}
	var same, within []string
	for _, p := range all {
		switch {
		case p == clean:
			return p, nil
		case strings.EqualFold(p, clean):
			same = append(same, p)
		case len(p) > len(clean)+3 && strings.EqualFold(p[:len(clean)+3], clean+" / "):
			within = append(within, p)
		}
	}
	switch {
	case len(same) == 1:
		return same[0], nil
	case same != nil:
		return "", fmt.Errorf("%s: several places are called so, but for their capitals: %s: write the one that is meant", r.Store.Name(), strings.Join(same, ", "))
	case within != nil:
		return "", fmt.Errorf("%s: %s is a site: name the place in it where the logger hangs: %s", r.Store.Name(), clean, strings.Join(within[:min(len(within), 6)], ", "))
	case all == nil:
		return "", fmt.Errorf("%s: there is no place %q: nothing in the register says where it is", r.Store.Name(), clean)
	}
	near := nearest.Names(clean, all, 3)
	if near == nil {
		near = all[:min(len(all), 6)]
		return "", fmt.Errorf("%s: there is no place %q among its %d: %s ...", r.Store.Name(), clean, len(all), strings.Join(near, ", "))
	}
	return "", fmt.Errorf("%s: there is no place %q: the nearest are %s", r.Store.Name(), clean, strings.Join(near, ", "))
}

// attaching is one log being attached.
type attaching struct {
	*Room
	*AirLog
	did    *Logged
	sums   map[stretchOf]shelf.Storage
	before map[register.Key]map[Which]*desk.Checked
}

// keys are the batches of which anything was ever recorded at the place: what has left it
// is not in what is projected, so all lines are looked at.
func (at *attaching) keys(ctx context.Context) (keys []register.Key, err error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false) // as bodies are written
	if err := enc.Encode(at.did.Place); err != nil {
		return nil, err
	}
	text := bytes.TrimSpace(b.Bytes())
	err = at.Store.Snapshot(ctx, func(from register.Reader) error {
		return from.EachLine(ctx, func(h register.Head, records []register.Record) error {
			for _, rec := range records {
				if bytes.Contains(rec.Body, text) {
					keys = append(keys, h.Key)
					break
				}
			}
			return ctx.Err()
		})
	})
	return keys, err
}

// attach does so for some batches, all or nothing.
func (at *attaching) attach(ctx context.Context, keys []register.Key) error {
	var tally Logged
	done, err := at.AppendAll(ctx, func(context.Context) ([]register.Key, error) { return keys, nil }, func(lines map[register.Key]*register.State) (map[register.Key][]*register.Event, error) {
		tally = Logged{OverlapFrom: at.did.OverlapFrom, OverlapTo: at.did.OverlapTo}
		at.before = map[register.Key]map[Which]*desk.Checked{}
		wanted := map[register.Key][]*register.Event{}
		for _, k := range keys {
			events, err := at.ofBatch(lines[k], &tally)
			if err != nil {
				return nil, err
			}
			if events != nil {
				wanted[k] = events
			}
		}
		return wanted, nil
	})
	if err != nil {
		return err
	}
	d := at.did
	d.Batches, d.Parts, d.Known, d.LastHere = d.Batches+tally.Batches, d.Parts+tally.Parts, d.Known+tally.Known, d.LastHere+tally.LastHere
	d.OverlapFrom, d.OverlapTo, d.Disagrees = tally.OverlapFrom, tally.OverlapTo, d.Disagrees || tally.Disagrees
	for _, k := range keys {
		at.compare(done.States[k], at.before[k])
	}
	return nil
}

// ofBatch makes the events of a batch.
func (at *attaching) ofBatch(s *register.State, tally *Logged) (events []*register.Event, err error) {
	for _, p := range s.Parts {
		if p.Scrapped {
			continue
		}
		own, there, err := at.ofPart(s, p, tally)
		if err != nil {
			return nil, err
		}
		switch {
		case own != nil:
			tally.Parts++
			h := at.Holding(s, p)
			if at.before[s.Key] == nil {
				at.before[s.Key] = map[Which]*desk.Checked{}
				tally.Batches++
			}
			at.before[s.Key][Which{p.Container, p.Place}] = &h.Checked
		case there:
			tally.Known++
		}
		if there && p.Stocked() && p.Place == at.did.Place {
			tally.LastHere++
		}
		events = append(events, own...)
	}
	return events, nil
}

// ofPart makes the events of a part; there says whether it stood at the place at all within
// the time of the log.
func (at *attaching) ofPart(s *register.State, p *register.Part, tally *Logged) (events []*register.Event, there bool, err error) {
	for _, t := range at.stays(p) {
		there = true
		for _, x := range at.toRecord(p, t, tally) {
			e, err := at.event(s, p, x)
			if err != nil {
				return nil, false, err
			}
			if s.Event(e.ID) != nil {
				continue
			}
			events = append(events, e)
			if again := at.heldAnew(p, e); again != nil {
				events = append(events, again)
			}
		}
	}
	return events, there, nil
}

// event is that a part was stored so for a stretch.
func (at *attaching) event(s *register.State, p *register.Part, x stretch) (*register.Event, error) {
	st, err := at.sum(p.Item.Class, x)
	if err != nil {
		return nil, err
	}
	d := at.did
	id := sha256.Sum256(fmt.Appendf(nil, "%s\x00%s\x00%s\x00%s\x00%s\x00%s", d.Place, s.Key, p.Container, p.Place, x.from.UTC().Format(time.RFC3339Nano), x.to.UTC().Format(time.RFC3339Nano)))
	return &register.Event{ID: "log-" + d.SHA256.String()[:24] + "-" + hex.EncodeToString(id[:12]), Kind: register.KindStored, At: at.At, By: at.By,
		Container: p.Container, Place: p.Place, Shelf: &shelf.Event{Storage: st},
		Log: &register.Log{Name: logName(d.Name), SHA256: d.SHA256.String(), Place: d.Place, First: d.First.UTC(), Last: d.Last.UTC(), Readings: d.Readings, From: x.from.UTC(), To: x.to.UTC()}}, nil
}

func logName(file string) string {
	name := filepath.Base(file)
	if len(name) > 150 {
		name = strings.ToValidUTF8(name[:150], "")
	}
	return name
}

// heldAnew holds a part again whose storage was decided on before this log was known, if
// the log would have held it: what was freed was not this.
func (at *attaching) heldAnew(p *register.Part, e *register.Event) *register.Event {
	if !slices.ContainsFunc(p.Item.Freed, func(f shelf.Freed) bool { return f.Limit == shelf.LimitStorageBounds }) {
		return nil
	}
	st := e.Shelf.Storage
	probe := p.Item
	probe.Storage, probe.Freed, probe.Held, probe.Scrapped = []shelf.Storage{st}, nil, "", ""
	for _, l := range at.Judge.Full(probe).Limits {
		if l.Name == shelf.LimitStorageBounds && l.Past && l.Counts {
			return &register.Event{ID: e.ID + "-held", Kind: register.KindHeld, At: at.At, By: at.By, Container: p.Container, Place: p.Place,
				Why: fmt.Sprintf("the log %s of %s came after its storage had been freed, and shows %.1f to %.1f °C: decide on it anew", logName(at.did.Name), at.did.Place, st.MinC, st.MaxC)}
		}
	}
	return nil
}

// compare finds what the log has changed of a batch.
func (at *attaching) compare(s *register.State, before map[Which]*desk.Checked) {
	for _, p := range s.Parts {
		was := before[Which{p.Container, p.Place}]
		if was == nil || !p.Stocked() {
			continue
		}
		h := at.Holding(s, p)
		now, then := h.Checked.Judgement, was.Judgement
		switch now.Verdict {
		case shelf.Use:
			at.did.Use++
		case shelf.Hold:
			at.did.Hold++
		default:
			at.did.Reject++
		}
		if now.Verdict > then.Verdict || now.Verdict > shelf.Use && now.Governing.Name != then.Governing.Name {
			at.did.Changed = append(at.did.Changed, LoggedPart{h, then.Verdict})
		}
	}
}

// stretchOf is a stretch of the log under the rules of a class.
type stretchOf struct {
	class    string
	from, to int64
}

// sum adds up a stretch of the log for a class, each once.
func (at *attaching) sum(class string, x stretch) (shelf.Storage, error) {
	k := stretchOf{class, x.from.UnixNano(), x.to.UnixNano()}
	if st, ok := at.sums[k]; ok {
		return st, nil
	}
	samples, real := clip(at.Air.Samples, x.from, x.to)
	st, err := at.Judge.Stored(at.Air, samples, class, at.did.Place)
	st.Readings = max(real, 1)
	at.sums[k] = st
	return st, err
}

// clip is the readings from one instant to another, with the air at both ends as it runs
// between the readings around them; in a gap, where nobody knows, at the warmer of the two.
// real is how many of them are readings.
func clip(samples []cure.Sample, from, to time.Time) (cut []cure.Sample, real int) {
	at := func(t time.Time) (s cure.Sample, read bool) {
		i, found := slices.BinarySearchFunc(samples, t, func(s cure.Sample, t time.Time) int { return s.At.Compare(t) })
		if found {
			return samples[i], true
		}
		i = min(max(i, 1), len(samples)-1)
		a, b := samples[i-1], samples[i]
		s = a
		s.At = t
		if gap := b.At.Sub(a.At); gap > cure.MaxGap {
			s.TempC = max(a.TempC, b.TempC)
		} else {
			s.TempC += (b.TempC - a.TempC) * float64(t.Sub(a.At)) / float64(gap)
			s.RH += (b.RH - a.RH) * float64(t.Sub(a.At)) / float64(gap)
		}
		return s, false
	}
	first, read := at(from)
	cut = append(cut, first)
	if read {
		real++
	}
	i, _ := slices.BinarySearchFunc(samples, from, func(s cure.Sample, t time.Time) int { return s.At.Compare(t) })
	for ; i < len(samples) && samples[i].At.Before(to); i++ {
		if samples[i].At.After(from) {
			cut = append(cut, samples[i])
			real++
		}
	}
	if to.After(from) {
		last, read := at(to)
		cut = append(cut, last)
		if read {
			real++
		}
	}
	return cut, real
}
