package statistic_test

import (
	"sort"
	"testing"

	"linewitness/decode/statistic"
)

var rankVectors = map[string]func(*testing.T, vector){
	"mad": func(t *testing.T, v vector) {
		x := v.floats(t, "x")
		v.want(t, "mad_raw", statistic.MAD(x))
		v.want(t, "mad_scaled", 1.4826*statistic.MAD(x)) // rounded constant, as the vector has it
		if _, ok := v.Expected["median"]; ok {
			v.want(t, "median", statistic.Median(x))
		}
	},
	"mad_2d": func(t *testing.T, v vector) {
		var rows [][]float64
		decode(t, v.Input["rows"], &rows)
		var columns, all []float64
		for i := range rows[0] {
			columns = append(columns, statistic.MAD([]float64{rows[0][i], rows[1][i]}))
		}
		for _, r := range rows {
			all = append(all, r...)
		}
		v.wants(t, "columns", columns)
		v.want(t, "all", statistic.MAD(all))
	},
	"normal_mad_constant": func(t *testing.T, v vector) {
		v.want(t, "constant", statistic.NormalMAD)
		v.want(t, "constant", 1/statistic.NormalQuantile(0.75))
	},
	"mann_whitney_permeability": func(t *testing.T, v vector) {
		x, y := v.floats(t, "x"), v.floats(t, "y")
		test := statistic.MannWhitney(x, y, statistic.TwoSided)
		v.want(t, "W", test.Statistic)
		v.want(t, "p_two_sided", test.P)
		v.want(t, "p_greater", statistic.MannWhitney(x, y, statistic.Greater).P)
		e := statistic.HodgesLehmannShift(x, y, 0.95)
		v.want(t, "hodges_lehmann_shift", e.Value)
		v.wants(t, "ci95", []float64{e.Within.Lower, e.Within.Upper})
	},
	"mann_kendall": func(t *testing.T, v vector) {
		m := statistic.MannKendall(v.series, 0.95)
		v.want(t, "n", float64(len(v.series)))
		v.want(t, "S", float64(m.S))
		v.want(t, "var_S", m.Variance)
		v.want(t, "z", m.Z)
		v.want(t, "p", m.PNormal)
		v.want(t, "sen_slope", m.Slope)
	},
	// The trend of y in the order of x is Kendall's test of both, where x has no ties.
	"kendall_tuna": func(t *testing.T, v vector) {
		x, y := v.floats(t, "x"), v.floats(t, "y")
		sort.Sort(byFirst{x, y})
		m := statistic.MannKendallAt(x, y, 0.95)
		pairs := len(x) * (len(x) - 1) / 2
		v.want(t, "T", float64(pairs+m.S)/2)
		v.want(t, "tau", float64(m.S)/float64(pairs))
		v.want(t, "p_two_sided", m.P)
	},
}

type byFirst [2][]float64

func (b byFirst) Len() int           { return len(b[0]) }
func (b byFirst) Less(i, j int) bool { return b[0][i] < b[0][j] }
func (b byFirst) Swap(i, j int) {
	for _, s := range b {
		s[i], s[j] = s[j], s[i]
	}
}
