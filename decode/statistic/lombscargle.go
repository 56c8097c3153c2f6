package statistic

import "math"

// LombScargle returns the power at frequency f (in cycles a unit of t) of values y at
// instants t: the classic periodogram (N. R. Lomb, 1976; J. D. Scargle, 1982) of y
// less its mean, in the standard normalisation 0..1, the share of the variance that a
// sinusoid explains. NaN if y is constant. Vector lomb_scargle_sine.
func LombScargle(t, y []float64, f float64) float64 {
	if len(t) != len(y) || len(t) == 0 || !finite(f) {
		return math.NaN()
	}
	mean := sumOf(y) / float64(len(y))
	w := 2 * math.Pi * f
	var s2, c2 float64
	for _, v := range t {
		s, c := math.Sincos(2 * w * v)
		s2 += s
		c2 += c
	}
	tau := math.Atan2(s2, c2) / 2 // as an angle
	var yc, ys, cc, ss, yy float64
	for i, v := range t {
		s, c := math.Sincos(w*v - tau)
		d := y[i] - mean
		yc += d * c
		ys += d * s
		cc += c * c
		ss += s * s
		yy += d * d
	}
	return (partPower(yc, cc) + partPower(ys, ss)) / yy
}

// partPower is a*a/b, 0 where a sinusoid vanishes on all instants.
func partPower(a, b float64) float64 {
	if b < 1e-12 {
		return 0
	}
	return a * a / b
}
