package statistic

import "math"

// LookElsewhere is the probability that the smallest of m independent p is at most p (Z.
// Sidak, 1967): 1-(1-p)^m, with its own digits for small p. m may be a number of
// effective trials.
func LookElsewhere(p, m float64) float64 {
	if !(p >= 0 && p <= 1) || !(m >= 0) {
		return math.NaN()
	}
	if p == 1 {
		return indicator(m > 0)
	}
	return clamp01(-math.Expm1(m * math.Log1p(-p)))
}
