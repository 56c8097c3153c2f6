package statistic

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// PoissonInterval returns the exact interval of the mean of a Poisson count k (F.
// Garwood, 1936). Vectors poisson_exact_*.
func PoissonInterval(k int, confidence float64) Interval {
	if k < 0 || !isProbability(confidence) {
		return unknown()
	}
	a := (1 - confidence) / 2
	out := Interval{Upper: gammaQuantile(float64(k)+1, 1-a, a)}
	if k > 0 {
		out.Lower = gammaQuantile(float64(k), a, 1-a)
	}
	return out
}

// Rate is a count over an exposure with its exact interval.
type Rate struct {
	Value  float64
	Within Interval
}

// RateOf returns the rate of k events in an exposure (of time, characters, bits),
// in events a unit of the exposure. No exposure: NaN, 0 to infinity. Vector poisson_rate_one_sample.
func RateOf(k int, exposure, confidence float64) Rate {
	within := PoissonInterval(k, confidence)
	switch {
	case math.IsNaN(within.Upper) || !(exposure >= 0) || math.IsInf(exposure, 1):
		return Rate{math.NaN(), unknown()}
	case exposure == 0:
		return Rate{math.NaN(), Interval{0, math.Inf(1)}}
	}
	return Rate{float64(k) / exposure, Interval{within.Lower / exposure, within.Upper / exposure}}
}

// PoissonTest returns the exact p of k events where mean are expected; two-sided
// is twice the smaller tail.
func PoissonTest(k int, mean float64, alt Alternative) float64 {
	if k < 0 || !(mean >= 0) || math.IsInf(mean, 1) || alt > Greater {
		return math.NaN()
	}
	lower, upper := 1.0, 1.0
	if mean > 0 {
		lower = mathext.GammaIncRegComp(float64(k)+1, mean)
	}
	switch {
	case k > 0 && mean == 0:
		upper = 0
	case k > 0:
		upper = mathext.GammaIncReg(float64(k), mean)
	}
	return alt.tail(lower, upper)
}

// RateRatio compares two rates.
type RateRatio struct {
	Ratio  float64
	Within Interval // exact, conditional on the sum of the counts
	P      float64
}

// RateRatioOf compares k1 events in t1 with k2 in t2 by the exact binomial test of
// k1 given k1+k2 (J. Przyborowski and H. Wilenski, 1940), two-sided as
// [BinomialTest]. Without events p is 1 and the ratio NaN. Vector poisson_rate_ratio.
func RateRatioOf(k1 int, t1 float64, k2 int, t2, confidence float64) RateRatio {
	bad := k1 < 0 || k2 < 0 || !(t1 >= 0) || !(t2 >= 0) || math.IsInf(t1+t2, 1) || !isProbability(confidence)
	all := Interval{0, math.Inf(1)}
	switch {
	case bad:
		return RateRatio{math.NaN(), unknown(), math.NaN()}
	case t1 == 0 || t2 == 0 || k1+k2 == 0:
		return RateRatio{math.NaN(), all, 1}
	}
	_, _, odds := exactLimits(k1, k1+k2, confidence)
	scale := t2 / t1
	return RateRatio{
		Ratio:  float64(k1) / float64(k2) * scale,
		Within: Interval{odds.Lower * scale, odds.Upper * scale},
		P:      BinomialTest(k1, k1+k2, t1/(t1+t2), TwoSided),
	}
}
