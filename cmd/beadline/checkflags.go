package main

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"beadline/catalog/label"
	"beadline/catalog/shelf"
	"beadline/cmd/beadline/desk"
	"beadline/cure/nearest"
	"beadline/cure/quantity"

	"github.com/rickb777/date"
	"github.com/spf13/pflag"
)

// batchFlags say what is printed on a batch and what was done with it, as written.
type batchFlags struct {
	batch, container, class     string
	standard, polymer, code     string
	dom, expiry, inspect, best  string
	marks                       []string
	parts                       []string
	received, opened, installed string
	noPapers                    bool
	thawed, refrozen            []string
	outUsed, hot                string
	logs                        []string
	conditions, tests, freed    []string
	held                        string
	set                         func(flag string) bool // whether a flag was given
	names                       []string               // of all flags here, in the order of the help
}

func (f *batchFlags) add(fl *pflag.FlagSet) {
	before := map[string]bool{}
	fl.VisitAll(func(x *pflag.Flag) { before[x.Name] = true })
	fl.StringVar(&f.class, "class", "", "sealant class, such as polysulfide-b-2")
	fl.StringVar(&f.batch, "batch", "", "batch number, to name it in the answer")
	fl.StringVar(&f.container, "container", "", "container of the batch, to name it in the answer")
	fl.StringVar(&f.dom, "dom", "", "date of manufacture, assembly or cure")
	fl.StringVar(&f.expiry, "expiry", "", "expiry printed on the label")
	fl.StringVar(&f.inspect, "inspect", "", "inspect/test date printed on the label")
	fl.StringVar(&f.best, "best-before", "", "best-before date printed on the label")
	fl.StringVar(&f.code, "code", "", "US DoD shelf-life code on the label, such as 4 or J")
	fl.StringArrayVar(&f.marks, "mark", nil, `a mark as printed, such as "INSP/TEST 10/16"; repeat it`)
	fl.StringVar(&f.standard, "standard", "", "seals: the standard for their storage, iso-2230 or sae-arp5316")
	fl.StringVar(&f.polymer, "polymer", "", "seals: the polymer, such as NBR or FKM")
	fl.StringArrayVar(&f.parts, "part", nil, `part of a kit: "name=accelerator; lot=A-7; named=A-7"; repeat it`)
	fl.StringVar(&f.received, "received", "", "date it came in")
	fl.BoolVar(&f.noPapers, "no-papers", false, "it came without its certificate")
	fl.StringVar(&f.opened, "opened", "", "when it was opened")
	fl.StringVar(&f.installed, "installed", "", "when it was fitted to the aircraft")
	fl.StringArrayVar(&f.thawed, "thawed", nil, "when it left the freezer; repeat it for each time")
	fl.StringArrayVar(&f.refrozen, "refrozen", nil, "when it went back; repeat it for each time")
	fl.StringVar(&f.outUsed, "out-used", "", "time out of the freezer already used, such as 36h")
	fl.StringVar(&f.hot, "hot", "", "when it was first too warm in store")
	fl.StringArrayVar(&f.logs, "store-log", nil, "logger of its store, a CSV file time,temp_c,rh_pct; repeat it")
	fl.StringArrayVar(&f.conditions, "condition", nil, "what is wrong: damaged, cloudy, skinned, separated or label-gone; repeat it")
	fl.StringArrayVar(&f.tests, "test", nil, `test of its condition: "on=2027-02-01; result=pass; by=lab; authority=quality office; reference=LR 77; results=Shore A 48"; repeat it`)
	fl.StringVar(&f.held, "held", "", "why a person set it aside, if one did")
	fl.StringArrayVar(&f.freed, "freed", nil, `hold that was lifted: "limit=held; on=2027-03-01; by=a name; authority=quality office; reference=QN 12"; repeat it`)
	f.set = func(name string) bool { x := fl.Lookup(name); return x != nil && x.Changed }
	fl.VisitAll(func(x *pflag.Flag) {
		if !before[x.Name] {
			f.names = append(f.names, x.Name)
		}
	})
}

// noneBlank refuses a flag that is given with nothing behind it, as a script does whose
// variable is empty: what was to be said must not be passed over.
func noneBlank(fl *pflag.FlagSet) (err error) {
	fl.Visit(func(x *pflag.Flag) {
		if err == nil && x.Value.Type() == "string" && strings.TrimSpace(x.Value.String()) == "" {
			err = usagef("--%s is empty: say what it is, or leave it out", x.Name)
		}
	})
	return err
}

// given are the flags that describe a batch and were given.
func (f *batchFlags) given() []string {
	return slices.DeleteFunc(slices.Clone(f.names), func(n string) bool { return !f.set(n) })
}

// reading turns the flags into what is known of a batch.
type reading struct {
	how  label.How
	zone *time.Location
	it   *shelf.Item
}

