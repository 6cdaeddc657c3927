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
	"beadline/cure"
	"beadline/cure/nearest"
	"beadline/cure/quantity"

	"github.com/spf13/cobra"
)

// timesFlags are the words of one `times`, as written.
type timesFlags struct {
	temp, rh, pot, part string
	potMass             string
	bead, faces, seal   string
	from, laid, plot    string
	extrapolate         bool
	airFlags
	chartFlags
}

func (a *app) timesCmd() *cobra.Command {
	var f timesFlags
	cmd := &cobra.Command{
		Use:   "times CLASS",
		Short: "How long the pot lasts and when it has cured",
		Long: `Times says, for a sealant class in constant air or in the air of a log, when
each milestone is reached:

  application  may no longer be applied (pot life)
  assembly     parts together, last fastener done (squeeze-out life)
  tack-free    no longer picks up; covers may go near
  handling     the part may be moved
  cure         may be put to service
  full-cure    final properties

Application and assembly are lines not to work past; every doubt makes them
earlier. They count from the first touch of base and accelerator; of a class
that comes premixed and frozen, from leaving the freezer. The others are lines
to wait for; every doubt makes them later. They count from the last sealant
laid or fastener torqued. The answer says what counts for the class. WORK TO is
the line; LIKELY is the plain curve, for information only.

Constant air needs --temp, and --rh unless the class does not look at humidity.
--temp is the air, the pot and the part alike unless --pot or --part say
otherwise. A class that cures from the face inward needs --bead. A
large pot of epoxy heats itself: --pot-mass says how much is mixed at once.

Air that changes needs --from, and is made of these in order of time:

  --air LOG.csv        as measured, with the columns time, temp_c (or temp_f)
                       and rh_pct; times without an offset are in --zone;
                       repeat it for more logs
  --forecast F.csv     as forecast, with the same columns
  --swing 9C..16C      night and day from there on, warmest at --warmest, with
                       --dew 6C (humidity follows temperature) or --rh 70
  --then 18C           or constant air from there on, with --rh

What is not measured is taken --margin colder or warmer, whichever is worse;
where nothing follows a log its last reading is held so. Lines that rest on such
air are marked +.

--warms-in 3h is a structure that follows the air late: 63 % of a difference is
gone in that time. --part is what it has at --from; without it it followed the
air until then. --warm-to 20C is a structure kept warm from --from until the
last sealant or fastener is in. --heat 40C --heat-from TIME is warm air or a
lamp at the joint for cure, within the class's own rule for heat.

In such air the answer says too when you may seal in the next 48 h: the part
within the class's temperatures and 3 °C or more above the dew point, the air
within the class's humidities, with every doubt on the safe side.

--from is when mixing starts: 2027-03-08T07:00 in --zone, or with its offset, or
now. --laid is when the last sealant was laid or the last fastener torqued.

Outside the range of a curve there is no answer, and the range is named;
--extrapolate shows the number all the same, marked.

Where the part is too cold or too hot for the class, or within 3 °C of the dew
point, or --from lies in no sealing window, the answer begins with that, and the
exit code is 3: do not mix yet.

--temp 10C..35C --rh 30,50,80 makes a chart for the wall: a row every 5 °C or
every --step; --out wall.pdf writes it as one page, and .csv, .json and .txt
are the other forms; --force replaces a file. --sensitivity shows what small
changes of the air do, and --plot draws the answer.

` + exitHelp + ` Here 1 is also: every milestone lies outside its curve's
range; and 3: do not mix yet.`,
		Example: `  beadline times polysulfide-b-2 --temp 18C --rh 45
  beadline times polysulfide-b-2 --temp 65F --rh 45 --pot 73F --units us
  beadline times silicone-neutral --temp 18C --rh 45 --bead 3mm --faces 2
  beadline times low-adhesion-2 --air hangar.csv --zone Atlantic/Faroe \
      --from 2027-03-08T07:00 --seal faying
  beadline times low-adhesion-2 --air hangar.csv --swing 9C..16C --dew 6C \
      --zone Atlantic/Faroe --from 2027-03-08T10:00 \
      --part -4C --warms-in 3h --warm-to 20C`,
		Args:        oneArg("a sealant class"),
		Annotations: map[string]string{"formats": "json csv"},
		RunE:        func(_ *cobra.Command, args []string) error { return a.times(args[0], f) },
	}
	fl := cmd.Flags()
	fl.StringVar(&f.temp, "temp", "", "temperature of the air, pot and part, such as 18C or 65F; 10C..35C for a chart")
	fl.StringVar(&f.rh, "rh", "", "relative humidity of the air in %, such as 45")
	fl.StringVar(&f.pot, "pot", "", "temperature of the pot, if it is not that of the air")
	fl.StringVar(&f.potMass, "pot-mass", "", "how much is mixed in the pot, such as 150g or 5oz")
	fl.StringVar(&f.part, "part", "", "temperature of the part, if it is not that of the air")
	fl.StringVar(&f.bead, "bead", "", "thickness or depth of the bead, such as 3mm or 120mil")
	fl.StringVar(&f.faces, "faces", "", "faces of the bead open to the air: 1 or 2")
	fl.StringVar(&f.seal, "seal", "", "how it is used, such as fillet; faying is a closed film")
	fl.StringVar(&f.from, "from", "", "when mixing starts, such as 2027-03-08T07:00, or now")
	fl.StringVar(&f.laid, "laid", "", "last sealant laid or fastener torqued (default: --from)")
	fl.BoolVar(&f.extrapolate, "extrapolate", false, "answer outside a curve's range too, marked")
	fl.StringVar(&f.plot, "plot", "", "draw the answer into a file: an .svg, .png or .pdf")
	f.airFlags.add(fl)
	f.chartFlags.add(fl)
	return cmd
}

