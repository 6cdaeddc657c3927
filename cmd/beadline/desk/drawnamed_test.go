package desk

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/shelf"
	"beadline/cure/plan"
	"beadline/cure/plan/job"
)

const drawList = `batch,class,dom,expiry,quantity,unit
S-1,polysulfide-b-2,2026-09-01,2027-03-09,9,kit
S-2,polysulfide-b-2,2026-09-01,2027-06-30,9,kit
S-3,polysulfide-b-2,2026-09-01,2027-06-30,many,kit
S-4,polysulfide-b-4,2026-09-01,2027-02-28,9,kit
S-5,polysulfide-b-2,2026-09-01,2027-02-28,-9,kit
S-6,polysulfide-b-4,2026-09-01,2027-06-30,9,kit
S-7,polysulfide-b-2,2026-09-01,2027-06-30,9,kit
S-7,polysulfide-b-2,2026-09-01,2027-02-28,9,kit
`

// drawn checks one batch for a door whose pots are mixed on Monday 8 and on
// Wednesday 10 March 2027.
func drawn(t *testing.T, batch string) (Named, *plan.Plan) {
	t.Helper()
	monday := time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)
	p := &plan.Plan{
		Job:    &job.Job{Zone: time.UTC, Start: monday, Joints: []job.Joint{{ID: "door", Batch: batch}}},
		Found:  true,
		Chosen: map[string]string{"door": "polysulfide-b-2"},
		Mixes: []plan.Mix{
			{ID: "mix 2", Class: "polysulfide-b-2", At: monday.AddDate(0, 0, 2), Joints: []string{"door"}, ML: 50},
			{ID: "mix 1", Class: "polysulfide-b-2", At: monday, Joints: []string{"door"}, ML: 50},
		},
	}
	p.Classes = []string{"polysulfide-b-2"}
	s := supplies(t, p, drawList)
	require.Len(t, s.Named, 1)
	return s.Named[0], p
}

func TestABatchIsJudgedOnEveryDayItIsMixed(t *testing.T) {
	b, p := drawn(t, "S-1")
	assert.Equal(t, shelf.Reject, b.Verdict, "good on Monday, expired by Wednesday")
	assert.Equal(t, 10, b.On.Day())
	assert.Contains(t, b.Reason, "On Wed 10 Mar: Expired: the expiry on the label ended 9 March 2027.")
	require.NotNil(t, p.Infeasible)
	require.Len(t, p.Infeasible.Fixes, 1, "neither a batch on two rows nor one that cannot be read is drawn instead")
	assert.Contains(t, p.Infeasible.Fixes[0].What, "draw batch S-2 for mix 2 of the door instead of S-1")

	b, p = drawn(t, "S-2")
	assert.Equal(t, shelf.Use, b.Verdict)
	assert.Equal(t, 10, b.On.Day())
	assert.Nil(t, p.Infeasible)
}

func TestABatchWhoseRowCannotBeReadIsSaidWithItsLine(t *testing.T) {
	b, _ := drawn(t, "S-3")
	assert.Equal(t, shelf.Hold, b.Verdict)
	assert.Regexp(t, `^Its row cannot be read \(.*stock\.csv:4\): quantity "many": not a number`, b.Reason)
	b, _ = drawn(t, "S-5")
	assert.Equal(t, shelf.Reject, b.Verdict)
	assert.Regexp(t, `stock\.csv:6\): quantity "-9".* On Mon 8 Mar: Expired`, b.Reason)
}

func TestABatchOfTheWrongClassThatIsExpiredTooSaysBoth(t *testing.T) {
	b, _ := drawn(t, "S-4")
	assert.Equal(t, shelf.Reject, b.Verdict)
	assert.Regexp(t, `It is polysulfide-b-4, and the plan seals with polysulfide-b-2\. On Mon 8 Mar: Expired`, b.Reason)
	b, _ = drawn(t, "S-6")
	assert.Equal(t, shelf.Hold, b.Verdict)
	assert.Equal(t, "It is polysulfide-b-4, and the plan seals with polysulfide-b-2.", b.Reason)
}

