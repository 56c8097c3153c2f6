package slicer

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestNthIsWhatSortingGives(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		few := rapid.Float64Range(-3, 3)
		if rapid.Bool().Draw(t, "alike") { // many are equal, as a converter's are
			few = rapid.Map(rapid.IntRange(-2, 2), func(n int) float64 { return float64(n) })
		}
		x := rapid.SliceOfN(few, 1, 300).Draw(t, "x")
		k := rapid.IntRange(0, len(x)-1).Draw(t, "k")
		sorted := slices.Sorted(slices.Values(x))
		if got := nth(slices.Clone(x), k); got != sorted[k] {
			t.Fatalf("value %d of %v: got %v, want %v", k, x, got, sorted[k])
		}
	})
}

func TestNthInOrderAndReverse(t *testing.T) {
	const n = 5000
	up, down, flat := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range n {
		up[i], down[i], flat[i] = float64(i), float64(n-1-i), 7
	}
	for _, k := range []int{0, 1, n / 2, n - 2, n - 1} {
		if a, b, c := nth(slices.Clone(up), k), nth(slices.Clone(down), k), nth(flat, k); a != float64(k) || b != a || c != 7 {
			t.Errorf("value %d: got %v in order, %v in reverse, %v of equal ones", k, a, b, c)
		}
	}
}
