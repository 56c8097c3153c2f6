package statistic

import (
	"math"
	"slices"
)

// Trend is the outcome of the Mann-Kendall test with Sen's slope.
type Trend struct {
	S        int
	Variance float64 // of S, given the ties
	Z        float64 // with continuity
	P        float64 // two-sided: exact to 60 values, given the ties
	PNormal  float64 // two-sided, of Z
	Slope    float64 // median of all slopes, a value each step
	Within   Interval
}

// trendLimit bounds the values, as the work grows with the square.
const trendLimit = 4000

// MannKendall tests a row of values in equal steps for a monotonic trend (H. B. Mann, 1945; M. G.
// Kendall) and estimates it robustly (P. K. Sen, 1968), with the interval at the confidence that
// belongs to the normal law of S (R. O. Gilbert, 1987). Values must be independent but for
// the trend: bin the time first, see [TrendBins]. At most 4,000 values: NaN above.
// Vectors mann_kendall_*.
func MannKendall(values []float64, confidence float64) Trend {
	steps := make([]float64, len(values))
	for i := range steps {
		steps[i] = float64(i)
	}
	return MannKendallAt(steps, values, confidence)
}

// MannKendallAt is [MannKendall] for rising instants at unequal distances; the slope is
// a value each unit of time.
func MannKendallAt(at, values []float64, confidence float64) Trend {
	nan := math.NaN()
	n := len(values)
	if len(at) != n || !allFinite(values) || !allFinite(at) || !rising(at) || !isProbability(confidence) || n > trendLimit {
		return Trend{0, nan, nan, nan, nan, nan, unknown()}
	}
	out := Trend{P: 1, PNormal: 1, Slope: nan, Z: nan, Within: Interval{math.Inf(-1), math.Inf(1)}}
	if n < 2 {
		return out
	}
	slopes, discordant := make([]float64, 0, n*(n-1)/2), 0
	for j := range n {
		for i := range j {
			c := compareFloats(values[j], values[i])
			out.S += c
			if c < 0 {
				discordant++
			}
			slopes = append(slopes, (values[j]-values[i])/(at[j]-at[i]))
		}
	}
	_, ties := doubledRanks(values)
	out.Variance = kendallVariance(n, ties)
	out.Slope, out.Within = senSlope(slopes, out.Variance, confidence)
	if len(ties) < 2 {
		return out
	}
	out.Z = float64(out.S-sign(out.S)) / math.Sqrt(out.Variance)
	out.PNormal = clamp01(2 * NormalTail(math.Abs(out.Z)))
	out.P = out.PNormal
	if n <= kendallExact {
		out.P = inversionTest(ties, discordant, TwoSided)
	}
	return out
}

func senSlope(slopes []float64, variance, confidence float64) (float64, Interval) {
	slices.Sort(slopes)
	pairs := float64(len(slopes))
	c := twoSidedQuantile(confidence) * math.Sqrt(variance)
	low := max(0, int(math.Floor((pairs-c)/2))-1)
	high := min(len(slopes)-1, int(math.Ceil((pairs+c)/2)))
	return medianInPlace(slopes), Interval{slopes[low], slopes[high]}
}

func rising(at []float64) bool {
	for i := 1; i < len(at); i++ {
		if !(at[i] > at[i-1]) {
			return false
		}
	}
	return true
}

func sign(n int) int {
	switch {
	case n > 0:
		return 1
	case n < 0:
		return -1
	}
	return 0
}
