package uart

import "linewitness/capture/burst"

// Reader reads bursts of a line as its profile says: of two levels or three, and, where a pair's conductors may be
// swapped for one talker, the other way round where that alone fits. It holds scratch and belongs to one goroutine.
type Reader struct {
	up, down *Decoder
	spaces   Spaces
	either   bool
	upBatch  burst.Batch
	downOne  burst.Batch
}

// NewReader makes a reader around d. Spaces 0: the line has two levels. Either: see Reader.
func NewReader(d *Decoder, spaces Spaces, either bool) *Reader {
	r := &Reader{up: d, spaces: spaces, either: either}
	if either {
		down := *d
		down.mark = Line{Inverted: !d.line.Inverted}.Mark()
		r.down = &down
	}
	return r
}

// Read appends the characters of a batch to dst. Batch is b, or what it was folded to; it stays valid until the next Read.
func (r *Reader) Read(dst *Chars, b *burst.Batch) (batch *burst.Batch) {
	batch = b
	if r.spaces != 0 {
		Fold(&r.upBatch, b, r.spaces, r.up.mark)
		batch = &r.upBatch
	}
	for i := range batch.Bursts {
		from, glitches := len(dst.Chars), len(dst.Glitches)
		r.up.Burst(dst, batch, &batch.Bursts[i])
		if r.either && broken(dst.Chars[from:]) > 0 {
			r.swapped(dst, b, i, from, glitches)
		}
		dst.Ends = append(dst.Ends, len(dst.Chars))
	}
	return batch
}

// swapped reads a burst the other way round and keeps that if it is whole.
func (r *Reader) swapped(dst *Chars, b *burst.Batch, i, from, glitches int) {
	one := b
	s := b.Bursts[i]
	if r.spaces != 0 {
		Fold(&r.downOne, &burst.Batch{At: b.At, To: b.To, Bursts: b.Bursts[i : i+1]}, Above, r.down.mark)
		one, s = &r.downOne, r.downOne.Bursts[0]
	}
	mid, more := len(dst.Chars), len(dst.Glitches)
	r.down.Burst(dst, one, &s)
	n := len(dst.Chars) - mid
	if n < 3 || broken(dst.Chars[mid:]) > 0 {
		dst.Chars, dst.Fits, dst.Glitches = dst.Chars[:mid], dst.Fits[:mid], dst.Glitches[:more]
		return
	}
	copy(dst.Chars[from:], dst.Chars[mid:])
	copy(dst.Fits[from:], dst.Fits[mid:])
	kept := copy(dst.Glitches[glitches:], dst.Glitches[more:])
	dst.Chars, dst.Fits, dst.Glitches = dst.Chars[:from+n], dst.Fits[:from+n], dst.Glitches[:glitches+kept]
}

// broken counts characters that break the format.
func broken(chars []Character) (n int) {
	for i := range chars {
		if chars[i].Fault&^FaultCut != 0 {
			n++
		}
	}
	return n
}
