package wav

import (
	"fmt"
	"io"
	"sync/atomic"
)

// bufferSize is all that is ever held of a file. It must be longer than a sample of all channels, at most 65,535 bytes.
const bufferSize = 256 << 10

// input is a window over a stream: buf[pos:end] is unread.
type input struct {
	buf      []byte
	pos, end int

	name   string
	src    io.Reader
	err    error // of src, io.EOF too
	before int64 // bytes before buf[0]
	read   atomic.Int64
}

// unread is how many bytes are there without reading.
func (in *input) unread() int { return in.end - in.pos }

// offset is the place of the next byte in the stream.
func (in *input) offset() int64 { return in.before + int64(in.pos) }

// ensure makes n bytes stand at pos, if the stream has them.
func (in *input) ensure(n int) bool {
	for in.unread() < n {
		if !in.fill() {
			return false
		}
	}
	return true
}

// fill drops what was read and gets more.
func (in *input) fill() bool {
	if in.err != nil {
		return false
	}
	if in.pos > 0 { // not for every byte that a slow stream gives
		in.before += int64(in.pos)
		in.end = copy(in.buf, in.buf[in.pos:in.end])
		in.pos = 0
	}
	// 100 empty reads in a row: bufio's limit.
	for range 100 {
		n, err := in.src.Read(in.buf[in.end:])
		in.end += n
		in.read.Add(int64(n))
		in.err = err
		if n > 0 || err != nil {
			return n > 0
		}
	}
	in.err = io.ErrNoProgress
	return false
}

// skip passes over n bytes and says how many there were.
func (in *input) skip(n int64) (skipped int64) {
	for {
		step := int(min(n-skipped, int64(in.unread())))
		in.pos += step
		skipped += int64(step)
		if skipped == n || !in.fill() {
			return skipped
		}
	}
}

// failure is the stream's error, nil when it ended in order or goes on.
func (in *input) failure() error {
	if in.err == nil || in.err == io.EOF {
		return nil
	}
	return fmt.Errorf("%s: byte %d: %w", in.name, in.before+int64(in.end), in.err)
}
