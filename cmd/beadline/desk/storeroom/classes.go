package storeroom

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"unicode/utf8"

	"beadline/catalog"
	"beadline/catalog/stock/register"
	"beadline/cure/nearest"
)

// OwnClasses is a catalog of a company's own classes that is kept in the register.
type OwnClasses struct {
	Name string
	// Versions are what was recorded of it, the last one last: each stays.
	Versions []*register.Event
}

// Now is the version that counts; nil if it was taken away.
func (o *OwnClasses) Now() *register.Event {
	if n := len(o.Versions); n > 0 && o.Versions[n-1].Catalog != "" {
		return o.Versions[n-1]
	}
	return nil
}

// File is what the catalog is called in messages: with it stand the lines of its text.
func (o *OwnClasses) File() string { return "classes " + o.Name + fileInRegister }

// fileInRegister ends what OwnClasses.File answers.
const fileInRegister = " in the register"

// inRegister says whether the file of a class is what the register keeps.
func inRegister(file string) bool { return strings.HasSuffix(file, fileInRegister) }

// Catalogs are those that the register keeps, those that were taken away too, in the
// order of their names.
func (r *Room) Catalogs(ctx context.Context) (all []OwnClasses, err error) {
	prefix := string(register.CatalogKey(""))
	var keys []register.Key
	err = r.Store.Lines(ctx, register.Key(prefix), func(h register.Head) bool {
		if !strings.HasPrefix(string(h.Key), prefix) {
			return false
		}
		keys = append(keys, h.Key)
		return true
	})
	for _, k := range keys {
		s, lerr := r.Load(ctx, k)
		if lerr != nil {
			return nil, lerr
		}
		name, _ := k.Catalog()
		o := OwnClasses{Name: name}
		for _, e := range s.Events {
			if e.Kind == register.KindClasses && s.Corrected[e.ID] == nil {
				o.Versions = append(o.Versions, e)
			}
		}
		all = append(all, o)
	}
	return all, err
}

// Learn has the judge know the classes that the register keeps, and over them those of
// files: of two with one id the later wins, and clashes says so. A catalog of the register
// that no longer reads is left out, and clashes says that too: its classes are then not
// known, which holds what is of them.
func (r *Room) Learn(ctx context.Context, files []string, read func(string) ([]byte, error)) (clashes []string, err error) {
	own, err := r.Catalogs(ctx)
	if err != nil || len(own) == 0 {
		return nil, err
	}
	c := catalog.Builtin()
	for i := range own {
		now := own[i].Now()
		if now == nil {
			continue
		}
		more, err := c.Add([]byte(now.Catalog), own[i].File())
		if err != nil {
			more = []string{err.Error() + " (its classes are left out: correct the file, and beadline stock classes add it again)"}
		}
		clashes = append(clashes, more...)
	}
	for _, name := range files {
		data, err := read(name)
		if err != nil {
			return nil, err
		}
		more, err := c.Add(data, name)
		if err != nil {
			return nil, err
		}
		clashes = append(clashes, more...)
	}
	r.Judge.Learn(c)
	return clashes, nil
}

// ClassesName is what a catalog is called that nobody named: its file, without the ending.
func ClassesName(file string) string {
	return strings.TrimSuffix(filepath.Base(file), filepath.Ext(file))
}

// AddClasses keeps a catalog in the register, in place of the one of that name; said is
// who, and why. What has an error in it is refused, with file and line. known is true if
// it is there already, as it is.
func (r *Room) AddClasses(ctx context.Context, name, file string, data []byte, said register.Event) (e *register.Event, known bool, err error) {
	classes, err := catalog.Read(data, file)
	switch {
	case err != nil:
		return nil, false, err
	case len(classes) == 0:
		return nil, false, fmt.Errorf("%s: there is no class in it", file)
	case !utf8.Valid(data):
		return nil, false, fmt.Errorf("%s: it is not UTF-8 text", file)
	}
	return r.keepClasses(ctx, name, string(data), said)
}

// RemoveClasses takes a catalog of the register out of use; its versions stay on record.
func (r *Room) RemoveClasses(ctx context.Context, name string, said register.Event) (*register.Event, error) {
	if _, err := r.OwnClasses(ctx, name); err != nil {
		return nil, err
	}
	e, known, err := r.keepClasses(ctx, name, "", said)
	if err == nil && known {
		err = fmt.Errorf("%s: the classes %s are taken away already", r.Store.Name(), name)
	}
	return e, err
}

// OwnClasses is the catalog of a name; the error names the nearest.
func (r *Room) OwnClasses(ctx context.Context, name string) (*OwnClasses, error) {
	all, err := r.Catalogs(ctx)
	if err != nil {
		return nil, err
	}
	var names []string
	for i := range all {
		if all[i].Name == name {
			return &all[i], nil
		}
		names = append(names, all[i].Name)
	}
	switch near := nearest.Names(name, names, 3); {
	case names == nil:
		return nil, fmt.Errorf("%s: it keeps no classes: beadline stock classes add FILE", r.Store.Name())
	case near != nil:
		return nil, fmt.Errorf("%s: it keeps no classes %q: the nearest are %s", r.Store.Name(), name, strings.Join(near, ", "))
	}
	return nil, fmt.Errorf("%s: it keeps no classes %q, but %s", r.Store.Name(), name, joinAnd(names))
}

func (r *Room) keepClasses(ctx context.Context, name, text string, said register.Event) (e *register.Event, known bool, err error) {
	if name, err = register.Clean(name, 100); err != nil || name == "" {
		return nil, false, errors.Join(errors.New("--name: say what the catalog is called"), err)
	}
	said.Kind, said.At, said.Catalog = register.KindClasses, r.At, text
	done, err := r.Append(ctx, register.CatalogKey(name), func(s *register.State) ([]*register.Event, error) {
		known = len(s.Events) > 0 && s.Events[len(s.Events)-1].Catalog == text
		if known {
			return nil, nil
		}
		own := said
		return []*register.Event{&own}, nil
	})
	if err != nil || known {
		return nil, known, r.refusal(err)
	}
	return done.Events[0], false, nil
}
