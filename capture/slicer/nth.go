package slicer

import "slices"

const (
	fewToSort = 24 // values that are put in order at once
	mostNth   = 64 // rounds, far more than chance needs, after which values are put in order
)

// nth is the value that would stand at index k if x, which has no NaN, were put in order; x is put in another order. It takes time
// in proportion to its length, a small part of what sorting takes (C. A. R. Hoare, Algorithm 65: Find, CACM 4, 1961).
func nth(x []float64, k int) float64 {
	for round := 0; len(x) > fewToSort && round < mostNth; round++ {
		i, j := divide(x)
		switch {
		case k <= j:
			x = x[:j+1]
		case k >= i:
			x, k = x[i:], k-i
		default:
			return x[k]
		}
	}
	slices.Sort(x)
	return x[k]
}

// divide parts x: up to j nothing is greater than what begins at i, and what lies between is equal to both.
func divide(x []float64) (i, j int) {
	first, mid, last := x[0], x[len(x)/2], x[len(x)-1]
	pivot := max(min(first, mid), min(max(first, mid), last))
	i, j = 0, len(x)-1
	for i <= j {
		for x[i] < pivot {
			i++
		}
		for x[j] > pivot {
			j--
		}
		if i <= j {
			x[i], x[j] = x[j], x[i]
			i, j = i+1, j-1
		}
	}
	return i, j
}
