package catalog

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// MaxFile is the largest class file that is read, in bytes.
const MaxFile = 4 << 20

// The deepest nesting of a class file, in brackets and in columns of indentation, and
// the most keys of one class. The format needs 4, 10 and some 200; the parser's stack
// grows with depth and its time with the square of the keys (measured: 0.7 s for
// 16 000).
const (
	maxFlow   = 16
	maxIndent = 80
	maxKeys   = 2000
)

// Severity says whether a problem stops the file from being used.
type Severity string

// The severities.
const (
	Error   Severity = "error"
	Warning Severity = "warning"
)

// Problem is one fault of a class file, at its place.
type Problem struct {
	File      string
	Line, Col int    // from 1; 0: the file as a whole
	Text      string // what is wrong
	Remedy    string // what would be right; "" where the text says it
	Severity  Severity
}

// String is the problem on one line: file:line:col: what: remedy.
func (p Problem) String() string {
	s := p.File
	if p.Line > 0 {
		s += fmt.Sprintf(":%d:%d", p.Line, p.Col)
	}
	s += ": "
	if p.Severity == Warning {
		s += "warning: "
	}
	s += p.Text
	if p.Remedy != "" {
		s += ": " + p.Remedy
	}
	return s
}

// Problems is the error of Read: every fault found, in the order of the file.
type Problems []Problem

// Error is the first fault on one line and how many follow.
func (ps Problems) Error() string {
	switch len(ps) {
	case 0:
		return "no problem"
	case 1:
		return ps[0].String()
	case 2:
		return ps[0].String() + " (and 1 more problem)"
	}
	return fmt.Sprintf("%s (and %d more problems)", ps[0], len(ps)-1)
}

// Read reads the classes of a file and checks them. name is the file's name for
// messages. The error, if any, is of type Problems and holds all errors; warnings
// do not stop a file (Lint lists them).
func Read(data []byte, name string) ([]Class, error) {
	classes, problems := readAll(data, name)
	var faults Problems
	for _, p := range problems {
		if p.Severity == Error {
			faults = append(faults, p)
		}
	}
	if faults != nil {
		return nil, faults
	}
	return classes, nil
}

// Lint lists everything wrong with a class file, errors and warnings, in the order
// of the file.
func Lint(data []byte, name string) []Problem {
	_, problems := readAll(data, name)
	return problems
}

func readAll(data []byte, name string) ([]Class, []Problem) {
	r := &reader{file: name}
	classes := r.classes(data, r.lint)
	seen := map[string]int{}
	for _, c := range classes {
		if first, again := seen[c.ID]; again {
			r.fault(Problem{Line: c.Line, Col: 1, Text: fmt.Sprintf("class %s is already defined on line %d", c.ID, first), Remedy: "give one of them another id"})
		} else {
			seen[c.ID] = c.Line
		}
	}
	r.sort()
	return classes, r.problems
}

// reader reads one file and collects what is wrong with it.
type reader struct {
	file     string
	skipped  int // lines of the file before the data
	problems []Problem
	errors   int // how many of the problems are errors
}

// classes reads the sequence of classes, and hands each that reads without fault to
// check: one slip should not give a second problem that only follows from it.
func (r *reader) classes(data []byte, check func(*Class)) []Class {
	root := r.parse(data)
	if root == nil {
		return nil
	}
	seq, ok := root.(*ast.SequenceNode)
	if !ok {
		r.at(start(root), "the file is not a list of classes", "start each class with “- id: …”")
		return nil
	}
	var classes []Class
	for _, n := range seq.Values {
		before := r.errors
		c, ok := r.class(n)
		if !ok {
			continue
		}
		if r.errors == before {
			check(&c)
		}
		classes = append(classes, c)
	}
	return classes
}

