package statistic

import "math"

// CusumDeviation is the largest departure of the running sum of deviations from the overall mean.
type CusumDeviation struct {
	Mean      float64
	Largest   float64 // of the absolute sums
	After     int     // values up to there; 0 if nothing departs
	Statistic float64 // largest over standard deviation times root of n
	P         float64
}

// CusumOfDeviations tests for a change of level by the running sum of deviations from the mean (W. Ploberger
// and W. Kraemer, 1992); p by the law of the largest departure of a Brownian bridge, safe
// for few values. Vectors cusum_of_deviations_nile, changepoint_nile_one_break.
func CusumOfDeviations(x []float64) CusumDeviation {
	n := len(x)
	if !allFinite(x) {
		return CusumDeviation{math.NaN(), math.NaN(), 0, math.NaN(), math.NaN()}
	}
	out := CusumDeviation{Mean: sumOf(x) / float64(n), Statistic: math.NaN(), P: 1}
	if n < 2 || allEqual(x) {
		return out
	}
	sum, squares := 0.0, 0.0
	for i, v := range x[:n-1] { // the last sum is 0 but for rounding
		d := v - out.Mean
		sum += d
		squares += d * d
		if math.Abs(sum) > out.Largest {
			out.Largest, out.After = math.Abs(sum), i+1
		}
	}
	squares += (x[n-1] - out.Mean) * (x[n-1] - out.Mean)
	out.Statistic = out.Largest / math.Sqrt(squares/float64(n-1)*float64(n))
	out.P = KolmogorovTail(out.Statistic)
	return out
}

// KolmogorovTail is P(K > x) of the largest absolute value of a Brownian bridge (A. N.
// Kolmogorov, 1933): two times the alternating sum of exp(-2 k^2 x^2), below 1 by the dual sum.
func KolmogorovTail(x float64) float64 {
	switch {
	case math.IsNaN(x):
		return x
	case x <= 0:
		return 1
	case x < 1:
		sum := 0.0
		for k := 1.0; k < 40; k += 2 {
			sum += math.Exp(-k * k * math.Pi * math.Pi / (8 * x * x))
		}
		return clamp01(1 - math.Sqrt(2*math.Pi)/x*sum)
	}
	sum, sign := 0.0, 1.0
	for k := 1.0; k < 20; k++ {
		sum += sign * math.Exp(-2*k*k*x*x)
		sign = -sign
	}
	return clamp01(2 * sum)
}

func allEqual(x []float64) bool {
	for _, v := range x {
		if v != x[0] {
			return false
		}
	}
	return true
}
