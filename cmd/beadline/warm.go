package main

import (
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"beadline/catalog"
	"beadline/cmd/beadline/desk"
	"beadline/cmd/beadline/show"
	"beadline/cure/air"
	"beadline/cure/quantity"
	"beadline/cure/warmup"

	"github.com/spf13/cobra"
)

// warmFlags are the words of one `warm`, as written.
type warmFlags struct {
	pack, shape        string
	from, room, rh, to string
	bath, margin       string
	fan                bool
}

func (a *app) warmCmd() *cobra.Command {
	var f warmFlags
	cmd := &cobra.Command{
		Use:   "warm CLASS",
		Short: "When a cold pack may be opened, and when it is warm enough",
		Long: `Warm says how long a pack from the freezer or a cold store stays closed, and when
what is in it is warm enough to mix or use:

  dry   no more dew on the outside; wipe it dry
  open  all of it is 3 °C or more above the dew point of the room
  use   (or mix) and warm enough: --to, or the coldest part that the class is
        laid on, or 18 °C
  end   its life out of the freezer ends: thaw life, out time and, of what is
        mixed already, pot life; the first of them counts

It answers for liquids and pastes, and for a rolled film as for a can of its size;
not for seals and parts of rubber.

All but the last go by the core of the pack, which is the last to warm up. WORK TO
is the safe side: the pack at its slowest, in a room --margin colder than said.
LIKELY is for information only.

--pack is what it holds, as a volume or a mass; --shape is how it is packed: can,
cartridge, or kit for base and accelerator together in their box. --fan is a fan
that blows on it from all sides; --bath is a water bath that covers it, the pack
closed, and only where the maker's procedure has one. Warmth above the ceiling of
the class is refused.

--at is when it left the cold; without it the answer is in spans.

` + exitHelp + ` Here 3 is also: it cannot be opened here, or does not come
warm enough, or not for sure before its life ends; what would do is named.`,
		Example: `  beadline warm polysulfide-b-2 --pack 130ml --shape can --from 4C \
      --room 21C --rh 50
  # not as asked (3): it is not surely warm before its life ends
  beadline warm polysulfide-b-2-premixed --pack 50ml --from -40C \
      --room 21C --rh 50 --at 2027-03-08T07:00
  beadline warm film-adhesive-frozen --pack 5kg --from -18C --room 70F \
      --rh 45 --fan --units us`,
		Args:        oneArg("a sealant class"),
		Annotations: map[string]string{"formats": "json csv"},
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := noneBlank(cmd.Flags()); err != nil {
				return err
			}
			return a.warm(args[0], f)
		},
	}
	fl := cmd.Flags()
	fl.StringVar(&f.pack, "pack", "", "what the pack holds, such as 50ml or 130g (default: the kit of the class)")
	fl.StringVar(&f.shape, "shape", "", "how it is packed: can, cartridge or kit (default: as the kind of class is)")
	fl.StringVar(&f.from, "from", "", "temperature it has when it leaves the cold, such as -40C")
	fl.StringVar(&f.room, "room", "", "temperature of the room, such as 21C or 70F")
	fl.StringVar(&f.rh, "rh", "", "relative humidity of the room in %, such as 50")
	fl.StringVar(&f.to, "to", "", "temperature it is wanted at (default: as the class says, or 18C)")
	fl.StringVar(&f.bath, "bath", "", "temperature of a water bath that covers the closed pack")
	fl.BoolVar(&f.fan, "fan", false, "a fan blows on it from all sides")
	fl.StringVar(&f.margin, "margin", "2C", "how much colder than said the room or bath may be")
	return cmd
}

// warm answers one question.
func (a *app) warm(id string, f warmFlags) error {
	cl, err := a.class(id)
	if err != nil {
		return err
	}
	if cl.Kind == catalog.Elastomer {
		return usagef("class %s is an %s, seals and parts of rubber: warm answers for liquids, pastes and rolled films in a pack", cl.ID, cl.Kind)
	}
	q, err := a.warmQuestion(&cl, f)
	if err != nil {
		return err
	}
	w, err := desk.AskWarm(q)
	if err != nil {
		return a.plainly(err)
	}
	err = a.write(forms{
		text: func(o io.Writer) error { return show.Warm(o, w, a.inUnits()) },
		json: func(o io.Writer) error { return show.WarmJSON(o, w) },
		csv:  func(o io.Writer) error { return show.WarmCSV(o, w) },
	})
	if err != nil || len(w.Stops) == 0 {
		return err
	}
	if a.format == "csv" { // its lines have no place for this
		for _, s := range w.Stops {
			a.note(a.inUnits().Text(s))
		}
	}
	return answer(exitHold)
}

// warmQuestion turns the words of the command line into a question.
func (a *app) warmQuestion(cl *catalog.Class, f warmFlags) (q desk.WarmQuestion, err error) {
	q = desk.WarmQuestion{Class: cl, BathC: math.NaN(), ToC: math.NaN(), Fan: f.fan}
	for _, step := range []func(*desk.WarmQuestion) error{
		f.needed, f.readPack, a.warmStart,
		func(q *desk.WarmQuestion) error { return f.readRoom(q) },
		func(q *desk.WarmQuestion) error { return a.warmLimits(q, f) },
	} {
		if err := step(&q); err != nil {
			return q, err
		}
	}
	return q, nil
}

