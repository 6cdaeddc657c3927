// Package desk is where the rooms of the house meet: it opens the catalog and the
// files a person names, puts the question to the rooms that know, and hands back an
// answer as plain data, for a command or the board to show.
//
// It reads files but writes none, and knows no clock: the instant that stands for
// now comes in with the question.
//
// Read on in instant.go (moments as people write them), open.go (files into the
// catalog and the air), times.go (how long the pot lasts and when it is cured) with
// timeslog.go and timesgaps.go (in air that changes), timesseal.go (when to seal) and
// degree.go, chart.go (that question for a wall), sensitivity.go (with things changed),
// picture.go and pictureair.go (what is drawn), fit.go (a data sheet into a class),
// judge.go (may this be used), batch.go (one batch of a stock list), flag.go (a whole
// stock list), job.go (a job with all it rests on) and drawplan.go (what a plan draws from
// the shelf).
package desk
