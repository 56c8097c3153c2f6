package statistic

import "math"

// validCounts tells whether x of n can be.
func validCounts(x, n int) bool { return x >= 0 && n >= x }

// Wilson returns the score interval of a proportion of x in n (E. B. Wilson,
// 1927), without continuity correction. Good for showing; its coverage holds on
// average only. With n = 0 it is 0..1. Vectors wilson_*.
func Wilson(x, n int, confidence float64) Interval {
	switch {
	case !validCounts(x, n) || !isProbability(confidence):
		return unknown()
	case n == 0:
		return Interval{0, 1}
	}
	z := twoSidedQuantile(confidence)
	N, p := float64(n), float64(x)/float64(n)
	scale := 1 / (1 + z*z/N)
	mid := scale * (p + z*z/(2*N))
	half := scale * z * math.Sqrt(p*(1-p)/N+z*z/(4*N*N))
	out := Interval{math.Max(0, mid-half), math.Min(1, mid+half)}
	if x == 0 {
		out.Lower = 0
	}
	if x == n {
		out.Upper = 1
	}
	return out
}

// twoSidedQuantile is the z that a standard normal value stays within, either way,
// with the confidence.
func twoSidedQuantile(confidence float64) float64 { return -NormalQuantile((1 - confidence) / 2) }

// ClopperPearson returns the exact interval of a proportion of x in n (C. J.
// Clopper and E. S. Pearson, 1934): it covers the truth with at least the
// confidence, whatever the truth. With n = 0 it is 0..1. Vectors clopper_pearson_*.
func ClopperPearson(x, n int, confidence float64) Interval {
	switch {
	case !validCounts(x, n) || !isProbability(confidence):
		return unknown()
	case n == 0:
		return Interval{0, 1}
	}
	lower, upper, _ := exactLimits(x, n, confidence)
	return Interval{lower, upper}
}

// exactLimits are the limits of [ClopperPearson], and both as odds p/(1-p), which keep their
// digits where p is close to 1.
func exactLimits(x, n int, confidence float64) (lower, upper float64, odds Interval) {
	a := (1 - confidence) / 2
	upper, odds = 1, Interval{0, math.Inf(1)}
	if x > 0 {
		p, q := betaQuantile(float64(x), float64(n-x)+1, a, 1-a)
		lower, odds.Lower = p, p/q
	}
	if x < n {
		p, q := betaQuantile(float64(x)+1, float64(n-x), 1-a, a)
		upper, odds.Upper = p, p/q
	}
	return lower, upper, odds
}

// binomialAtMost is P(X <= x) of n trials of probability p.
func binomialAtMost(x, n int, p float64) float64 {
	switch {
	case x < 0:
		return 0
	case x >= n:
		return 1
	}
	return betaTail(float64(x)+1, float64(n-x), p)
}

// binomialAtLeast is P(X >= x) of n trials of probability p.
func binomialAtLeast(x, n int, p float64) float64 {
	switch {
	case x <= 0:
		return 1
	case x > n:
		return 0
	}
	return BetaRegularized(float64(x), float64(n-x)+1, p)
}

// BinomialTest returns the exact p of x successes in n trials against the
// probability p0. Two-sided is the sum over all outcomes no likelier than x, as
// common statistics programs have it. With n = 0 it is 1. Vector binom_test_one_sided.
func BinomialTest(x, n int, p0 float64, alt Alternative) float64 {
	if !validCounts(x, n) || !(p0 >= 0 && p0 <= 1) || alt > Greater {
		return math.NaN()
	}
	switch alt {
	case Less:
		return binomialAtMost(x, n, p0)
	case Greater:
		return binomialAtLeast(x, n, p0)
	}
	return binomialTwoSided(x, n, p0)
}

// likelihoodSlack is how much likelier an outcome may be by rounding and still
// count as equally likely.
const likelihoodSlack = 1e-7

func binomialTwoSided(x, n int, p float64) float64 {
	mass := func(k int) float64 { return binomialMass(float64(k), float64(n), p, 1-p) }
	limit := mass(x) * (1 + likelihoodSlack)
	mode := min(n, int(math.Floor(float64(n+1)*p)))
	if mass(mode) <= limit {
		return 1
	}
	if x < mode {
		// Masses fall from mode to n: find the first that is small enough.
		from := firstTrue(mode, n+1, func(k int) bool { return mass(k) <= limit })
		return clamp01(binomialAtMost(x, n, p) + binomialAtLeast(from, n, p))
	}
	from := firstTrue(0, mode+1, func(k int) bool { return mass(k) > limit })
	return clamp01(binomialAtLeast(x, n, p) + binomialAtMost(from-1, n, p))
}
