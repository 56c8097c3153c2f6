package statistic

import (
	"math"
	"slices"
)

// Holm returns p-values corrected for how many there are, in the order given (S.
// Holm, 1979): calling all at or below a an effect is wrong about any of them in
// at most the share a of cases, however they depend on each other. NaN are no
// tests: they stay and do not count.
func Holm(p []float64) []float64 {
	adjusted := slices.Clone(p)
	var order []int
	for i, x := range p {
		if !math.IsNaN(x) {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(i, j int) int {
		switch {
		case p[i] < p[j]:
			return -1
		case p[i] > p[j]:
			return 1
		}
		return 0
	})
	most := 0.0
	for k, i := range order {
		most = max(most, clamp01(p[i]*float64(len(order)-k)))
		adjusted[i] = most
	}
	return adjusted
}
