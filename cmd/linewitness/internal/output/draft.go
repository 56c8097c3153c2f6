package output

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// draft is a file that stands under its name only once it is whole: until then it is a hidden file beside it. What is
// no regular file, a pipe or a device, is written straight.
type draft struct {
	*os.File
	name   string // where it goes; empty: written straight
	closed bool
}

func newDraft(name string) (*draft, error) {
	if at, err := filepath.EvalSymlinks(name); err == nil {
		name = at // the file behind a link is replaced, not the link
	}
	if info, err := os.Stat(name); err == nil && !info.Mode().IsRegular() {
		f, err := os.OpenFile(name, os.O_WRONLY, 0)
		if err != nil {
			return nil, err
		}
		return &draft{File: f}, nil
	}
	for n := 0; ; n++ {
		beside := filepath.Join(filepath.Dir(name), fmt.Sprintf(".%s.%d-%d.part", filepath.Base(name), os.Getpid(), n))
		f, err := os.OpenFile(beside, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
		switch {
		case err == nil:
			return &draft{File: f, name: name}, nil
		case !errors.Is(err, fs.ErrExist) || n == 99:
			var path *fs.PathError
			if errors.As(err, &path) {
				err = path.Err
			}
			return nil, &fs.PathError{Op: "create", Path: name, Err: err}
		}
	}
}

// cut shortens the draft to size bytes, where that can be done.
func (d *draft) cut(size int64) (done bool, err error) {
	if d.name == "" {
		return false, nil
	}
	if err := d.Truncate(size); err != nil {
		return false, err
	}
	_, err = d.Seek(size, 0)
	return err == nil, err
}

// commit closes the draft and gives it its name; after an error nothing is left.
func (d *draft) commit() error {
	if d.closed {
		return nil
	}
	d.closed = true
	if d.name == "" {
		return d.Close()
	}
	err := d.Close()
	if err == nil {
		err = os.Rename(d.Name(), d.name)
	}
	if err != nil {
		_ = os.Remove(d.Name())
	}
	return err
}

// abandon closes the draft and removes it.
func (d *draft) abandon() {
	if d.closed {
		return
	}
	d.closed = true
	_ = d.Close()
	if d.name != "" {
		_ = os.Remove(d.Name())
	}
}
