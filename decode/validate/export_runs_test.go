package validate

import "linewitness/capture"

// RunsOf is the number of runs of bad frames in a row, and the p of their clustering.
func RunsOf(bad []bool) (episodes int64, p float64) {
	var r runs
	for i, b := range bad {
		r.frame(b, capture.Tick(i))
	}
	return r.episodes.N, r.clustered()
}
