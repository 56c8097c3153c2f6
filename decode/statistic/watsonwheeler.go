package statistic

import "math"

// WatsonWheeler is the outcome of the uniform-scores test.
type WatsonWheeler struct {
	W     float64 // 2 sum of R_j^2 / n_j over both samples
	P     float64
	Exact bool // p counts all ways to deal the ranks out
}

// WatsonWheelerTwoSample tests whether two sets of angles (radians) have one
// distribution (S. Wheeler and G. S. Watson, 1964; K. V. Mardia, 1967): ranks are
// spread evenly over the circle and the resultant of each sample is taken. Ties
// share their mean rank. It sees one preferred direction, not two opposite ones.
// Exact up to 200,000 ways to deal out, else chi-squared with 2 degrees of freedom
// on W (N-1)/N, whose mean is exact.
func WatsonWheelerTwoSample(x, y []float64) WatsonWheeler {
	if !allFinite(x) || !allFinite(y) {
		return WatsonWheeler{math.NaN(), math.NaN(), false}
	}
	all := make([]float64, 0, len(x)+len(y))
	for _, v := range x {
		all = append(all, oneTurn(v))
	}
	for _, v := range y {
		all = append(all, oneTurn(v))
	}
	n, m := len(x), len(y)
	ranks, ties := doubledRanks(all)
	if n == 0 || m == 0 || len(ties) < 2 {
		return WatsonWheeler{math.NaN(), 1, false}
	}
	s := newScores(ranks)
	r2 := s.resultant(n)
	N := float64(n + m)
	w := 2 * (r2/float64(n) + s.rest(n)/float64(m))
	k := min(n, m)
	if binomialWithin(n+m, k, exactOutcomes) {
		if m < n {
			r2 = s.rest(n)
		}
		hits, ways := s.count(k, r2-1e-9)
		return WatsonWheeler{w, float64(hits) / float64(ways), true}
	}
	return WatsonWheeler{w, ChiSquaredTail(w*(N-1)/N, 2), false}
}

// binomialWithin tells whether k of n can be chosen in no more than limit ways.
func binomialWithin(n, k, limit int) bool {
	ways := 1
	for i := 1; i <= k; i++ {
		ways = ways * (n - k + i) / i
		if ways > limit {
			return false
		}
	}
	return true
}

// scores are unit vectors at the angles of the ranks.
type scores struct{ cos, sin []float64 }

func newScores(doubled []int) scores {
	s := scores{make([]float64, len(doubled)), make([]float64, len(doubled))}
	for i, r := range doubled {
		s.sin[i], s.cos[i] = math.Sincos(math.Pi * float64(r) / float64(len(doubled)))
	}
	return s
}

// resultant is the squared length of the sum of the first n scores.
func (s scores) resultant(n int) float64 { return s.part(0, n) }

// rest is that of the others.
func (s scores) rest(n int) float64 { return s.part(n, len(s.cos)) }

func (s scores) part(from, to int) float64 {
	c, d := sumOf(s.cos[from:to]), sumOf(s.sin[from:to])
	return c*c + d*d
}

// count goes through all choices of k scores and counts those with a squared
// resultant of at least limit.
func (s scores) count(k int, limit float64) (hits, ways int) {
	var choose func(from, k int, c, d float64)
	choose = func(from, k int, c, d float64) {
		if k == 0 {
			ways++
			if c*c+d*d >= limit {
				hits++
			}
			return
		}
		for i := from; i <= len(s.cos)-k; i++ {
			choose(i+1, k-1, c+s.cos[i], d+s.sin[i])
		}
	}
	choose(0, k, 0, 0)
	return hits, ways
}
