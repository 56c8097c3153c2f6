// Package text is a sliding window over a text stream, for readers that walk its bytes themselves. Lines are not
// counted byte by byte but when the window moves, which is many times cheaper.
package text

import (
	"bytes"
	"fmt"
	"io"
	"strconv"
	"sync/atomic"

	"linewitness/capture"
)

const size = 256 << 10

// Window holds the unread bytes Buf[Pos:End] of a stream. Every index into Buf is void after Fill.
type Window struct {
	Buf      []byte
	Pos, End int

	name   string
	src    io.Reader
	err    error // of src, io.EOF too
	lines  int64 // line ends before Buf[0]
	offset int64 // bytes before Buf[0]
	read   atomic.Int64
}

// NewWindow makes a window of 256 KiB over r. The name stands in errors.
func NewWindow(r io.Reader, name string) *Window {
	return &Window{Buf: make([]byte, size), src: r, name: name}
}

// Fill drops what was read and gets more; false at the end of the stream, after an error, or when the window is full.
func (w *Window) Fill() bool {
	if w.err != nil {
		return false
	}
	w.slide()
	if w.End == len(w.Buf) {
		return false
	}
	// 100 empty reads in a row: bufio's limit.
	for range 100 {
		n, err := w.src.Read(w.Buf[w.End:])
		w.End += n
		w.read.Add(int64(n))
		w.err = err
		if n > 0 || err != nil {
			return n > 0
		}
	}
	w.err = io.ErrNoProgress
	return false
}

func (w *Window) slide() {
	if w.Pos == 0 {
		return
	}
	w.lines += int64(bytes.Count(w.Buf[:w.Pos], newline))
	w.offset += int64(w.Pos)
	copy(w.Buf, w.Buf[w.Pos:w.End])
	w.Pos, w.End = 0, w.End-w.Pos
}

var newline = []byte{'\n'}

// BytesRead is how many bytes were taken from the stream. It may be called from any goroutine.
func (w *Window) BytesRead() int64 { return w.read.Load() }

// Err is the stream's error, nil when it ended in order or goes on.
func (w *Window) Err() error {
	if w.err == nil || w.err == io.EOF {
		return nil
	}
	return fmt.Errorf("%s:%d: %w", w.name, w.Line(w.End), w.err)
}

// Line is the line of Buf[at], from 1.
func (w *Window) Line(at int) int64 {
	return w.lines + int64(bytes.Count(w.Buf[:at], newline)) + 1
}

// Column is the column of Buf[at] in bytes, from 1; right only where the line's start is still in the window.
func (w *Window) Column(at int) int64 {
	return int64(at - bytes.LastIndexByte(w.Buf[:at], '\n'))
}

// Offset is the place of Buf[at] in the stream, from 0.
func (w *Window) Offset(at int) int64 { return w.offset + int64(at) }

// Close closes the stream where it can be closed.
func (w *Window) Close() error {
	if c, ok := w.src.(io.Closer); ok {
		return c.Close()
	}
	return nil
}

// Seconds prints an instant for an error.
func Seconds(c capture.Clock, t capture.Tick) string {
	return strconv.FormatFloat(c.Seconds(t), 'f', -1, 64) + " s"
}
