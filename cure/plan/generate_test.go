package plan_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
)

// jobMaker writes random job files: every seal type, several pots, promoters,
// warming, heat, hidden joints, night shifts, splittable work, forecasts and
// constant air. What it writes always decodes; whether it can be done is for the
// planner to say.
type jobMaker struct {
	*rand.Rand
	b      strings.Builder
	joints []string
	cold   bool
	two    bool // two of the crew can torque
	kinds  []int
}

func makeJob(seed uint64) string {
	m := &jobMaker{Rand: rand.New(rand.NewPCG(seed, 7))}
	m.head()
	m.crew()
	m.jointList()
	m.tail()
	return m.b.String()
}

func (m *jobMaker) put(format string, args ...any) { fmt.Fprintf(&m.b, format+"\n", args...) }

func (m *jobMaker) pick(s ...string) string { return s[m.IntN(len(s))] }

func (m *jobMaker) chance(percent int) bool { return m.IntN(100) < percent }

func (m *jobMaker) head() {
	m.put("job: G-%d", m.IntN(10000))
	m.put("title: generated")
	m.put("zone: %s", m.pick("UTC", "Europe/Paris", "Atlantic/Faroe", "America/Chicago"))
	m.put("start: 2027-%02d-%02dT%02d:%02d", 3+m.IntN(2)*7, 22+m.IntN(7), 5+m.IntN(5), 15*m.IntN(4))
	m.cold = m.chance(50)
	m.put("air:")
	switch {
	case m.cold && m.chance(50):
		m.put("  - swing: {low: %dC, high: %dC, warmest: \"%02d:00\", dew-point: %dC}", 6+m.IntN(5), 12+m.IntN(6), 13+m.IntN(4), 3+m.IntN(3))
	case m.cold:
		m.put("  - constant: {temp: %dC, rh: %d%%}", 10+m.IntN(5), 50+m.IntN(20))
	case m.chance(50):
		m.put("  - swing: {low: %dC, high: %dC, warmest: \"%02d:00\", rh: %d%%}", 19+m.IntN(3), 23+m.IntN(4), 13+m.IntN(4), 45+m.IntN(20))
	default:
		m.put("  - constant: {temp: %dC, rh: %d%%}", 20+m.IntN(8), 45+m.IntN(25))
	}
	if m.chance(40) {
		m.put("air-margin: %gC", float64(m.IntN(6))/2)
	}
	if m.cold || m.chance(30) {
		m.put("part: {at: %dC, warms-in: %dmin}", 2+m.IntN(20), 20+m.IntN(300))
	}
	if m.chance(60) {
		m.put("mixing: {room: %dC, adds: %dC, takes: %dmin, max: %dml, waste: %d%%}", 20+m.IntN(8), m.IntN(4), 5+m.IntN(6), 40+m.IntN(200), 5+m.IntN(20))
	}
}

func (m *jobMaker) crew() {
	m.put("crew:")
	m.put("  - {who: Ann, can: [seal, torque, panel]}")
	bo := m.pick("torque, panel", "seal, torque, panel", "panel, seal", "torque, panel, inspect")
	m.two = strings.Contains(bo, "torque")
	m.put("  - {who: Bo, can: [%s]}", bo)
	m.put("  - {who: Cy, can: [%s]}", m.pick("inspect", "inspect, panel", "inspect, torque, seal, panel"))
	m.put("  - {who: Di, can: [%s]}", m.pick("panel, inspect", "panel, torque", "panel, seal, inspect"))
	m.put("shifts:")
	switch m.IntN(4) {
	case 0:
		m.put("  - {days: Mon-Fri, from: \"07:00\", to: \"15:30\", breaks: [\"11:30-12:00\"]}")
	case 1:
		m.put("  - {days: daily, from: \"08:00\", to: \"20:00\", breaks: [\"12:00-12:30\", \"16:00-16:15\"]}")
	case 2:
		m.put("  - {days: daily, from: \"06:00\", to: \"14:00\", breaks: [\"09:30-10:00\"]}")
		m.put("  - {days: daily, from: \"22:00\", to: \"06:00\", who: [Ann, Cy, Di]}")
	default:
		m.put("  - {days: Mon-Sat, from: \"07:30\", to: \"18:00\"}")
	}
}

func (m *jobMaker) jointList() {
	m.put("joints:")
	for k := range 1 + m.IntN(3) {
		id := []string{"door", "bulkhead panel", "antenna plate"}[k]
		m.joints = append(m.joints, id)
		m.put("  - id: %s", id)
		kind := m.IntN(7)
		m.kinds = append(m.kinds, kind)
		class := [][]string{
			{"polysulfide-c-8-20", "corrosion-inhibiting-faying-12", "low-adhesion-2", "low-adhesion-rapid-2"},
			{"polysulfide-b-2", "polythioether-rapid-2", "polysulfide-b-half"},
			{"polysulfide-b-2", "polythioether-rapid-half", "polysulfide-b-4"},
			{"polysulfide-b-2", "polythioether-rapid-2"},
			{"low-adhesion-rapid-half", "low-adhesion-rapid-2"},
			{"silicone-neutral", "silicone-acetoxy"},
			{"polythioether-rapid-2", "polysulfide-b-2"},
		}[kind]
		if m.chance(20) {
			m.put("    classes: [%s]", strings.Join(class[:2], ", "))
		} else {
			m.put("    class: %s", class[m.IntN(len(class))])
		}
		m.prepare()
		if m.cold || m.chance(20) {
			m.put("    warm: {to: %dC, takes: %dmin}", 20+m.IntN(4), 30+m.IntN(60))
		}
		m.put("    layers:")
		m.layers(kind)
		if kind == 4 {
			m.put("    fasteners: {count: %d, each: 30s, torque: after-tack-free}", 4+m.IntN(20))
		} else if kind < 3 || kind == 6 {
			m.put("    fasteners: {count: %d, each: %ds, torque: wet, passes: %d, people: %d}", 4+m.IntN(16), 20+m.IntN(40), 1+m.IntN(2), m.people())
		}
		if m.chance(15) {
			m.put("    heat: {to: %dC, from: %s, gas-free: recorded}", 30+m.IntN(10), m.pick("after-tack-free", "after-flash-off"))
		}
		if k > 0 && m.chance(20) {
			m.put("    after: %s tack-free", m.joints[0])
		}
	}
}

