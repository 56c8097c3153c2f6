package main

import "math"

// told is a probability that was said, and whether it came true.
type told struct {
	p  float64
	ok bool
}

// recalibration fits the odds of being right to those said: logit(right) = a + b logit(p) (Cox, Biometrika 45, 1958), by Newton's method.
// Probabilities that are calibrated have slope 1 and offset 0; a slope under 1 says too much. ok is false where the data cannot tell.
func recalibration(all []told) (a, b float64, ok bool) {
	b = 1
	for range 50 {
		var g0, g1, h00, h01, h11 float64
		for _, t := range all {
			x := logit(t.p)
			q := 1 / (1 + math.Exp(-a-b*x))
			y := 0.0
			if t.ok {
				y = 1
			}
			g0, g1 = g0+y-q, g1+(y-q)*x
			w := q * (1 - q)
			h00, h01, h11 = h00+w, h01+w*x, h11+w*x*x
		}
		det := h00*h11 - h01*h01
		if !(det > 1e-9) {
			return 0, 0, false
		}
		da, db := (g0*h11-g1*h01)/det, (g1*h00-g0*h01)/det
		a, b = a+da, b+db
		if math.Abs(da)+math.Abs(db) < 1e-9 {
			return a, b, !math.IsNaN(a + b)
		}
	}
	return 0, 0, false
}

// logit is ln of the odds; certainty counts as 1 in 10^5 against.
func logit(p float64) float64 {
	p = math.Max(1e-5, math.Min(1-1e-5, p))
	return math.Log(p / (1 - p))
}
