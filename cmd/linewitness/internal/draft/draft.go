// Package draft writes files that stand under their names only once they are whole.
package draft

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Draft is a file that stands under its name only once it is whole: until then it is a hidden file beside it. What is
// no regular file, a pipe or a device, is written straight.
type Draft struct {
	*os.File
	name   string // where it goes; empty: written straight
	closed bool
}

// New begins a draft of the file name. What stands under that name is left as it is until Commit.
func New(name string) (*Draft, error) {
	if at, err := filepath.EvalSymlinks(name); err == nil {
		name = at // the file behind a link is replaced, not the link
	}
	if info, err := os.Stat(name); err == nil && !info.Mode().IsRegular() {
		f, err := os.OpenFile(name, os.O_WRONLY, 0)
		if err != nil {
			return nil, err
		}
		return &Draft{File: f}, nil
	}
	for n := 0; ; n++ {
		beside := filepath.Join(filepath.Dir(name), fmt.Sprintf(".%s.%d-%d.part", filepath.Base(name), os.Getpid(), n))
		f, err := os.OpenFile(beside, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
		switch {
		case err == nil:
			return &Draft{File: f, name: name}, nil
		case !errors.Is(err, fs.ErrExist) || n == 99:
			return nil, &fs.PathError{Op: "create", Path: name, Err: plainly(err)}
		}
	}
}

// Write leaves the hidden name out of errors.
func (d *Draft) Write(p []byte) (int, error) {
	n, err := d.File.Write(p)
	return n, plainly(err)
}

// plainly is what is behind the name of a file in an error.
func plainly(err error) error {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err
	}
	return err
}

// Cut shortens the draft to size bytes, where that can be done.
func (d *Draft) Cut(size int64) (done bool, err error) {
	if d.name == "" {
		return false, nil
	}
	if err := d.Truncate(size); err != nil {
		return false, err
	}
	_, err = d.Seek(size, 0)
	return err == nil, err
}

// Size is the number of bytes of a regular file.
func (d *Draft) Size() (n int64, ok bool) {
	if d.name == "" {
		return 0, false
	}
	info, err := d.Stat()
	if err != nil {
		return 0, false
	}
	return info.Size(), true
}

// Commit closes the file and gives it its name; after an error nothing is left.
func (d *Draft) Commit() error {
	if d.closed {
		return nil
	}
	d.closed = true
	err := plainly(d.Close())
	if d.name == "" {
		return err
	}
	if err == nil {
		err = os.Rename(d.Name(), d.name)
	}
	if err != nil {
		_ = os.Remove(d.Name())
	}
	return err
}

// Abandon closes the file and removes it, unless it was committed.
func (d *Draft) Abandon() {
	if d.closed {
		return
	}
	d.closed = true
	_ = d.Close()
	if d.name != "" {
		_ = os.Remove(d.Name())
	}
}