func (m *jobMaker) people() int {
	if m.two && m.chance(40) {
		return 2
	}
	return 1
}

func (m *jobMaker) prepare() {
	var steps []string
	if m.chance(60) {
		steps = append(steps, fmt.Sprintf("{strip: %dmin%s}", 10+m.IntN(40), m.pick("", ", splittable: true")))
	}
	if m.chance(40) {
		steps = append(steps, "{inspect: 10min, can: inspect}")
	}
	if m.chance(80) {
		steps = append(steps, fmt.Sprintf("{clean: %dmin, seal-within: %dh}", 10+m.IntN(20), 4+m.IntN(4)))
	}
	if m.chance(30) {
		steps = append(steps, fmt.Sprintf("{promoter: {dry: %dmin, within: %dh, takes: 5min}}", 15+m.IntN(20), 5+m.IntN(4)))
	}
	if len(steps) > 0 {
		m.put("    prepare: [%s]", strings.Join(steps, ", "))
	}
}

func (m *jobMaker) layers(kind int) {
	switch kind {
	case 0:
		m.put("      - {seal: faying, bead: {area: %dcm2, thickness: 0.2mm}, spread: %dmin}", 50+m.IntN(400), 5+m.IntN(10))
	case 1:
		if m.chance(20) {
			pot := "pot for " + m.joints[len(m.joints)-1]
			m.put("      - {seal: wet-install, each: 20s, mix: %s}", pot)
			m.put("      - {seal: fillet, spread: %dmin, mix: %s}", 5+m.IntN(10), pot)
			break
		}
		m.put("      - {seal: wet-install, each: %ds, bead: {per-fastener: 0.5ml}}", 20+m.IntN(40))
		if m.chance(40) {
			m.put("      - {seal: fillet, spread: %dmin, bead: {length: %dmm, leg: 4mm}}", 5+m.IntN(20), 200+m.IntN(1000))
		}
	case 2:
		m.put("      - {seal: wet-install, each: %ds}", 20+m.IntN(40))
		m.put("      - {seal: overcoat, each: %ds, after: tack-free, within: %dh}", 15+m.IntN(20), 48+m.IntN(100))
	case 3:
		m.put("      - {seal: fillet, spread: %dmin, bead: {length: %dmm, leg: 5mm}}", 10+m.IntN(90), 300+m.IntN(3000))
	case 5:
		m.put("      - {seal: fillet, spread: %dmin, bead: {length: 600mm, leg: %dmm}}", 3+m.IntN(8), 2+m.IntN(4))
	case 6:
		film := fmt.Sprintf("      - {seal: faying, bead: {area: %dcm2, thickness: 0.2mm}, spread: %dmin}", 50+m.IntN(200), 4+m.IntN(6))
		studs := fmt.Sprintf("      - {seal: wet-install, each: %ds}", 10+m.IntN(20))
		if m.chance(30) {
			film, studs = studs, film
		}
		m.put("%s\n%s", film, studs)
	default:
		m.put("      - {seal: formed-in-place gasket, spread: %dmin, bead: {length: 800mm, leg: 4mm}}", 5+m.IntN(12))
		if m.chance(30) {
			m.put("      - {seal: overcoat, class: polythioether-rapid-2, each: 20s, after: tack-free}")
		}
	}
}

func (m *jobMaker) tail() {
	m.put("access:")
	m.put("  - {off: fairing, takes: %dmin, crew: %d, hides: [%s]}", 10+m.IntN(30), 1+m.IntN(2), m.joints[0])
	if m.chance(60) {
		m.put("  - {off: inner panel, takes: %dmin, crew: 1%s}", 10+m.IntN(40), m.pick("", ", splittable: true", ", hides: ["+m.joints[len(m.joints)-1]+"]"))
	}
	if m.chance(50) {
		m.put("covers: [intake blank, vent plug]")
	}
	after := m.pick("cure", "tack-free", "handling")
	if m.kinds[0] == 5 && after == "handling" { // one-part silicones publish none
		after = "cure"
	}
	m.put("checks: [{id: leak check, after: door %s, takes: %dmin, can: inspect}]", after, 15+m.IntN(40))
	m.put("gates:")
	m.put("  close: [%s tack-free]", m.joints[0])
	if m.chance(30) {
		m.put("  fly: [leak check, close]")
	} else {
		m.put("  fly: [%s cure, leak check]", m.joints[len(m.joints)-1])
	}
	m.put("ready: fly")
}
