package statistic

import "math"

// hypergeometric is the distribution of the top left cell of a 2x2 table whose
// margins are fixed: draws from total, of which good are good.
type hypergeometric struct{ total, good, draws int }

func (h hypergeometric) support() (lo, hi int) {
	return max(0, h.draws+h.good-h.total), min(h.draws, h.good)
}

// mass is P(X = x), in Loader's form: a ratio of three binomial masses.
func (h hypergeometric) mass(x int) float64 {
	lo, hi := h.support()
	if x < lo || x > hi {
		return 0
	}
	if h.total == 0 || h.draws == 0 || h.draws == h.total {
		return 1
	}
	p := float64(h.draws) / float64(h.total)
	q := float64(h.total-h.draws) / float64(h.total)
	a := binomialMass(float64(x), float64(h.good), p, q)
	b := binomialMass(float64(h.draws-x), float64(h.total-h.good), p, q)
	return a * b / binomialMass(float64(h.draws), float64(h.total), p, q)
}

func (h hypergeometric) mode() int {
	lo, hi := h.support()
	m := (float64(h.draws) + 1) * (float64(h.good) + 1) / (float64(h.total) + 2)
	return max(lo, min(hi, int(m)))
}

// atMost is P(X <= x), summed downwards from x until nothing is added.
func (h hypergeometric) atMost(x int) float64 {
	lo, hi := h.support()
	switch {
	case x < lo:
		return 0
	case x >= hi:
		return 1
	case x > h.mode():
		return 1 - h.atLeast(x+1)
	}
	term, sum := h.mass(x), 0.0
	for k := x; k >= lo; k-- {
		sum += term
		if term < 1e-18*sum {
			break
		}
		term /= h.ratio(k - 1)
	}
	return clamp01(sum)
}

// atLeast is P(X >= x).
func (h hypergeometric) atLeast(x int) float64 {
	lo, hi := h.support()
	switch {
	case x <= lo:
		return 1
	case x > hi:
		return 0
	case x <= h.mode():
		return 1 - h.atMost(x-1)
	}
	term, sum := h.mass(x), 0.0
	for k := x; k <= hi; k++ {
		sum += term
		if term < 1e-18*sum {
			break
		}
		term *= h.ratio(k)
	}
	return clamp01(sum)
}

// ratio is mass(k+1)/mass(k).
func (h hypergeometric) ratio(k int) float64 {
	return float64(h.good-k) / float64(k+1) * (float64(h.draws-k) / float64(h.total-h.good-h.draws+k+1))
}

// twoSided is the sum over all outcomes no likelier than x.
func (h hypergeometric) twoSided(x int) float64 {
	lo, hi := h.support()
	mode := h.mode()
	limit := h.mass(x) * (1 + likelihoodSlack)
	if h.mass(mode) <= limit {
		return 1
	}
	if x < mode {
		from := firstTrue(mode, hi+1, func(k int) bool { return h.mass(k) <= limit })
		return clamp01(h.atMost(x) + h.atLeast(from))
	}
	from := firstTrue(lo, mode+1, func(k int) bool { return h.mass(k) > limit })
	return clamp01(h.atLeast(x) + h.atMost(from-1))
}

// FisherExact returns the exact p of the table a b / c d given its margins (R. A.
// Fisher, 1935). Greater means: the odds a/b exceed c/d. Two-sided is the sum
// over all tables no likelier. An empty table has p = 1. Vectors fisher_*,
// two_proportion_*.
func FisherExact(a, b, c, d int, alt Alternative) float64 {
	if min(a, b, c, d) < 0 || alt > Greater {
		return math.NaN()
	}
	h := hypergeometric{total: a + b + c + d, good: a + c, draws: a + b}
	switch alt {
	case Less:
		return h.atMost(a)
	case Greater:
		return h.atLeast(a)
	}
	return h.twoSided(a)
}
