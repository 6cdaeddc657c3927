package catalog

import (
	_ "embed"
	"fmt"
	"strings"
	"sync"

	"beadline/cure/nearest"
)

//go:embed builtin.yaml
var builtin string

// BuiltinFile is the file name of the embedded set in messages and in Class.File.
const BuiltinFile = "built-in"

// Catalog finds classes by id: the built-in set and what was added to it. The zero
// value is empty and ready. Finding is safe from several goroutines; adding is not.
type Catalog struct {
	entries []*entry // in the order of their files
	byID    map[string]*entry
}

// entry is one class, read when first asked for: reading the whole built-in set
// takes milliseconds that a command for one class need not spend.
type entry struct {
	id, file string
	line     int
	class    func() Class
}

// Builtin is the built-in set alone. It is cheap: it reads ids only.
func Builtin() *Catalog {
	c := &Catalog{}
	for _, b := range blocks(builtin) {
		c.put(&entry{b.id, BuiltinFile, b.line, sync.OnceValue(b.read)})
	}
	return c
}

// block is the text of one class in the built-in file.
type block struct {
	id   string
	line int
	text string
}

// blocks splits a class file written in the plain manner: each class starts with
// "- id: " at the left edge.
func blocks(text string) []block {
	var all []block
	at, n := 0, 0
	for line := range strings.Lines(text) {
		n++
		if id, ok := strings.CutPrefix(line, "- id: "); ok {
			all = append(all, block{strings.TrimSpace(id), n, text[at:]})
		}
		at += len(line)
	}
	for k := 0; k+1 < len(all); k++ {
		all[k].text = all[k].text[:len(all[k].text)-len(all[k+1].text)]
	}
	return all
}

// read reads the class of a block. The built-in set is part of the program and read
// whole by its tests, so a fault here can only be a broken build.
func (b block) read() Class {
	r := &reader{file: BuiltinFile, skipped: b.line - 1}
	classes := r.classes([]byte(b.text), func(*Class) {})
	if len(classes) != 1 || len(r.problems) > 0 {
		panic(fmt.Sprintf("catalog: the built-in class %s does not read: %v", b.id, Problems(r.problems)))
	}
	return classes[0]
}

func (c *Catalog) put(e *entry) (replaced *entry) {
	if c.byID == nil {
		c.byID = map[string]*entry{}
	}
	old := c.byID[e.id]
	c.byID[e.id] = e
	if old == nil {
		c.entries = append(c.entries, e)
		return nil
	}
	for i := range c.entries {
		if c.entries[i] == old {
			c.entries[i] = e
		}
	}
	return old
}

// Add reads a user's class file into the catalog. A class whose id is there already
// replaces the earlier one, and clashes says so, one line each. On error, of type
// Problems, nothing is added.
func (c *Catalog) Add(data []byte, name string) (clashes []string, err error) {
	classes, err := Read(data, name)
	if err != nil {
		return nil, err
	}
	for _, cl := range classes {
		e := &entry{cl.ID, name, cl.Line, func() Class { return cl }}
		if old := c.put(e); old != nil {
			clashes = append(clashes, fmt.Sprintf("%s:%d: class %s replaces the one of %s", name, cl.Line, cl.ID, old.place()))
		}
	}
	return clashes, nil
}

func (e *entry) place() string {
	if e.file == BuiltinFile {
		return "the built-in set"
	}
	return fmt.Sprintf("%s:%d", e.file, e.line)
}

// Find gives the class with an id. The error of an unknown id names up to three
// classes that resemble it. The class is the caller's to read, not to change: its
// curves are shared.
func (c *Catalog) Find(id string) (Class, error) {
	if e := c.byID[id]; e != nil {
		return e.class(), nil
	}
	near := nearest.Names(id, c.IDs(), 3)
	if near == nil {
		return Class{}, fmt.Errorf("class %s does not exist: beadline class list names the %d there are", quoted(id), len(c.entries))
	}
	return Class{}, fmt.Errorf("class %s does not exist: the nearest are %s", quoted(id), strings.Join(near, ", "))
}

// IDs lists the ids of all classes, in the order of their files.
func (c *Catalog) IDs() []string {
	var ids []string
	for _, e := range c.entries {
		ids = append(ids, e.id)
	}
	return ids
}

// All gives every class, in the order of their files.
func (c *Catalog) All() []Class {
	all := make([]Class, 0, len(c.entries))
	for _, e := range c.entries {
		all = append(all, e.class())
	}
	return all
}

// ByKind gives every class of a kind, in the order of their files.
func (c *Catalog) ByKind(k Kind) []Class {
	var all []Class
	for _, e := range c.entries {
		if cl := e.class(); cl.Kind == k {
			all = append(all, cl)
		}
	}
	return all
}
