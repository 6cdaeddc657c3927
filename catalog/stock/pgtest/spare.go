package pgtest

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
)

// maxSpares bounds the data folders kept for the next server, about 30 MB each.
const maxSpares = 4

// furnish gives a server the data folder of a fresh template. Where there is a spare it is
// written over: a file system may be slow to make a thousand files just after as many
// were deleted (ext4 looks for file numbers that were not used a moment ago).
func (h *house) furnish(s *Server) error {
	if spare := h.takeSpare(); spare != "" {
		if err := os.Rename(spare, s.data()); err != nil {
			return err
		}
		if err := clearOthers(s.data(), h.template); err != nil {
			return err
		}
		return h.run("cp", "-Rp", h.template+"/.", s.data())
	}
	return h.run("cp", "-Rp", h.template, s.data())
}

func (h *house) takeSpare() string {
	h.spareMu.Lock()
	defer h.spareMu.Unlock()
	n := len(h.spares)
	if n == 0 {
		return ""
	}
	spare := h.spares[n-1]
	h.spares = h.spares[:n-1]
	return spare
}

// keepSpare keeps the data folder of a server that has ended.
func (h *house) keepSpare(s *Server) {
	h.spareMu.Lock()
	defer h.spareMu.Unlock()
	if len(h.spares) == maxSpares {
		return
	}
	spare := filepath.Join(h.root, "spare-"+s.name+"-"+strconv.Itoa(len(h.spares)))
	if os.Rename(s.data(), spare) == nil {
		h.spares = append(h.spares, spare)
	}
}

// clearOthers removes from a folder what the template does not have, or has as something
// else; what is left is then written over.
func clearOthers(dir, template string) error {
	return filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		like, err := os.Lstat(filepath.Join(template, rel))
		if err == nil && like.Mode().Type() == d.Type() {
			return nil
		}
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		if err := os.RemoveAll(path); err != nil {
			return err
		}
		if d.IsDir() {
			return fs.SkipDir
		}
		return nil
	})
}
