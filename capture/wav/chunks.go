package wav

import (
	"encoding/binary"
	"fmt"
	"math"

	"linewitness/capture"
)

// longestHeader is where the samples must have begun: chunks before them hold notes, not the recording.
const longestHeader = 1 << 30

// unset is a size whose writer left it to others: ds64, or the end of the file.
const unset = math.MaxUint32

// piped is from where to math.MaxInt32 some writers set sizes that they don't know (from memory, no source).
const piped = 0x7FFFF000

// chunk is the name and size of a chunk and where its eight bytes stand in the file.
type chunk struct {
	id   string
	size uint32
	at   int64
}

// sizes are what is declared before the data chunk.
type sizes struct {
	large bool   // RF64
	data  uint64 // of ds64
	known bool   // there was a ds64
}

// header walks the chunks up to the first sample.
func (r *Reader) header(channel int) error {
	s := sizes{}
	if err := r.riff(&s); err != nil {
		return err
	}
	var f *format
	for {
		c, err := r.nextChunk(f != nil)
		if err != nil {
			return err
		}
		switch {
		case c.id == "data" && f == nil:
			return r.bad(c.at, "a fmt chunk before the data", "the data chunk")
		case c.id == "data":
			if err := r.use(f, channel); err != nil {
				return err
			}
			return r.measure(c, s)
		case c.id == "fmt " && f != nil:
			return r.bad(c.at, "one fmt chunk", "a second one")
		case c.id == "fmt ":
			f, err = r.readFormat(c)
		case c.id == "ds64" && s.large:
			err = r.readSizes(c, &s)
		default:
			err = r.pass(c, 0)
		}
		if err != nil {
			return err
		}
	}
}

// riff reads the beginning. Its size is not looked at: it tells nothing that the data chunk doesn't tell better.
func (r *Reader) riff(s *sizes) error {
	const want = `"RIFF" or "RF64", a size and "WAVE"`
	h, err := r.take(12, want)
	if err != nil {
		return err
	}
	s.large = string(h[:4]) == "RF64"
	if !s.large && string(h[:4]) != "RIFF" || string(h[8:]) != "WAVE" {
		return r.bad(0, want, capture.Quote(h))
	}
	return nil
}

// take reads n bytes. They are valid until the next call.
func (r *Reader) take(n int, expected string) ([]byte, error) {
	if !r.in.ensure(n) {
		if err := r.in.failure(); err != nil {
			return nil, err
		}
		found := "the end of the file"
		if rest := int64(r.in.unread()); rest > 0 {
			found += " after " + count(rest, "byte")
		}
		return nil, r.bad(r.in.offset()+int64(r.in.unread()), expected, found)
	}
	r.in.pos += n
	return r.in.buf[r.in.pos-n : r.in.pos], nil
}

// nextChunk reads the name and size of a chunk.
func (r *Reader) nextChunk(formatKnown bool) (chunk, error) {
	at, expected := r.in.offset(), "a fmt chunk"
	if formatKnown {
		expected = "a data chunk"
	}
	if at > longestHeader {
		return chunk{}, r.bad(at, expected+" within the first GiB", "none")
	}
	h, err := r.take(8, expected)
	if err != nil {
		return chunk{}, err
	}
	return chunk{id: string(h[:4]), size: binary.LittleEndian.Uint32(h[4:]), at: at}, nil
}

// pass steps over what is left of a chunk of which so many bytes were read, and over its padding.
func (r *Reader) pass(c chunk, read int) error {
	left := int64(c.size) + int64(c.size&1) - int64(read)
	if r.in.offset()+left > longestHeader {
		return r.bad(c.at+4, "the data within the first GiB", fmt.Sprintf("chunk %q of %s", c.id, count(int64(c.size), "byte")))
	}
	if n := r.in.skip(left); n < left {
		if err := r.in.failure(); err != nil {
			return err
		}
		found := fmt.Sprintf("the end of the file after %d", int64(read)+n)
		return r.bad(r.in.offset(), fmt.Sprintf("chunk %q of %s", c.id, count(int64(c.size), "byte")), found)
	}
	return nil
}

// readSizes takes the 64-bit sizes of EBU Tech 3306. Those of other chunks, in its table, are of no use here.
func (r *Reader) readSizes(c chunk, s *sizes) error {
	const shortest = 28
	if c.size < shortest {
		return r.bad(c.at+4, "a ds64 chunk of at least 28 bytes", fmt.Sprint(c.size))
	}
	h, err := r.take(shortest, "a ds64 chunk of 28 bytes")
	if err != nil {
		return err
	}
	s.data, s.known = binary.LittleEndian.Uint64(h[8:]), true
	return r.pass(c, shortest)
}

// measure takes the size of the data.
func (r *Reader) measure(c chunk, s sizes) error {
	size := uint64(c.size)
	switch {
	case s.large && c.size == unset && !s.known:
		return r.bad(c.at+4, "a ds64 chunk with the size of the data before it", "none")
	case s.large && c.size == unset:
		size = s.data
		r.streamed = size == 0 || size == math.MaxUint64
	default:
		r.streamed = placeholder(c.size, r.in.offset(), r.info.Size)
	}
	if r.streamed {
		r.total = mostSamples // nine million gigabytes or more: no stream gets there
		return nil
	}
	samples := size / uint64(r.align)
	if samples > mostSamples {
		return r.bad(c.at+4, fmt.Sprintf("at most %d samples", int64(mostSamples)), fmt.Sprint(samples))
	}
	r.total, r.odd = int64(samples), int64(size%uint64(r.align))
	return nil
}

// placeholder tells whether a size of 32 bits, of data that starts at that byte, was never corrected by its writer.
// fileSize 0: not known.
func placeholder(size uint32, data, fileSize int64) bool {
	if size >= piped && size <= math.MaxInt32 {
		return fileSize < data+int64(size)
	}
	return size == 0 || size == unset
}
