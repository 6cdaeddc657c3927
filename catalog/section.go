package catalog

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"

	"beadline/cure/nearest"
)

// section is one mapping of the file, its keys checked against those it may have.
type section struct {
	r      *reader
	what   string // for messages: "class x, cure"
	token  *token.Token
	fields map[string]ast.Node
}

// section reads a mapping. Every key must be one of required or optional; a key that
// is not is reported with the nearest right one, and so is a required key that is
// missing. It returns nil, reported, when the node is no mapping.
func (r *reader) section(n ast.Node, what string, required, optional []string) *section {
	values, ok := pairs(n)
	if !ok {
		r.at(start(n), what+": not a block of keys", "write the keys "+strings.Join(append(slices.Clone(required), optional...), ", "))
		return nil
	}
	s := &section{r: r, what: what, token: start(n), fields: map[string]ast.Node{}}
	known := append(slices.Clone(required), optional...)
	meant := map[string]bool{}
	for _, v := range values {
		key := v.Key.GetToken()
		if !slices.Contains(known, key.Value) {
			remedy := "the keys here are " + strings.Join(known, ", ")
			if near := nearest.Names(key.Value, known, 1); near != nil {
				meant[near[0]] = true
				remedy = fmt.Sprintf("did you mean %q?", near[0])
			}
			r.at(key, fmt.Sprintf("%s: unknown key %s", what, quoted(key.Value)), remedy)
			continue
		}
		if s.fields[key.Value] != nil {
			r.at(key, fmt.Sprintf("%s: the key %q is there twice", what, key.Value), "keep one of them")
			continue
		}
		s.fields[key.Value] = v.Value
	}
	for _, k := range required {
		// A misspelt key is one mistake, not two.
		if s.fields[k] == nil && !meant[k] {
			r.at(s.token, fmt.Sprintf("%s: the key %q is missing", what, k), remedyFor(k))
		}
	}
	return s
}

func remedyFor(key string) string {
	if key == "from" {
		return "say where the numbers come from: from: \"data sheet …\""
	}
	return ""
}

// pairs lists the entries of a mapping node, whichever shape the parser gave it.
func pairs(n ast.Node) ([]*ast.MappingValueNode, bool) {
	switch n := n.(type) {
	case *ast.MappingNode:
		return n.Values, true
	case *ast.MappingValueNode:
		return []*ast.MappingValueNode{n}, true
	}
	return nil, false
}

// start is where a node begins in the file: for a mapping its first key, where the
// parser would point at the colon.
func start(n ast.Node) *token.Token {
	if v, ok := pairs(n); ok && len(v) > 0 {
		return v[0].Key.GetToken()
	}
	return n.GetToken()
}

func (s *section) has(key string) bool { return s != nil && s.fields[key] != nil }

// fail reports an error at the value of a key.
func (s *section) fail(key, text, remedy string) {
	t := s.token
	if n := s.fields[key]; n != nil {
		t = start(n)
	}
	s.r.at(t, s.what+": "+key+": "+text, remedy)
}

// value reads the one word or phrase behind a key. An absent key gives the zero
// value; a bad one too, reported with its place.
func value[T any](s *section, key string, read func(string) (T, error)) T {
	var zero T
	if !s.has(key) {
		return zero
	}
	return scalar(s, key, s.fields[key], read)
}

func scalar[T any](s *section, key string, n ast.Node, read func(string) (T, error)) T {
	var zero T
	text, ok := plainText(n)
	if !ok {
		s.r.at(start(n), fmt.Sprintf("%s: %s: one value is wanted here, not a block or a list", s.what, key), "")
		return zero
	}
	if strings.TrimSpace(text) == "" {
		s.r.at(start(n), fmt.Sprintf("%s: %s: nothing is written behind the key", s.what, key), "fill it in or leave the key out")
		return zero
	}
	v, err := read(text)
	if err != nil {
		s.r.at(start(n), fmt.Sprintf("%s: %s: %v", s.what, key, err), "")
		return zero
	}
	return v
}

// plainText is a scalar as it stands in the file, quotes taken off.
func plainText(n ast.Node) (string, bool) {
	switch n := n.(type) {
	case *ast.StringNode:
		return n.Value, true
	case *ast.LiteralNode:
		return n.Value.Value, true
	case *ast.NullNode:
		return "", true
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		return n.GetToken().Value, true
	}
	return "", false
}

// list reads a sequence of words; a single word stands for a list of one.
func list(s *section, key string, read func(string) (string, error)) []string {
	if !s.has(key) {
		return nil
	}
	seq, ok := s.fields[key].(*ast.SequenceNode)
	if !ok {
		if w := value(s, key, read); w != "" {
			return []string{w}
		}
		return nil
	}
	var words []string
	for _, n := range seq.Values {
		w := scalar(s, key, n, read)
		switch {
		case w == "":
		case slices.Contains(words, w):
			s.r.at(start(n), fmt.Sprintf("%s: %s: %s is there twice", s.what, key, quoted(w)), "")
		default:
			words = append(words, w)
		}
	}
	return words
}

// oneOf reads a word that must be one of a few.
func oneOf(known []string) func(string) (string, error) {
	return func(word string) (string, error) {
		if slices.Contains(known, word) {
			return word, nil
		}
		if near := nearest.Names(word, known, 1); near != nil {
			return "", fmt.Errorf("%s is not known: did you mean %q?", quoted(word), near[0])
		}
		return "", fmt.Errorf("%s is not known: write one of %s", quoted(word), strings.Join(known, ", "))
	}
}

// phrase reads free text of at most limit letters on one line; what cannot be
// printed is refused, since it ends up on a terminal.
func phrase(limit int) func(string) (string, error) {
	return func(text string) (string, error) {
		text = strings.Join(strings.Fields(text), " ")
		n := 0
		for _, c := range text {
			if n++; !unicode.IsPrint(c) {
				return "", fmt.Errorf("%U cannot be printed", c)
			}
		}
		if n > limit {
			return "", fmt.Errorf("%d letters are too many: at most %d", n, limit)
		}
		return text, nil
	}
}

func yesNo(text string) (bool, error) {
	switch text {
	case "true", "yes":
		return true, nil
	case "false", "no":
		return false, nil
	}
	return false, fmt.Errorf("%s: write true or false", quoted(text))
}

// quoted shows a word of the user's, shortened and made printable.
func quoted(s string) string {
	if r := []rune(s); len(r) > 48 {
		s = string(r[:48]) + "…"
	}
	return fmt.Sprintf("%q", s)
}

func (r *reader) sort() {
	slices.SortStableFunc(r.problems, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Col, b.Col))
	})
}
