package verify

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"beadline/cure"
	"beadline/cure/plan/job"
	"beadline/cure/quantity"

	"github.com/rickb777/date/clock"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestGoodPlanHasNoFault(t *testing.T) {
	require.Empty(t, good().Check())
}

func TestEachMutationMakesItsOneFault(t *testing.T) {
	for _, m := range mutations {
		t.Run(m.what, func(t *testing.T) {
			p := good()
			m.spoil(p)
			var rules []string
			faults := p.Check()
			for _, f := range faults {
				rules = append(rules, f.Rule)
				assert.NotContains(t, f.Text, "%!", "a fault is readable")
			}
			require.Equal(t, []string{m.rule}, slices.Compact(rules), "%v", faults)
		})
	}
}

// Every rule that the code can report is broken by some mutation.
func TestEveryRuleHasItsMutation(t *testing.T) {
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	reports := regexp.MustCompile(`c\.(?:fault|once|follows|waits|before)\("([^"]+)"`)
	var rules []string
	for _, f := range files {
		if strings.HasSuffix(f, "_test.go") {
			continue
		}
		src, err := os.ReadFile(f)
		require.NoError(t, err)
		for _, m := range reports.FindAllStringSubmatch(string(src), -1) {
			rules = append(rules, m[1])
		}
	}
	require.Greater(t, len(rules), 50)
	for _, r := range rules {
		assert.True(t, slices.ContainsFunc(mutations, func(m mutation) bool { return m.rule == r }), "no mutation breaks the rule %q", r)
	}
}

// Whoever hides a joint before it is tack-free has inspected it too early as well,
// or not at all.
func TestHiddenBeforeTackFreeIsAFaultOfItsOwn(t *testing.T) {
	p := good()
	p.Job.Joints[2].HiddenBy = []string{"side panel"}
	p.Job.Access[2].After, p.Job.Access[2].Hides = []job.Ref{}, nil
	p.to("side panel", tue("10:00"))
	p.drop("inspect plate")
	faults := p.Check()
	require.Len(t, faults, 2)
	assert.Equal(t, Fault{"hidden", "putting back side panel starts at Tue 9 Mar 10:00:00 WET and hides plate, which is tack-free at Tue 9 Mar 10:18:00 WET"}, faults[1])
}

// What keeps the rules although it looks different.
func TestLeewayIsNoFault(t *testing.T) {
	for what, change := range map[string]func(*trial){
		"rounded up within the minute": func(t *trial) { t.task("inspect studs").End = tue("07:35:59") },
		"used as it comes, not mixed":  func(t *trial) { t.Classes["gasket"].MixByHand = false; t.drop("mix g1") },
		"no heat although it may be": func(t *trial) {
			t.drop("heat")
			*t.line("door", cure.Cured) = Line{Joint: "door", Milestone: cure.Cured, At: tue("12:12")}
		},
		"shift over midnight": func(t *trial) {
			t.Job.Shifts = append(t.Job.Shifts, job.Shift{Days: t.Job.Shifts[0].Days, From: hm("19:00"), To: hm("07:00")})
			t.to("inspect studs", mon("23:55"))
		},
		"two shifts that hand over": func(t *trial) {
			t.Job.Shifts = []job.Shift{{Days: t.Job.Shifts[0].Days, From: hm("07:00"), To: hm("14:00"), Breaks: [][2]clock.Clock{{hm("12:00"), hm("12:30")}}},
				{Days: t.Job.Shifts[0].Days, From: hm("14:00"), To: hm("19:00")}}
		},
		"too dry, and told by a witness": func(t *trial) {
			t.Classes["gasket"].Moisture.MinRH = 55
			t.line("plate", cure.TackFree).ByWitness = true
			t.line("plate", cure.Cured).ByWitness = true
		},
		"a film without air, told by a witness": func(t *trial) {
			// Only the film's own class sees no air; nothing but a witness tells of it.
			film := *t.Classes["sealant"]
			film.ID, film.Moisture = "film", &cure.Moisture{MinRH: 20, ClosedWitness: true}
			for m := cure.TackFree; m <= cure.Cured; m++ {
				film.Curves[m] = &cure.Curve{Form: cure.Front{Ref: cure.Air{TempC: 25, RH: 50}, Time: 36000, DepthMM: 1}, Temp: quantity.Range{Lo: 0, Hi: 50}}
			}
			t.Classes["film"] = &film
			t.Job.Joints[0].Layers[0].Class = "film"
			for i := range t.Lines[:3] {
				t.Lines[i].ByWitness, t.Gates[i].ByWitness = true, true // all three gates wait for the door
			}
		},
		"a panel that waits for the one before it": func(t *trial) {
			t.Job.Access[2].After = []job.Ref{{Kind: job.RefAccess, ID: "outer fairing", Text: "outer fairing"}}
			t.to("side panel", tue("14:25"))
		},
		"a closed film of a class that is stated for one": func(t *trial) {
			t.Classes["sealant"].Moisture = &cure.Moisture{MinRH: 60}
			t.Job.Joints[1].Layers, t.Job.Joints[1].Fasteners = nil, nil
			t.Job.Joints = slices.Delete(t.Job.Joints, 1, 2)
			t.Tasks, t.names = slices.DeleteFunc(slices.Clone(t.Tasks), func(k Task) bool {
				return k.Joint == "studs" || strings.HasPrefix(k.Mix, "s") || k.Mix == "c1"
			}), nil
			for i := range t.Job.Access {
				t.Job.Access[i].Hides = slices.DeleteFunc(t.Job.Access[i].Hides, func(s string) bool { return s == "studs" })
			}
			t.Job.Joints[1].After = nil
			t.Job.Joints[0].Layers[1].Class = "slow"
			t.Lines = slices.DeleteFunc(t.Lines, func(l Line) bool { return l.Joint == "studs" })
		},
	} {
		t.Run(what, func(t *testing.T) {
			p := good()
			change(p)
			require.Empty(t, p.Check())
		})
	}
}

// A joint with wet fasteners through a faying film: the film has its own pot, and
// its line holds for every fastener, whatever pot that one sits in.
func TestFilmUnderWetFastenersKeepsItsOwnLine(t *testing.T) {
	both := func() *trial {
		p := good()
		p.filmThenWet()
		return p
	}
	require.Empty(t, both().Check())
	for rule, spoil := range map[string]func(*trial){
		"film line": func(p *trial) {
			// The film's class gives 50 min from 08:50; the last fastener is in at 09:46.
			p.slowFilm(0, 50*time.Minute)
		},
		"laid before torqued": func(p *trial) {
			k := p.task("torque door")
			k.Layer, k.Mix = 0, "d1"
			p.to("torque door", mon("09:20"))
			p.task("lay door again").Who = []string{"Inspector"}
			p.task("examine").Who, p.task("inspect door").Who = []string{"Second inspector"}, []string{"Second inspector"}
		},
	} {
		p := both()
		spoil(p)
		faults := p.Check()
		require.Len(t, faults, 1, "%v", faults)
		assert.Equal(t, rule, faults[0].Rule)
	}
}

// And the other way round: the fasteners are wet when the film is laid over them.
func TestWetFastenersUnderFilmKeepTheirOwnLine(t *testing.T) {
	p := good()
	p.wetThenFilm()
	require.Empty(t, p.Check())
	p.slowFilm(0, 56*time.Minute) // from 08:50: just the last torque
	require.Empty(t, p.Check())
}

// An overcoat over a gasket's fasteners, laid once they are torqued late.
func TestOvercoatMayFollowTheLateTorque(t *testing.T) {
	p := good()
	p.coated()
	require.Empty(t, p.Check())
}
