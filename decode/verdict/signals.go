package verdict

import (
	"math"

	"linewitness/decode/cause"
)

// Limits of a sound sender. The clock: half of what a receiver of ten or eleven bits tolerates, the recommended share of
// one end (Microchip USART error tolerance table, D = 8: +-2.0 %). Bias: half of the half bit that a receiver which
// samples in the middle has; over 40 % is sure to misprint (US Army training text SS0031).
const (
	clockLimit = 2e4 // ppm
	clockMost  = 1e5 // ppm: what is further off was not found as this speed
	clockNear  = 5e3 // ppm: of crystals and resonators; clocks that drift further are of resistors and capacitors (common practice, no source)
	clockUsual = 0.8 // share of units with such (an assumption, no source)
	biasLimit  = 25  // per cent
	biasMost   = 50
)

// normal is the standard normal distribution function.
func normal(x float64) float64 { return 0.5 * math.Erfc(-x/math.Sqrt2) }

// within is the probability that a quantity spread evenly over [a, b] is measured as x with standard error se, times
// the span's density.
func within(x, se, a, b float64) float64 {
	return (normal((b-x)/se) - normal((a-x)/se)) / (b - a)
}

// clockBits is log2 of the likelihood ratio of a clock off its limit against a sound one.
func clockBits(ppm, pm float64) float64 {
	se := math.Max(pm/1.96, 50) // crystals and resonators aside, the probe's own clock is not better known
	sound := clockUsual*within(ppm, se, -clockNear, clockNear) + (1-clockUsual)*within(ppm, se, -clockLimit, clockLimit)
	off := 0.5*within(ppm, se, clockLimit, clockMost) + 0.5*within(ppm, se, -clockMost, -clockLimit)
	return ratioBits(off, sound)
}

// What bias is usual, per cent: a sound sender's is small, and seldom anything up to the limit (assumptions, no source).
const (
	biasUsual  = 4.0  // standard deviation
	biasSeldom = 0.03 // share
	biasBeyond = 2e-3 // share of what a sound sender should not have: it was misread
)

// biasBits is log2 of the likelihood ratio of distorted marks against sound ones. A sender that distorts may do so little that nothing is
// lost to it; what loses frames is no little one.
func biasBits(pct float64, loses bool) float64 {
	usual := math.Exp(-pct*pct/(2*biasUsual*biasUsual)) / (biasUsual * math.Sqrt(2*math.Pi))
	even := func(from, to float64) float64 { // either way
		if x := math.Abs(pct); x < from || x > to {
			return 0
		}
		return 1 / (2 * (to - from))
	}
	sound := (1-biasSeldom)*usual + biasSeldom*even(0, biasLimit) + biasBeyond*even(0, biasMost)
	off := 0.3*usual + 0.7*even(3, biasMost)
	if loses {
		off = 0.001*usual + even(biasLimit/2, biasMost)
	}
	return ratioBits(off, sound)
}

// ratioBits keeps a ratio of densities within what the model can claim: 20 bits.
func ratioBits(a, b float64) float64 {
	const most = 20
	if a <= 0 {
		return -most
	}
	if b <= 0 {
		return most
	}
	return math.Max(-most, math.Min(most, math.Log2(a/b)))
}

// distorts tells which causes lengthen or shorten marks.
func distorts(c cause.Cause) bool {
	switch c {
	case cause.DriverDistortion, cause.ExcessCapacitance:
		return true
	}
	return false
}
