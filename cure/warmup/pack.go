package warmup

import (
	"errors"
	"fmt"
	"slices"
)

// Pack is a pack as a person describes it.
type Pack struct {
	Shape Shape
	// VolumeML is its contents in ml; 0: MassG says how much it holds.
	VolumeML float64
	MassG    float64 // contents in g; 0: VolumeML says
	// Density of the contents in g/ml, to turn g into ml; 0: not known, and assumed.
	Density float64
}

// Shape is what kind of pack it is.
type Shape string

// The shapes.
const (
	Can       Shape = "can"       // as high as it is wide, perhaps of bright metal
	Cartridge Shape = "cartridge" // slender, of plastic
	Kit       Shape = "kit"       // base and accelerator together in their box or bag
)

// Shapes lists all shapes.
func Shapes() []Shape { return []Shape{Can, Cartridge, Kit} }

// Medium is what the pack warms up in.
type Medium string

// The media.
const (
	StillAir  Medium = "still air"
	MovingAir Medium = "moving air" // a fan on it, 1 m/s or more on all sides
	Bath      Medium = "water bath" // covered by the water, the pack closed
)

// Figure is one number that a warm-up rests on.
type Figure struct {
	Name         string
	Likely, Safe float64 // Safe makes it warm up later
	Unit         string  // "" for a bare number
	From         string  // provenance
}

// Sizes that are answered for, in ml: from a syringe to a pail.
const (
	SmallestML = 1.0
	LargestML  = 20000.0
)

// Check finds what no pack can be. The error is one line.
func (p Pack) Check() error {
	if !slices.Contains(Shapes(), p.Shape) {
		return fmt.Errorf("%q is no shape of a pack: say can, cartridge or kit", string(p.Shape))
	}
	if (p.VolumeML > 0) == (p.MassG > 0) {
		return errors.New("the contents of a pack are a volume or a mass")
	}
	for _, ml := range []float64{p.volume(false), p.volume(true)} {
		if !(ml >= SmallestML && ml <= LargestML) {
			return fmt.Errorf("a pack of %.3g ml: packs of %g ml to %g l are answered for", ml, SmallestML, LargestML/1000)
		}
	}
	return nil
}

// What is not known of a mix, g/ml.
var density = Figure{"density", 1.4, 1.0, "g/ml",
	"assumed: the class gives none; filled sealants lie between 1.1 and 1.7 (EN ISO 10456:2007 table 3: silicone 1.2, filled 1.45, polysulfide 1.7: memory); the lighter, the larger the pack"}

// volume is the contents in ml.
func (p Pack) volume(safe bool) float64 {
	switch {
	case p.VolumeML > 0:
		return p.VolumeML
	case p.Density > 0:
		return p.MassG / p.Density
	case safe:
		return p.MassG / density.Safe
	}
	return p.MassG / density.Likely
}

// Contents is the contents in ml, as likely.
func (p Pack) Contents() float64 { return p.volume(false) }

// What holds for every pack. The heat capacity is by volume, as that differs less from
// material to material than density and specific heat do, which go against each other.
var (
	capacity = Figure{"heat capacity", 2.0, 2.7, "J/(ml K)",
		"memory (high): EN ISO 10456:2007 table 3, density times specific heat: polysulfide 1700 kg/m³ × 1000 J/(kg K) = 1.7, silicone 1.2 to 1.45, epoxy 1.7, polyurethane 2.2, chloroprene 2.7; likely: assumed, between them; safe: the highest of them"}
	conductivity = Figure{"conductivity", 0.3, 0.2, "W/(m K)",
		"memory (high): EN ISO 10456:2007 table 3: polysulfide 0.40, silicone 0.35, filled 0.50, polyurethane 0.25, epoxy 0.20; likely: assumed, between them; safe: the lowest of them"}
)

var aspects = map[Shape]Figure{
	Can:       {"height over diameter", 1, 1, "", "derived: of all cylinders of a volume it has the least surface, so it warms up last"},
	Cartridge: {"height over diameter", 4, 2.5, "", "assumed: from the proportions of common cartridges; the stouter, the later"},
	Kit:       {"height over diameter", 1, 1, "", "derived: as a can of all it holds, which warms up last"},
}

