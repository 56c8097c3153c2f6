package statistic_test

import (
	"math"
	"testing"

	"linewitness/decode/statistic"
)

var circularVectors = map[string]func(*testing.T, vector){
	"rayleigh": func(t *testing.T, v vector) {
		angles := make([]float64, 60)
		for k := range angles { // rayleigh_locked60 gives this formula in place of angles
			angles[k] = 90 + 10*math.Sin(float64(k))
		}
		if _, ok := v.Input["deg"]; ok {
			angles = v.floats(t, "deg")
		}
		for i := range angles {
			angles[i] *= math.Pi / 180
		}
		r := statistic.ResultantOf(angles, 1)
		test := r.Rayleigh()
		got := map[string]float64{
			"n": float64(r.N), "sum_cos": r.Cos, "sum_sin": r.Sin, "mean_resultant_length": r.Length(),
			"mean_direction_deg": r.Direction() * 180 / math.Pi, "z": test.Z, "p": test.P,
		}
		for key := range v.Expected {
			v.want(t, key, got[key])
		}
	},
	"circular_mean_variance": func(t *testing.T, v vector) {
		angles := v.floats(t, "deg")
		for i := range angles {
			angles[i] *= math.Pi / 180
		}
		r := statistic.ResultantOf(angles, 1)
		v.want(t, "mean_deg", r.Direction()*180/math.Pi)
		v.want(t, "variance", r.Variance())
	},
	"lomb_scargle_sine": func(t *testing.T, v vector) {
		at, y := make([]float64, 50), make([]float64, 50)
		for i := range at {
			at[i] = float64(i) + 0.3*math.Sin(float64(i))
			y[i] = 2*math.Sin(2*math.Pi*0.17*at[i]+0.5) + 0.3*math.Cos(2*math.Pi*0.05*at[i])
		}
		peak, power := 0.0, 0.0
		for k := 1; k <= 400; k++ {
			f := float64(k) / 1000
			if p := statistic.LombScargle(at, y, f); p > power {
				peak, power = f, p
			}
		}
		v.want(t, "peak_frequency", peak)
		v.want(t, "peak_power_standard", power)
		v.want(t, "power_at_0_05", statistic.LombScargle(at, y, 0.05))
		v.want(t, "power_at_0_17", statistic.LombScargle(at, y, 0.17))
		v.want(t, "power_at_0_30", statistic.LombScargle(at, y, 0.3))
	},
	"false_alarm_level_single": func(t *testing.T, v vector) {
		s := statistic.PeakScan{N: v.count(t, "N"), Variance: 1, Bandwidth: 0}
		v.want(t, "single_frequency_fap_standard", s.Power(v.number(t, "power")).Single)
	},
}
