package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// target is a file that stands under its name only once it is whole: until then it is a hidden file beside it. What is
// no regular file, a pipe or a device, is written straight.
type target struct {
	*os.File
	name   string // where it goes; empty: written straight
	closed bool
}

func newTarget(name string) (*target, error) {
	if at, err := filepath.EvalSymlinks(name); err == nil {
		name = at // the file behind a link is replaced, not the link
	}
	if info, err := os.Stat(name); err == nil && !info.Mode().IsRegular() {
		f, err := os.OpenFile(name, os.O_WRONLY, 0)
		if err != nil {
			return nil, err
		}
		return &target{File: f}, nil
	}
	for n := 0; ; n++ {
		beside := filepath.Join(filepath.Dir(name), fmt.Sprintf(".%s.%d-%d.part", filepath.Base(name), os.Getpid(), n))
		f, err := os.OpenFile(beside, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
		switch {
		case err == nil:
			return &target{File: f, name: name}, nil
		case !errors.Is(err, fs.ErrExist) || n == 99:
			return nil, &fs.PathError{Op: "create", Path: name, Err: plainly(err)}
		}
	}
}

// Write leaves the hidden name out of errors.
func (t *target) Write(p []byte) (int, error) {
	n, err := t.File.Write(p)
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

// size is the number of bytes of a regular file.
func (t *target) size() (n int64, ok bool) {
	if t.name == "" {
		return 0, false
	}
	info, err := t.Stat()
	if err != nil {
		return 0, false
	}
	return info.Size(), true
}

// commit closes the file and gives it its name; after an error nothing is left.
func (t *target) commit() error {
	if t.closed {
		return nil
	}
	t.closed = true
	err := plainly(t.Close())
	if t.name == "" {
		return err
	}
	if err == nil {
		err = os.Rename(t.Name(), t.name)
	}
	if err != nil {
		_ = os.Remove(t.Name())
	}
	return err
}

// abandon closes the file and removes it, unless it was committed.
func (t *target) abandon() {
	if t.closed {
		return
	}
	t.closed = true
	_ = t.Close()
	if t.name != "" {
		_ = os.Remove(t.Name())
	}
}
