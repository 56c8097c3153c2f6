package statistic

import "math"

// QuadraticTail is P(Q >= x) of a sum of independent chi-squared terms with one
// degree of freedom each, times the weights (those not above 0 are left out): the
// saddlepoint formula of R. Lugannani and S. Rice (1980) as D. Kuonen (1999) gives
// it. Relative error for the weights of Watson's law below 3 % down to a p of 1e-8, some 4 %
// too much beyond; below 6 % for two to six weights; one single weight is exact.
func QuadraticTail(x float64, weights []float64) float64 {
	top, mean := 0.0, 0.0
	n := 0
	for _, l := range weights {
		if math.IsNaN(l) || math.IsInf(l, 1) {
			return math.NaN()
		}
		if l > 0 {
			n++
			mean += l
			top = math.Max(top, l)
		}
	}
	switch {
	case math.IsNaN(x):
		return x
	case x <= 0:
		return 1
	case n == 0 || math.IsInf(x, 1):
		return 0
	case n == 1:
		return ChiSquaredTail(x/top, 1)
	}
	q := cumulants{weights, 1e-12 * top}
	return q.tail(x, top, mean)
}

// cumulants is the cumulant generating function -1/2 sum log(1 - 2 l s).
type cumulants struct {
	weights []float64
	least   float64
}

// at returns the function and its first three derivatives.
func (q cumulants) at(s float64) (k, k1, k2, k3 float64) {
	for _, l := range q.weights {
		if l <= q.least {
			continue
		}
		d := 1 - 2*l*s
		r := l / d
		k -= 0.5 * math.Log(d)
		k1 += r
		k2 += 2 * r * r
		k3 += 8 * r * r * r
	}
	return k, k1, k2, k3
}

func (q cumulants) tail(x, top, mean float64) float64 {
	s := q.saddle(x, top)
	k, _, k2, k3 := q.at(s)
	w := math.Copysign(math.Sqrt(math.Max(0, 2*(s*x-k))), s)
	if math.Abs(x-mean) < 1e-4*math.Sqrt(k2) || math.Abs(w) < 1e-4 {
		return 0.5 - k3/(6*math.Sqrt(2*math.Pi)*math.Pow(k2, 1.5)) // the limit at the mean
	}
	u := s * math.Sqrt(k2)
	density := math.Exp(-w*w/2) / math.Sqrt(2*math.Pi)
	return clamp01(NormalTail(w) + density*(1/u-1/w))
}

// saddle solves k1(s) = x by halving; k1 rises from 0 to infinity below 1/(2 top).
func (q cumulants) saddle(x, top float64) float64 {
	hi := 1 / (2 * top) * (1 - 1e-15)
	lo := -float64(len(q.weights)) / x // each term is below 1/(-2 s)
	for range 200 {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi {
			break
		}
		if _, k1, _, _ := q.at(mid); k1 < x {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo + (hi-lo)/2
}
