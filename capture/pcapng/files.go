package pcapng

import (
	"path/filepath"
	"strconv"
	"strings"
)

// files are those of a log, one after the other. A file is made beside its place, and takes its name once its head is on
// the disk.
type files struct {
	fs    FS // nil: one output, no file
	name  string
	part  int
	file  File
	stood bool // it has its name
	names []string
}

// named is the name of a part: a.pcapng, a.1.pcapng, a.2.pcapng ...
func (f *files) named() string {
	if f.part == 0 {
		return f.name
	}
	ending := filepath.Ext(f.name)
	return strings.TrimSuffix(f.name, ending) + "." + strconv.Itoa(f.part) + ending
}

// beside is the name of a part while it is made.
func (f *files) beside() string {
	dir, base := filepath.Split(f.named())
	return dir + "." + base + ".part"
}

func (f *files) create() (err error) {
	f.stood = false
	if f.fs != nil {
		f.file, err = f.fs.Create(f.beside())
	}
	return err
}

// stand gives the file its name for good.
func (f *files) stand() error {
	if f.fs == nil {
		return nil
	}
	if err := f.file.Sync(); err != nil {
		return err
	}
	if err := f.fs.Rename(f.beside(), f.named()); err != nil {
		return err
	}
	f.stood = true
	if err := f.fs.SyncDir(filepath.Dir(f.named())); err != nil {
		return err
	}
	f.names = append(f.names, f.named())
	return nil
}

// drop takes back a file that could not be begun.
func (f *files) drop() {
	if f.fs == nil {
		return
	}
	f.release()
	if f.stood {
		_ = f.fs.Remove(f.named())
	} else {
		_ = f.fs.Remove(f.beside())
	}
}

// release closes the file after an error, which is the one to tell.
func (f *files) release() {
	if f.file != nil {
		_ = f.file.Close()
	}
}
