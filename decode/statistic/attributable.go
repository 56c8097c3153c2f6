package statistic

import "math"

// AttributableShare returns the share of n events that a cause explains where hits of them coincide with it and chance alone
// would make the share chance coincide: (hits/n - chance)/(1 - chance) (W. S. Abbott, 1925; for
// exposures M. L. Levin, 1953), with the exact interval that follows from hits of n. It may lie below
// 0, where events avoid the cause. NaN if chance is 1.
func AttributableShare(hits, n int, chance, confidence float64) Estimate {
	within := ClopperPearson(hits, n, confidence)
	if math.IsNaN(within.Lower) || !(chance >= 0 && chance < 1) {
		return Estimate{math.NaN(), unknown()}
	}
	explained := func(p float64) float64 { return (p - chance) / (1 - chance) }
	return Estimate{explained(float64(hits) / float64(n)), Interval{explained(within.Lower), explained(within.Upper)}}
}
