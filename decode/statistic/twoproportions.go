package statistic

import "math"

// Proportions compares x1 of n1 with x2 of n2.
type Proportions struct {
	Difference  float64  // x1/n1 - x2/n2
	Z           float64  // pooled score statistic
	P           float64  // of Z, two-sided; the same as Pearson's chi-squared of the table
	ChiSquared  float64  // Z*Z
	ChiYates    float64  // with the continuity correction of F. Yates, 1934
	PYates      float64  //
	PExact      float64  // Fisher's, two-sided
	Wald        Interval // of the difference, unpooled; misleading for few counts
	Newcombe    Interval // of the difference, from two Wilson intervals (R. G. Newcombe, 1998, method 10)
	RiskRatio   float64  // (x1/n1) / (x2/n2)
	RatioWithin Interval // of the ratio, D. Katz et al., 1978, with half an event added to each count (S. D. Walter, 1975)
}

// TwoProportions compares two proportions of independent units; intervals at the
// confidence. The approximate P wants at least five expected in each cell, else
// read PExact. Vectors two_proportion_*.
func TwoProportions(x1, n1, x2, n2 int, confidence float64) Proportions {
	nan := math.NaN()
	if !validCounts(x1, n1) || !validCounts(x2, n2) || !isProbability(confidence) {
		return Proportions{nan, nan, nan, nan, nan, nan, nan, unknown(), unknown(), nan, unknown()}
	}
	if n1 == 0 || n2 == 0 {
		return Proportions{nan, nan, 1, nan, nan, 1, 1, Interval{-1, 1}, Interval{-1, 1}, nan, Interval{0, math.Inf(1)}}
	}
	N1, N2 := float64(n1), float64(n2)
	p1, p2 := float64(x1)/N1, float64(x2)/N2
	out := Proportions{Difference: p1 - p2, RiskRatio: p1 / p2}
	out.pooled(x1, n1, x2, n2)
	out.PExact = FisherExact(x1, n1-x1, x2, n2-x2, TwoSided)
	z := twoSidedQuantile(confidence)
	half := z * math.Sqrt(p1*(1-p1)/N1+p2*(1-p2)/N2)
	out.Wald = Interval{out.Difference - half, out.Difference + half}
	w1, w2 := Wilson(x1, n1, confidence), Wilson(x2, n2, confidence)
	out.Newcombe = Interval{
		out.Difference - math.Hypot(p1-w1.Lower, w2.Upper-p2),
		out.Difference + math.Hypot(w1.Upper-p1, p2-w2.Lower),
	}
	out.RatioWithin = riskRatioInterval(float64(x1), N1, float64(x2), N2, z)
	return out
}

// pooled fills in the statistics of the pooled proportion; all successes or none
// tell nothing: the statistic is NaN and p is 1.
func (r *Proportions) pooled(x1, n1, x2, n2 int) {
	N1, N2 := float64(n1), float64(n2)
	p := float64(x1+x2) / (N1 + N2)
	variance := p * (1 - p) * (1/N1 + 1/N2)
	if variance == 0 {
		r.Z, r.ChiSquared, r.ChiYates, r.P, r.PYates = math.NaN(), math.NaN(), math.NaN(), 1, 1
		return
	}
	r.Z = r.Difference / math.Sqrt(variance)
	r.ChiSquared = r.Z * r.Z
	r.P = ChiSquaredTail(r.ChiSquared, 1)
	corrected := math.Max(0, math.Abs(r.Difference)-0.5*(1/N1+1/N2))
	r.ChiYates = corrected * corrected / variance
	r.PYates = ChiSquaredTail(r.ChiYates, 1)
}

func riskRatioInterval(x1, n1, x2, n2, z float64) Interval {
	x1, n1, x2, n2 = x1+0.5, n1+0.5, x2+0.5, n2+0.5
	mid := math.Log(x1 / n1 / (x2 / n2))
	half := z * math.Sqrt(math.Max(0, 1/x1-1/n1+1/x2-1/n2))
	return Interval{math.Exp(mid - half), math.Exp(mid + half)}
}
