package statistic_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"linewitness/decode/statistic"
)

// Worked by hand: the smallest p times how many there are, the next times one fewer, none below the one before it.
func TestHolmByHand(t *testing.T) {
	t.Parallel()
	nan := math.NaN()
	for _, c := range []struct{ p, want []float64 }{
		{nil, nil},
		{[]float64{0.3}, []float64{0.3}},
		{[]float64{0.01, 0.02, 0.03, 0.04, 0.05}, []float64{0.05, 0.08, 0.09, 0.09, 0.09}},
		{[]float64{0.01, 0.04, 0.03, 0.005}, []float64{0.03, 0.06, 0.06, 0.02}},
		{[]float64{0.6, nan, 0.7, 1e-9}, []float64{1, nan, 1, 3e-9}},
	} {
		got := statistic.Holm(c.p)
		for i := range c.want {
			if math.Abs(got[i]-c.want[i]) > 1e-15 && !(math.IsNaN(got[i]) && math.IsNaN(c.want[i])) {
				t.Errorf("%v: %v, want %v", c.p, got, c.want)
				break
			}
		}
	}
}

// Never below p nor above Bonferroni's; the order of p stays.
func TestHolmBounds(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SliceOfN(rapid.Float64Range(0, 1), 1, 20).Draw(t, "p")
		got := statistic.Holm(p)
		for i := range p {
			if got[i] < p[i] || got[i] > math.Min(1, p[i]*float64(len(p)))+1e-15 {
				t.Errorf("%g of %d became %g", p[i], len(p), got[i])
			}
			for j := range p {
				if p[i] < p[j] && got[i] > got[j] {
					t.Errorf("%g before %g became %g, %g", p[i], p[j], got[i], got[j])
				}
			}
		}
	})
}
