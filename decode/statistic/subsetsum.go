package statistic

// Exact laws of rank sums. Ranks are doubled where they are shared, so that they
// stay whole; the laws below therefore hold for ties too, given the ties.

// rankSumLimit bounds the work of an exact law, in additions.
const rankSumLimit = 4_000_000

// subsetSums returns at s the share of all subsets of k of the ranks whose sum is s
// (B. Streitberg and J. Roehmel, 1986); ok is false where that is too much work.
func subsetSums(ranks []int, k int) (law []float64, ok bool) {
	top := total(ranks)
	if k == 0 || top > rankSumLimit/(k*len(ranks)) {
		return nil, false
	}
	// share[j][s]: of all subsets of j of the ranks so far.
	share := make([][]float64, k+1)
	for j := range share {
		share[j] = make([]float64, top+1)
	}
	share[0][0] = 1
	for i, r := range ranks {
		seen := float64(i + 1)
		for j := min(i+1, k); j >= 0; j-- {
			// A subset of j of i+1 ranks holds the new one with probability j/(i+1).
			with := float64(j) / seen
			for s := top; s >= 0; s-- {
				v := share[j][s] * (1 - with)
				if j > 0 && s >= r {
					v += share[j-1][s-r] * with
				}
				share[j][s] = v
			}
		}
	}
	return share[k], true
}

// lawTails are P(S <= s) and P(S >= s).
func lawTails(law []float64, s int) (lower, upper float64) {
	for i, p := range law {
		if i <= s {
			lower += p
		}
		if i >= s {
			upper += p
		}
	}
	return clamp01(lower), clamp01(upper)
}

// lawQuantile is the smallest s with P(S <= s) >= p.
func lawQuantile(law []float64, p float64) int {
	sum := 0.0
	for s, v := range law {
		sum += v
		if sum >= p*(1-1e-12) {
			return s
		}
	}
	return len(law) - 1
}
