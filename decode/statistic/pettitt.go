package statistic

import "math"

// Pettitt is the outcome of Pettitt's test.
type Pettitt struct {
	After int // values before the likeliest change; 0 if there is none
	K     float64
	P     float64
}

// PettittTest looks for one shift of level in a row of values, without supposing a
// distribution (A. N. Pettitt, 1979): K is the largest Mann-Whitney contrast of what
// comes before and after. p = 2 exp(-6 K^2/(n^3+n^2)), close below 0.5 and safe for few values. Vector
// pettitt_nile.
func PettittTest(x []float64) Pettitt {
	if hasNaN(x) {
		return Pettitt{0, math.NaN(), math.NaN()}
	}
	ranks, _ := doubledRanks(x)
	n, u, out := len(x), 0, Pettitt{P: 1}
	for i, r := range ranks {
		u += r - (n + 1)
		if k := math.Abs(float64(u)); k > out.K {
			out.K, out.After = k, i+1
		}
	}
	N := float64(n)
	if out.K > 0 {
		out.P = clamp01(2 * math.Exp(-6*out.K*out.K/(N*N*N+N*N)))
	}
	return out
}
