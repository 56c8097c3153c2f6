package statistic

import (
	"math"
	"slices"
)

// NormalMAD is what the median absolute deviation of a normal distribution is multiplied
// with to give its standard deviation, 1/quantile(3/4). Vector normal_mad_constant.
const NormalMAD = 1.482602218505602

// Median returns the middle of the values, the mean of both middle ones for an even number;
// NaN without values or with a NaN among them. The values stay as they are.
func Median(x []float64) float64 { return medianInPlace(slices.Clone(x)) }

func medianInPlace(x []float64) float64 {
	n := len(x)
	if n == 0 || slices.ContainsFunc(x, math.IsNaN) {
		return math.NaN()
	}
	slices.Sort(x)
	if n%2 == 1 {
		return x[n/2]
	}
	return x[n/2-1]/2 + x[n/2]/2
}

// MAD returns the median of the distances from the median, unscaled (F. R. Hampel,
// 1974): half of the values may be anything without moving it far. Vectors mad_*.
func MAD(x []float64) float64 {
	m := Median(x)
	d := make([]float64, len(x))
	for i, v := range x {
		d[i] = math.Abs(v - m)
	}
	return medianInPlace(d)
}
