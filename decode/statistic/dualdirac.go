package statistic

import "math"

// DualDirac is two normal distributions of one width and equal weight.
type DualDirac struct {
	Sigma       float64 // random part
	Left, Right float64 // places of both
	Separation  float64 // Right - Left, never the peak-to-peak value of the deterministic part
}

// A TailPoint says that the share Probability of edges comes before At.
type TailPoint struct{ At, Probability float64 }

// TailFit fits both tails of a distribution, each as one of two equal normal
// distributions: a straight line through At over Q(2 p) by least squares, on the left for the points with p
// below 0.5, on the right with 1-p. Sigma is the mean of both slopes. Each side needs two points in
// its tail, from 0.02 outwards, where the other one no longer counts. NaN otherwise.
func TailFit(points []TailPoint) DualDirac {
	var left, right lineSums
	for _, p := range points {
		switch {
		case !isProbability(p.Probability) || !finite(p.At):
			return DualDirac{math.NaN(), math.NaN(), math.NaN(), math.NaN()}
		case p.Probability < 0.5:
			left.add(NormalQuantile(2*p.Probability), p.At)
		case p.Probability > 0.5:
			right.add(-NormalQuantile(2*(1-p.Probability)), p.At)
		}
	}
	sl, l := left.line()
	sr, r := right.line()
	return DualDirac{(sl + sr) / 2, l, r, r - l}
}

// lineSums gathers a least-squares line.
type lineSums struct{ n, x, y, xx, xy float64 }

func (l *lineSums) add(x, y float64) {
	l.n++
	l.x += x
	l.y += y
	l.xx += x * x
	l.xy += x * y
}

// line returns slope and value at 0; NaN without two different x.
func (l *lineSums) line() (slope, at0 float64) {
	spread := l.n*l.xx - l.x*l.x
	if !(spread > 1e-12*l.n*l.xx) {
		return math.NaN(), math.NaN()
	}
	slope = (l.n*l.xy - l.x*l.y) / spread
	return slope, (l.y - slope*l.x) / l.n
}

// Moments are the mean, variance and excess kurtosis of a distribution.
type Moments struct{ Mean, Variance, KurtosisExcess float64 }

// DualDiracOf returns the equal mixture with this mean, variance and excess kurtosis, where
// only sums are at hand: -kurtosis = 2 d^4/variance^2, half the separation is d. A kurtosis of 0 or
// more has no separation; below -2 there is no such mixture: NaN. One outlier spoils it: prefer [TailFit].
func DualDiracOf(m Moments) DualDirac {
	if !(m.Variance >= 0) || !(m.KurtosisExcess >= -2) {
		return DualDirac{math.NaN(), math.NaN(), math.NaN(), math.NaN()}
	}
	d2 := m.Variance * math.Sqrt(math.Max(0, -m.KurtosisExcess)/2)
	d := math.Sqrt(d2)
	return DualDirac{math.Sqrt(math.Max(0, m.Variance-d2)), m.Mean - d, m.Mean + d, 2 * d}
}
