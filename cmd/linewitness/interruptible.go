package main

import (
	"context"
	"io"
)

// interruptible is a reader that an interruption ends although its Read blocks, as that of a pipe does. The reading
// goroutine may stay behind in Read; the process ends soon after.
type interruptible struct {
	ctx  context.Context
	full chan piece
	free chan []byte
	now  piece
	buf  []byte // now's storage, to be handed back
	stop context.CancelFunc
}

type piece struct {
	data []byte
	err  error
}

// newInterruptible reads from what open gives; open may block too, as that of a named pipe does.
func newInterruptible(ctx context.Context, open func() (io.ReadCloser, error)) *interruptible {
	ctx, stop := context.WithCancel(ctx)
	r := &interruptible{ctx: ctx, stop: stop, full: make(chan piece), free: make(chan []byte, 2)} // two: one is read into, one from
	r.free <- make([]byte, 1<<16)
	r.free <- make([]byte, 1<<16)
	go r.pump(open)
	return r
}

func (r *interruptible) pump(open func() (io.ReadCloser, error)) {
	from, err := open()
	if err == nil {
		defer from.Close()
	}
	for {
		p := piece{err: err}
		if err == nil {
			select {
			case buf := <-r.free:
				n, e := from.Read(buf)
				p, err = piece{buf[:n], e}, e
			case <-r.ctx.Done():
				return
			}
		}
		select {
		case r.full <- p:
		case <-r.ctx.Done():
			return
		}
		if p.err != nil {
			return
		}
	}
}

func (r *interruptible) Read(b []byte) (int, error) {
	for len(r.now.data) == 0 {
		if r.now.err != nil {
			return 0, r.now.err
		}
		if r.buf != nil {
			r.free <- r.buf[:cap(r.buf)]
			r.buf = nil
		}
		select {
		case r.now = <-r.full:
			r.buf = r.now.data
		case <-r.ctx.Done():
			r.now = piece{err: io.EOF}
		}
	}
	n := copy(b, r.now.data)
	r.now.data = r.now.data[n:]
	return n, nil
}
