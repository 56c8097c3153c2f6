package record

import (
	"encoding/binary"
	"fmt"
	"math/bits"

	"linewitness/capture"
)

// units says how intervals are kept: each is 1 + m units and a rest, the rest counted from a base that intervals
// after even and odd transitions have each for themselves (a start-stop line's bias makes one sort longer, the other
// shorter). Interval = (m*unit + base)>>8 + rest; m stands in a Rice code of m and then one of zigzag(rest).
// maxUnits zeros say that the interval follows as such.
type units struct {
	unit int64    // 1/256 tick; 0: m is always 0
	base [2]int64 // 1/256 tick
	km   uint     // Rice parameter of m
	k    [2]uint  // of the rest
}

const (
	maxUnits = 12 // zeros before m, as many: no m
	maxKM    = 3
	fraction = 8 // bits
	maxUnit  = 1 << 52
	maxBase  = 1 << 54
	maxWhole = 1 << 52 // longer intervals are never measured in units
)

func (u *units) appendHeader(dst []byte) []byte {
	dst = appendUvarint(dst, uint64(u.unit))
	dst = appendVarint(dst, u.base[0]-u.unit)
	dst = appendVarint(dst, u.base[1]-u.base[0])
	return append(dst, byte(u.km), byte(u.k[0]), byte(u.k[1]))
}

func readUnitsHeader(r *reader) (u units, ok bool) {
	unit, base0, base1 := r.uvarint(), r.varint(), r.varint()
	u.km, u.k[0], u.k[1] = uint(r.byte()), uint(r.byte()), uint(r.byte())
	if r.bad || unit > maxUnit || base0 > maxBase || base0 < -maxBase || base1 > maxBase || base1 < -maxBase ||
		u.km > maxKM || u.k[0] > maxRice || u.k[1] > maxRice {
		return u, false
	}
	u.unit = int64(unit)
	u.base[0] = u.unit + base0
	u.base[1] = u.base[0] + base1
	return u, true
}

// split is m and zigzag(rest) of an interval; ok: they fit their codes.
func (u *units) split(d uint64, odd int, inverse uint64) (m, z uint64, ok bool) {
	if d >= maxWhole {
		return 0, 0, false
	}
	base := u.base[odd]
	if x := int64(d<<fraction) - base + u.unit>>1; x > 0 {
		m, _ = bits.Mul64(uint64(x), inverse) // may be one less than the quotient: the rest takes it
	}
	if m >= maxUnits<<u.km {
		return 0, 0, false
	}
	z = zigzag(int64(d) - (int64(m)*u.unit+base)>>fraction)
	return m, z, z>>u.k[odd] <= maxZeros
}

// inverse is 2^64/unit, for split.
func (u *units) inverse() uint64 {
	if u.unit < 2 {
		return 0
	}
	q, _ := bits.Div64(1, 0, uint64(u.unit))
	return q
}

// append writes the intervals.
func (u *units) append(dst []byte, at []capture.Tick) []byte {
	w := newBitWriter(dst, len(at)-1)
	inverse, km := u.inverse(), u.km
	for i, t := range at[1:] {
		d := uint64(t) - uint64(at[i])
		m, z, ok := u.split(d, i&1, inverse)
		if !ok {
			w.put(1<<maxUnits, maxUnits+1)
			w.putLong(d)
			continue
		}
		k := u.k[i&1]
		qm, qz := uint(m>>km), uint(z>>k)
		low := 1<<qm | m&(1<<km-1)<<(qm+1)
		high := 1<<qz | z&(1<<k-1)<<(qz+1)
		w.put(low|high<<(qm+1+km), qm+1+km+qz+1+k)
	}
	return w.end()
}

// readUnits fills in all instants but the first; room is from it to the end of the block.
func readUnits(r *reader, dst []capture.Tick, room uint64) bool {
	u, ok := readUnitsHeader(r)
	if !ok {
		return false
	}
	b := bitReader{p: r.p}
	if !u.read(&b, dst, room) || b.used() > len(r.p) {
		return false
	}
	r.take(b.used())
	return true
}

// read is the hot loop: the reader's fields live in registers here.
func (u *units) read(r *bitReader, dst []capture.Tick, room uint64) bool {
	p, pos, buf, have := r.p, 0, uint64(0), uint(0)
	unit, km, maskM := u.unit, u.km&7, uint64(1)<<u.km-1
	k, otherK, base, otherBase := u.k[0], u.k[1], u.base[0], u.base[1]
	last := dst[0]
	for i := 1; i < len(dst); i++ {
		if pos+8 <= len(p) {
			buf |= binary.LittleEndian.Uint64(p[pos:]) << (have & 63)
			pos += int((63 - have) >> 3)
			have |= 56
		} else {
			*r = bitReader{p, pos, buf, have}
			r.fillSlow()
			pos, buf, have = r.pos, r.buf, r.have
		}
		q := uint(bits.TrailingZeros64(buf))
		var d int64
		if q < maxUnits {
			m := int64(q)<<km | int64(buf>>((q+1)&63)&maskM)
			buf >>= (q + 1 + km) & 63
			have -= q + 1 + km
			q = uint(bits.TrailingZeros64(buf))
			if q > maxZeros {
				return false
			}
			z := uint64(q)<<(k&63) | buf>>((q+1)&63)&(1<<(k&63)-1)
			buf >>= (q + 1 + k) & 63
			have -= q + 1 + k
			d = (m*unit+base)>>fraction + unzigzag(z)
			if d <= 0 || uint64(d) > room {
				return false
			}
		} else {
			*r = bitReader{p, pos, buf, have}
			long := r.longInterval(q)
			pos, buf, have = r.pos, r.buf, r.have
			if d = int64(long); long == 0 || long > room {
				return false
			}
		}
		room -= uint64(d)
		last += capture.Tick(d)
		dst[i] = last
		k, otherK, base, otherBase = otherK, k, otherBase, base
	}
	*r = bitReader{p, pos, buf, have}
	return true
}

// longInterval reads an interval that stands as such, after q zeros; 0: there is none.
func (r *bitReader) longInterval(q uint) uint64 {
	if q != maxUnits {
		return 0
	}
	r.get(maxUnits + 1)
	return r.long()
}

func (u units) String() string {
	return fmt.Sprintf("unit %d/256, bases %d and %d, parameters %d, %d and %d", u.unit, u.base[0], u.base[1], u.km, u.k[0], u.k[1])
}
