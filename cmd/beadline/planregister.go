package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/rickb777/date"

	"beadline/catalog"
	"beadline/catalog/stock"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/desk/storeroom"
	"beadline/cure/plan"
)

// fromRegister says what a plan draws from the register, and reserves it unless that is
// not wanted. r is nil where there is none: then the plan draws from nothing.
func (a *app) fromRegister(ctx context.Context, p *plan.Plan, r *storeroom.Room, f *planFlags, c *catalog.Catalog) (*plan.Plan, *desk.Supply, error) {
	if r == nil {
		supply, err := desk.Supplies(p, nil, stock.Options{}, c)
		return p, supply, err
	}
	if f.reserve {
		f.by = a.reserver(f.by)
	}
	for try := 0; ; try++ {
		drawn := again(p)
		supply, err := suppliesOf(ctx, drawn, r, c)
		if err != nil || !f.reserve {
			return drawn, supply, err
		}
		supply.Reserved, err = a.reserve(ctx, drawn, supply, r, f)
		if err != nil || supply.Reserved.Not == "" || !supply.Reserved.Taken || try > 0 {
			return drawn, supply, err
		}
	}
}

// again is a plan to add to what is drawn for it, and leaves that as it is.
func again(p *plan.Plan) *plan.Plan {
	own := *p
	own.Assumptions = slices.Clone(p.Assumptions)
	if p.Infeasible != nil {
		x := *p.Infeasible
		x.Because, x.Fixes = slices.Clone(x.Because), slices.Clone(x.Fixes)
		own.Infeasible = &x
	}
	return &own
}

func suppliesOf(ctx context.Context, p *plan.Plan, r *storeroom.Room, c *catalog.Catalog) (*desk.Supply, error) {
	l, err := r.Stock(ctx, p.Job.ID)
	if err != nil {
		return nil, err
	}
	defer l.Close()
	return desk.Supplies(p, l, stock.Options{}, c)
}

// reserve reserves what is drawn for the job. Not says why nothing is.
func (a *app) reserve(ctx context.Context, p *plan.Plan, supply *desk.Supply, r *storeroom.Room, f *planFlags) (*desk.Reserved, error) {
	by := f.by
	not := &desk.Reserved{Job: p.Job.ID, By: by}
	switch {
	case !p.Found:
		not.Not = "there is no plan."
		return not, nil
	case p.Infeasible != nil:
		not.Not = "the plan is not feasible as asked."
		return not, nil
	case p.Job.ID == "":
		not.Not = "the job has no name: give it one, job: NF12-0417."
		return not, nil
	}
	joints := map[string][]string{}
	for _, m := range p.Mixes {
		joints[m.ID] = m.Joints
	}
	done, err := r.Reserve(ctx, p.Job.ID, by, supply.ToReserve(), joints)
	var refused *register.Refused
	if errors.As(err, &refused) {
		not.Not, not.Taken = refused.Text+": plan again.", true
		return not, nil
	}
	return done, err
}

// reserver is who reserves or releases; where nobody said it, in whose name is noted.
func (a *app) reserver(by string) string {
	if by = strings.TrimSpace(by); by != "" {
		return by
	}
	by, from := a.person()
	if from != "" {
		a.note(fmt.Sprintf("by %s, %s: say who it is with --by, or BEADLINE_BY", by, from))
	}
	return by
}

// planRoom opens the register that a plan draws from; nil if there is none. It is opened
// before the plan is made, so that what is wrong with it is said at once.
func (a *app) planRoom(ctx context.Context, f *planFlags, c *catalog.Catalog) (*storeroom.Room, error) {
	now := a.clock()
	now = now.In(zoneByName(now.Location()))
	j := desk.NewJudge(c, date.NewAt(now))
	r, err := a.roomFor(ctx, storeroom.Options{Read: !f.reserve}, j, register.AtInstant(now))
	if _, named := a.registerName(); !named && errors.Is(err, register.ErrMissing) {
		return nil, nil
	}
	return r, err
}