// parse turns bytes into the one document of the file, or reports why it cannot.
func (r *reader) parse(data []byte) ast.Node {
	if len(data) > MaxFile {
		r.fault(Problem{Text: fmt.Sprintf("the file has %d bytes", len(data)), Remedy: "a class file has at most 4 MB"})
		return nil
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if line, col, ok := badText(data); !ok {
		r.fault(Problem{Line: line + r.skipped, Col: col, Text: "not plain text", Remedy: "save the file as UTF-8 without control characters"})
		return nil
	}
	tokens := lexer.Tokenize(string(data))
	if !r.plain(tokens) {
		return nil
	}
	file, err := parser.Parse(tokens, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		// The error's own text repeats the source and is slow on a long line.
		var ye yaml.Error
		if errors.As(err, &ye) {
			r.at(ye.GetToken(), "not readable as YAML: "+oneLine(ye.GetMessage()), "")
		} else {
			r.fault(Problem{Text: "not readable as YAML"})
		}
		return nil
	}
	var bodies []ast.Node
	for _, d := range file.Docs {
		if d.Body != nil && d.Body.Type() != ast.CommentType && d.Body.Type() != ast.NullType {
			bodies = append(bodies, d.Body)
		}
	}
	switch len(bodies) {
	case 0:
		r.fault(Problem{Text: "the file holds no class", Remedy: "write a list, each class starting with “- id: …”"})
		return nil
	case 1:
		return bodies[0]
	}
	r.at(start(bodies[1]), "a second document in the file", "keep all classes in one list, without ---")
	return nil
}

// plain refuses the parts of YAML that a class file has no use for and that can
// make a small file large or slow: anchors, aliases, merge keys, tags, directives,
// deep nesting, endless keys.
func (r *reader) plain(tokens token.Tokens) bool {
	depth, line, keys, edge := 0, 0, 0, 0
	for _, t := range tokens {
		switch t.Type {
		case token.AnchorType, token.AliasType, token.MergeKeyType:
			r.at(t, "anchors and aliases (& * <<) are not allowed in a class file", "write the values out, or put text in quotes")
			return false
		case token.TagType, token.DirectiveType:
			r.at(t, "tags and directives (! %) are not allowed in a class file", "leave them out, or put text in quotes")
			return false
		case token.MappingKeyType:
			r.at(t, "“?” keys are not allowed in a class file", "write “key: value”")
			return false
		case token.SequenceStartType, token.MappingStartType:
			depth++
		case token.SequenceEndType, token.MappingEndType:
			depth--
		case token.SequenceEntryType:
			if edge == 0 {
				edge = t.Position.Column
			}
			if t.Position.Column == edge {
				keys = 0
			}
		case token.MappingValueType:
			keys++
		}
		if keys > maxKeys {
			r.at(t, "too many keys without a new class", fmt.Sprintf("a class has at most %d", maxKeys))
			return false
		}
		first := t.Position.Line != line
		line = t.Position.Line
		if depth > maxFlow || t.Position.Column > maxIndent && (t.Type == token.SequenceEntryType || first && depth == 0) {
			r.at(t, "nested too deep for a class file", fmt.Sprintf("at most %d brackets and %d columns of indentation", maxFlow, maxIndent))
			return false
		}
	}
	return true
}

// badText finds the first byte that is not UTF-8 or is a control character.
func badText(data []byte) (line, col int, ok bool) {
	line, col = 1, 1
	for i := 0; i < len(data); {
		c, n := utf8.DecodeRune(data[i:])
		switch {
		case c == utf8.RuneError && n == 1, c < ' ' && c != '\n' && c != '\t' && c != '\r', c == 0x7f, c == '\ufeff':
			return line, col, false
		case c == '\n':
			line, col = line+1, 0
		}
		i += n
		col++
	}
	return 0, 0, true
}

func oneLine(s string) string {
	s, _, _ = strings.Cut(strings.TrimSpace(s), "\n")
	return s
}

// at reports an error at a token of the file.
func (r *reader) at(t *token.Token, text, remedy string) {
	p := Problem{Text: text, Remedy: remedy}
	if t != nil && t.Position != nil {
		p.Line, p.Col = t.Position.Line+r.skipped, t.Position.Column
	}
	r.fault(p)
}

// warn reports something doubtful at a line of the file.
func (r *reader) warn(line int, text, remedy string) {
	r.fault(Problem{Line: line, Col: 1, Text: text, Remedy: remedy, Severity: Warning})
}

func (r *reader) fault(p Problem) {
	p.File = r.file
	if p.Severity == "" {
		p.Severity = Error
	}
	if p.Severity == Error {
		r.errors++
	}
	r.problems = append(r.problems, p)
}

// number keeps a float out of the class when it is not one.
func number(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
