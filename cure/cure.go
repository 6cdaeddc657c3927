// Package cure says how far a sealant has cured. It is the physics of the
// program: pure functions of the air, the part and the class, with no I/O, no
// clock and no globals.
//
// One idea carries it. A curve says how long a milestone takes in constant air,
// t(T, RH, bead). In changing air progress is the integral of 1/t, and the
// milestone is reached when progress is 1. This is the equivalent age of concrete
// maturity (EN 1992-1-1:2004 Annex B eq. B.10, ASTM C1074) and of mean kinetic
// temperature.
//
// A person never gets the plain answer to work to. Each question names its line:
// NotAfter (the pot: every doubt makes it earlier) or NotBefore (the cure: every
// doubt makes it later); Likely is the plain curve, for information.
//
// Read on in class.go (what a class knows), form.go (the shapes of a curve), pace.go
// (a curve read for one line), steady.go (constant air), history.go, lay.go and gap.go
// (the air as it was and is expected), site.go (what the sealant feels there, and when it
// reaches a milestone), track.go and step.go (the integral), progress.go (the integral
// added up once for many questions) with cells.go, cellends.go and quick.go (how that is
// fast), windows.go (when a class may be laid), mass.go (the pot's mass), doubt.go (air as
// it may turn out, drawn many times over), and, for information beside the lines,
// degree.go, ratelaw.go, degreecourse.go and march.go (the degree of cure) and kinetic.go
// (mean kinetic temperature).
package cure
