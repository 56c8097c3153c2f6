package statistic_test

import (
	"testing"

	"linewitness/decode/statistic"
)

var changeVectors = map[string]func(*testing.T, vector){
	"pettitt_nile": func(t *testing.T, v vector) {
		p := statistic.PettittTest(v.series)
		v.want(t, "change_after", float64(p.After))
		v.want(t, "K", p.K)
		v.want(t, "p", p.P)
	},
	"cusum_of_deviations_nile": func(t *testing.T, v vector) {
		c := statistic.CusumOfDeviations(v.series)
		v.want(t, "mean", c.Mean)
		v.want(t, "max_abs", c.Largest)
		v.want(t, "at", float64(c.After))
	},
	"ols_cusum_nile": func(t *testing.T, v vector) {
		v.want(t, "ols_cusum_S0", statistic.CusumOfDeviations(v.series).Statistic)
	},
}
