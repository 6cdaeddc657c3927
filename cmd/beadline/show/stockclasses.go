package show

import (
	"fmt"
	"io"
	"strings"
	"time"

	"beadline/catalog"
	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk/storeroom"
)

// ClassesKept writes that classes were kept in the register, or taken out of use.
func ClassesKept(w io.Writer, name string, o *storeroom.OwnClasses, e *register.Event, known bool) error {
	s := sheet{w: w}
	switch {
	case known:
		s.block("KEPT      ", fmt.Sprintf("%s has these classes %s already: nothing is recorded.", name, o.Name))
	case e.Catalog == "":
		s.block("TAKEN AWAY ", fmt.Sprintf("The classes %s are no longer used in %s. All %s stay on record.", o.Name, name, countWord(len(o.Versions)-1, "version", "versions")))
	default:
		s.block("KEPT      ", fmt.Sprintf("Classes %s in %s, version %d: %s.", o.Name, name, len(o.Versions), idsOf(o.File(), e.Catalog)))
	}
	if e != nil {
		s.line("")
		s.block("Event ", fmt.Sprintf("%s, by %s.", e.ID, e.By))
	}
	return s.err
}

// idsOf are the ids of the classes of a file.
func idsOf(name, text string) string {
	classes, err := catalog.Read([]byte(text), name)
	if err != nil {
		return "it cannot be read: " + err.Error()
	}
	var ids []string
	for _, c := range classes {
		ids = append(ids, c.ID)
	}
	return strings.Join(ids, ", ")
}

// OwnClasses writes which files of classes a register keeps.
func OwnClasses(w io.Writer, name string, all []storeroom.OwnClasses) error {
	s := sheet{w: w}
	if len(all) == 0 {
		s.line("%s keeps no classes.", name)
	}
	for i := range all {
		o := &all[i]
		say := "taken away"
		if now := o.Now(); now != nil {
			say = idsOf(o.File(), now.Catalog)
		}
		s.block(o.Name+": ", say)
		for n, e := range o.Versions {
			did := "added"
			if e.Catalog == "" {
				did = "taken away"
			}
			line := fmt.Sprintf("%s %s by %s", did, e.Recorded.UTC().Format("Mon 2 January 2006 15:04 MST"), e.By)
			for _, x := range []string{e.Authority, e.Reference, e.Why} {
				if x != "" {
					line += ", " + x
				}
			}
			s.block(fmt.Sprintf("  version %d  ", n+1), line)
		}
	}
	return s.err
}

type ownClassesJSON struct {
	Name     string           `json:"name"`
	Used     bool             `json:"used"`
	Versions []ownVersionJSON `json:"versions"`
}

type ownVersionJSON struct {
	Event     string `json:"event"`
	Recorded  string `json:"recorded"`
	By        string `json:"by"`
	Why       string `json:"why,omitempty"`
	Authority string `json:"authority,omitempty"`
	Reference string `json:"reference,omitempty"`
	Removed   bool   `json:"removed,omitempty"`
	Text      string `json:"text,omitempty"`
}

// OwnClassesJSON writes files of classes for programs, with their text or without.
func OwnClassesJSON(w io.Writer, all []storeroom.OwnClasses, text bool) error {
	shape := []ownClassesJSON{}
	for i := range all {
		o := ownClassesJSON{Name: all[i].Name, Used: all[i].Now() != nil, Versions: []ownVersionJSON{}}
		for _, e := range all[i].Versions {
			v := ownVersionJSON{Event: e.ID, Recorded: e.Recorded.UTC().Format(time.RFC3339), By: e.By, Why: e.Why, Authority: e.Authority, Reference: e.Reference, Removed: e.Catalog == ""}
			if text {
				v.Text = e.Catalog
			}
			o.Versions = append(o.Versions, v)
		}
		shape = append(shape, o)
	}
	return writeJSON(w, shape)
}
