package statistic

import "math"

// CalibrationBin holds the forecasts of one bin, (Lower, Upper].
type CalibrationBin struct {
	Lower, Upper float64
	N            int
	Confidence   float64  // mean forecast
	Accuracy     float64  // share that came true
	Within       Interval // exact 95 % interval of the accuracy
}

// Calibration says how far stated confidence and accuracy lie apart.
type Calibration struct {
	Expected float64 // mean distance, weighted by the number in each bin
	Largest  float64
	Bins     []CalibrationBin // those with forecasts
}

// CalibrationOf gathers forecasts in bins of equal width, closed above (M. P. Naeini et al., 2015; C. Guo et al.,
// 2017: ECE and MCE). Both depend on the binning, and are above 0 by chance
// alone: read the intervals. Vectors ece_*.
func CalibrationOf(p []float64, came []bool, bins int) Calibration {
	if !validForecasts(p, came) || bins < 1 {
		return Calibration{math.NaN(), math.NaN(), nil}
	}
	all := make([]CalibrationBin, bins)
	for i, v := range p {
		b := &all[calibrationBin(v, bins)]
		b.N++
		b.Confidence += v
		b.Accuracy += indicator(came[i])
	}
	var out Calibration
	for i, b := range all {
		if b.N == 0 {
			continue
		}
		b.Lower, b.Upper = float64(i)/float64(bins), float64(i+1)/float64(bins)
		b.Within = ClopperPearson(int(b.Accuracy), b.N, 0.95)
		b.Confidence /= float64(b.N)
		b.Accuracy /= float64(b.N)
		d := math.Abs(b.Confidence - b.Accuracy)
		out.Expected += d * float64(b.N) / float64(len(p))
		out.Largest = math.Max(out.Largest, d)
		out.Bins = append(out.Bins, b)
	}
	return out
}

// calibrationBin is the bin i with i/bins < v <= (i+1)/bins, 0 for 0.
func calibrationBin(v float64, bins int) int {
	i := max(0, min(bins-1, int(math.Ceil(v*float64(bins)))-1))
	// Rounding of the product may lie on the wrong side of an edge.
	if i > 0 && v <= float64(i)/float64(bins) {
		return i - 1
	}
	if i < bins-1 && v > float64(i+1)/float64(bins) {
		return i + 1
	}
	return i
}
