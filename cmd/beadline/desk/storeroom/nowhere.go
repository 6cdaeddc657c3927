package storeroom

import (
	"context"
	"time"

	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
)

// Unmade is the room of a register that is not there yet: for looking at what could be
// recorded in it.
func Unmade(name string, j *desk.Judge, at register.When, clock func() time.Time) *Room {
	return &Room{Register: &register.Register{Store: nowhere{name: name}, Clock: clock, Zone: j.Zone()}, Judge: j, Now: at.Instant(), At: at}
}

// nowhere is a store with nothing in it, which nothing can be put into.
type nowhere struct {
	register.Store
	name string
}

func (n nowhere) Name() string                                                      { return n.name }
func (nowhere) Close() error                                                        { return nil }
func (nowhere) Totals(context.Context) (register.Totals, error)                     { return register.Totals{}, nil }
func (nowhere) Lines(context.Context, register.Key, func(register.Head) bool) error { return nil }
