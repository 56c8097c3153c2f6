package record

import (
	"encoding/binary"
	"math/bits"
	"slices"
)

// Bits stand lowest first in their bytes. A Rice code of z with parameter k is z>>k zeros, a one, and the k low bits of z
// (R. F. Rice, Some Practical Universal Noiseless Coding Techniques, JPL 79-22, 1979).
const (
	maxRice    = 25 // largest parameter: a whole symbol then fits a refilled reader
	maxZeros   = 15 // of a rest or a difference
	longest    = 17 + 6 + 64
	bytesAhead = 8 // a writer's put touches so many
)

// bitWriter appends bits to p[:pos]; p has room for all that will come.
type bitWriter struct {
	p   []byte
	pos int
	acc uint64
	n   uint // bits in acc, fewer than 8 between calls
}

// newBitWriter has room for count symbols after dst.
func newBitWriter(dst []byte, count int) bitWriter {
	pos := len(dst)
	dst = slices.Grow(dst, count*(longest+7)/8+bytesAhead)
	return bitWriter{p: dst[:cap(dst)], pos: pos}
}

// put writes the low n bits of v, n up to 56; the others are 0.
func (w *bitWriter) put(v uint64, n uint) {
	w.acc |= v << w.n
	w.n += n
	binary.LittleEndian.PutUint64(w.p[w.pos:], w.acc)
	w.pos += int(w.n >> 3)
	w.acc >>= w.n &^ 7
	w.n &= 7
}

// putLong writes v as the number of its bits less one, in 6 bits, and its bits. v is not 0.
func (w *bitWriter) putLong(v uint64) {
	n := uint(bits.Len64(v))
	w.put(uint64(n-1), 6)
	w.put(v&(1<<32-1), min(n, 32))
	if n > 32 {
		w.put(v>>32, n-32)
	}
}

// end fills the last byte up and returns all.
func (w *bitWriter) end() []byte {
	if w.n > 0 {
		w.pos++ // put has written the started byte
	}
	return w.p[:w.pos]
}

// bitReader reads what a bitWriter wrote. Past the end come zeros; used then tells that too much was taken.
type bitReader struct {
	p    []byte
	pos  int
	buf  uint64
	have uint // bits in buf that count
}

// fill makes at least 56 bits ready.
func (r *bitReader) fill() {
	if r.pos+8 <= len(r.p) {
		r.buf |= binary.LittleEndian.Uint64(r.p[r.pos:]) << r.have
		r.pos += int((63 - r.have) >> 3)
		r.have |= 56
		return
	}
	r.fillSlow()
}

func (r *bitReader) fillSlow() {
	for r.have <= 55 {
		if r.pos < len(r.p) {
			r.buf |= uint64(r.p[r.pos]) << r.have
		}
		r.pos++
		r.have += 8
	}
}

// get is the next n bits, of those that are ready.
func (r *bitReader) get(n uint) uint64 {
	v := r.buf & (1<<n - 1)
	r.buf >>= n
	r.have -= n
	return v
}

// long is the inverse of putLong.
func (r *bitReader) long() uint64 {
	r.fill()
	n := uint(r.get(6)) + 1
	v := r.get(min(n, 32))
	if n > 32 {
		r.fill()
		v |= r.get(n-32) << 32
	}
	return v
}

// used is the number of bytes taken, a started one with them; more than there were: the stream was cut.
func (r *bitReader) used() int { return (r.pos*8 - int(r.have) + 7) / 8 }
