package link

import "slices"

// decode takes the coding off the characters of v from i on and appends the octets to dst, until it has appended most of
// them (negative: until v ends). next is the first character it did not use. ok is false where v ends too soon, an
// escape is broken, or a digit is none.
func (f *Framing) decode(dst []byte, v []uint16, i, most int) (out []byte, next int, ok bool) {
	for ; most != 0; most-- {
		if i >= len(v) {
			return dst, i, most < 0
		}
		c := v[i]
		switch f.Coding {
		case CodingEscape:
			if c == uint16(f.Escape.Mark) {
				i++
				if i >= len(v) || f.special(v[i]) {
					return dst, i, false
				}
				c = v[i] ^ uint16(f.Escape.Xor)
			}
		case CodingHex:
			i++
			if i >= len(v) {
				return dst, i, false
			}
			high, low := digitOf(c), digitOf(v[i])
			if high < 0 || low < 0 {
				return dst, i, false
			}
			c = uint16(high<<4 | low)
		}
		dst = append(dst, byte(c))
		i++
	}
	return dst, i, true
}

// encode puts the coding on and appends the characters to dst.
func (f *Framing) encode(dst []uint16, octets []byte) []uint16 {
	for _, b := range octets {
		switch c := uint16(b); {
		case f.Coding == CodingHex:
			dst = append(dst, uint16(digits[b>>4]), uint16(digits[b&15]))
		case f.Coding == CodingEscape && f.special(c):
			dst = append(dst, uint16(f.Escape.Mark), c^uint16(f.Escape.Xor))
		default:
			dst = append(dst, c)
		}
	}
	return dst
}

const digits = "0123456789ABCDEF"

// special tells whether a character may not stand in the content as it is.
func (f *Framing) special(c uint16) bool {
	return c == uint16(f.Escape.Mark) || slices.Contains(f.Start, c) || slices.Contains(f.End, c)
}

// digitOf is the value of a hexadecimal digit of either case, -1 of any other character.
func digitOf(c uint16) int {
	switch {
	case c >= '0' && c <= '9':
		return int(c - '0')
	case c >= 'A' && c <= 'F':
		return int(c-'A') + 10
	case c >= 'a' && c <= 'f':
		return int(c-'a') + 10
	}
	return -1
}
