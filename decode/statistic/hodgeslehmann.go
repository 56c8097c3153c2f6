package statistic

import (
	"math"
	"slices"
)

// Estimate is a value with its interval.
type Estimate struct {
	Value  float64
	Within Interval
}

// HodgesLehmannShift returns by how much x lies above y: the median of all differences, with
// the exact interval that belongs to [MannWhitney] (P. A. P. Moran, 1953). At most 4 million
// pairs: NaN above. Vector mann_whitney_permeability.
func HodgesLehmannShift(x, y []float64, confidence float64) Estimate {
	n, m := len(x), len(y)
	if !allFinite(x) || !allFinite(y) || !isProbability(confidence) || (m > 0 && n > 4_000_000/m) {
		return Estimate{math.NaN(), unknown()}
	}
	if n == 0 || m == 0 {
		return Estimate{math.NaN(), Interval{math.Inf(-1), math.Inf(1)}}
	}
	differences := make([]float64, 0, n*m)
	for _, a := range x {
		for _, b := range y {
			differences = append(differences, a-b)
		}
	}
	pairs := float64(n) * float64(m)
	q := normalRank(pairs/2, pairs*float64(n+m+1)/12, confidence)
	if law, ok := subsetSums(oneTo(n+m), n); ok {
		q = lawQuantile(law, (1-confidence)/2) - n*(n+1)/2
	}
	return orderEstimate(differences, q)
}

func oneTo(n int) []int {
	r := indices(n)
	for i := range r {
		r[i]++
	}
	return r
}

func normalRank(mean, variance, confidence float64) int {
	return int(math.Floor(mean - twoSidedQuantile(confidence)*math.Sqrt(variance)))
}

// orderEstimate is the median with the q-th value from either end.
func orderEstimate(values []float64, q int) Estimate {
	slices.Sort(values)
	q = max(1, min(q, (len(values)+1)/2))
	return Estimate{medianInPlace(values), Interval{values[q-1], values[len(values)-q]}}
}
