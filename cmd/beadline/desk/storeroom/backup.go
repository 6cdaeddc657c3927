package storeroom

import (
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/google/renameio/v2"

	"beadline/catalog/stock/register"
	"beadline/cmd/beadline/desk"
)

// backupEnding is how the names of backups end, or go on before .gz.
const backupEnding = ".beadline-backup"

// BackupName is where a backup of a register goes if nobody says: beside its file, or for
// a server into the folder of the user's data; or into a folder that is named.
func BackupName(name, folder string, now time.Time) string {
	base := "register"
	if !IsServer(name) {
		base = strings.TrimSuffix(filepath.Base(name), filepath.Ext(name))
	}
	if folder == "" {
		folder = besides(name)
	}
	return filepath.Join(folder, base+"-"+now.Format("2006-01-02T1504")+backupEnding)
}

// besides is the folder where the backups of a register are looked for.
func besides(name string) string {
	if IsServer(name) {
		name = DefaultName()
	}
	return filepath.Dir(name)
}

// NewestBackup is the newest backup beside a register, by its file's time; "": there is
// none. One that begins with the register's own name goes before others.
func NewestBackup(name string) (newest string, when time.Time) {
	own := ""
	if !IsServer(name) {
		own = strings.TrimSuffix(filepath.Base(name), filepath.Ext(name)) + "-"
	}
	entries, err := os.ReadDir(besides(name))
	if err != nil {
		return "", when
	}
	ours := false
	for _, e := range entries {
		info, err := e.Info()
		if err != nil || !info.Mode().IsRegular() || !strings.Contains(e.Name(), backupEnding) {
			continue
		}
		is := own != "" && strings.HasPrefix(e.Name(), own)
		if newest == "" || is && !ours || is == ours && info.ModTime().After(when) {
			newest, when, ours = filepath.Join(besides(name), e.Name()), info.ModTime(), is
		}
	}
	return newest, when
}

// Backup writes a backup of the register to a file, whole or not at all; packed with gzip
// if its name ends in .gz. A file that is there is replaced only if force says so.
func (r *Room) Backup(ctx context.Context, file string, force bool) (*register.BackedUp, error) {
	if err := mayWrite(file, force); err != nil {
		return nil, err
	}
	var done *register.BackedUp
	err := WriteWhole(file, func(w io.Writer) (err error) {
		if !packed(file) {
			done, err = r.Register.Backup(ctx, w)
			return err
		}
		z := gzip.NewWriter(w)
		if done, err = r.Register.Backup(ctx, z); err != nil {
			return err
		}
		return z.Close()
	})
	return done, err
}

func packed(file string) bool { return strings.HasSuffix(strings.ToLower(file), ".gz") }

// mayWrite refuses to replace a file unless that is wanted.
func mayWrite(file string, force bool) error {
	info, err := os.Stat(file)
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return desk.FileError(file, err)
	case !info.Mode().IsRegular():
		return fmt.Errorf("%s: this is not a file that can be replaced: name another", file)
	case !force:
		return fmt.Errorf("%s is there already: name another file, or replace it with --force", file)
	}
	if info, err := os.Stat(filepath.Dir(file)); err != nil || !info.IsDir() {
		return fmt.Errorf("%s: there is no folder %s: make it first", file, filepath.Dir(file))
	}
	return nil
}

// WriteWhole writes a file through a stream, whole or not at all: until it is complete
// and on the disk nothing stands under its name.
func WriteWhole(file string, write func(io.Writer) error) error {
	f, err := renameio.NewPendingFile(file, renameio.WithPermissions(0o644))
	if err != nil {
		return unwritable(file, err)
	}
	defer f.Cleanup()
	failed := &failing{w: f}
	if err := write(failed); err != nil {
		if failed.err != nil {
			return unwritable(file, failed.err)
		}
		return err
	}
	if err := f.CloseAtomicallyReplace(); err != nil {
		return unwritable(file, err)
	}
	return nil
}

func unwritable(file string, err error) error {
	var pe *fs.PathError
	switch {
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%s: you may not write here: name another folder", file)
	case errors.As(err, &pe):
		err = pe.Err // the path is that of a file that is gone again
	}
	return fmt.Errorf("%s: cannot be written: %w", file, err)
}

// failing tells a failed write from any other error.
type failing struct {
	w   io.Writer
	err error
}

func (f *failing) Write(p []byte) (int, error) {
	n, err := f.w.Write(p)
	if err != nil {
		f.err = err
	}
	return n, err
}

// OpenBackup reads a backup and checks that it is whole.
func OpenBackup(file string) (*register.Saved, error) {
	return register.OpenBackup(file, func() (io.ReadCloser, error) {
		f, err := desk.OpenFile(file)
		if err != nil || !packed(file) {
			return f, err
		}
		z, err := gzip.NewReader(f)
		if err != nil {
			f.Close()
			return nil, fmt.Errorf("%s: the file is not what gzip writes: %w", file, err)
		}
		return &unpacking{z, f}, nil
	})
}

type unpacking struct {
	*gzip.Reader
	file *os.File
}

func (u *unpacking) Close() error { return errors.Join(u.Reader.Close(), u.file.Close()) }

// Restore fills a register that is empty, or not there yet, from a backup: all of it or
// nothing. A file that it made is taken away again if that fails.
func Restore(ctx context.Context, name string, b *register.Saved, open func() (*Room, error)) (err error) {
	made := false
	if !IsServer(name) {
		_, serr := os.Stat(name)
		made = errors.Is(serr, fs.ErrNotExist)
	}
	r, err := open()
	if err != nil {
		return err
	}
	defer func() {
		err = errors.Join(err, r.Close())
		if err != nil && made {
			for _, end := range []string{"", "-wal", "-shm", "-journal"} {
				_ = os.Remove(name + end)
			}
		}
	}()
	return r.Register.Restore(ctx, b)
}

// WriteFile is WriteWhole for a file that is replaced only if force says so.
func WriteFile(file string, force bool, write func(io.Writer) error) error {
	if err := mayWrite(file, force); err != nil {
		return err
	}
	return WriteWhole(file, write)
}
