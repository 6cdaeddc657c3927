package desk

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"beadline/catalog"
	"beadline/cure"
	"beadline/cure/airlog"
)

// ReadFile reads a file that a person named. The error is one line that says the
// name, what is wrong with it and, where that helps, what would be right.
func ReadFile(name string) ([]byte, error) {
	if info, err := os.Stat(name); err == nil && info.IsDir() {
		return nil, fmt.Errorf("%s: this is a folder: name a file in it", name)
	}
	data, err := os.ReadFile(name)
	if err != nil {
		return nil, FileError(name, err)
	}
	return data, nil
}

// OpenFile is ReadFile for a file too long to hold.
func OpenFile(name string) (*os.File, error) {
	if info, err := os.Stat(name); err == nil && info.IsDir() {
		return nil, fmt.Errorf("%s: this is a folder: name a file in it", name)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, FileError(name, err)
	}
	return f, nil
}

// FileError is an error of opening or making a file in one line for the person who named it.
func FileError(name string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		where, _ := os.Getwd()
		if filepath.IsAbs(name) {
			return fmt.Errorf("%s: there is no such file", name)
		}
		return fmt.Errorf("%s: there is no such file in %s", name, where)
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%s: you may not read this file", name)
	}
	var pe *fs.PathError
	if errors.As(err, &pe) {
		err = pe.Err
	}
	return fmt.Errorf("%s: %w", name, err)
}

// Catalog is the built-in set with the class files of a person added in their
// order; of two classes with one id the later wins, and clashes says so, one line
// each. An error names the file and, where it can, line and column.
func Catalog(files []string) (c *catalog.Catalog, clashes []string, err error) {
	c = catalog.Builtin()
	for _, name := range files {
		data, err := ReadFile(name)
		if err != nil {
			return nil, nil, err
		}
		more, err := c.Add(data, name)
		if err != nil {
			return nil, nil, err
		}
		clashes = append(clashes, more...)
	}
	return c, clashes, nil
}

// Air is an air log as measured.
type Air struct {
	Name    string
	Samples []cure.Sample // in time order, at least one
	Notes   []string      // what was assumed in reading it and what looks odd
	Suspect []string      // those of the Notes by which a sensor is to be checked first
}

// ReadAir reads an air log file. zone is where its local times are; nil refuses
// them. The error says file, line, what is wrong and what would be right.
func ReadAir(name string, zone *time.Location) (*Air, error) {
	data, err := ReadFile(name)
	if err != nil {
		return nil, err
	}
	log, err := airlog.Read(data, name, airlog.Options{Zone: zone})
	if err != nil {
		return nil, err
	}
	return &Air{Name: name, Notes: log.Notes, Suspect: log.Suspect, Samples: log.Samples}, nil
}

// Piece is the log as a piece of air history. Where its last reading is held, that is
// a forecast, with the usual doubt.
func (a *Air) Piece() cure.Piece {
	return cure.Piece{Name: filepath.Base(a.Name), Samples: a.Samples, Margin: cure.DefaultMargin}
}

// First and Last are the instants that the log spans.
func (a *Air) First() time.Time { return a.Samples[0].At }

// Last is the instant of the last reading.
func (a *Air) Last() time.Time { return a.Samples[len(a.Samples)-1].At }
