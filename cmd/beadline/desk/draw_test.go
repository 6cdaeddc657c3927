package desk

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog"
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
func drawn(t *testing.T, batch string) (plan.Batch, *plan.Plan) {
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
	name := filepath.Join(t.TempDir(), "stock.csv")
	require.NoError(t, os.WriteFile(name, []byte(drawList), 0o600))
	require.NoError(t, Batches(p, name, catalog.Builtin()))
	require.Len(t, p.Batches, 1)
	return p.Batches[0], p
}

func TestABatchIsJudgedOnEveryDayItIsMixed(t *testing.T) {
	b, p := drawn(t, "S-1")
	assert.Equal(t, "reject", b.Verdict, "good on Monday, expired by Wednesday")
	assert.Equal(t, 10, b.On.Day())
	assert.Contains(t, b.Reason, "On Wed 10 Mar: Expired: the expiry on the label ended 9 March 2027.")
	require.NotNil(t, p.Infeasible)
	require.Len(t, p.Infeasible.Fixes, 1, "neither a batch on two rows nor one that cannot be read is drawn instead")
	assert.Contains(t, p.Infeasible.Fixes[0].What, "draw batch S-2 for the door instead of S-1")

	b, p = drawn(t, "S-2")
	assert.Equal(t, "use", b.Verdict)
	assert.Equal(t, 10, b.On.Day())
	assert.Nil(t, p.Infeasible)
}

func TestABatchWhoseRowCannotBeReadIsSaidWithItsLine(t *testing.T) {
	b, _ := drawn(t, "S-3")
	assert.Equal(t, "hold", b.Verdict)
	assert.Regexp(t, `^Its row cannot be read \(.*stock\.csv:4\): quantity "many": not a number`, b.Reason)
	b, _ = drawn(t, "S-5")
	assert.Equal(t, "reject", b.Verdict)
	assert.Regexp(t, `stock\.csv:6\): quantity "-9".* On Mon 8 Mar: Expired`, b.Reason)
}

func TestABatchOfTheWrongClassThatIsExpiredTooSaysBoth(t *testing.T) {
	b, _ := drawn(t, "S-4")
	assert.Equal(t, "reject", b.Verdict)
	assert.Regexp(t, `It is polysulfide-b-4, and the plan seals with polysulfide-b-2\. On Mon 8 Mar: Expired`, b.Reason)
	b, _ = drawn(t, "S-6")
	assert.Equal(t, "hold", b.Verdict)
	assert.Equal(t, "It is polysulfide-b-4, and the plan seals with polysulfide-b-2.", b.Reason)
}

func TestABatchOnSeveralRowsCarriesTheWorst(t *testing.T) {
	b, _ := drawn(t, "S-7")
	assert.Equal(t, "reject", b.Verdict)
	assert.Contains(t, b.Reason, "lists it on 2 rows")
	b, _ = drawn(t, "S-99")
	assert.Equal(t, "hold", b.Verdict)
	assert.Regexp(t, `^It is not in .*stock\.csv\.$`, b.Reason)
}
