package desk

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"beadline/catalog"
	"beadline/catalog/stock"
	"beadline/cure/plan"
	"beadline/cure/plan/job"
	"beadline/cure/plan/verify"
)

// pot is one pot of a plan made by hand. for is how long its work takes, "" for none.
type pot struct {
	at    string
	takes time.Duration
	ml    float64
}

// potsOf is a plan for one joint, the door, whose pots are all of one class, in a
// UTC hangar.
func potsOf(class string, pots ...pot) *plan.Plan {
	start := time.Date(2027, 3, 8, 7, 0, 0, 0, time.UTC)
	p := &plan.Plan{Job: &job.Job{Zone: time.UTC, Start: start, Joints: []job.Joint{{ID: "door", Layers: []job.Layer{{Seal: "fillet"}}}}},
		Found: true, Ready: start.AddDate(0, 0, 7), Classes: []string{class}, Chosen: map[string]string{"door": class}}
	for i, x := range pots {
		at, err := time.Parse("2006-01-02T15:04", x.at)
		if err != nil {
			panic(err)
		}
		id := fmt.Sprintf("mix %d", i+1)
		p.Mixes = append(p.Mixes, plan.Mix{ID: id, Class: class, At: at, Joints: []string{"door"}, ML: x.ml, Grams: x.ml * 1.65})
		p.Tasks = append(p.Tasks, plan.Task{Kind: plan.TaskKind(verify.Lay), Joint: "door", Mix: id, Start: at, End: at.Add(x.takes)})
	}
	return p
}

// supplies draws for a plan from a list.
func supplies(t *testing.T, p *plan.Plan, list string) *Supply {
	t.Helper()
	l, err := NewList(strings.NewReader(list), "stock.csv", stock.Auto)
	require.NoError(t, err)
	defer l.Close()
	s, err := Supplies(p, l, stock.Options{}, catalog.Builtin())
	require.NoError(t, err)
	return s
}

// draws are the lines of a pick list in short: what for, which batch, how much.
func draws(s *Supply) []string {
	out := []string{}
	for _, x := range s.Draws {
		b := x.Item.Batch
		if x.Item.Container != "" {
			b += "/" + x.Item.Container
		}
		out = append(out, fmt.Sprintf("%s%s %s %.4g", x.Mix, x.For, b, x.Take))
	}
	return out
}

const (
	onMonday   = "2027-03-08T08:00"
	onThursday = "2027-03-11T08:00"
)

