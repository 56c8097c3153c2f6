package slicer

import "math"

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
}

// rest passes over samples in the band and brings the level up to date with them, all but the last ones, which may be the
// beginning of an edge.
func (t *tracker) rest() {
	t.bounds()
	x, i := t.x, t.i
	for i < len(x) {
		part := x[i:min(i+piece, len(x))]
		m := within(part, t.low, t.high)
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
	n := 0
	// A sample's distance from the middle of the band less its half is negative inside: the sign bits of four are gathered, so that
	// noise misleads no branch.
	mid, half := (low+high)/2, math.Float64bits((high-low)/2)
	for p := v; len(p) >= 4; p = p[4:] {
		a, b := math.Float64bits(p[0]-mid)&^(1<<63), math.Float64bits(p[1]-mid)&^(1<<63)
		c, d := math.Float64bits(p[2]-mid)&^(1<<63), math.Float64bits(p[3]-mid)&^(1<<63)
		if int64((half-a)|(half-b)|(half-c)|(half-d)) < 0 {
			break
		}
		n += 4
	}
	for n < len(v) && v[n] >= low && v[n] <= high {
		n++
	}
	return n
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
	t.lv.mean[t.c] += (mean - t.lv.mean[t.c]) * t.slowGain * float64(m)
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
	for len(v) >= 4 {
		a, b, c, d = a+v[0], b+v[1], c+v[2], d+v[3]
		v = v[4:]
	}
	for _, x := range v {
		a += x
	}
	return a + b + (c + d)
}
