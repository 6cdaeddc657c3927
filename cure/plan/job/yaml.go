package job

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

const (
	maxBytes = 4 << 20 // a job of hundreds of joints is a few hundred kilobytes
	maxDepth = 20      // a layer's bead is five deep
	maxKeys  = 1000    // only gates have more than twenty
)

// parse turns the bytes into the one mapping a job file is.
func (r *report) parse(data []byte) (ast.Node, bool) {
	top := place{1, 1}
	if len(data) > maxBytes {
		r.wrong(top, "the file is larger than 4 MB; split it into several jobs")
		return nil, false
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if !utf8.Valid(data) {
		r.wrong(badText(data), "the file is not UTF-8 text here; save it as UTF-8")
		return nil, false
	}
	// The lexer counts the line ends of other systems twice behind a comment.
	data = bytes.ReplaceAll(data, []byte("\r\n"), []byte("\n"))
	data = bytes.ReplaceAll(data, []byte("\r"), []byte("\n"))
	tokens := lexer.Tokenize(string(data))
	if !r.plain(tokens) {
		return nil, false
	}
	file, err := parser.Parse(tokens, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		r.syntax(err)
		return nil, false
	}
	var body ast.Node
	for _, doc := range file.Docs {
		if doc.Body == nil {
			continue
		}
		if body != nil {
			r.wrong(at(doc.Body), "a second document begins here; keep one job in a file")
			return nil, false
		}
		body = doc.Body
	}
	if body == nil {
		r.wrong(top, "the file is empty; start it with job:, zone: and start:")
		return nil, false
	}
	return body, true
}

func badText(data []byte) place {
	p := place{1, 1}
	for len(data) > 0 {
		c, n := utf8.DecodeRune(data)
		switch {
		case c == utf8.RuneError && n == 1:
			return p
		case c == '\n':
			p = place{p.line + 1, 1}
		default:
			p.col++
		}
		data = data[n:]
	}
	return p
}

// plain refuses, before anything is built from them, the parts of YAML that a job
// has no use for: an anchor or tag hides from the reader what a value is, and deep
// nesting or a section of very many keys makes the parser take time and memory by
// the square of it.
func (r *report) plain(tokens token.Tokens) bool {
	flow, dashes, documents := 0, 0, 0
	var blocks []block
	line := 0
	for _, t := range tokens {
		if t.Type == token.CommentType {
			continue
		}
		at := place{t.Position.Line, t.Position.Column}
		if at.line != line && flow == 0 {
			line, dashes = at.line, 0
			blocks = indent(blocks, at.col)
			if t.Type == token.SequenceEntryType {
				blocks[len(blocks)-1].keys = 0
			}
		}
		switch t.Type {
		case token.SequenceStartType, token.MappingStartType:
			flow++
		case token.SequenceEndType, token.MappingEndType:
			flow = max(flow-1, 0)
		case token.SequenceEntryType:
			dashes++
		case token.MappingValueType:
			if flow == 0 {
				blocks[len(blocks)-1].keys++
			}
		case token.DocumentHeaderType:
			documents++
		}
		problem := refused[t.Type]
		switch {
		case documents > 1 || t.Type == token.DocumentHeaderType && t.Prev != nil && t.Prev.Type != token.CommentType:
			problem = "a second document begins here; keep one job in a file"
		case flow+dashes+len(blocks) > maxDepth:
			problem = fmt.Sprintf("nested more than %d deep; no part of a job is: check the brackets and the indentation", maxDepth)
		case blocks[len(blocks)-1].keys > maxKeys:
			problem = fmt.Sprintf("more than %d keys in one section; no part of a job has: check the indentation", maxKeys)
		}
		if problem != "" {
			r.wrong(at, "%s", problem)
			return false
		}
	}
	return true
}

// refused are the tokens that a job has no use for.
var refused = map[token.Type]string{
	token.AnchorType:     noAnchors,
	token.AliasType:      noAnchors,
	token.MergeKeyType:   noAnchors,
	token.TagType:        "YAML tags (!) are not read in a job; write the plain value, or put it in quotes if it is text",
	token.DirectiveType:  "YAML directives (%) are not read in a job; take the line out",
	token.MappingKeyType: "a key marked with ? is not read in a job; write it as key: value",
}

const noAnchors = "anchors (&), aliases (*) and merges (<<) are not read in a job; write the value out, or put it in quotes if it is text"

// block is a run of lines at one indentation.
type block struct{ col, keys int }

// indent finds the block of a line that begins at a column, within those it is in.
func indent(blocks []block, col int) []block {
	for len(blocks) > 0 && blocks[len(blocks)-1].col > col {
		blocks = blocks[:len(blocks)-1]
	}
	if len(blocks) == 0 || blocks[len(blocks)-1].col < col {
		blocks = append(blocks, block{col: col})
	}
	return blocks
}

// syntax puts the parser's refusal in one line.
func (r *report) syntax(err error) {
	where, text := place{1, 1}, ""
	var ye yaml.Error
	if !errors.As(err, &ye) {
		text = err.Error()
	} else {
		text = ye.GetMessage() // its Error would print the file round about, at great cost
		if t := ye.GetToken(); t != nil && t.Position != nil {
			where = place{t.Position.Line, t.Position.Column}
		}
	}
	text, _, _ = strings.Cut(text, "\n")
	if len(text) > 150 { // a message that repeats the file
		text = "a character stands where it cannot"
	}
	if strings.Contains(text, "tab character") || strings.Contains(text, "\t") {
		r.wrong(where, "a tab is used to indent; use spaces")
		return
	}
	r.wrong(where, "not readable as YAML: %s; check the indentation, brackets, quotes and colons here and on the line above", text)
}

// at is where a node begins.
func at(n ast.Node) place {
	switch v := n.(type) {
	case *ast.MappingNode:
		if !v.IsFlowStyle && len(v.Values) > 0 {
			return at(v.Values[0].Key)
		}
	case *ast.MappingValueNode:
		return at(v.Key)
	}
	if t := n.GetToken(); t != nil && t.Position != nil {
		return place{t.Position.Line, t.Position.Column}
	}
	return place{1, 1}
}

// scalar is a value written in one piece, as it was written: 010 stays "010".
func scalar(n ast.Node) (string, bool) {
	switch n.(type) {
	case *ast.StringNode, *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		return n.GetToken().Value, true
	}
	return "", false
}

func isNull(n ast.Node) bool {
	_, null := n.(*ast.NullNode)
	return n == nil || null
}