// Worked by hand from the rules of the design (first expired first out among the good at
// the moment of the mix, opened ones first, one kit for one mix) and from the lives of the
// built-in classes: polysulfide-b-2 has kits of 130 ml, an opened life of 3 months.
func TestWhatIsDrawnByHand(t *testing.T) {
	const b2 = "polysulfide-b-2"
	for _, c := range []struct {
		name string
		pots []pot
		rows string // batch, container, expiry, opened, quantity, unit
		want []string
		says []string // shortages: missing, and a part of a reason
	}{
		{"what ends in the middle of the job serves Monday and not Thursday", []pot{{at: onMonday}, {at: onThursday}},
			"A,,2027-03-10,,5,kit\nB,,2027-06-30,,5,kit", []string{"mix 1 A 1", "mix 2 B 1"}, nil},
		{"the last day is a day of use", []pot{{at: "2027-03-10T08:00"}}, "A,,2027-03-10,,5,kit\nB,,2027-06-30,,5,kit", []string{"mix 1 A 1"}, nil},
		{"work that runs past the last day needs a batch that lasts", []pot{{at: "2027-03-10T23:30", takes: time.Hour}},
			"A,,2027-03-10,,5,kit\nB,,2027-06-30,,5,kit", []string{"mix 1 B 1"}, nil},
		{"an opened one goes before one that ends first", []pot{{at: onMonday}, {at: onMonday}}, "U,,2027-03-31,,5,kit\nO,,2027-12-31,2027-02-01,1,kit",
			[]string{"mix 1 O 1", "mix 2 U 1"}, nil},
		// Opened 9 December, 3 months: to 9 March.
		{"an opened life ends in the middle of the job", []pot{{at: onMonday}, {at: onThursday}}, "O,,2027-12-31,2026-12-09,5,kit\nU,,2027-10-31,,5,kit",
			[]string{"mix 1 O 1", "mix 2 U 1"}, nil},
		{"opened first is no rule that leaves a mix without", []pot{{at: onMonday}, {at: onThursday}}, "O,,2027-12-31,2027-02-01,1,kit\nU,,2027-03-09,,1,kit",
			[]string{"mix 1 U 1", "mix 2 O 1"}, nil},
		{"two mixes and one last kit", []pot{{at: onMonday}, {at: onThursday}}, "A,,2027-06-30,,1,kit", []string{"mix 1 A 1"}, []string{"1 of 2"}},
		{"a good one and one on hold", []pot{{at: onMonday}, {at: onThursday}}, "A,,2027-06-30,,1,kit\nC,,,,4,kit", []string{"mix 1 A 1"},
			[]string{"1 of 2", "C, 4 kits (line 3): HOLD. No date", "The quality office must find its dates"}},
		{"too late for the last mix", []pot{{at: onMonday}, {at: onThursday}}, "A,,2027-03-10,,5,kit", []string{"mix 1 A 1"},
			[]string{"1 of 2", "A, 5 kits (line 2): DO NOT USE on Thu 11 Mar. Expired"}},
		{"all is expired", []pot{{at: onMonday}}, "A,,2027-03-07,,5,kit", []string{}, []string{"1 of 1", "A, 5 kits (line 2): DO NOT USE. Expired"}},
		{"a pot of 200 ml takes two kits of one batch", []pot{{at: onMonday, ml: 200}}, "A,,2027-03-31,,1,kit\nB,,2027-06-30,,5,kit", []string{"mix 1 B 2"}, nil},
		{"of containers of one batch", []pot{{at: onMonday, ml: 200}}, "A,1,2027-06-30,,1,kit\nA,2,2027-06-30,,1,kit", []string{"mix 1 A/1 1", "mix 1 A/2 1"}, nil},
		{"one pot is not made of two batches", []pot{{at: onMonday, ml: 200}}, "A,,2027-03-31,,1,kit\nB,,2027-06-30,,1,kit", []string{"mix 1 A 1"},
			[]string{"1 of 2", "B, 1 kit (line 3): good, but 1 kit is left and mix 1 takes 2 kits, and one pot is not made of two batches."}},
		{"a small pot does not break what a big one needs", []pot{{at: onMonday, ml: 90}, {at: onThursday, ml: 200}}, "A,,2027-03-31,,2,kit\nB,,2027-06-30,,1,kit",
			[]string{"mix 1 B 1", "mix 2 A 2"}, nil},
		{"two rows of one batch without containers", []pot{{at: onMonday}}, "A,,2027-03-31,,1,kit\nA,,2027-03-31,,1,kit\nB,,2027-06-30,,1,kit", []string{"mix 1 B 1"}, nil},
		{"a container twice", []pot{{at: onMonday}}, "A,1,2027-03-31,,1,kit\nA,1,2027-03-31,,1,kit", []string{}, []string{"1 of 1", "stock.csv lists it on 2 rows"}},
		{"no quantity is one", []pot{{at: onMonday}, {at: onMonday}}, "A,,2027-06-30,,,", []string{"mix 1 A 1"}, []string{"1 of 2"}},
		{"none is left", []pot{{at: onMonday}}, "A,,2027-06-30,,0,kit", []string{}, []string{"1 of 1", "A, 0 kits (line 2): none is left."}},
		{"half a kit is none", []pot{{at: onMonday}, {at: onMonday}}, "A,,2027-06-30,,1.5,kit", []string{"mix 1 A 1"}, []string{"1 of 2"}},
		{"a unit that cannot be counted", []pot{{at: onMonday}}, "A,,2027-06-30,,2,pallet", []string{}, []string{"1 of 1", `what "pallet" of it is cannot be told`}},
		{"weighed or measured out it serves mix after mix", []pot{{at: onMonday, ml: 60}, {at: onMonday, ml: 60}, {at: onMonday, ml: 60}}, "A,,2027-06-30,,150,ml\nB,,2027-12-31,,0.1,kg",
			[]string{"mix 1 A 60", "mix 2 A 60", "mix 3 B 99"}, nil}, // 60 ml of 1.65 g/ml
		{"measured out for an amount that nobody stated", []pot{{at: onMonday}}, "A,,2027-06-30,,150,ml", []string{}, []string{"1 of 1", "measured out and the amount of mix 1 is not stated"}},
		{"a row that cannot be read", []pot{{at: onMonday}}, "A,,2027-13-31,,5,kit", []string{}, []string{"1 of 1", `stock.csv:2: batch A: expiry "2027-13-31"`}},
		{"none on the list", []pot{{at: onMonday}}, "", []string{}, []string{"1 of 1", "stock.csv lists none."}},
	} {
		t.Run(c.name, func(t *testing.T) {
			list := "batch,class,container,expiry,opened,quantity,unit\n"
			for row := range strings.SplitSeq(c.rows, "\n") {
				if batch, rest, ok := strings.Cut(row, ","); ok {
					list += batch + "," + b2 + "," + rest + "\n"
				}
			}
			p := potsOf(b2, c.pots...)
			s := supplies(t, p, list)
			assert.Equal(t, c.want, draws(s))
			assert.Equal(t, c.says != nil, s.Short())
			assert.Nil(t, p.Infeasible, "a shortage is no reason why it cannot be planned")
			if c.says == nil {
				return
			}
			require.Len(t, s.Shorts, 1)
			x := s.Shorts[0]
			assert.Equal(t, c.says[0], fmt.Sprintf("%d of %d", x.Missing, x.Needed))
			assert.Equal(t, x.Needed, x.Good+x.Missing)
			for _, part := range c.says[1:] {
				assert.Contains(t, strings.Join(x.Why, "\n"), part)
			}
		})
	}
}

