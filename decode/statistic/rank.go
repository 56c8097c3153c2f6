package statistic

import "slices"

// sortBy sorts indices by the value they point at, ties by index.
func sortBy(order []int, values []float64) {
	slices.SortFunc(order, func(i, j int) int {
		if c := compareFloats(values[i], values[j]); c != 0 {
			return c
		}
		return i - j
	})
}

func indices(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// doubledRanks returns twice the mean rank of each value, so that ties stay whole
// numbers, and the sizes of the groups of equal values.
func doubledRanks(values []float64) (ranks []int, ties []int) {
	order := indices(len(values))
	sortBy(order, values)
	ranks = make([]int, len(values))
	for i := 0; i < len(order); {
		j := i
		for j < len(order) && values[order[j]] == values[order[i]] {
			j++
		}
		for _, k := range order[i:j] {
			ranks[k] = i + 1 + j
		}
		ties = append(ties, j-i)
		i = j
	}
	return ranks, ties
}

// tieCubes is the sum of t^3 - t over the groups.
func tieCubes(ties []int) float64 {
	sum := 0.0
	for _, t := range ties {
		v := float64(t)
		sum += v*v*v - v
	}
	return sum
}