// times answers one question.
func (a *app) times(id string, f timesFlags) error {
	cl, err := a.class(id)
	if err != nil {
		return err
	}
	if d := cl.Degree; d != nil && !slices.ContainsFunc(cl.Curves[:], func(c *cure.Curve) bool { return c != nil }) {
		f.oven = f.oven || d.Temp.Lo > hotHangarC // it is for an oven alone
	}
	if f.charted() {
		return a.chart(&cl, f)
	}
	if err := f.oneAnswer(); err != nil {
		return err
	}
	q, err := a.timesQuestion(&cl, f)
	if err != nil {
		return err
	}
	if f.sensitivity {
		return a.sensitivity(q)
	}
	t, err := desk.AskTimes(q)
	if err != nil {
		return a.plainly(err)
	}
	if err := a.plotTimes(f.plot, t); err != nil {
		return err
	}
	return a.showTimes(t)
}

// showTimes writes the answer. It is a hold where something is against the mixing.
func (a *app) showTimes(t *desk.Times) error {
	err := a.write(forms{
		text: func(w io.Writer) error { return show.Times(w, t, a.inUnits()) },
		json: func(w io.Writer) error { return show.TimesJSON(w, t) },
		csv:  func(w io.Writer) error { return show.TimesCSV(w, t) },
	})
	if err == nil && a.format == "csv" && len(t.Moments) == 0 {
		a.note("this class has no line to work to; its degree of cure is in the text and in JSON")
	}
	if err != nil || len(t.Stops) == 0 {
		return err
	}
	if a.format == "csv" { // its lines have no place for this
		for _, s := range t.Stops {
			a.note(a.inUnits().Text(s))
		}
	}
	return answer(exitHold)
}

// timesQuestion turns the words of the command line into a question.
func (a *app) timesQuestion(cl *catalog.Class, f timesFlags) (desk.TimesQuestion, error) {
	q := desk.TimesQuestion{Class: cl, PotC: math.NaN(), PartC: math.NaN(), Extrapolate: f.extrapolate}
	for _, step := range []func(*desk.TimesQuestion) error{
		f.conflicts, f.readBead,
		func(q *desk.TimesQuestion) error { return a.readStart(q, f) },
		func(q *desk.TimesQuestion) error { return a.readAir(q, f) },
		func(q *desk.TimesQuestion) error { return a.readHistory(q, f) },
	} {
		if err := step(&q); err != nil {
			return q, err
		}
	}
	return q, nil
}

func (f timesFlags) readBead(q *desk.TimesQuestion) (err error) {
	if f.bead != "" {
		if q.Bead.DepthMM, err = quantity.Length(f.bead); err != nil {
			return usagef("--bead %w", err)
		}
		if q.Bead.DepthMM == 0 {
			return usagef("--bead %s: a bead has a depth: write it like 3mm", f.bead)
		}
	}
	if f.bead == "" {
		if why := desk.NeedsBead(q.Class); why != "" {
			return usagef("times needs the depth of the bead: --bead 3mm: %s", why)
		}
	}
	switch f.faces {
	case "":
	case "1":
		q.Bead.Faces = 1
	case "2":
		q.Bead.Faces = 2
	default:
		return usagef("--faces %s: a bead is open on 1 face or on 2", f.faces)
	}
	if f.seal == "" {
		return nil
	}
	if q.Seal, err = readSeal(q.Class, f.seal); err != nil {
		return err
	}
	if q.Bead.Closed = q.Seal == cure.Faying; q.Bead.Closed && f.faces != "" {
		return usagef("--faces %s: a faying film is closed between two parts and has no open face: leave it out", f.faces)
	}
	return nil
}

