package validate

import (
	"math"

	"linewitness/decode/statistic"
)

// mostBlocks bounds the blocks that a row of contrasts is kept in.
const mostBlocks = 64

// blocks keep a row of contrasts in at most 64 stretches of as many each, whatever its length. What neighbours have in common then
// stays within a stretch.
type blocks struct {
	n   int   // full ones
	per int64 // contrasts a block
	in  int64 // contrasts in the one that fills
	of  [mostBlocks]contrast
}

// add takes the next contrast.
func (b *blocks) add(c contrast) {
	b.per = max(b.per, 1)
	b.of[b.n].num += c.num
	b.of[b.n].den += c.den
	if b.in++; b.in < b.per {
		return
	}
	b.in = 0
	if b.n++; b.n < mostBlocks {
		return
	}
	for i := range mostBlocks / 2 {
		x, y := b.of[2*i], b.of[2*i+1]
		b.of[i] = contrast{x.num + y.num, x.den + y.den}
	}
	clear(b.of[mostBlocks/2:])
	b.n, b.per = mostBlocks/2, 2*b.per
}

// fewestBlocks are needed for an interval.
const fewestBlocks = 8

// slope is the least-squares slope over all blocks, its standard error from the scatter between blocks (cluster-robust; K.-Y. Liang
// and S. L. Zeger, 1986), not under floor, and degrees of freedom; for equal blocks these are mean and standard error of Student's
// test. N is how many contrasts it rests on.
func (b *blocks) slope(floor float64) (value, stderr float64, df int, n int64) {
	all := b.of[:b.n]
	if 2*b.in > b.per {
		all = b.of[:b.n+1]
	}
	var sum contrast
	for _, c := range all {
		sum.num += c.num
		sum.den += c.den
	}
	n = int64(b.n)*b.per + b.in
	if len(all) < fewestBlocks || !(sum.den > 0) {
		return math.NaN(), math.NaN(), 0, n
	}
	value = sum.num / sum.den
	rest := 0.
	for _, c := range all {
		r := c.num - value*c.den
		rest += r * r
	}
	df = len(all) - 1
	stderr = math.Sqrt(rest*float64(len(all))/float64(df)) / sum.den
	return value, math.Hypot(stderr, floor), df, n
}

// tell puts the slope times a scale into a fact, with Student's interval and the p of a slope within a margin of 0.
func (b *blocks) tell(x *Fact, scale, floor, margin float64, why string) {
	value, stderr, df, n := b.slope(floor)
	if x.N = n; df == 0 {
		x.Unmeasured = why
		return
	}
	half := statistic.StudentQuantile(0.975, float64(df)) * stderr
	x.Value, x.Low, x.High = scale*value, scale*(value-half), scale*(value+half)
	x.P = 1
	if over := math.Abs(value) - margin; over > 0 && stderr > 0 {
		x.P = min(1, statistic.StudentTail(over/stderr, float64(df))+statistic.StudentTail((over+2*margin)/stderr, float64(df)))
	}
}
