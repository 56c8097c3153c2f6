package record

import (
	"slices"

	"linewitness/capture"
)

// appendLevels writes the levels' part of the body: a byte of levels, instants, levels where they do not alternate,
// doubts.
func appendLevels(dst []byte, h *Header, b *capture.Block) []byte {
	n := len(b.At)
	h.Count = uint32(n)
	set := byte(b.First)
	if n > 0 {
		set |= byte(b.To[0]) << 2
	}
	if n > 1 {
		set |= byte(b.To[1]) << 4
	}
	if alternate(b.To) {
		h.Flags |= FlagAlternate
	}
	if len(b.Doubt) > 0 {
		set |= hasDoubt
	}
	dst = append(dst, set)
	dst = appendTimes(dst, b.Start, b.At, false)
	if h.Flags&FlagAlternate == 0 {
		dst = appendLevelBits(dst, b.To)
	}
	if set&hasDoubt != 0 {
		dst = appendInts(dst, b.Doubt)
	}
	return dst
}

const hasDoubt = 1 << 6

// readLevels is the inverse of appendLevels.
func readLevels(r *reader, h *Header, b *capture.Block) error {
	set, n := r.byte(), int(h.Count)
	if r.bad || set&0x80 != 0 {
		return broken("a set of levels", set)
	}
	b.First = capture.Level(set & 3)
	one, two := capture.Level(set>>2&3), capture.Level(set>>4&3)
	if n > 0 && (one == capture.Unknown || one == b.First) || n > 1 && (two == capture.Unknown || two == one) ||
		n == 0 && (one != 0 || set&hasDoubt != 0) || n < 2 && two != 0 {
		return broken("different levels", set)
	}
	var err error
	if b.At, err = readTimes(r, b.At, n, h.Start, h.End, false); err != nil {
		return err
	}
	b.To = slices.Grow(b.To[:0], n)[:n]
	if h.Flags&FlagAlternate != 0 {
		fillAlternate(b.To, one, two)
	} else if err := readLevelBits(r, b.To, one); err != nil {
		return err
	}
	if set&hasDoubt == 0 {
		b.Doubt = b.Doubt[:0]
		return nil
	}
	b.Doubt, err = readInts(r, b.Doubt, n)
	return err
}

// alternate tells whether every level is that two before it.
func alternate(to []capture.Level) bool {
	for i := 2; i < len(to); i++ {
		if to[i] != to[i-2] {
			return false
		}
	}
	return true
}

func fillAlternate(to []capture.Level, one, two capture.Level) {
	for i := 0; i+1 < len(to); i += 2 {
		to[i], to[i+1] = one, two
	}
	if n := len(to); n&1 == 1 {
		to[n-1] = one
	}
}

// From each of the three levels there are two others: a bit tells whether it is the upper of them.
var others = [4][2]capture.Level{
	capture.Low:  {capture.Mid, capture.High},
	capture.Mid:  {capture.Low, capture.High},
	capture.High: {capture.Low, capture.Mid},
}

// appendLevelBits writes a bit for each transition but the first, the lowest bit of a byte first.
func appendLevelBits(dst []byte, to []capture.Level) []byte {
	var acc byte
	for i := 1; i < len(to); i++ {
		if to[i] == others[to[i-1]][1] {
			acc |= 1 << ((i - 1) & 7)
		}
		if i&7 == 0 {
			dst, acc = append(dst, acc), 0
		}
	}
	if (len(to)-1)&7 != 0 {
		dst = append(dst, acc)
	}
	return dst
}

func readLevelBits(r *reader, to []capture.Level, first capture.Level) error {
	if len(to) == 0 {
		return nil
	}
	p := r.take((len(to) - 1 + 7) / 8)
	if r.bad {
		return broken("a bit for each level", "fewer")
	}
	to[0] = first
	level := first & 3
	for i := 1; i < len(to); i++ {
		level = others[level&3][p[(i-1)>>3]>>((i-1)&7)&1]
		to[i] = level
	}
	return nil
}