// What is left of a kit of 130 ml when 90 ml are mixed: 40 ml.
func TestWhatIsLeftOfAKitIsScrapped(t *testing.T) {
	s := supplies(t, potsOf("polysulfide-b-2", pot{at: onMonday, ml: 90}, pot{at: onMonday, ml: 200}), "batch,class,expiry,quantity,unit\nA,polysulfide-b-2,2027-06-30,9,kit\n")
	require.Len(t, s.Draws, 2)
	assert.InDelta(t, 40, s.Draws[0].ScrapML, 1e-9)
	assert.InDelta(t, 60, s.Draws[1].ScrapML, 1e-9)
	assert.Equal(t, Packs{Count: 3, SizeML: 130, ScrapML: 100}, s.Packs["polysulfide-b-2"])
}

func TestASizeThatIsNotKnownIsOneKitForEachMix(t *testing.T) {
	p := potsOf("silicone-firewall", pot{at: onMonday, ml: 400}, pot{at: onMonday, ml: 400})
	s := supplies(t, p, "batch,class,expiry,quantity,unit\nA,silicone-firewall,2027-06-30,2,kit\n")
	assert.Equal(t, []string{"mix 1 A 1", "mix 2 A 1"}, draws(s))
	assert.Contains(t, p.Assumptions, "silicone-firewall: how much a kit holds is not known; one is taken for each mix.")
	assert.False(t, s.Draws[0].ScrapKnown)
}

func TestNoQuantityIsSaid(t *testing.T) {
	p := potsOf("polysulfide-b-2", pot{at: onMonday})
	supplies(t, p, "batch,class,expiry\nA,polysulfide-b-2,2027-06-30\n")
	assert.Contains(t, p.Assumptions, "stock.csv:2: A: no quantity is on the list; it is taken as one.")
}

// A premixed cartridge leaves the freezer for its mix: the built-in class is good for 2 h
// from then and is never refrozen.
func TestACartridgeIsThawedForItsMix(t *testing.T) {
	const class = "polysulfide-b-2-premixed"
	const head = "batch,class,expiry,thawed,refrozen,quantity,unit\n"
	frozen := head + "F," + class + ",2027-03-20,,,2,cartridge\n"
	s := supplies(t, potsOf(class, pot{at: onMonday, takes: 2 * time.Hour}, pot{at: "2027-03-09T08:00", takes: time.Hour}), frozen)
	assert.Equal(t, []string{"mix 1 F 1", "mix 2 F 1"}, draws(s))
	assert.Equal(t, "2027-03-20", s.Draws[0].Last.Date.Format("2006-01-02"), "it is drawn by the end of its life in the freezer")

	s = supplies(t, potsOf(class, pot{at: onMonday, takes: 2*time.Hour + time.Minute}), frozen)
	require.Len(t, s.Shorts, 1, "the work takes a minute longer than it lasts")
	assert.Equal(t, "cartridge", s.Shorts[0].Unit)
	assert.Contains(t, s.Shorts[0].Why[0], "not for long enough. It ends 10:00, before the work is done at 10:01")
	assert.Zero(t, s.Shorts[0].Freeable)

	s = supplies(t, potsOf(class, pot{at: onMonday, takes: time.Hour}), head+"F,"+class+",2027-03-20,2027-03-05T08:00,2027-03-05T08:30,2,cartridge\n")
	require.Len(t, s.Shorts, 1, "it would be thawed a second time")
	assert.Contains(t, s.Shorts[0].Why[0], "DO NOT USE. First thawed 5 March")

	// Out since 07:00, good until 09:00.
	out := head + "F," + class + ",2027-03-20,2027-03-08T07:00,,2,cartridge\n"
	s = supplies(t, potsOf(class, pot{at: onMonday, takes: time.Hour}), out)
	assert.Equal(t, []string{"mix 1 F 1"}, draws(s))
	s = supplies(t, potsOf(class, pot{at: onMonday, takes: 61 * time.Minute}), out)
	assert.True(t, s.Short())
}

