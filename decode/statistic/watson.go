package statistic

import (
	"math"
	"slices"
)

// Watson is the outcome of Watson's two-sample test.
type Watson struct {
	U2    float64
	P     float64
	Exact bool // p counts all ways to deal the pooled angles out
}

// exactOutcomes bounds the enumeration.
const exactOutcomes = 200_000

// WatsonTwoSample tests whether two sets of angles (radians) come from one
// distribution on the circle, whatever it is (G. S. Watson, 1962), without regard
// to the origin. p is exact up to 200,000 ways to deal out (10 against 10, 4 against
// 40); above, the limiting law given the pooled angles, which errs to the safe side
// where p is small: at 10 against 10 it gives 0.013 for 0.01. Ties are taken at
// their upper end, as textbooks have it.
func WatsonTwoSample(x, y []float64) Watson {
	if !allFinite(x) || !allFinite(y) {
		return Watson{math.NaN(), math.NaN(), false}
	}
	a, b := groupAngles(x, y)
	return watsonCounts(a, b)
}

// WatsonBinned is Watson's test for two histograms of one turn in equal bins, as of
// the phase of bad bits and of good bits at risk. Each unit must be independent.
// Exact for up to 3 against many in 64 bins.
func WatsonBinned(bad, good []int) Watson {
	if len(bad) != len(good) || hasNegative(bad) || hasNegative(good) {
		return Watson{math.NaN(), math.NaN(), false}
	}
	a, b := dropEmpty(bad, good)
	return watsonCounts(a, b)
}

func hasNegative(c []int) bool { return slices.ContainsFunc(c, func(v int) bool { return v < 0 }) }

func dropEmpty(x, y []int) (a, b []int) {
	for i := range x {
		if x[i]+y[i] > 0 {
			a, b = append(a, x[i]), append(b, y[i])
		}
	}
	return a, b
}

// groupAngles brings all angles into one turn and counts both samples at each distinct angle.
func groupAngles(x, y []float64) (a, b []int) {
	type mark struct {
		angle  float64
		second bool
	}
	all := make([]mark, 0, len(x)+len(y))
	for _, v := range x {
		all = append(all, mark{oneTurn(v), false})
	}
	for _, v := range y {
		all = append(all, mark{oneTurn(v), true})
	}
	slices.SortFunc(all, func(p, q mark) int { return compareFloats(p.angle, q.angle) })
	for i, m := range all {
		if i == 0 || m.angle != all[i-1].angle {
			a, b = append(a, 0), append(b, 0)
		}
		if m.second {
			b[len(b)-1]++
		} else {
			a[len(a)-1]++
		}
	}
	return a, b
}

func compareFloats(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

func oneTurn(a float64) float64 {
	a = math.Mod(a, 2*math.Pi)
	if a < 0 {
		a += 2 * math.Pi
	}
	if a >= 2*math.Pi {
		return 0
	}
	return a
}

// watsonCounts tests counts at ordered places none of which is empty.
func watsonCounts(a, b []int) Watson {
	n, m := total(a), total(b)
	if n == 0 || m == 0 || len(a) < 2 {
		return Watson{math.NaN(), 1, false}
	}
	u2 := watsonStatistic(a, b)
	pool := make([]int, len(a))
	for i := range a {
		pool[i] = a[i] + b[i]
	}
	n, m = min(n, m), max(n, m) // deal the smaller one out
	if outcomesWithin(pool, n, exactOutcomes) {
		e := watsonExact{pool: pool, n: n, m: m, limit: u2 - 1e-9}
		return Watson{u2, e.p(), true}
	}
	return Watson{u2, watsonTail(u2, shares(pool), float64(n+m)), false}
}

func total(c []int) int {
	sum := 0
	for _, v := range c {
		sum += v
	}
	return sum
}

// watsonStatistic is U2 = nm/N^2 (sum t d^2 - (sum t d)^2/N), where d is the
// difference of the cumulative shares after a place and t the count there.
func watsonStatistic(a, b []int) float64 {
	n, m := float64(total(a)), float64(total(b))
	N, d, s1, s2 := n+m, 0.0, 0.0, 0.0
	for i := range a {
		d += float64(a[i])/n - float64(b[i])/m
		t := float64(a[i] + b[i])
		s1 += t * d
		s2 += t * d * d
	}
	return math.Max(0, n*m/(N*N)*(s2-s1*s1/N))
}
