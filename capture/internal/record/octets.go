package record

import (
	"encoding/binary"
	"slices"

	"linewitness/capture"
)

// Bits of the byte before the octets.
const (
	octetsWide  = 1 << 0 // values of two bytes
	octetsMixed = 1 << 1 // a side for each octet, else one for all
	octetsBad   = 1 << 2 // a bit for each octet: the port reported an error
)

// appendOctets writes the octets' part of the body in columns: how, sides, values, bad ones, instants. An octet's
// instant is bound to nothing, so the difference to the one before (first: to the block's start) may have any sign.
func appendOctets(dst []byte, h *Header, b *capture.Block) []byte {
	h.Count = uint32(len(b.Octets))
	var how byte
	for _, o := range b.Octets {
		if o.Value > 0xFF {
			how |= octetsWide
		}
		if o.Side != b.Octets[0].Side {
			how |= octetsMixed
		}
		if o.Bad {
			how |= octetsBad
		}
	}
	dst = append(dst, how, byte(b.Octets[0].Side))
	if how&octetsMixed != 0 {
		for _, o := range b.Octets[1:] {
			dst = append(dst, byte(o.Side))
		}
	}
	for _, o := range b.Octets {
		if how&octetsWide != 0 {
			dst = binary.LittleEndian.AppendUint16(dst, o.Value)
		} else {
			dst = append(dst, byte(o.Value))
		}
	}
	if how&octetsBad != 0 {
		dst = appendBad(dst, b.Octets)
	}
	last := b.Start
	for _, o := range b.Octets {
		dst = appendVarint(dst, int64(o.At-last)) // may wrap: it wraps back
		last = o.At
	}
	return dst
}

func appendBad(dst []byte, octets []capture.Octet) []byte {
	from := len(dst)
	for i, o := range octets {
		if i&7 == 0 {
			dst = append(dst, 0)
		}
		dst[from+i>>3] |= boolByte(o.Bad) << (i & 7)
	}
	return dst
}

// readOctets is the inverse of appendOctets.
func readOctets(r *reader, h *Header, b *capture.Block) error {
	n := int(h.Count)
	how, side := r.byte(), capture.Side(r.byte())
	if r.bad || how > octetsWide|octetsMixed|octetsBad || n == 0 {
		return broken("octets", n)
	}
	var sides, bad []byte
	if how&octetsMixed != 0 {
		sides = r.take(n - 1)
	}
	width := 1 + int(how&octetsWide)
	values := r.take(n * width)
	if how&octetsBad != 0 {
		bad = r.take((n + 7) / 8)
	}
	if r.bad {
		return broken("columns of octets", "less")
	}
	b.Octets = slices.Grow(b.Octets[:0], n)[:n]
	last := h.Start
	for i := range b.Octets {
		o := capture.Octet{Side: side, Value: uint16(values[i*width]), Bad: bad != nil && bad[i>>3]>>(i&7)&1 == 1}
		if width == 2 {
			o.Value |= uint16(values[i*2+1]) << 8
		}
		if sides != nil && i > 0 {
			o.Side = capture.Side(sides[i-1])
		}
		last += capture.Tick(r.varint())
		o.At = last
		b.Octets[i] = o
	}
	return nil
}