// Promoter: opened 8 February it is good for a month, to 8 March; the can behind it is
// opened for Monday's second joint or later, and serves all that follows.
func TestPromoterIsInStockForEveryUse(t *testing.T) {
	use := func(times ...string) *plan.Plan {
		p := potsOf("polysulfide-b-2")
		p.Job.Joints[0].Prepare = []job.Prep{{Kind: job.Promoter, Takes: 5 * time.Minute}}
		for _, x := range times {
			at, _ := time.Parse("2006-01-02T15:04", x)
			p.Tasks = append(p.Tasks, plan.Task{Kind: plan.TaskKind(verify.Prepare), Joint: "door", Start: at, End: at.Add(5 * time.Minute)})
		}
		return p
	}
	const head = "batch,class,expiry,opened,quantity,unit\n"
	const open, can = "A,adhesion-promoter,2027-12-31,2027-02-08,1,can\n", "B,adhesion-promoter,2027-06-30,,1,can\n"
	s := supplies(t, use(onMonday, "2027-03-08T12:00", onThursday, "2027-04-07T08:00"), head+can+open)
	assert.Equal(t, []string{"promoter, door, door A 1", "promoter, door, door B 1"}, draws(s))
	assert.False(t, s.Short())

	s = supplies(t, use(onMonday, onThursday), head+open)
	require.Len(t, s.Shorts, 1)
	assert.Equal(t, Short{Class: "adhesion-promoter", Needed: 2, Good: 1, Missing: 1, Unit: "container", Gaps: []Unserved{{"promoter, door", s.Shorts[0].By, 1}},
		By: s.Shorts[0].By, Until: s.Shorts[0].Until}, s.Shorts[0], "the can is promised already: no reason")

	s = supplies(t, use(onMonday), "batch,class\n")
	require.Len(t, s.Shorts, 1)
	assert.Equal(t, []string{"stock.csv lists none."}, s.Shorts[0].Why)
}

// Hardware that is a class, such as a seal, is on the list; a nut is not.
func TestHardwareThatIsAClassIsLookedFor(t *testing.T) {
	p := potsOf("polysulfide-b-2")
	p.Job.Renew = []job.Item{{Item: "elastomer-iso-2230-b", Count: 5}, {Item: "self-locking nut M5", Count: 24}}
	p.Renew = p.Job.Renew
	const head = "batch,class,dom,quantity,unit\n"
	s := supplies(t, p, head+"E-2,elastomer-iso-2230-b,2Q22,4,ea\nE-1,elastomer-iso-2230-b,4Q20,3,ea\n")
	assert.Equal(t, []string{"elastomer-iso-2230-b E-1 3", "elastomer-iso-2230-b E-2 2"}, draws(s))
	assert.Equal(t, []string{"self-locking nut M5"}, s.Missing)
	s = supplies(t, p, head+"E-2,elastomer-iso-2230-b,2Q10,4,ea\nE-1,elastomer-iso-2230-b,4Q20,3,ea\n")
	require.Len(t, s.Shorts, 1)
	assert.Equal(t, 2, s.Shorts[0].Missing)
}

func TestRowsOfAClassThatNobodyKnowsAreSaid(t *testing.T) {
	p := potsOf("polysulfide-b-2", pot{at: onMonday})
	s := supplies(t, p, "batch,class,expiry\nA,polysulfide-b2,2027-06-30\n")
	require.Len(t, s.Shorts, 1)
	assert.Contains(t, s.Shorts[0].Why, `stock.csv:2 is listed as "polysulfide-b2", which is no class: if it is this one, correct the list.`)
	assert.Contains(t, strings.Join(p.Assumptions, "\n"), `stock.csv:2: nothing is drawn of it: class "polysulfide-b2" does not exist`)
}

// A fastener wet-installed in one pot and torqued in the film of the next keeps both pots
// busy until its torque.
func TestAFilmIsAtWorkUntilTheLastTorque(t *testing.T) {
	p := potsOf("polysulfide-b-2", pot{at: onMonday, takes: 10 * time.Minute}, pot{at: "2027-03-08T08:20", takes: 10 * time.Minute})
	p.Job.Joints[0].Layers = []job.Layer{{Seal: "faying"}, {Seal: "wet-install"}}
	p.Job.Joints[0].Fasteners = &job.Fasteners{Torque: job.TorqueWet}
	p.Tasks[1].Layer = 1
	end := p.Tasks[1].End.Add(30 * time.Minute)
	p.Tasks = append(p.Tasks, plan.Task{Kind: plan.TaskKind(verify.Torque), Joint: "door", Layer: 1, Mix: "mix 2", Start: p.Tasks[1].End, End: end})
	assert.Equal(t, end, workEnd(p, p.Mixes[0]))
	assert.Equal(t, end, workEnd(p, p.Mixes[1]))
	p.Job.Joints[0].Layers[0].Seal = "fillet"
	assert.Equal(t, p.Tasks[0].End, workEnd(p, p.Mixes[0]))
}
