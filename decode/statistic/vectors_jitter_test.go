package statistic_test

import (
	"strconv"
	"testing"

	"linewitness/decode/statistic"
)

var jitterVectors = map[string]func(*testing.T, vector){
	"q_scale": func(t *testing.T, v vector) { // quantiles of the normal distribution
		var q map[string]float64
		decode(t, v.Expected["Q"], &q)
		for key, want := range q {
			ber, err := strconv.ParseFloat(key, 64)
			if err != nil {
				t.Fatal(err)
			}
			v.same(t, key, -statistic.NormalQuantile(ber), want)
		}
	},
	"dual_dirac_tail_fit": func(t *testing.T, v vector) {
		var points []statistic.TailPoint
		p := v.floats(t, "probabilities")
		for i, at := range v.floats(t, "quantiles") {
			points = append(points, statistic.TailPoint{At: at, Probability: p[i]})
		}
		fit := statistic.TailFit(points)
		v.want(t, "sigma", fit.Sigma)
		v.want(t, "left_delta", fit.Left)
		v.want(t, "right_delta", fit.Right)
		v.want(t, "dj_dd", fit.Separation)
	},
	"dual_dirac_mixture_moments": func(t *testing.T, v vector) {
		var m statistic.Moments
		decode(t, v.Expected["mean"], &m.Mean)
		decode(t, v.Expected["variance"], &m.Variance)
		decode(t, v.Expected["kurtosis_excess"], &m.KurtosisExcess)
		mu, fit := v.floats(t, "mu"), statistic.DualDiracOf(m)
		v.same(t, "sigma", fit.Sigma, v.number(t, "sigma"))
		v.same(t, "left", fit.Left, mu[0])
		v.same(t, "right", fit.Right, mu[1])
		v.same(t, "separation", fit.Separation, mu[1]-mu[0])
	},
}