// item adds what the flags say to what is known of a batch, such as from a scan. What
// both say is refused.
func (f *batchFlags) item(it *shelf.Item, how label.How, zone *time.Location) error {
	how.Clock = true
	r := &reading{how: how, zone: zone, it: it}
	for _, s := range []struct {
		flag, text string
		to         *string
	}{{"batch", f.batch, &it.Batch}, {"container", f.container, &it.Container}, {"code", f.code, &it.Code}, {"polymer", f.polymer, &it.Polymer}} {
		if s.text == "" {
			continue
		}
		if *s.to != "" && *s.to != s.text {
			return usagef("--%s %s: the scan says %s: leave one out", s.flag, s.text, *s.to)
		}
		*s.to = strings.TrimSpace(s.text)
	}
	if f.standard != "" {
		s, err := shelf.ParseStandard(f.standard)
		if err != nil {
			return usagef("--standard %w", err)
		}
		it.Standard = s
	}
	for _, d := range []struct {
		flag, text string
		to         *label.Date
	}{
		{"dom", f.dom, &it.DOM}, {"expiry", f.expiry, &it.Expiry}, {"inspect", f.inspect, &it.Inspect}, {"best-before", f.best, &it.BestBefore},
		{"received", f.received, &it.Received.On}, {"opened", f.opened, &it.Opened}, {"installed", f.installed, &it.Installed},
	} {
		if err := r.date(d.flag, d.text, d.to); err != nil {
			return err
		}
	}
	it.Received.NoPapers = it.Received.NoPapers || f.noPapers
	for _, step := range []func() error{
		func() error { return r.dates("thawed", f.thawed, &it.Thawed) },
		func() error { return r.dates("refrozen", f.refrozen, &it.Refrozen) },
		func() error { return r.marks(f.marks) },
		func() error { return r.outUsed(f.outUsed) },
		func() error { return r.hot(f.hot) },
		func() error { return r.conditions(f.conditions) },
		func() error { return r.parts(f.parts) },
		func() error { return r.tests(f.tests) },
		func() error { return r.freed(f.freed) },
	} {
		if err := step(); err != nil {
			return err
		}
	}
	if f.set("held") {
		it.Held = strings.TrimSpace(f.held)
		if it.Held == "" {
			return usagef(`--held: say why it was set aside, such as "left on the ramp at 41 C"`)
		}
	}
	return nil
}

func (r *reading) read(flag, text string) (label.Date, error) {
	// A moment with its offset is brought to the clock of the place.
	if desk.HasOffset(text) {
		t, err := desk.Instant(text, r.zone)
		if err != nil {
			return label.Date{}, usagef("--%s %w", flag, err)
		}
		t = t.In(r.zone)
		return label.At(date.NewAt(t), t.Hour()*60+t.Minute()), nil
	}
	d, err := label.Read(text, r.how)
	if err == nil {
		err = desk.Certain(d, r.how.Today, r.zone)
	}
	if err != nil {
		return label.Date{}, usagef("--%s %w", flag, err)
	}
	return d, nil
}

func (r *reading) date(flag, text string, to *label.Date) error {
	if text == "" {
		return nil
	}
	d, err := r.read(flag, text)
	switch {
	case err != nil:
		return err
	case !to.IsZero() && to.Canonical() != d.Canonical():
		return usagef("--%s %s: the label says %s already: leave one out", flag, text, *to)
	}
	*to = d
	return nil
}

func (r *reading) dates(flag string, texts []string, to *[]label.Date) error {
	for _, text := range texts {
		d, err := r.read(flag, text)
		if err != nil {
			return err
		}
		*to = append(*to, d)
	}
	return nil
}

// marks reads what is printed with a word in front of it.
func (r *reading) marks(texts []string) error {
	for _, text := range texts {
		m, err := label.ReadMark(text, r.how)
		if err == nil && m.Kind != label.KindCode {
			err = desk.Certain(m.Date, r.how.Today, r.zone)
		}
		if err != nil {
			return usagef("--mark %w", err)
		}
		it := r.it
		to := map[label.Kind]*label.Date{
			label.KindMade: &it.DOM, label.KindExpiry: &it.Expiry, label.KindInspect: &it.Inspect, label.KindBestBefore: &it.BestBefore,
			label.KindReceived: &it.Received.On, label.KindOpened: &it.Opened,
		}[m.Kind]
		switch {
		case m.Kind == label.KindCode:
			if it.Code != "" && it.Code != m.Code.String() {
				return usagef("--mark %q: the code %s is given already: leave one out", text, it.Code)
			}
			it.Code = m.Code.String()
		case m.Kind == label.KindThawed:
			it.Thawed = append(it.Thawed, m.Date)
		case to == nil:
			return usagef("--mark %q: %s decides nothing here: give the expiry, the inspect/test date or the date it was made", text, m.Kind)
		case !to.IsZero() && to.Canonical() != m.Date.Canonical():
			return usagef("--mark %q: the label says %s already: leave one out", text, *to)
		default:
			*to = m.Date
		}
	}
	return nil
}

