package check

import "math"

// Gain is the expected information of a check about which candidate is true, in bits: the mutual information of
// outcome and candidate (Lindley, Annals of Mathematical Statistics 27(4), 1956). prior need not sum to 1;
// outcomes[i][k] is the probability of outcome k if candidate i is true.
func Gain(prior []float64, outcomes [][]float64) float64 {
	total := 0.0
	for _, p := range prior {
		total += p
	}
	if total <= 0 || len(outcomes) != len(prior) || len(outcomes) == 0 {
		return 0
	}
	marginal := make([]float64, len(outcomes[0]))
	given := 0.0 // entropy of the outcome where the candidate is known
	for i, p := range prior {
		for k, q := range outcomes[i] {
			marginal[k] += p / total * q
		}
		given += p / total * entropy(outcomes[i])
	}
	return max(0, entropy(marginal)-given)
}

// entropy is in bits.
func entropy(p []float64) float64 {
	h := 0.0
	for _, q := range p {
		if q > 0 {
			h -= q * math.Log2(q)
		}
	}
	return h
}