func TestABatchOnSeveralRowsCarriesTheWorst(t *testing.T) {
	b, _ := drawn(t, "S-7")
	assert.Equal(t, shelf.Reject, b.Verdict)
	assert.Contains(t, b.Reason, "lists it on 2 rows")
	b, _ = drawn(t, "S-99")
	assert.Equal(t, shelf.Hold, b.Verdict)
	assert.Regexp(t, `^It is not in .*stock\.csv\.$`, b.Reason)
}

// A job that names a batch for each of two joints, which one pot serves: it is drawn from
// one of them.
func TestAPotOfTwoJointsIsDrawnFromTheBatchThatTheFirstNames(t *testing.T) {
	p := potsOf("polysulfide-b-2", pot{at: "2027-03-08T08:00"})
	p.Job.Joints = []job.Joint{{ID: "door", Batch: "S-2"}, {ID: "panel", Batch: "S-8"}}
	p.Chosen = map[string]string{"door": "polysulfide-b-2", "panel": "polysulfide-b-2"}
	p.Mixes[0].Joints = []string{"door", "panel"}
	s := supplies(t, p, drawList+"S-8,polysulfide-b-2,2026-09-01,2027-06-30,9,kit\n")
	assert.Equal(t, []string{"mix 1 S-2 1"}, draws(s))
	require.Len(t, s.Named, 2)
	assert.Equal(t, shelf.Use, s.Named[0].Verdict)
	assert.Equal(t, shelf.Hold, s.Named[1].Verdict)
	assert.Equal(t, "It is good, but mix 1 serves another joint too and is drawn from S-2, which that one names.", s.Named[1].Reason)
}

// A named batch that is good but too little serves as many mixes as it can; the rest is
// drawn first expired first out, and the plan is not what was asked.
func TestANamedBatchThatIsTooLittleIsFilledUp(t *testing.T) {
	p := potsOf("polysulfide-b-2", pot{at: "2027-03-08T08:00"}, pot{at: "2027-03-08T09:00"}, pot{at: "2027-03-08T10:00"})
	p.Job.Joints[0].Batch = "S-9"
	s := supplies(t, p, drawList+"S-9,polysulfide-b-2,2026-09-01,2027-12-31,2,kit\n")
	assert.Equal(t, []string{"mix 1 S-9 1", "mix 2 S-9 1", "mix 3 S-1 1"}, draws(s), "S-1 is good to the end of Tuesday")
	assert.Equal(t, shelf.Hold, s.Named[0].Verdict)
	require.NotNil(t, p.Infeasible)
	assert.Equal(t, []string{"Batch S-9, named for the door, is good but too little: 2 kits on the shelf, and the mixes need 3, at least one for each mix."}, p.Infeasible.Because)
	require.Len(t, p.Infeasible.Fixes, 1)
	assert.Equal(t, "draw batch S-1 for mix 3 of the door instead of S-9", p.Infeasible.Fixes[0].What)
	assert.False(t, s.Short())
}

// What the job names for one joint is not drawn for another before it.
func TestANamedBatchIsKeptForItsJoint(t *testing.T) {
	p := potsOf("polysulfide-b-2", pot{at: "2027-03-08T08:00"}, pot{at: "2027-03-08T09:00"})
	p.Job.Joints = []job.Joint{{ID: "door"}, {ID: "panel", Batch: "S-9"}}
	p.Chosen["panel"] = "polysulfide-b-2"
	p.Mixes[1].Joints = []string{"panel"}
	const list = "batch,class,expiry,quantity,unit\nS-9,polysulfide-b-2,2027-03-31,1,kit\nS-10,polysulfide-b-2,2027-12-31,1,kit\n"
	assert.Equal(t, []string{"mix 1 S-10 1", "mix 2 S-9 1"}, draws(supplies(t, p, list)))
}
