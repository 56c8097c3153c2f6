package statistic

import "math"

// OddsRatio is the odds a/b over c/d.
type OddsRatio struct {
	Sample      float64  // a*d/(b*c)
	Conditional float64  // most likely value given the margins, as goes with Fisher's test
	Within      Interval // exact conditional interval, J. Cornfield 1956
}

// OddsRatioOf estimates the odds ratio of the table a b / c d by the noncentral
// hypergeometric distribution. Work grows with the smallest margin. A table
// that an odds ratio of 0 or infinity explains best says so. Vector fisher_convictions.
func OddsRatioOf(a, b, c, d int, confidence float64) OddsRatio {
	if min(a, b, c, d) < 0 || !isProbability(confidence) {
		return OddsRatio{math.NaN(), math.NaN(), unknown()}
	}
	h := hypergeometric{total: a + b + c + d, good: a + c, draws: a + b}
	lo, hi := h.support()
	sample := float64(a) * float64(d) / (float64(b) * float64(c))
	all := Interval{0, math.Inf(1)}
	if lo == hi {
		return OddsRatio{sample, math.NaN(), all}
	}
	n := newNoncentral(h)
	out := OddsRatio{Sample: sample, Within: all}
	alpha := (1 - confidence) / 2
	switch a {
	case lo:
		out.Conditional = 0
	case hi:
		out.Conditional = math.Inf(1)
	default:
		out.Conditional = math.Exp(risingRoot(func(t float64) float64 { return n.sum(t, meanOf) - float64(a) }))
	}
	if a > lo {
		out.Within.Lower = math.Exp(risingRoot(func(t float64) float64 { return n.sum(t, atLeast(a)) - alpha }))
	}
	if a < hi {
		out.Within.Upper = math.Exp(risingRoot(func(t float64) float64 { return alpha - n.sum(t, atMost(a)) }))
	}
	return out
}

// noncentral holds the log masses of the central distribution from lo on.
type noncentral struct {
	lo     int
	masses []float64
}

func newNoncentral(h hypergeometric) noncentral {
	lo, hi := h.support()
	n := noncentral{lo, make([]float64, hi-lo+1)}
	mode := h.mode()
	n.masses[mode-lo] = math.Log(h.mass(mode))
	for k := mode; k < hi; k++ {
		n.masses[k+1-lo] = n.masses[k-lo] + math.Log(h.ratio(k))
	}
	for k := mode - 1; k >= lo; k-- {
		n.masses[k-lo] = n.masses[k+1-lo] - math.Log(h.ratio(k))
	}
	return n
}

// sum is the expectation of value(k) at the log odds ratio t.
func (n noncentral) sum(t float64, value func(k int) float64) float64 {
	top := math.Inf(-1)
	for i, m := range n.masses {
		top = math.Max(top, m+float64(i)*t)
	}
	all, got := 0.0, 0.0
	for i, m := range n.masses {
		w := math.Exp(m + float64(i)*t - top)
		all += w
		got += w * value(n.lo+i)
	}
	return got / all
}

func meanOf(k int) float64 { return float64(k) }

func atLeast(a int) func(int) float64 { return func(k int) float64 { return indicator(k >= a) } }

func atMost(a int) func(int) float64 { return func(k int) float64 { return indicator(k <= a) } }

// risingRoot finds the root of a rising function over the exponents that a
// float64 can hold.
func risingRoot(f func(float64) float64) float64 { return risingRootBetween(-700, 700, f) }
