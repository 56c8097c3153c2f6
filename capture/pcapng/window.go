package pcapng

import (
	"errors"
	"io"
	"sync/atomic"
)

// window is the part of a file that is looked at. It grows by what was really read, never by what a length says.
type window struct {
	in    io.Reader
	off   int64  // of buf[0] in the file
	store []byte // behind buf
	read  atomic.Int64
	buf   []byte
	end   error // io.EOF or what else ended the file
}

const readSize = 64 << 10

// need reads until n bytes stand in the window, or the file ends, and tells whether they do.
func (w *window) need(n int) bool {
	for idle := 0; len(w.buf) < n && w.end == nil; {
		w.room()
		got, err := w.in.Read(w.buf[len(w.buf) : len(w.buf)+readSize])
		w.buf = w.buf[:len(w.buf)+got]
		w.read.Add(int64(got))
		if idle++; got > 0 {
			idle = 0
		}
		switch {
		case err != nil:
			w.end = err
		case idle > 100:
			w.end = io.ErrNoProgress
		}
	}
	return len(w.buf) >= n
}

// room makes room for a read behind what stands in the window.
func (w *window) room() {
	switch {
	case cap(w.buf)-len(w.buf) >= readSize:
		return
	case len(w.buf)+readSize > cap(w.store):
		w.store = make([]byte, 0, 2*len(w.buf)+2*readSize)
	}
	w.buf = append(w.store[:0], w.buf...)
}

// skip leaves n bytes behind. They stay in memory, and valid, until the next call of need.
func (w *window) skip(n int) {
	w.off += int64(n)
	w.buf = w.buf[n:]
}

// failed is the error that ended the file where it is none of the file's own.
func (w *window) failed() error {
	if w.end == nil || errors.Is(w.end, io.EOF) {
		return nil
	}
	return w.end
}
