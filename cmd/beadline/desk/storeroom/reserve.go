package storeroom

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
	"beadline/cure/nearest"
)

// Reserve keeps parts of batches for a job, all or nothing, and gives back whatever else
// an earlier plan of it has reserved. What is reserved already stays as it is: the same
// plan twice writes nothing. joints are those of each mix. A *register.Refused says that
// something is not there to be had any more.
func (r *Room) Reserve(ctx context.Context, job, by string, parts []desk.Part, joints map[string][]string) (*desk.Reserved, error) {
	wanted := map[register.Key][]desk.Part{}
	for _, p := range parts {
		key := register.Batch{Number: p.Batch, Maker: p.Maker}.Key()
		wanted[key] = append(wanted[key], p)
	}
	out := &desk.Reserved{Job: job, By: by, Parts: parts}
	done, err := r.AppendAll(ctx, func(ctx context.Context) ([]register.Key, error) {
		keys, err := r.Store.ReservedFor(ctx, job)
		for k := range wanted {
			keys = append(keys, k)
		}
		slices.Sort(keys)
		return slices.Compact(keys), err
	}, func(lines map[register.Key]*register.State) (map[register.Key][]*register.Event, error) {
		out.Freed = nil
		all := map[register.Key][]*register.Event{}
		for key, s := range lines {
			events, freed := r.reserveOn(s, job, by, wanted[key], joints)
			all[key] = events
			out.Freed = append(out.Freed, freed...)
		}
		return all, nil
	})
	if err != nil {
		return nil, err
	}
	slices.SortFunc(out.Freed, func(a, b desk.Part) int {
		return cmp.Or(cmp.Compare(a.Batch, b.Batch), cmp.Compare(a.Maker, b.Maker), cmp.Compare(a.Container, b.Container), cmp.Compare(a.Place, b.Place))
	})
	out.Same = len(done.Events) == 0
	return out, nil
}

// spot is where a part of a batch is.
type spot struct{ container, place string }

// reserveOn is what is to be recorded of one batch so that exactly the parts wanted are
// reserved for a job; freed is what is given back for good.
func (r *Room) reserveOn(s *register.State, job, by string, wanted []desk.Part, joints map[string][]string) (events []*register.Event, freed []desk.Part) {
	have, want := map[spot]map[string]register.Amount{}, map[spot]map[string]register.Amount{}
	add := func(to map[spot]map[string]register.Amount, at spot, mix string, a register.Amount) {
		if to[at] == nil {
			to[at] = map[string]register.Amount{}
		}
		to[at][mix] += a
	}
	var spots []spot
	units := map[spot]string{}
	for _, p := range s.Parts {
		at := spot{p.Container, p.Place}
		units[at] = p.Unit
		for _, v := range p.Reserved {
			if v.Job == job {
				add(have, at, v.Mix, v.Amount)
			}
		}
		spots = append(spots, at)
	}
	for _, p := range wanted {
		at := spot{p.Container, p.Place}
		add(want, at, p.Mix, amountOf(p.Amount))
		if !slices.Contains(spots, at) { // gone meanwhile: the register refuses it
			spots = append(spots, at)
		}
	}
	event := func(kind register.Kind, at spot) *register.Event {
		return &register.Event{Kind: kind, At: register.AtInstant(r.Clock()), By: by, Container: at.container, Place: at.place, Use: &register.Use{Job: job}}
	}
	for _, at := range spots {
		if sameAmounts(have[at], want[at]) {
			continue
		}
		if have[at] != nil {
			events = append(events, event(register.KindReleased, at))
			if less := total(have[at]) - total(want[at]); less > 0 {
				freed = append(freed, desk.Part{PartOf: desk.PartOf{Batch: s.Batch.Number, Maker: s.Batch.Maker, Container: at.container, Place: at.place}, Amount: less.Float(), Unit: units[at]})
			}
		}
		for _, mix := range sorted(want[at]) {
			e, a := event(register.KindReserved, at), want[at][mix]
			e.Amount, e.Use.Mix, e.Use.Joints = &a, mix, joints[mix]
			events = append(events, e)
		}
	}
	return events, freed
}

func sameAmounts(a, b map[string]register.Amount) bool {
	if len(a) != len(b) {
		return false
	}
	for k, v := range a {
		if w, ok := b[k]; !ok || v != w {
			return false
		}
	}
	return true
}

func total(all map[string]register.Amount) (sum register.Amount) {
	for _, a := range all {
		sum += a
	}
	return sum
}

func sorted(all map[string]register.Amount) []string {
	keys := make([]string, 0, len(all))
	for k := range all {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// amountOf is a quantity in thousandths, rounded up: enough must be kept.
func amountOf(v float64) register.Amount { return register.Amount(math.Ceil(v*1000 - 1e-6)) }

// Release gives back all that is reserved for a job. The error of one that has nothing
// names those that have.
func (r *Room) Release(ctx context.Context, job, by, why string) (*desk.Reserved, error) {
	out := &desk.Reserved{Job: job, By: by}
	_, err := r.AppendAll(ctx, func(ctx context.Context) ([]register.Key, error) {
		return r.Store.ReservedFor(ctx, job)
	}, func(lines map[register.Key]*register.State) (map[register.Key][]*register.Event, error) {
		out.Freed = nil
		all := map[register.Key][]*register.Event{}
		for key, s := range lines {
			events, freed := r.reserveOn(s, job, by, nil, nil)
			for _, e := range events {
				e.Why = why
			}
			all[key] = events
			out.Freed = append(out.Freed, freed...)
		}
		if out.Freed == nil {
			return nil, errNothingReserved
		}
		return all, nil
	})
	if errors.Is(err, errNothingReserved) {
		return nil, r.noJob(ctx, job)
	}
	if err != nil {
		return nil, r.refusal(err)
	}
	slices.SortFunc(out.Freed, func(a, b desk.Part) int {
		return cmp.Or(cmp.Compare(a.Batch, b.Batch), cmp.Compare(a.Maker, b.Maker), cmp.Compare(a.Container, b.Container), cmp.Compare(a.Place, b.Place))
	})
	return out, nil
}

var errNothingReserved = errors.New("nothing is reserved")

// noJob is the error for a job that nothing is reserved for.
func (r *Room) noJob(ctx context.Context, job string) error {
	all, err := r.Store.Reserved(ctx)
	if err != nil {
		return err
	}
	var jobs []string
	for _, some := range all {
		for _, v := range some {
			if !slices.Contains(jobs, v.Job) {
				jobs = append(jobs, v.Job)
			}
		}
	}
	slices.Sort(jobs)
	say := fmt.Sprintf("%s: nothing is reserved for job %q", r.Store.Name(), job)
	near := nearest.Names(job, jobs, 3)
	switch {
	case len(jobs) == 0:
		return fmt.Errorf("%s, nor for any other", say)
	case near != nil:
		return fmt.Errorf("%s: the nearest with something are %s", say, strings.Join(near, ", "))
	case len(jobs) > 6:
		return fmt.Errorf("%s; it is for %s and %d more", say, strings.Join(jobs[:6], ", "), len(jobs)-6)
	}
	return fmt.Errorf("%s; it is for %s", say, strings.Join(jobs, ", "))
}
