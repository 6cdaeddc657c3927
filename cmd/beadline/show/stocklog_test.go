package show

import (
	"bytes"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog/stock/register"
)

// A register of which only the file is damaged is told from one whose events are broken,
// and every finding has something to do.
func TestVerifyNamesDamageOfTheFileAndWhatToDo(t *testing.T) {
	for name, c := range map[string]struct {
		f    register.Findings
		says []string
		not  string
	}{
		"the file alone": {register.Findings{Damage: []string{"page 12 is not as it was"}},
			[]string{"NOT WHOLE  The events that could be read", "DAMAGED IN THE FILE\n  - page 12", "Make a backup of it"}, "--rebuild"},
		"and lists stale": {register.Findings{Damage: []string{"page 12"}, Stale: []register.Key{"S-1\t"}},
			[]string{"NOT IN THE LISTS", "Make a backup of it"}, "--rebuild"},
		"lists alone": {register.Findings{Stale: []register.Key{"S-1\t"}}, []string{"--rebuild"}, "DAMAGED"},
		"events lost": {register.Findings{Gone: []string{"S-1 is gone"}, Damage: []string{"page 12"}},
			[]string{"NOT WHOLE  S-1 is gone.", "Draw nothing by this register"}, "Make a backup of it"},
	} {
		t.Run(name, func(t *testing.T) {
			var out bytes.Buffer
			require.NoError(t, Verified(&out, "r.db", &c.f, register.Hash{}, time.UTC))
			for _, say := range c.says {
				assert.Contains(t, out.String(), say)
			}
			assert.NotContains(t, out.String(), c.not)
			assert.NotContains(t, out.String(), "WHAT TO DO\n\n")
		})
	}
}
