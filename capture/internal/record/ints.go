package record

import (
	"fmt"
	"math/bits"
	"slices"

	"linewitness/capture"
)

// Whole numbers stand in chunks of 256. A chunk's first byte says how: 2 bits of order, 6 of Rice parameter; then each
// number's difference to what the order expects, zigzag, in a Rice code; one zero more than maxZeros: it follows as such.
// All differences may wrap: they wrap back.
const chunk = 256

// The orders.
const (
	orderValue = iota // expects 0
	orderSame         // the number before
	orderLine         // a straight line through the two before
	orderStill        // the number before for the whole chunk: nothing follows
)

// intCoder keeps the two numbers before.
type intCoder struct{ last, before int64 }

// expect is the prediction for the next number.
func (c *intCoder) expect(order int) int64 {
	switch order {
	case orderValue:
		return 0
	case orderSame:
		return c.last
	}
	return 2*c.last - c.before
}

func (c *intCoder) push(v int64) { c.last, c.before = v, c.last }

// append writes a chunk of at most 256 numbers.
func (c *intCoder) append(w *bitWriter, v []int64) {
	var z [3][chunk]uint64
	best, bestK, cheapest := orderValue, uint(0), -1
	for order := orderValue; order <= orderLine; order++ {
		t, sum, over := *c, uint64(0), false
		for i, x := range v {
			z[order][i] = zigzag(x - t.expect(order))
			next := sum + z[order][i]
			sum, over = next, over || next < sum
			t.push(x)
		}
		if order == orderSame && sum == 0 && !over {
			w.put(orderStill, 8)
			c.push(c.last)
			return
		}
		if over {
			sum = 1 << 63
		}
		k := bestRice(uint64(len(v)), sum, maxRice, z[order][:len(v)], -1)
		if cost := riceBits(z[order][:len(v)], k); cheapest < 0 || cost < cheapest {
			best, bestK, cheapest = order, k, cost
		}
	}
	w.put(uint64(best)|uint64(bestK)<<2, 8)
	for _, x := range z[best][:len(v)] {
		w.rice(x, bestK)
	}
	for _, x := range v[max(len(v)-2, 0):] {
		c.push(x)
	}
}

func riceBits(z []uint64, k uint) (sum int) {
	for _, x := range z {
		if q := x >> k; q <= maxZeros {
			sum += int(q) + 1 + int(k)
		} else {
			sum += maxZeros + 2 + 6 + bits.Len64(x)
		}
	}
	return sum
}

func (w *bitWriter) rice(z uint64, k uint) {
	q := z >> k
	if q > maxZeros {
		w.put(1<<(maxZeros+1), maxZeros+2)
		w.putLong(z)
		return
	}
	w.put(1<<q|z&(1<<k-1)<<(q+1), uint(q)+1+k)
}

// read is the inverse of append; false: no such chunk.
func (c *intCoder) read(r *bitReader, v []int64) bool {
	r.fill()
	how := r.get(8)
	order, k := int(how&3), uint(how>>2)
	if k > maxRice {
		return false
	}
	if order == orderStill {
		for i := range v {
			v[i] = c.last
		}
		c.push(c.last)
		return k == 0
	}
	if !r.rices(v, k) {
		return false
	}
	last, before := c.last, c.before
	switch order {
	case orderSame:
		for i, d := range v {
			last, before = last+d, last
			v[i] = last
		}
	case orderLine:
		for i, d := range v {
			last, before = 2*last-before+d, last
			v[i] = last
		}
	default:
		for _, x := range v[max(len(v)-2, 0):] {
			last, before = x, last
		}
	}
	c.last, c.before = last, before
	return true
}

// rices reads Rice codes into v and undoes zigzag.
func (r *bitReader) rices(v []int64, k uint) bool {
	mask := uint64(1)<<k - 1
	for i := range v {
		r.fill()
		q := uint(bits.TrailingZeros64(r.buf))
		if q > maxZeros {
			if q != maxZeros+1 {
				return false
			}
			r.get(q + 1)
			v[i] = unzigzag(r.long())
			continue
		}
		z := uint64(q)<<k | r.buf>>(q+1)&mask
		r.buf >>= (q + 1 + k) & 63
		r.have -= q + 1 + k
		v[i] = unzigzag(z)
	}
	return true
}

// appendInts writes whole numbers.
func appendInts(dst []byte, v []capture.Tick) []byte {
	w := newBitWriter(dst, len(v)+len(v)/chunk+1)
	var c intCoder
	var buf [chunk]int64
	for len(v) > 0 {
		n := min(len(v), chunk)
		for i, x := range v[:n] {
			buf[i] = int64(x)
		}
		c.append(&w, buf[:n])
		v = v[n:]
	}
	return w.end()
}

// readInts is the inverse of appendInts: n numbers into dst's storage.
func readInts(r *reader, dst []capture.Tick, n int) ([]capture.Tick, error) {
	if n > len(r.p)*chunk {
		return dst, broken(fmt.Sprintf("%d whole numbers", n), fmt.Sprintf("%d bytes", len(r.p)))
	}
	dst = slices.Grow(dst[:0], n)[:n]
	var c intCoder
	var buf [chunk]int64
	b := bitReader{p: r.p}
	for rest := dst; len(rest) > 0; {
		part := buf[:min(len(rest), chunk)]
		if !c.read(&b, part) {
			return dst, broken("whole numbers", "another code")
		}
		for i, x := range part {
			rest[i] = capture.Tick(x)
		}
		rest = rest[len(part):]
	}
	if r.take(b.used()); r.bad {
		return dst, broken(fmt.Sprintf("%d whole numbers", n), "fewer")
	}
	return dst, nil
}
