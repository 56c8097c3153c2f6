package statistic

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// eigenLimit is the number of places up to which the law of U2 is worked out for
// the pooled distribution; beyond it the continuous law is close.
const eigenLimit = 128

// watsonTail is P(U2 >= u2) in the limit of many units, N in all, given the pooled
// shares of the places.
func watsonTail(u2 float64, share []float64, N float64) float64 {
	if len(share) <= eigenLimit {
		if weights, ok := watsonWeights(share, N); ok {
			return QuadraticTail(u2, weights)
		}
	}
	return WatsonLimit(u2 * N / (N + 1)) // the mean of U2 is (N+1)/(12 N)
}

// WatsonLimit is P(U2 > u) of the limiting law over a continuous circle (G. S. Watson,
// 1961 and 1962): two times the alternating sum of exp(-2 k^2 pi^2 u).
func WatsonLimit(u float64) float64 {
	if !(u > 0) {
		if math.IsNaN(u) {
			return u
		}
		return 1
	}
	if u < 0.02 {
		return 1 // but for 1e-9; the sum converges slowly here
	}
	sum, sign := 0.0, 1.0
	for k := 1.0; k < 100; k++ {
		term := math.Exp(-2 * k * k * math.Pi * math.Pi * u)
		sum += sign * term
		if term < 1e-18 {
			break
		}
		sign = -sign
	}
	return clamp01(2 * sum)
}

// watsonWeights are the weights of independent chi-squared terms with one degree of
// freedom that U2 is a sum of: the eigenvalues of the covariance of the centred
// cumulative differences, weighted by the shares (V. Choulakian, R. A. Lockhart and
// M. A. Stephens, 1994), with the finite-population factor N/(N-1).
func watsonWeights(share []float64, N float64) ([]float64, bool) {
	k := len(share)
	upTo, sum := make([]float64, k), 0.0
	for i, p := range share {
		sum += p
		upTo[i] = sum
	}
	cov := func(i, j int) float64 { return math.Min(upTo[i], upTo[j]) - upTo[i]*upTo[j] }
	row, all := make([]float64, k), 0.0
	for i := range k {
		for j := range k {
			row[i] += share[j] * cov(i, j)
		}
		all += share[i] * row[i]
	}
	c := mat.NewSymDense(k, nil)
	for i := range k {
		for j := i; j < k; j++ {
			v := cov(i, j) - row[i] - row[j] + all
			c.SetSym(i, j, v*math.Sqrt(share[i]*share[j])*N/(N-1))
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(c, false) {
		return nil, false
	}
	return eigen.Values(nil), true
}

func shares(counts []int) []float64 {
	N := float64(total(counts))
	s := make([]float64, len(counts))
	for i, c := range counts {
		s[i] = float64(c) / N
	}
	return s
}

func sumOf(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum
}
