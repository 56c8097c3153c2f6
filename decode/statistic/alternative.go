package statistic

import (
	"math"
	"strconv"
)

// An Alternative says which side a test is watching.
type Alternative uint8

// The alternatives to "no effect".
const (
	TwoSided Alternative = iota // differs either way
	Less                        // is smaller
	Greater                     // is larger
)

func (a Alternative) String() string {
	switch a {
	case TwoSided:
		return "two-sided"
	case Less:
		return "less"
	case Greater:
		return "greater"
	}
	return "Alternative(" + strconv.Itoa(int(a)) + ")"
}

// tail picks the p of a from both one-sided tails of a discrete or continuous
// distribution; two-sided is twice the smaller one.
func (a Alternative) tail(lower, upper float64) float64 {
	switch a {
	case Less:
		return clamp01(lower)
	case Greater:
		return clamp01(upper)
	case TwoSided:
		return clamp01(2 * math.Min(lower, upper))
	}
	return math.NaN()
}

// An Interval is a range of values, both ends included.
type Interval struct{ Lower, Upper float64 }

// Contains tells whether v lies in the interval.
func (i Interval) Contains(v float64) bool { return v >= i.Lower && v <= i.Upper }

func unknown() Interval { return Interval{math.NaN(), math.NaN()} }

// clamp01 takes out rounding beyond 0 and 1; NaN stays.
func clamp01(p float64) float64 {
	if p < 0 {
		return 0
	}
	if p > 1 {
		return 1
	}
	return p
}

// isProbability tells whether p lies strictly between 0 and 1, as a confidence must.
func isProbability(p float64) bool { return p > 0 && p < 1 }

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

func allFinite(x []float64) bool {
	for _, v := range x {
		if !finite(v) {
			return false
		}
	}
	return true
}
