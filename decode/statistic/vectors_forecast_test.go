package statistic_test

import (
	"testing"

	"linewitness/decode/statistic"
)

var forecastVectors = map[string]func(*testing.T, vector){
	"brier_multiclass": func(t *testing.T, v vector) {
		var p [][]float64
		decode(t, v.Input["p"], &p)
		brier, loss := statistic.BrierClasses(p, v.ints(t, "y"))
		v.want(t, "brier_sum", brier)
		v.want(t, "brier_half", brier/2)
		v.want(t, "log_loss_nats", loss)
	},
	"ece_10_bins": func(t *testing.T, v vector) { calibrationVector(t, v, 10) },
	"ece_5_bins":  func(t *testing.T, v vector) { calibrationVector(t, v, 5) },
}

func bools(x []int) []bool {
	out := make([]bool, len(x))
	for i, v := range x {
		out[i] = v != 0
	}
	return out
}

func calibrationVector(t *testing.T, v vector, bins int) {
	c := statistic.CalibrationOf(v.floats(t, "confidence"), bools(v.ints(t, "correct")), bins)
	v.want(t, "ece", c.Expected)
	v.want(t, "mce", c.Largest)
	raw, ok := v.Expected["bins_lo_hi_n_conf_acc"]
	if !ok {
		return
	}
	var want [][]float64
	decode(t, raw, &want)
	if len(want) != len(c.Bins) {
		t.Fatalf("%d bins, want %d", len(c.Bins), len(want))
	}
	for i, b := range c.Bins {
		for k, got := range []float64{b.Lower, b.Upper, float64(b.N), b.Confidence, b.Accuracy} {
			v.same(t, "bin", got, want[i][k])
		}
	}
}