// readSeal reads a seal type that the class is for.
func readSeal(cl *catalog.Class, word string) (cure.Seal, error) {
	var all, own []string
	for _, s := range cure.SealTypes {
		all = append(all, string(s))
		if cl.Takes(s) {
			own = append(own, string(s))
		}
	}
	s := cure.Seal(word)
	switch near := nearest.Names(word, all, 1); {
	case cl.Takes(s):
		return s, nil
	case len(own) == 0:
		return "", usagef("--seal %s: class %s is not a sealant: leave it out", word, cl.ID)
	case len(near) > 0 && near[0] != word:
		return "", usagef("--seal %s: there is no such seal type: did you mean %q?", word, near[0])
	case len(near) == 0:
		return "", usagef("--seal %s: there is no such seal type: say one of %s", word, strings.Join(all, ", "))
	}
	return "", usagef("--seal %s: class %s is not for it: it is for %s", word, cl.ID, strings.Join(own, ", "))
}

// readStart reads when mixing starts and when the last sealant is laid.
func (a *app) readStart(q *desk.TimesQuestion, f timesFlags) (err error) {
	if f.from != "now" && a.at != "" {
		return usagef("--at %s: times counts from --from: write --from %s, or --from now beside --at", a.at, a.at)
	}
	if f.from == "" {
		if f.laid != "" {
			return usagef("--laid %s: say too when mixing started: --from 2027-03-08T07:00", f.laid)
		}
		return nil
	}
	if f.from == "now" {
		q.From, err = a.now()
		q.From = q.From.Truncate(time.Second)
	} else {
		q.From, err = a.moment("from", f.from)
	}
	if err != nil || f.laid == "" {
		return err
	}
	if q.Laid, err = a.moment("laid", f.laid); err != nil {
		return err
	}
	if q.Laid.Before(q.From) {
		return usagef("--laid %s lies before --from %s: sealant is laid after it is mixed", f.laid, f.from)
	}
	return nil
}

// moment reads the instant behind a flag; a day alone is not enough.
func (a *app) moment(flag, text string) (time.Time, error) {
	z, err := a.location()
	if err != nil {
		return time.Time{}, err
	}
	if desk.IsDay(text) {
		return time.Time{}, usagef("--%s %s: say the time of day too: %sT07:00", flag, text, strings.TrimSpace(text))
	}
	t, err := desk.Instant(text, z)
	if err != nil {
		return time.Time{}, usagef("--%s %w", flag, err)
	}
	return t, nil
}

// readAir reads constant air, the pot in it and a part of its own temperature.
func (a *app) readAir(q *desk.TimesQuestion, f timesFlags) (err error) {
	if f.pot != "" {
		if q.PotC, err = f.readAirTemp("pot", f.pot); err != nil {
			return err
		}
	}
	if f.potMass != "" {
		if q.PotG, err = quantity.Mass(f.potMass); err != nil {
			return usagef("--pot-mass %w", err)
		}
		if q.PotG == 0 {
			return usagef("--pot-mass %s: a pot has something in it: write it like 150g", f.potMass)
		}
	}
	if f.changes() {
		return nil
	}
	if q.Air.TempC, err = f.readAirTemp("temp", f.temp); err != nil {
		return err
	}
	if f.part != "" {
		if q.PartC, err = readTemp("part", f.part); err != nil {
			return err
		}
	}
	if f.rh == "" {
		if why := desk.NeedsHumidity(q.Class); why != "" {
			return usagef("times needs the humidity: --rh 45: %s", why)
		}
		return nil
	}
	q.RHSaid = true
	q.Air.RH, err = readRH(f.rh)
	return err
}

func readRH(text string) (float64, error) {
	v, err := quantity.Humidity(text)
	if err != nil {
		return 0, usagef("--rh %w", err)
	}
	if v > 0 && v < 1 && !strings.Contains(text, "%") {
		return 0, usagef("--rh %s: is that %.4g %%? Write --rh %.4g; if it is under one per cent, write --rh %s%%", text, 100*v, 100*v, text)
	}
	return v, nil
}

// The temperatures, in °C, that air, pot and part can have here: from colder than
// any place on earth to hotter than any oven that cures.
const coldestC, hottestC = -100, 400

func readTemp(flag, text string) (float64, error) {
	c, err := quantity.Temp(text)
	if err != nil {
		return 0, usagef("--%s %w", flag, err)
	}
	if c < coldestC || c > hottestC {
		return 0, noSuchTemp(flag, text)
	}
	return c, nil
}

func noSuchTemp(flag, text string) error {
	return usagef("--%s %s: no hangar, pot or part has that temperature: check the number and its unit", flag, text)
}
