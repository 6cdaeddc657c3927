package catalog

// caution is a word of class files and the sentence printed for it.
type caution struct{ word, sentence string }

// The exposure limits are those of the US OSHA tables (29 CFR 1910.1000 and .1026)
// from memory; the distance to ignition sources is that of US Army TM
// 1-1500-204-23-6. The rest is common practice of safety data sheets.
var cautions = []caution{
	{"acetic-acid", "Gives off acetic acid while it cures: ventilate; it corrodes bare copper, steel and electronics."},
	{"amine", "The hardener holds amines, which burn and sensitise skin: gloves and eye protection."},
	{"chromate", "Holds chromate (chromium VI), which causes cancer and allergy: gloves, no dry sanding, collect all waste; exposure limit 5 µg/m³ (from memory)."},
	{"corrosive", "Corrosive before cure: gloves and eye protection; rinse skin and eyes with water at once."},
	{"epoxy", "Epoxy resin sensitises skin: gloves; wash off before it sets."},
	{"exotherm", "A full pot heats itself and sets early: mix no more than is used, never leave a mixed pot standing full."},
	{"flammable", "Flammable vapour: ventilate, bond and earth, keep 50 ft (15 m) from any ignition source."},
	{"frozen", "Frozen stock: cold gloves; leave the pack closed until moisture no longer condenses on it; never refreeze unless the class allows it."},
	{"irritant", "Irritates skin and eyes: gloves and eye protection."},
	{"isocyanate", "Holds isocyanate, which can cause asthma for life: ventilate or supplied air, gloves; ceiling 0.02 ppm for MDI and TDI (from memory)."},
	{"lead", "The accelerator holds lead dioxide: gloves, wash before eating, collect all waste."},
	{"manganese", "The accelerator holds manganese dioxide: gloves, avoid the dust."},
	{"metal-powder", "Filled with metal: keep off what must stay insulated; dust of sanding is a hazard."},
	{"methacrylate", "Methacrylate sensitises skin: gloves."},
	{"peroxide", "Holds peroxide: keep cool, away from metal powders and accelerators."},
	{"silicone", "Silicone spoils paint and bonding nearby: keep tools, gloves and wipes apart."},
	{"solvent", "Solvent vapour: ventilate, gloves and eye protection; exposure limit 200 ppm for MEK and for toluene (from memory)."},
	{"static", "Flow builds static charge near fuel: bond tools and containers."},
}

// general is printed with every answer, whatever the class.
var general = []string{
	"Planning aid only: approved maintenance data and the maker's data sheet prevail.",
	"A generic class is not your product: its times may differ.",
	"Earliest times are not a release.",
	"Apply heat only by approved means.",
}

// CautionWords lists the words a class file may use under cautions.
func CautionWords() []string {
	var w []string
	for _, c := range cautions {
		w = append(w, c.word)
	}
	return w
}

// Caution gives the sentence printed for a caution word; ok is false for a word that
// is not one of CautionWords.
func Caution(word string) (sentence string, ok bool) {
	for _, c := range cautions {
		if c.word == word {
			return c.sentence, true
		}
	}
	return "", false
}

// GeneralCautions are the sentences that go with every answer about any class.
func GeneralCautions() []string { return append([]string(nil), general...) }

// CautionSentences are the sentences to print with answers about the class, in the
// order of its file; GeneralCautions go with them.
func (c *Class) CautionSentences() []string {
	var all []string
	for _, w := range c.Cautions {
		if s, ok := Caution(w); ok {
			all = append(all, s)
		}
	}
	return all
}
