package statistic

import "math"

// RankTest is the outcome of a rank test.
type RankTest struct {
	Statistic float64
	P         float64 // exact where Exact says so, else PNormal
	PNormal   float64 // normal approximation with ties
	Exact     bool
}

// MannWhitney tests whether x tends to be larger than y (F. Wilcoxon, 1945; H. B. Mann and D. R. Whitney,
// 1947). The statistic is the number of pairs with x above y, half for equal ones. p is
// exact, given ties, to some 25 against 25 values; two-sided it is twice the smaller
// tail. PNormal has ties and continuity corrected. Vector mann_whitney_permeability.
func MannWhitney(x, y []float64, alt Alternative) RankTest {
	n, m := len(x), len(y)
	all := append(append(make([]float64, 0, n+m), x...), y...)
	if hasNaN(all) || alt > Greater {
		return RankTest{math.NaN(), math.NaN(), math.NaN(), false}
	}
	ranks, ties := doubledRanks(all)
	if n == 0 || m == 0 {
		return RankTest{math.NaN(), 1, 1, false}
	}
	sum := total(ranks[:n])
	N, pairs := float64(n+m), float64(n)*float64(m)
	w := float64(sum)/2 - float64(n)*float64(n+1)/2
	variance := pairs / 12 * (N + 1 - tieCubes(ties)/(N*(N-1)))
	out := RankTest{Statistic: w, PNormal: normalCounts(w, pairs/2, variance, 0.5, alt)}
	out.P = out.PNormal
	if law, ok := subsetSums(ranks, n); ok {
		out.P, out.Exact = alt.tail(lawTails(law, sum)), true
	}
	return out
}

// normalCounts is the p of a statistic in steps of twice the continuity correction;
// without variance it is 1.
func normalCounts(s, mean, variance, continuity float64, alt Alternative) float64 {
	if !(variance > 0) {
		return 1
	}
	sd := math.Sqrt(variance)
	return alt.tail(NormalTail((mean-s-continuity)/sd), NormalTail((s-continuity-mean)/sd))
}

func hasNaN(x []float64) bool {
	for _, v := range x {
		if math.IsNaN(v) {
			return true
		}
	}
	return false
}
