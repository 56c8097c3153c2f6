package pcapng_test

import (
	"bytes"
	"fmt"
	"io/fs"
	"maps"
	"math/rand/v2"
	"path/filepath"
	"slices"

	"linewitness/capture/pcapng"
)

// memFS is a file system in memory that remembers what is on the disk for sure, and fails when it is told to.
type memFS struct {
	now, disk map[string]*memFile // by name: as programs see it, and as it is after a crash
	pending   []func()            // changes of names that no SyncDir has made last yet
	ops       int                 // operations so far
	fail      func(op int, what string) error
	short     bool // a failing write takes half of its bytes
}

type memFile struct {
	fs     *memFS
	data   []byte
	synced int // bytes that are on the disk
	closed bool
}

func newMemFS() *memFS { return &memFS{now: map[string]*memFile{}, disk: map[string]*memFile{}} }

func (m *memFS) op(what string) error {
	m.ops++
	if m.fail == nil {
		return nil
	}
	return m.fail(m.ops, what)
}

func (m *memFS) Create(name string) (pcapng.File, error) {
	if err := m.op("create"); err != nil {
		return nil, err
	}
	f := &memFile{fs: m}
	m.now[name] = f
	m.pending = append(m.pending, func() { m.disk[name] = f })
	return f, nil
}

func (m *memFS) Rename(old, new string) error {
	if err := m.op("rename"); err != nil {
		return err
	}
	f, ok := m.now[old]
	if !ok {
		return fs.ErrNotExist
	}
	delete(m.now, old)
	m.now[new] = f
	m.pending = append(m.pending, func() { delete(m.disk, old); m.disk[new] = f })
	return nil
}

func (m *memFS) Remove(name string) error {
	if err := m.op("remove"); err != nil {
		return err
	}
	delete(m.now, name)
	m.pending = append(m.pending, func() { delete(m.disk, name) })
	return nil
}

func (m *memFS) SyncDir(dir string) error {
	if err := m.op("sync folder"); err != nil {
		return err
	}
	if dir != filepath.Dir("x") {
		return fmt.Errorf("no folder %q", dir)
	}
	m.settle(len(m.pending))
	return nil
}

func (m *memFS) settle(n int) {
	for _, change := range m.pending[:n] {
		change()
	}
	m.pending = m.pending[n:]
}

func (f *memFile) Write(p []byte) (int, error) {
	if err := f.fs.op("write"); err != nil {
		if f.fs.short {
			f.data = append(f.data, p[:len(p)/2]...)
			return len(p) / 2, nil
		}
		return 0, err
	}
	f.data = append(f.data, p...)
	return len(p), nil
}

func (f *memFile) Sync() error {
	if err := f.fs.op("sync"); err != nil {
		return err
	}
	f.synced = len(f.data)
	return nil
}

func (f *memFile) Close() error {
	if f.closed {
		return fs.ErrClosed
	}
	f.closed = true
	return f.fs.op("close")
}

// crash is what the disk holds after the power failed: what was synced, and of the rest each 512 bytes with a chance; what
// is missing in between reads as zeros. Changes of names that were not synced are there up to a point.
func (m *memFS) crash(r *rand.Rand, keep float64) map[string][]byte {
	if n := len(m.pending); n > 0 {
		m.settle(r.IntN(n + 1))
	}
	files := map[string][]byte{}
	for _, name := range slices.Sorted(maps.Keys(m.disk)) {
		f := m.disk[name]
		data := bytes.Clone(f.data[:f.synced])
		for at := f.synced; at < len(f.data); {
			to := min(len(f.data), (at/512+1)*512)
			if r.Float64() < keep {
				data = append(data, make([]byte, at-len(data))...)
				data = append(data, f.data[at:to]...)
			}
			at = to
		}
		files[name] = data
	}
	return files
}