var sizes = map[Shape]Figure{
	Can:       {"size with its pack", 1.05, 1.1, "times the contents", "derived: 0.25 mm of steel on a can of 100 ml holds 5 % of the heat of the contents; safe: twice that"},
	Cartridge: {"size with its pack", 1.2, 1.4, "times the contents", "derived: 1 to 2 mm of plastic around a bore of 25 mm is 17 to 35 % more volume; nozzle end and plunger on top: assumed"},
	Kit:       {"size with its pack", 1.1, 1.25, "times the contents", "assumed: two containers and their box"},
}

var walls = map[Shape]Figure{
	Can:       {"wall", 0, 0.002, "m² K/W", "derived: 0.25 mm of steel is nothing; safe: a paper label of 0.2 mm at 0.1 W/(m K)"},
	Cartridge: {"wall", 0.004, 0.007, "m² K/W", "derived: 1.5 to 2.5 mm of polyethylene; 0.33 to 0.50 W/(m K): memory: EN ISO 10456:2007 table 3"},
	Kit:       {"wall", 0.05, 0.16, "m² K/W", "assumed: 3 mm of carton at 0.06 W/(m K); safe: and 5 mm of still air in the box, 0.11 m² K/W: memory: EN ISO 6946, unventilated air layers. Out of the box each part warms up sooner"},
}

// films are the coefficients of the media. Still air on a bare metal can is a case of
// its own: bright metal takes up next to no heat by radiation.
var (
	films = map[Medium]Figure{
		StillAir:  {"film, still air", 7.7, 5, "W/(m² K)", "memory (high): EN ISO 6946, inner surface resistance 0.13 m² K/W for level heat flow; 5 to 10 is the handbook range for free convection and radiation of painted or plastic surfaces"},
		MovingAir: {"film, moving air", 18, 8.5, "W/(m² K)", "derived: cylinders of 25 to 200 mm across air at 1 m/s, Nu = 0.26·Re^0.6·Pr^0.37 (Zukauskas: memory), with no radiation on the safe side; stacked packs get less"},
		Bath:      {"film, water bath", 300, 100, "W/(m² K)", "memory (high): free convection in water, 100 to 1000 in handbooks; stir it"},
	}
	bareCan = Figure{"film, still air, perhaps bright metal", 6, 3, "W/(m² K)",
		"derived: free convection on cylinders of 50 to 150 mm at 5 K, 2.5 to 3.5 (Churchill and Chu: memory), and radiation of bright metal, 0.6; likely: with a label half way around"}
)

// Media lists all media.
func Media() []Medium { return []Medium{StillAir, MovingAir, Bath} }

func (p Pack) film(m Medium) Figure {
	if p.Shape == Can && m == StillAir {
		return bareCan
	}
	return films[m]
}

// Figures lists what the warm-up of the pack in a medium rests on.
func (p Pack) Figures(m Medium) []Figure {
	all := []Figure{p.film(m), capacity, conductivity, aspects[p.Shape], sizes[p.Shape], walls[p.Shape]}
	if p.VolumeML == 0 && p.Density == 0 {
		all = append(all, density)
	}
	return all
}

// Likely is the pack as it likely is, in a medium.
func (p Pack) Likely(m Medium) Body { return p.body(m, false) }

// Safe is the pack taken to warm up late in all it is not known by: "not before".
func (p Pack) Safe(m Medium) Body { return p.body(m, true) }

func (p Pack) body(m Medium, safe bool) Body {
	of := func(f Figure) float64 {
		if safe {
			return f.Safe
		}
		return f.Likely
	}
	return Body{
		VolumeML: p.volume(safe) * of(sizes[p.Shape]), Aspect: of(aspects[p.Shape]),
		Capacity: of(capacity), Conductivity: of(conductivity), Film: of(p.film(m)), Wall: of(walls[p.Shape]),
	}
}
