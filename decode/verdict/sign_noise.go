package verdict

import (
	"math"

	"linewitness/decode/cause"
)

// noiseSigns are spikes shorter than a bit, in volts.
func noiseSigns() []sign {
	some := func(figure func(*Volts) float64) func(*reading, Key) float64 {
		return ofVolts(func(v *Volts) float64 {
			if v.Spikes.N == 0 {
				return 0
			}
			return figure(v)
		})
	}
	signed := func(v *Volts) float64 {
		return float64(min(v.Plus, v.Minus)) / math.Max(1, float64(max(v.Plus, v.Minus)))
	}
	return []sign{
		{"spike.count", "spikes", some(func(v *Volts) float64 { return counted(v.Spikes.N) }),
			[]speaks{pro(cause.ImpulseNoise, cause.Crosstalk, cause.IntermittentContact), maybe(cause.PoorJoint, cause.MainsHum, cause.OtherCause, cause.VoltageSag, cause.LoopSupply, cause.ProbeArtefact, cause.ReversedConductors, cause.TwoControllers, cause.Restarts, cause.Leakage)}},
		{"spike.both-signs", "spikes", some(func(v *Volts) float64 { return math.Min(1, 2*signed(v)) * counted(v.Spikes.N) }), []speaks{pro(cause.ImpulseNoise, cause.Crosstalk), con(cause.IntermittentContact), maybe(cause.PoorJoint, cause.MainsHum)}},
		{"spike.one-sign", "spikes", some(func(v *Volts) float64 { return math.Max(0, 1-4*signed(v)) * counted(v.Spikes.N) }), []speaks{pro(cause.IntermittentContact), con(cause.ImpulseNoise, cause.Crosstalk), maybe(cause.PoorJoint)}},
		{"spike.many-an-episode", "spikes", some(func(v *Volts) float64 { return ramp(math.Log2(float64(v.Plus+v.Minus)/float64(v.Spikes.N)), 1, 4) }),
			[]speaks{pro(cause.Crosstalk), maybe(cause.ImpulseNoise, cause.IntermittentContact, cause.MainsHum, cause.OtherCause)}},
		{"spike.often", "spikes", some(func(v *Volts) float64 { return ramp(math.Log2(math.Max(1, 10*float64(v.Spikes.N)/v.Seconds)), 0, 3) }),
			[]speaks{pro(cause.Crosstalk, cause.ImpulseNoise), maybe(cause.MainsHum, cause.IntermittentContact, cause.OtherCause)}},
		{"spike.none", "no-spikes", ofVolts(func(v *Volts) float64 {
			if v.Spikes.N > 0 || v.Levels < 2 {
				return 0
			}
			return ramp(v.Seconds, 0, 20) / mostShown
		}), []speaks{con(cause.ImpulseNoise, cause.Crosstalk, cause.IntermittentContact)}},
		{"spike.in-dips", "spikes", some(func(v *Volts) float64 { return truth(v.inDips(v.Spikes.At)*2 > len(v.Spikes.At)) }), []speaks{con(cause.ImpulseNoise, cause.Crosstalk), maybe(cause.VoltageSag, cause.IntermittentContact)}},
	}
}
