package cure

import (
	"math"
	"testing"
	"time"
)

// year is a log of a reading a minute: seasons, days, weather and the sensor's
// tenths of a degree.
func year() []Sample {
	s := make([]Sample, 0, 525_600)
	for i := range 525_600 {
		d := float64(i) / 1440
		c := 12 - 8*math.Cos(2*math.Pi*d/365) - 5*math.Cos(2*math.Pi*d) + 3*math.Sin(d*1.7) + 0.3*math.Sin(float64(i)*0.37)
		rh := 65 + 20*math.Cos(2*math.Pi*d) + 10*math.Sin(d*0.9)
		s = append(s, Sample{t0.Add(time.Duration(i) * time.Minute), Air{math.Round(c*10) / 10, math.Round(rh*10) / 10}})
	}
	return s
}

func benchClasses() map[string]*Class {
	moist := only(&Curve{Form: Arrhenius{25, 72 * hour, 36e3}, Temp: wide, States: Maximum})
	moist.Moisture = &Moisture{MinRH: 40}
	return map[string]*Class{
		"doubling":  only(rule(2)),
		"arrhenius": only(&Curve{Form: Arrhenius{25, 72 * hour, 36e3}, Temp: wide}),
		"moist":     moist,
		"front":     only(&Curve{Form: acetoxy, Temp: wide}),
	}
}

func BenchmarkYearOfMinutesHistory(b *testing.B) {
	s := year()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := NewHistory([]Piece{{Name: "log", Samples: s}}, t0, s[len(s)-1].At); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkYearOfMinutesProgress(b *testing.B) {
	s := year()
	h := must(NewHistory([]Piece{{Name: "log", Samples: s}}, t0, s[len(s)-1].At))
	for name, cl := range benchClasses() {
		for _, tau := range []time.Duration{0, 3 * time.Hour} {
			b.Run(name+" tau "+tau.String(), func(b *testing.B) {
				site := &Site{Air: h, Part: Part{Tau: tau, AtC: 5}}
				b.ReportAllocs()
				for b.Loop() {
					if _, err := site.Progress(cl, Cured, NotBefore); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}

// BenchmarkYearOfMinutesLines adds up all milestones of a class.
func BenchmarkYearOfMinutesLines(b *testing.B) {
	s := year()
	h := must(NewHistory([]Piece{{Name: "log", Samples: s}}, t0, s[len(s)-1].At))
	for name, cl := range benchClasses() {
		for _, tau := range []time.Duration{0, 3 * time.Hour} {
			b.Run(name+" tau "+tau.String(), func(b *testing.B) {
				site := &Site{Air: h, Part: Part{Tau: tau, AtC: 5}}
				b.ReportAllocs()
				for b.Loop() {
					if _, err := site.Lines(cl); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}

func BenchmarkReachOnAYearOfMinutes(b *testing.B) {
	s := year()
	h := must(NewHistory([]Piece{{Name: "log", Samples: s}}, t0, s[len(s)-1].At))
	for name, cl := range benchClasses() {
		b.Run(name, func(b *testing.B) {
			p := must((&Site{Air: h}).Progress(cl, Cured, NotBefore))
			b.ReportAllocs()
			u := 0.0
			for b.Loop() {
				u = math.Mod(u+7777.7, 2.5e7)
				p.ReachSeconds(u)
			}
		})
	}
}

func BenchmarkReachOnASwing(b *testing.B) {
	w := Swing{LowC: 6, HighC: 16, Warmest: 15 * time.Hour, DewC: 4, Zone: time.UTC}
	site := &Site{
		Air:  must(NewHistory([]Piece{{Name: "swing", Swing: &w, Forecast: true, Margin: 2}}, t0, at(24*30))),
		Part: Part{Tau: 3 * time.Hour, AtC: -4},
	}
	cl := benchClasses()["arrhenius"]
	b.Run("by its sums", func(b *testing.B) {
		p := must(site.Progress(cl, Cured, NotBefore))
		b.ReportAllocs()
		for u := 0.0; b.Loop(); u = math.Mod(u+777.7, 1e6) {
			p.ReachSeconds(u)
		}
	})
	b.Run("warmed, by marching", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			must(site.ReachWarmed(cl, Cured, NotBefore, at(5), Warmth{Warmed: true, WarmedC: 20}))
		}
	})
}
