package statistic

import "math"

// The regularized incomplete beta function is our own: mathext.RegIncBeta of
// gonum v0.16.0 stops its continued fraction after a fixed number of terms and
// is off by 2 % at a = b = 1e7, where counts of bits over a day lie.

// BetaRegularized returns I_x(a, b), the share of the beta distribution below x, for
// a, b > 0; NaN otherwise. Continued fraction by Lentz's method (Abramowitz and
// Stegun 26.5.8), factor in front by Loader's form of the binomial mass. Relative
// error below 1e-11 up to a+b = 1e9 (tested against mpmath).
func BetaRegularized(a, b, x float64) float64 {
	return betaShare(a, b, x, 1-x)
}

// betaShare is I_x(a, b) with y = 1-x given apart.
func betaShare(a, b, x, y float64) float64 {
	switch {
	case !(a > 0) || !(b > 0) || math.IsInf(a+b, 1) || math.IsNaN(x):
		return math.NaN()
	case x <= 0:
		return 0
	case y <= 0:
		return 1
	case x <= (a+1)/(a+b+2):
		return clamp01(betaFraction(a, b, x, y))
	}
	return clamp01(1 - betaFraction(b, a, y, x))
}

// betaTail is 1 - I_x(a, b), with its own digits.
func betaTail(a, b, x float64) float64 { return betaShare(b, a, 1-x, x) }

// betaFraction is x^a y^b / (a B(a, b)) times the continued fraction.
func betaFraction(a, b, x, y float64) float64 {
	const tiny = 1e-300
	c, d := 1.0, 1/nonZero(1-(a+b)*x/(a+1), tiny)
	f := d
	// The number of terms grows as the root of the larger parameter.
	limit := 200 + int(20*math.Sqrt(math.Max(a, b)))
	for m := 1.0; m < float64(limit); m++ {
		even := m * (b - m) * x / ((a + 2*m - 1) * (a + 2*m))
		d = 1 / nonZero(1+even*d, tiny)
		c = nonZero(1+even/c, tiny)
		f *= c * d
		odd := -(a + m) * (a + b + m) * x / ((a + 2*m) * (a + 2*m + 1))
		d = 1 / nonZero(1+odd*d, tiny)
		c = nonZero(1+odd/c, tiny)
		f *= c * d
		if math.Abs(c*d-1) < 1e-16 {
			break
		}
	}
	return betaFront(a, b, x, y) * f
}

// betaFront is x^a y^b / (a B(a, b)): the binomial mass of a in a+b trials times b/(a+b).
func betaFront(a, b, x, y float64) float64 {
	return binomialMass(a, a+b, x, y) * b / (a + b)
}

func nonZero(v, tiny float64) float64 {
	if math.Abs(v) < tiny {
		return tiny
	}
	return v
}

// BetaQuantile returns x with I_x(a, b) = p; NaN outside 0..1.
func BetaQuantile(a, b, p float64) float64 {
	x, _ := betaQuantile(a, b, p, 1-p)
	return x
}

// betaQuantile is x with I_x(a, b) = p, and 1-x; q = 1-p is given apart. What is smaller
// of x and 1-x is solved for by what is smaller of p and q, so that neither loses digits.
func betaQuantile(a, b, p, q float64) (x, y float64) {
	switch {
	case !(a > 0) || !(b > 0) || math.IsInf(a+b, 1) || !(p >= 0 && q >= 0):
		return math.NaN(), math.NaN()
	case p == 0:
		return 0, 1
	case q == 0:
		return 1, 0
	case betaShare(a, b, 0.5, 0.5) >= p:
		x = betaRoot(a, b, p, q)
		return x, 1 - x
	}
	y = betaRoot(b, a, q, p)
	return 1 - y, y
}

// betaRoot is x of at most 1/2 with I_x(a, b) = p.
func betaRoot(a, b, p, q float64) float64 {
	return positiveRoot(0.5, a/(a+b), func(x float64) (ratio, slope float64) {
		rise := binomialMass(a, a+b, x, 1-x) * a * b / ((a + b) * (1 - x)) // density times x
		if p <= q {
			share := betaShare(a, b, x, 1-x)
			return share / p, rise / share
		}
		tail := betaShare(b, a, 1-x, x)
		return q / tail, rise / tail
	})
}
