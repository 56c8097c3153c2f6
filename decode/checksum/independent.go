package checksum

// How many of a set of frames are independent: a linear rule that holds for some frames holds by itself for their
// combinations, and for the frame of zeros in any case. Rules with a constant (a start value) are tried harder than
// that by up to one frame a length, which is left out of the count to be on the safe side. Frames are lined up at their
// ends, because a sum counts from there.

// prime is the modulus in which additive sums are eliminated. It is larger than any octet difference, so that rank is
// lost by accident only with probability of about frames/prime.
const prime = 1<<31 - 1

// additiveRank is the number of frames that are independent for sums of octets.
func additiveRank(frames [][]byte) int {
	width := longest(frames)
	var basis [][]uint64
	for _, f := range frames {
		row := make([]uint64, width)
		for i, b := range f {
			row[width-len(f)+i] = uint64(b)
		}
		for _, b := range basis {
			lead := leading(b)
			if factor := row[lead]; factor != 0 { // b leads with 1
				for i := lead; i < width; i++ {
					row[i] = (row[i] + (prime-factor)*b[i]) % prime
				}
			}
		}
		if lead := leading(row); lead < width {
			inverse := power(row[lead], prime-2)
			for i := range row {
				row[i] = row[i] * inverse % prime
			}
			basis = append(basis, row)
		}
	}
	return len(basis)
}

// xorRank is the number of frames that are independent for CRC and exclusive or.
func xorRank(frames [][]byte) int {
	width := longest(frames)
	pivots := map[int][]byte{} // by the number of the leading bit
	for _, f := range frames {
		row := make([]byte, width)
		copy(row[width-len(f):], f)
		for bit := 0; bit < 8*width; bit++ {
			if row[bit/8]>>(bit%8)&1 == 0 {
				continue
			}
			p, ok := pivots[bit]
			if !ok {
				pivots[bit] = row
				break
			}
			for i := range row {
				row[i] ^= p[i]
			}
		}
	}
	return len(pivots)
}

func longest(frames [][]byte) int {
	n := 0
	for _, f := range frames {
		n = max(n, len(f))
	}
	return n
}

// leading is the place of the first non-zero element, or len(row).
func leading(row []uint64) int {
	for i, v := range row {
		if v != 0 {
			return i
		}
	}
	return len(row)
}

// power is base^exponent modulo prime.
func power(base, exponent uint64) uint64 {
	r := uint64(1)
	for ; exponent > 0; exponent >>= 1 {
		if exponent&1 == 1 {
			r = r * base % prime
		}
		base = base * base % prime
	}
	return r
}
