package plan_test

import (
	"testing"
	"time"

	"beadline/cure/plan"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// whole plans a text with all that a plan has, latest times and slack too.
func whole(t *testing.T, text string, change ...func(*plan.Input)) *plan.Plan {
	t.Helper()
	in := input(t, text)
	for _, c := range change {
		c(&in)
	}
	p, err := plan.Make(in)
	require.NoError(t, err)
	require.True(t, p.Found, "%+v", p.Infeasible)
	require.True(t, p.Proven)
	return p
}

const withOvertime = `shifts: [{days: daily, from: "07:00", to: "19:00"}, {days: daily, from: "05:00", to: "07:00", overtime: true}, {days: daily, from: "19:00", to: "22:00", overtime: true}]`

// Work falls into overtime only where that makes the job ready sooner: cure of B-2 ends
// 72 h after the fillet (specification maximum, from memory), at 07:20 on the third day,
// and the check after it takes no more time than there is.
func TestOvertimeIsWorkedOnlyWhereItHelps(t *testing.T) {
	idle := whole(t, bent(t, theShift, withOvertime))
	for _, k := range idle.Tasks {
		if len(k.Who) > 0 {
			assert.GreaterOrEqual(t, k.Start.Hour(), 7, "%s is done in overtime, and nothing comes of it", k.ID)
			assert.LessOrEqual(t, k.End.Hour(), 19, k.ID)
		}
	}
	assert.Contains(t, idle.ProvenGoals, "overtime")

	// Cured on Thursday at 01:20 if laid on Monday at 01:20: the shift begins at 07:00, so the
	// fairing goes on when it has begun, or in the overtime before it.
	late := []string{theShift, `shifts: [{days: daily, from: "09:00", to: "19:00"}, {days: daily, from: "07:00", to: "09:00", overtime: true}]`}
	none := []string{theShift, `shifts: [{days: daily, from: "09:00", to: "19:00"}]`}
	with, without := whole(t, bent(t, late...)), whole(t, bent(t, none...))
	assert.Equal(t, 2*time.Hour, without.Ready.Sub(with.Ready), "laid two hours sooner, cured two hours sooner")
}

// The latest start, each pot's latest moment and the slack of tasks are counted to the
// wish, where that can be met, and to the ready time where there is none.
func TestSlackIsCountedToTheWish(t *testing.T) {
	p := whole(t, bent(t))
	assert.Equal(t, p.Ready, p.Until)
	assert.Equal(t, p.Job.Start, p.BeginBy, "to be ready as early as can be, work begins at once")
	for _, k := range p.Tasks {
		if k.Kind == "mix" || k.Kind == "lay" {
			assert.Zero(t, k.Slack, k.ID)
		}
	}
	wish := p.Ready.Add(90 * time.Minute)
	q := whole(t, bent(t, "ready: fly\n", "ready: fly\nready-by: "+wish.Format("2006-01-02T15:04")+"\n"))
	assert.Equal(t, wish, q.Until.UTC())
	assert.Equal(t, 90*time.Minute, q.BeginBy.Sub(q.Job.Start), "constant air: an hour and a half later is an hour and a half later")
	assert.Equal(t, 90*time.Minute, q.Mixes[0].By.Sub(q.Mixes[0].At))
	for _, k := range q.Tasks {
		assert.GreaterOrEqual(t, k.Slack, 90*time.Minute, k.ID)
	}
}

// With Late a pot is made at the latest moment that the ready time allows; without it the
// work comes early and the pot just before it.
func TestLateMixesAreAsLateAsTheReadyTimeLets(t *testing.T) {
	text := bent(t, "    layers: [{seal: fillet, spread: 12min}]\n", "    layers: [{seal: fillet, spread: 12min}]\n  - id: plate\n    class: polysulfide-b-2\n    layers: [{seal: fillet, spread: 20min}]\n", "fly: [door cure]", "fly: [door cure, plate tack-free]")
	early := whole(t, text)
	late := whole(t, text, func(in *plan.Input) { in.Late = true })
	assert.Equal(t, early.Ready, late.Ready)
	of := func(p *plan.Plan, joint string) plan.Mix {
		for _, m := range p.Mixes {
			if m.Joints[0] == joint {
				return m
			}
		}
		require.Fail(t, "no mix for "+joint)
		return plan.Mix{}
	}
	assert.Equal(t, early.Mixes[len(early.Mixes)-1].By, of(late, "plate").At, "the plate is put off to the last moment")
	assert.True(t, of(early, "plate").At.Before(of(late, "plate").At))
	for _, m := range early.Mixes {
		for _, k := range early.Tasks {
			if k.Kind == "lay" && k.Mix == m.ID {
				assert.Equal(t, m.At.Add(8*time.Minute), k.Start, "laid as soon as it is mixed")
			}
		}
	}
}
