package statistic

// kendallExact is the number of values up to which the exact law is summed.
const kendallExact = 60

// kendallVariance is the variance of S given the ties of the values (M. G. Kendall, 1970, section 4).
func kendallVariance(n int, ties []int) float64 {
	N := float64(n)
	return (N*(N-1)*(2*N+5) - tieFives(ties)) / 18
}

// tieFives is the sum of t(t-1)(2t+5).
func tieFives(ties []int) float64 {
	sum := 0.0
	for _, t := range ties {
		v := float64(t)
		sum += v * (v - 1) * (2*v + 5)
	}
	return sum
}

// inversionTest is the exact p of a number of discordant pairs; many of them mean a small S.
func inversionTest(ties []int, discordant int, alt Alternative) float64 {
	few, many := lawTails(inversionLaw(ties), discordant)
	return alt.tail(many, few)
}

// inversionLaw returns at d the probability of d discordant pairs in a random order of
// values with these groups of equal ones: the Gaussian multinomial coefficient.
func inversionLaw(ties []int) []float64 {
	law, seen := []float64{1}, 0
	for _, t := range ties {
		if t == 1 {
			law = spread(law, seen+1)
		} else if seen > 0 {
			sums := twoGroupLaw(seen, t)
			law = convolve(law, sums)
		}
		seen += t
	}
	return law
}

// twoGroupLaw is the law of the discordant pairs between groups of a and b values.
func twoGroupLaw(a, b int) []float64 {
	// share[i][j]: last value of the order is of the first group with probability i/(i+j).
	rows := make([][]float64, b+1)
	for j := range rows {
		rows[j] = []float64{1}
	}
	for i := 1; i <= a; i++ {
		for j := 1; j <= b; j++ {
			// One more of the first group after j of the second is discordant with those.
			p := float64(i) / float64(i+j)
			next := make([]float64, i*j+1)
			for d, v := range rows[j] {
				next[d+j] += p * v
			}
			for d, v := range rows[j-1] {
				next[d] += (1 - p) * v
			}
			rows[j] = next
		}
	}
	return rows[b]
}

// spread is the law of the sum with an even choice of 0..k-1. It only adds, so that
// the far tails keep their digits.
func spread(law []float64, k int) []float64 {
	out := make([]float64, len(law)+k-1)
	for i, p := range law {
		share := p / float64(k)
		for j := range k {
			out[i+j] += share
		}
	}
	return out
}

func convolve(a, b []float64) []float64 {
	out := make([]float64, len(a)+len(b)-1)
	for i, u := range a {
		for j, v := range b {
			out[i+j] += u * v
		}
	}
	return out
}