func (r *reading) outUsed(text string) error {
	if text == "" {
		return nil
	}
	d, err := quantity.Span(text)
	if err != nil || d < 0 {
		return usagef("--out-used %q: say how long with its unit, such as 36h or PT36H", text)
	}
	r.it.OutUsed = d
	return nil
}

func (r *reading) hot(text string) error {
	if text == "" {
		return nil
	}
	d, err := r.read("hot", text)
	if err == nil {
		r.it.Storage = append(r.it.Storage, shelf.Storage{From: d, HotFrom: d})
	}
	return err
}

func (r *reading) conditions(words []string) error {
	for _, w := range words {
		c, err := shelf.ParseCondition(w)
		if err != nil {
			return usagef("--condition %w", err)
		}
		r.it.Condition |= c
	}
	return nil
}

func (r *reading) parts(texts []string) error {
	for _, text := range texts {
		p, err := pairsOf("part", text, []string{"name"}, []string{"lot", "named", "kit", "dom", "expiry"})
		if err != nil {
			return err
		}
		part := shelf.Part{Name: p["name"], Lot: p["lot"], Kit: p["named"], From: p["kit"]}
		if part.Kit != "" && part.Lot == "" {
			return usagef("--part %q: named is the lot that the kit's label names for it: give its own lot= too", text)
		}
		if err := r.date("part", p["dom"], &part.DOM); err != nil {
			return err
		}
		if err := r.date("part", p["expiry"], &part.Expiry); err != nil {
			return err
		}
		r.it.Parts = append(r.it.Parts, part)
	}
	return nil
}

func (r *reading) tests(texts []string) error {
	for _, text := range texts {
		p, err := pairsOf("test", text, []string{"on", "result"}, []string{"by", "authority", "reference", "results", "to", "adds"})
		if err != nil {
			return err
		}
		t := shelf.Test{By: p["by"], Authority: p["authority"], Reference: p["reference"], Results: p["results"]}
		switch strings.ToLower(p["result"]) {
		case "pass", "passed":
			t.Passed = true
		case "fail", "failed":
		default:
			return usagef("--test: result=%s: write pass or fail", p["result"])
		}
		if err := r.date("test", p["on"], &t.On); err != nil {
			return err
		}
		if err := r.date("test", p["to"], &t.To); err != nil {
			return err
		}
		if p["adds"] != "" {
			if t.Span, err = quantity.Life(p["adds"]); err != nil {
				return usagef("--test: adds=%s: say how long with its unit, such as 6 months", p["adds"])
			}
		}
		r.it.Tests = append(r.it.Tests, t)
	}
	return nil
}

func (r *reading) freed(texts []string) error {
	for _, text := range texts {
		p, err := pairsOf("freed", text, []string{"limit", "on", "by", "authority", "reference"}, []string{"why"})
		if err != nil {
			return err
		}
		if all := desk.Freeable(); !slices.Contains(all, p["limit"]) {
			hint := "copy it from the left of the answer's LIMITS"
			if near := nearest.Names(p["limit"], all, 1); near != nil {
				hint = "is " + near[0] + " meant?"
			}
			return usagef("--freed: limit=%s: no hold is lifted by that name: %s", p["limit"], hint)
		}
		x := shelf.Freed{Limit: shelf.Name(p["limit"]), By: p["by"], Authority: p["authority"], Reference: p["reference"], Why: p["why"]}
		if err := r.date("freed", p["on"], &x.On); err != nil {
			return err
		}
		r.it.Freed = append(r.it.Freed, x)
	}
	return nil
}

// until reads the moment that the batch must outlast: an hour of the day asked about, or
// of the next if that hour is past, or a moment of its own.
func (a *app) until(text string, q *shelf.Question) error {
	if text == "" {
		return nil
	}
	if h, m, ok := strings.Cut(text, ":"); ok && len(h) <= 2 && len(m) == 2 {
		hour, errH := strconv.Atoi(h)
		minute, errM := strconv.Atoi(m)
		if errH != nil || errM != nil || hour < 0 || hour > 23 || minute < 0 || minute > 59 {
			return usagef("--until %q: no such hour: write it like 14:00", text)
		}
		on := q.On
		if q.Timed && hour*60+minute < q.At {
			on = on.Add(1)
		}
		q.Until = label.At(on, hour*60+minute)
		if err := desk.Certain(q.Until, q.On, q.Zone); err != nil {
			return usagef("--until %w", err)
		}
		return nil
	}
	if desk.IsDay(text) {
		d, err := label.Parse(text, q.On)
		if err != nil {
			return usagef("--until %w", err)
		}
		q.Until = d
		return nil
	}
	t, err := desk.Instant(text, q.Zone)
	if err != nil {
		return usagef("--until %w, or an hour of that day like 14:00", err)
	}
	t = t.In(q.Zone)
	q.Until = label.At(date.NewAt(t), t.Hour()*60+t.Minute())
	return nil
}
