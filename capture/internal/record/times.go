package record

import (
	"encoding/binary"
	"fmt"
	"slices"

	"linewitness/capture"
)

// How instants are kept: the byte before them. After it comes the first one, relative to the block's start.
const (
	timesPlain = iota // varints of the intervals less one
	timesEven         // a varint of the one interval; for samples only
	timesUnits        // the parameters of units, and its bits
)

// appendTimes writes instants that rise strictly from start on; none: nothing. even: all intervals may be kept as one.
func appendTimes(dst []byte, start capture.Tick, at []capture.Tick, even bool) []byte {
	if len(at) == 0 {
		return dst
	}
	from := len(dst)
	dst = appendUvarint(append(dst, timesPlain), uint64(at[0])-uint64(start))
	if even && isEven(at) {
		dst[from] = timesEven
		return appendUvarint(dst, uint64(at[1])-uint64(at[0]))
	}
	if u, ok := findUnits(at); ok {
		dst[from] = timesUnits
		return u.append(u.appendHeader(dst), at)
	}
	dst = slices.Grow(dst, len(at)*binary.MaxVarintLen64)
	for i, t := range at[1:] {
		dst = appendUvarint(dst, uint64(t)-uint64(at[i])-1)
	}
	return dst
}

func isEven(at []capture.Tick) bool {
	if len(at) < 2 {
		return false
	}
	step := uint64(at[1]) - uint64(at[0])
	for i, t := range at[1:] {
		if uint64(t)-uint64(at[i]) != step {
			return false
		}
	}
	return true
}

// readTimes is the inverse of appendTimes: n instants into dst's storage, or ErrContent where they do not rise strictly
// within [start, end]. It takes no more room than the bytes that are there can fill, but for even ones.
func readTimes(r *reader, dst []capture.Tick, n int, start, end capture.Tick, even bool) ([]capture.Tick, error) {
	dst = dst[:0]
	if n == 0 {
		return dst, nil
	}
	how, first := r.byte(), r.uvarint()
	room := uint64(end) - uint64(start)
	most := len(r.p) + 1
	if how == timesUnits {
		most = 4*len(r.p) + 1 // no fewer than 2 bits each
	}
	if r.bad || first > room || n > most && how != timesEven {
		return dst, broken(fmt.Sprintf("%d instants in [%d, %d]", n, start, end), fmt.Sprintf("%d bytes of mode %d", len(r.p), how))
	}
	dst = slices.Grow(dst, n)[:n]
	dst[0] = start + capture.Tick(first)
	room -= first
	ok := false
	switch {
	case how == timesPlain:
		ok = readPlain(r, dst, room)
	case how == timesEven && even:
		ok = fillEven(dst, r.uvarint(), room)
	case how == timesUnits:
		ok = readUnits(r, dst, room)
	}
	if !ok || r.bad {
		return dst, broken(fmt.Sprintf("%d instants that rise in [%d, %d]", n, start, end), fmt.Sprintf("others, of mode %d", how))
	}
	return dst, nil
}

// readPlain fills in all but the first; room is from it to the end of the block.
func readPlain(r *reader, dst []capture.Tick, room uint64) bool {
	last := dst[0]
	for i := 1; i < len(dst); i++ {
		d := r.uvarint()
		if d >= room {
			return false
		}
		room -= d + 1
		last += capture.Tick(d + 1)
		dst[i] = last
	}
	return true
}

func fillEven(dst []capture.Tick, step, room uint64) bool {
	if step == 0 || uint64(len(dst)-1) > room/step {
		return false
	}
	t := dst[0]
	for i := range dst {
		dst[i] = t
		t += capture.Tick(step)
	}
	return true
}
