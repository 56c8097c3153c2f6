package statistic

import "math"

// Distribution-free tolerance limits (S. S. Wilks, 1941): between two of n sorted values
// that stand d ranks apart lies at least the share coverage of all future values with
// the probability P(X < d) of a binomial X of n and coverage. The smallest and the largest
// value are n-1 ranks apart; a one-sided limit by the r-th value counts as r ranks from nowhere.

// ToleranceConfidence returns the confidence that values d ranks apart out of n hold the coverage.
func ToleranceConfidence(n, d int, coverage float64) float64 {
	if n < 0 || d < 0 || d > n || !isProbability(coverage) {
		return math.NaN()
	}
	return binomialAtMost(d-1, n, coverage)
}

// ToleranceSize returns how many values are needed so that all but spare of them, as
// rank distance n-spare, hold the coverage with the confidence: spare 0 for the largest value as
// an upper limit (59 for 95 % and 95 %), 1 for smallest to largest (93). 0 if it cannot be said or
// takes more than 1e12.
func ToleranceSize(spare int, coverage, confidence float64) int {
	if spare < 0 || !isProbability(coverage) || !isProbability(confidence) {
		return 0
	}
	enough := func(n int) bool { return binomialAtMost(n-spare-1, n, coverage) >= confidence }
	hi := spare + 1
	for !enough(hi) {
		if hi > 1e12 {
			return 0
		}
		hi *= 2
	}
	return firstTrue(spare+1, hi, enough)
}

// ToleranceUpper returns which of n values in rising order, counted from 1, is an upper limit for the coverage
// with the confidence; ok is false if n is too small. For a lower limit count from the top.
func ToleranceUpper(n int, coverage, confidence float64) (rank int, ok bool) {
	if n < 1 || !isProbability(coverage) || !isProbability(confidence) {
		return 0, false
	}
	r := firstTrue(1, n+1, func(d int) bool { return ToleranceConfidence(n, d, coverage) >= confidence })
	return r, r <= n
}
