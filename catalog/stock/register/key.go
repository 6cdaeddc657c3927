package register

import "strings"

// Key names one line of the register. That of a batch is its number and its maker with
// a tab between them, since two makers may use one number; that of anything else a word,
// two tabs and a name. No field of the register has a control character in it, so a key
// means one thing only.
type Key string

// Batch is what names a batch: the number on the label, and who made it, "" where that
// is not recorded.
type Batch struct{ Number, Maker string }

// String is the batch for people: the number, and the maker if known.
func (b Batch) String() string {
	if b.Maker == "" {
		return b.Number
	}
	return b.Number + " of " + b.Maker
}

// Key is the key of the batch's line.
func (b Batch) Key() Key { return Key(b.Number + "\t" + b.Maker) }

// CatalogKey is the key of the line of a catalog of classes.
func CatalogKey(name string) Key { return Key("catalog\t\t" + name) }

// Batch is the batch that a key names; ok is false for the line of anything else.
func (k Key) Batch() (b Batch, ok bool) {
	number, maker, found := strings.Cut(string(k), "\t")
	if !found || number == "" || strings.HasPrefix(maker, "\t") {
		return Batch{}, false
	}
	return Batch{number, maker}, true
}

// Catalog is the name of the catalog that a key names; ok is false for any other line.
func (k Key) Catalog() (name string, ok bool) {
	return strings.CutPrefix(string(k), "catalog\t\t")
}

// String is the key for people.
func (k Key) String() string {
	if b, ok := k.Batch(); ok {
		return "batch " + b.String()
	}
	if name, ok := k.Catalog(); ok {
		return "catalog " + name
	}
	return strings.Join(strings.Fields(string(k)), " ")
}