// needed asks for what nothing can stand for.
func (f warmFlags) needed(*desk.WarmQuestion) error {
	for _, w := range []struct{ flag, said, like, why string }{
		{"from", f.from, "-40C", "how cold the pack is"},
		{"room", f.room, "21C", "how warm the room is"},
		{"rh", f.rh, "50", "the humidity of the room, for its dew point"},
	} {
		if w.said == "" {
			return usagef("warm needs --%s, such as --%s %s: %s", w.flag, w.flag, w.like, w.why)
		}
	}
	if f.fan && f.bath != "" {
		return usagef("--fan: a pack in a bath has no air around it: leave out --fan or --bath")
	}
	return nil
}

// readPack reads a volume or a mass, and the shape.
func (f warmFlags) readPack(q *desk.WarmQuestion) error {
	q.Pack.Shape = warmup.Shape(f.shape)
	if f.shape != "" && !slices.Contains(warmup.Shapes(), q.Pack.Shape) {
		return usagef("--shape %s: there is no such shape: say can, cartridge or kit", f.shape)
	}
	if f.pack == "" {
		if q.Class.KitML == 0 {
			return usagef("warm needs --pack, such as --pack 50ml or --pack 130g: class %s does not say how large a pack is", q.Class.ID)
		}
		return nil
	}
	ml, asVolume := quantity.Volume(f.pack)
	g, asMass := quantity.Mass(f.pack)
	switch {
	case asVolume != nil && asMass != nil:
		return usagef("--pack %q: not what a pack holds: write a volume or a mass, like 50ml or 130g", f.pack)
	case asVolume == nil:
		q.Pack.VolumeML = ml
	default:
		q.Pack.MassG = g
	}
	p := q.Pack
	if p.Shape == "" {
		p.Shape = warmup.Can
	}
	p.Density = q.Class.Density
	if ml+g == 0 {
		return usagef("--pack %s: a pack has something in it: write it like 50ml or 130g", f.pack)
	}
	if err := p.Check(); err != nil {
		return usagef("--pack %s: %w", f.pack, err)
	}
	return nil
}

// warmStart reads when the pack left the cold.
func (a *app) warmStart(q *desk.WarmQuestion) (err error) {
	if a.at == "" {
		return nil
	}
	if strings.TrimSpace(a.at) == "now" {
		z, err := a.location()
		if err == nil {
			q.Left = a.clock().In(z).Truncate(time.Second)
		}
		return err
	}
	q.Left, err = a.moment("at", a.at)
	return err
}

// readRoom reads the temperatures and the humidity.
func (f warmFlags) readRoom(q *desk.WarmQuestion) (err error) {
	if q.FromC, err = readTemp("from", f.from); err != nil {
		return err
	}
	if q.Room.TempC, err = readTemp("room", f.room); err != nil {
		return err
	}
	if q.Room.RH, err = readRH(f.rh); err != nil {
		return err
	}
	if q.MarginC, err = quantity.TempStep(f.margin); err != nil {
		return usagef("--margin %w", err)
	}
	if f.bath != "" {
		if q.BathC, err = readTemp("bath", f.bath); err != nil {
			return err
		}
	}
	if f.to != "" {
		if q.ToC, err = readTemp("to", f.to); err != nil {
			return err
		}
	}
	return nil
}

// warmLimits refuses what is too hot for the class or the water, and what is no warm-up.
func (a *app) warmLimits(q *desk.WarmQuestion, f warmFlags) error {
	u := a.inUnits()
	ceiling, why := desk.WarmCeiling(q.Class)
	for _, w := range []struct {
		flag, said string
		c          float64
	}{{"room", f.room, q.Room.TempC}, {"bath", f.bath, q.BathC}, {"to", f.to, q.ToC}} {
		if w.c > ceiling { // NaN, where it is not said, is not
			return usagef("--%s %s: class %s is not warmed above %s, %s: write --%s %s or less", w.flag, w.said, q.Class.ID, u.Temp(ceiling), why, w.flag, flagTemp(ceiling))
		}
	}
	switch {
	case q.BathC <= 0 || q.BathC >= 100:
		return usagef("--bath %s: a bath of water lies between 0 °C and 100 °C", f.bath)
	case f.bath != "" && math.IsInf(ceiling, 1):
		return usagef("--bath %s: class %s does not say how warm it may be: leave the bath out, and warm it in a room", f.bath, q.Class.ID)
	case air.CheckTemperature(q.Room.TempC) != nil || air.CheckTemperature(q.Room.TempC-q.MarginC) != nil:
		return usagef("--room %s: no dew point is calculated outside %s to %s, --margin taken off", f.room, u.Temp(air.MinC), u.Temp(air.MaxC))
	case f.bath == "" && q.FromC > q.Room.TempC:
		return usagef("--from %s: the pack is warmer than the room, %s: there is nothing to warm up", f.from, u.Temp(q.Room.TempC))
	case q.FromC > q.BathC:
		return usagef("--from %s: the pack is warmer than the bath, %s: there is nothing to warm up", f.from, u.Temp(q.BathC))
	}
	return nil
}
