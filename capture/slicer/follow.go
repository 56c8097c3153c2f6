package slicer

import (
	"math"
	"math/bits"
)

// bounds sets the band in which samples belong to the present level without a further look.
func (t *tracker) bounds() {
	const inner = 0.25
	lv, c := &t.lv, t.c
	out := lv.outBand()
	// Towards a far level the band is no wider than a near one allows, or slow edges would carry the level along.
	reach := inner * 4 * lv.least()
	switch {
	case c == 0:
		sep := lv.v[1] - lv.v[0]
		t.low, t.high = lv.v[0]-out*sep, lv.v[0]+min(inner*sep, reach)
	case c == lv.n-1:
		sep := lv.v[c] - lv.v[c-1]
		t.low, t.high = lv.v[c]-min(inner*sep, reach), lv.v[c]+out*sep
	default:
		t.low = lv.v[1] - min(inner*(lv.v[1]-lv.v[0]), reach)
		t.high = lv.v[1] + min(inner*(lv.v[2]-lv.v[1]), reach)
	}
	t.free = 0
	if side := lv.side[c]; side != 0 && !lv.sunken(c) {
		t.free = int8(side)
		if side > 0 {
			t.high = math.Inf(1)
		} else {
			t.low = math.Inf(-1)
		}
	}
}

// atLeast is how many samples at the front do not lie below a limit.
func atLeast(v []float64, limit float64) int {
	n := 0
	for n < len(v) && v[n] >= limit {
		n++
	}
	return n
}

// atMost is how many samples at the front do not lie above a limit.
func atMost(v []float64, limit float64) int {
	n := 0
	for n < len(v) && v[n] <= limit {
		n++
	}
	return n
}

// rest passes over samples in the band and brings the level up to date with them, all but the last ones, which may be the
// beginning of an edge.
func (t *tracker) rest() {
	x, i := t.x, t.i
	for i < len(x) {
		part := x[i:min(i+piece, len(x))]
		m := 0
		switch t.free {
		case 1:
			m = atLeast(part, t.low)
		case -1:
			m = atMost(part, t.high)
		default:
			m = within(part, t.low, t.high)
		}
		i += m
		t.catchUp(i - t.slow - 1)
		if m < len(part) {
			break
		}
	}
	t.i = i
}

// within is how many finite samples at the front lie in a band.
func within(v []float64, low, high float64) int {
	mid, half := (low+high)/2, (high-low)/2
	square := half * math.Abs(half) // less than 0 where nothing lies in the band
	n := 0
	for ; n <= len(v)-4; n += 4 {
		p := (*[4]float64)(v[n:])
		// If the squares of four distances from the middle add up to less than that of half the band, no one is greater. Without a
		// branch for each sample noise misleads none.
		a, b, c, d := p[0]-mid, p[1]-mid, p[2]-mid, p[3]-mid
		if (a*a+b*b)+(c*c+d*d) < square {
			continue
		}
		if beyondHalf(half, a, b, c, d) {
			// One of them lies outside, but for roundings of the middle.
			if out := off(p[0], low, high) | off(p[1], low, high)<<1 | off(p[2], low, high)<<2 | off(p[3], low, high)<<3; out != 0 {
				return n + bits.TrailingZeros(out)
			}
			break
		}
	}
	for n < len(v) && off(v[n], low, high) == 0 {
		n++
	}
	return n
}

// beyondHalf tells whether one of four magnitudes is greater than half a band: as whole numbers their bits are in the same order.
func beyondHalf(half, a, b, c, d float64) bool {
	const sign = 1 << 63
	h := math.Float64bits(half)
	return int64((h-math.Float64bits(a)&^sign)|(h-math.Float64bits(b)&^sign)|
		(h-math.Float64bits(c)&^sign)|(h-math.Float64bits(d)&^sign)) < 0
}

// off is 1 where x lies outside a band, else 0, without a branch.
func off(x, low, high float64) uint {
	var above, below uint
	if x >= low {
		above = 1
	}
	if x <= high {
		below = 1
	}
	return above&below ^ 1
}

// catchUp lets the level follow the samples up to a limit.
func (t *tracker) catchUp(limit int) {
	for t.seen < limit {
		part := t.x[t.seen:min(t.seen+piece, limit)]
		t.follow(quickSum(part)/float64(len(part)), len(part))
		t.seen += len(part)
	}
}

// follow brings the present level up to date with the mean of m samples.
func (t *tracker) follow(mean float64, m int) {
	a := t.gain[m]
	t.lv.mean[t.c] += (t.lv.seenAs(t.c, mean) - t.lv.mean[t.c]) * t.slowGain * float64(m)
	t.lv.follow(t.c, mean-t.lv.v[t.c], a, a/ownPart)
	if t.lv.move == ratio {
		if t.age += m; t.age >= anchorAge {
			t.lv.anchor(t.c, float64(t.age)*t.dt)
			t.age = 0
		} else if t.c == t.lv.ground {
			t.lv.hold()
		}
	}
	t.bounds()
}

// quickSum adds four at a time, which does not wait for each sum.
func quickSum(v []float64) float64 {
	var a, b, c, d float64
	n := 0
	for ; n <= len(v)-4; n += 4 {
		p := (*[4]float64)(v[n:])
		a, b, c, d = a+p[0], b+p[1], c+p[2], d+p[3]
	}
	for _, x := range v[n:] {
		a += x
	}
	return a + b + (c + d)
}
