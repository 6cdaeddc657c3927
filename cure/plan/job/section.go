package job

import (
	"strings"

	"beadline/cure/nearest"

	"github.com/goccy/go-yaml/ast"
)

// section is one mapping of the file, with the keys it may have.
type section struct {
	r       *report
	what    string // how messages call it: "layer 2 of fuel-bay door"
	at      place
	entries map[string]entry
	meant   map[string]bool // keys that a misspelt one stands for; "" for one like none
}

type entry struct {
	at   place // of the key
	node ast.Node
}

// open reads a node as a mapping with the known keys. A key that is not known, or
// given twice, is a problem.
func (r *report) open(n ast.Node, what string, known ...string) (*section, bool) {
	var values []*ast.MappingValueNode
	switch v := n.(type) {
	case *ast.MappingNode:
		values = v.Values
	case *ast.MappingValueNode:
		values = []*ast.MappingValueNode{v}
	default:
		r.wrong(at(n), "%s: keys and values are wanted here; write it like {%s: …}", what, known[0])
		return nil, false
	}
	s := &section{r: r, what: what, at: at(n), entries: make(map[string]entry, len(values)), meant: map[string]bool{}}
	for _, kv := range values {
		key, ok := scalar(kv.Key)
		if !ok {
			r.wrong(at(kv.Key), "%s: a key must be one word; the keys here are %s", what, strings.Join(known, ", "))
			continue
		}
		s.add(key, entry{at(kv.Key), kv.Value}, known)
	}
	return s, true
}

func (s *section) add(key string, e entry, known []string) {
	if first, twice := s.entries[key]; twice {
		s.r.wrong(e.at, "%s: %q is given twice, first in line %d; keep one", s.what, key, first.at.line)
		return
	}
	for _, k := range known {
		if k == key {
			s.entries[key] = e
			return
		}
	}
	if near := nearest.Names(key, known, 1); len(near) > 0 {
		s.meant[near[0]] = true
		s.r.wrong(e.at, "%s: there is no key %q here; the nearest is %q", s.what, key, near[0])
		return
	}
	s.meant[""] = true
	s.r.wrong(e.at, "%s: there is no key %q here; the keys are %s", s.what, key, strings.Join(known, ", "))
}

// called is how messages name a mapping before it is read: by the name in one of
// its keys, or else by another word.
func called(n ast.Node, key, other string) string {
	var values []*ast.MappingValueNode
	switch v := n.(type) {
	case *ast.MappingNode:
		values = v.Values
	case *ast.MappingValueNode:
		values = []*ast.MappingValueNode{v}
	}
	for _, kv := range values {
		k, _ := scalar(kv.Key)
		text, ok := scalar(kv.Value)
		if name, err := readName(text); k == key && ok && err == nil {
			return name
		}
	}
	return other
}

// has reports whether a key is there, right or wrong.
func (s *section) has(key string) bool {
	_, ok := s.entries[key]
	return ok
}

// place is where a key stands; where it is missing, the section.
func (s *section) place(key string) place {
	if e, ok := s.entries[key]; ok {
		return e.at
	}
	return s.at
}

// missing says that a required key is not there, unless a misspelt key has already
// been called its nearest.
func (s *section) missing(key, like string) {
	if !s.meant[key] {
		s.r.wrong(s.at, "%s: %q is missing; add it here, like %s", s.what, key, like)
	}
}

// value finds the node of a key. A key with nothing behind it is a problem.
func (s *section) value(key string) (ast.Node, bool) {
	e, ok := s.entries[key]
	if !ok {
		return nil, false
	}
	if isNull(e.node) {
		s.r.wrong(e.at, "%s: %s has no value; write one, or take the key out", s.what, key)
		return nil, false
	}
	return e.node, true
}

// list finds the entries of a YAML list.
func (s *section) list(key, like string) []ast.Node {
	n, ok := s.value(key)
	if !ok {
		return nil
	}
	seq, ok := n.(*ast.SequenceNode)
	if !ok {
		s.r.wrong(at(n), "%s: %s is a list; write it like %s", s.what, key, like)
		return nil
	}
	if s.long(key, seq) {
		return nil
	}
	var nodes []ast.Node
	for _, v := range seq.Values {
		if isNull(v) {
			s.r.wrong(at(seq), "%s: an entry of %s is empty; fill it in, or take it out", s.what, key)
			continue
		}
		nodes = append(nodes, v)
	}
	return nodes
}

// long refuses a list that no job has.
func (s *section) long(key string, seq *ast.SequenceNode) bool {
	most := maxCount
	if key == "crew" || key == "shifts" || key == "classes" || key == "breaks" {
		most = 500
	}
	if len(seq.Values) <= most {
		return false
	}
	s.r.wrong(at(seq), "%s: %s has %d entries, more than %d; split the job", s.what, key, len(seq.Values), most)
	return true
}

// placed is a word of the file with its place.
type placed struct {
	place
	text string
}

// words reads a list of names, or a single name in place of a list.
func (s *section) words(key string) []placed {
	n, ok := s.value(key)
	if !ok {
		return nil
	}
	nodes := []ast.Node{n}
	if seq, ok := n.(*ast.SequenceNode); ok {
		if s.long(key, seq) {
			return nil
		}
		nodes = seq.Values
	}
	return s.r.names(nodes, s.what+": "+key)
}

func (r *report) names(nodes []ast.Node, what string) []placed {
	var out []placed
	for _, n := range nodes {
		text, ok := scalar(n)
		if !ok {
			r.wrong(at(n), "%s: a name is wanted here; write it like [one, another]", what)
			continue
		}
		name, err := readName(text)
		if err != nil {
			r.wrong(at(n), "%s: %v", what, err)
			continue
		}
		out = append(out, placed{at(n), name})
	}
	return out
}

// get reads an optional value; ok is false where the key is absent, and where the
// value is wrong, which is then noted.
func get[T any](s *section, key string, read func(string) (T, error)) (v T, ok bool) {
	n, ok := s.value(key)
	if !ok {
		return v, false
	}
	text, ok := scalar(n)
	if !ok {
		s.r.wrong(at(n), "%s: %s is a single value, not a list, section or block; write it on one line", s.what, key)
		return v, false
	}
	v, err := read(text)
	if err != nil {
		s.r.wrong(at(n), "%s: %s: %v", s.what, key, err)
		return v, false
	}
	return v, true
}

// need reads a required value; like shows how it is written.
func need[T any](s *section, key, like string, read func(string) (T, error)) T {
	v, ok := get(s, key, read)
	if !ok && !s.has(key) {
		s.missing(key, like)
	}
	return v
}

// orElse reads an optional value or takes another.
func orElse[T any](s *section, key string, other T, read func(string) (T, error)) T {
	if v, ok := get(s, key, read); ok {
		return v
	}
	return other
}
