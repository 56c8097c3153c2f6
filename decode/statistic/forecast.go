package statistic

import (
	"math"
	"slices"
)

func validForecasts(p []float64, came []bool) bool {
	if len(p) != len(came) || len(p) == 0 {
		return false
	}
	return !slices.ContainsFunc(p, func(v float64) bool { return !(v >= 0 && v <= 1) })
}

// BrierClasses returns Brier's score of distributions over classes in his form, 0..2, and the log loss in nats; came holds
// the class of each. Vector brier_multiclass.
func BrierClasses(p [][]float64, came []int) (brier, logLoss float64) {
	if len(p) != len(came) || len(p) == 0 {
		return math.NaN(), math.NaN()
	}
	for i, row := range p {
		if !isDistribution(row) || came[i] < 0 || came[i] >= len(row) {
			return math.NaN(), math.NaN()
		}
		for k, v := range row {
			d := v - indicator(k == came[i])
			brier += d * d
		}
		logLoss -= math.Log(row[came[i]])
	}
	n := float64(len(p))
	return brier / n, logLoss / n
}

// isDistribution tells whether p are probabilities that sum to 1, but for rounding.
func isDistribution(p []float64) bool {
	for _, v := range p {
		if !(v >= 0) {
			return false
		}
	}
	return math.Abs(sumOf(p)-1) <= 1e-9
}
