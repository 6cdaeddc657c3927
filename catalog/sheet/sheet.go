// Package sheet turns the table of a data sheet into a sealant class: a CSV file of
// measured times becomes curves, each with how well it fits, and a class file.
//
// A sheet has a header and, in any order and in any case, the columns
//
//	milestone,temp,time     needed: tack-free,25C,20h
//	rh,bead                 50%, 3mm; may be empty
//	source                  where the row comes from
//	states                  minimum, typical or maximum: what the time is said to be
//
// separated by commas, semicolons or tabs. Every quantity carries its unit. Columns of
// other names are left aside and named in Sheet.Notes.
//
// Nothing is guessed in silence: a cell that cannot be read, rows that contradict each
// other and temperatures that look like the wrong scale are refused with the line and
// what would be right; what was assumed is told beside the answer.
//
// Read reads the rows (read.go, cell.go, doubt.go). Sheet.Fit lays a curve through each
// milestone (milestone.go, refuse.go, curve.go, text.go, rule.go), and Result.YAML
// writes the class (result.go, write.go).
package sheet

import (
	"fmt"
	"strings"
	"unicode"

	"beadline/cure"
)

// Row is one measured time.
type Row struct {
	Line      int // line of the file, from 1
	Milestone cure.Milestone
	TempC     float64 // °C
	Temp      string  // the temperature as a class file writes it, in the scale of the sheet
	RH        float64 // % RH; 0: not given
	BeadMM    float64 // mm; 0: not given
	Seconds   float64
	Time      string // as the sheet writes it
	Source    string // "": not given
	States    cure.States
	Stated    bool // States was written
}

// air is the air of the row; 50 % RH stands for a humidity that is not given.
func (r Row) air() cure.Air {
	if r.RH == 0 {
		return cure.Air{TempC: r.TempC, RH: usualRH}
	}
	return cure.Air{TempC: r.TempC, RH: r.RH}
}

func (r Row) bead() cure.Bead { return cure.Bead{DepthMM: r.BeadMM} }

// usualRH is the humidity, in %, that curves without one in them are kept at.
const usualRH = 50

// Sheet is a data sheet that reads without fault.
type Sheet struct {
	Name  string
	Rows  []Row    // in the file's order
	Notes []string // what was left aside in reading it
}

// file is the sheet's name without its folder, fit to stand in a class file.
func (s *Sheet) file() string {
	name := s.Name[strings.LastIndexAny(s.Name, `/\\`)+1:]
	return clip(strings.Map(func(c rune) rune {
		if unicode.IsPrint(c) {
			return c
		}
		return '?'
	}, name), 100)
}

// Problem is one fault of a sheet, at its place.
type Problem struct {
	Name string
	Line int // 0: the file as a whole
	Text string
}

// String is the problem on one line: file:line: what: what would be right.
func (p Problem) String() string {
	if p.Line == 0 {
		return p.Name + ": " + p.Text
	}
	return fmt.Sprintf("%s:%d: %s", p.Name, p.Line, p.Text)
}

// Problems is the error of Read: every fault found, in the order of the file.
type Problems []Problem

// Error is every fault on a line of its own.
func (ps Problems) Error() string {
	var lines []string
	for _, p := range ps {
		lines = append(lines, p.String())
	}
	return strings.Join(lines, "\n")
}
