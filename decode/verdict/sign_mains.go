package verdict

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/validate"
)

// mainsSigns are what follows the mains, and in which state of the line.
func mainsSigns() []sign {
	share := func(l capture.Level) func(*Volts) float64 {
		return func(v *Volts) float64 { return v.humIn(l) }
	}
	return []sign{
		{"mains.in-mark", "hum", ofVolts(share(capture.Mid)), []speaks{pro(cause.MainsHum), maybe(cause.LoopSupply, cause.Leakage, cause.PoorJoint, cause.OpenConductor, cause.ReversedConductors, cause.ShortedConductors, cause.OtherCause, cause.ProbeArtefact, cause.VoltageSag)}},
		{"mains.in-high", "hum", ofVolts(share(capture.High)), []speaks{pro(cause.MainsHum), maybe(cause.LoopSupply, cause.Leakage, cause.OpenConductor, cause.ReversedConductors, cause.ShortedConductors, cause.OtherCause, cause.StuckSender, cause.NoPower, cause.VoltageSag)}},
		{"mains.in-low", "hum", ofVolts(share(capture.Low)), []speaks{pro(cause.MainsHum, cause.Leakage), maybe(cause.OpenConductor, cause.ReversedConductors, cause.ShortedConductors, cause.OtherCause, cause.StuckSender, cause.NoPower), con(cause.LoopSupply)}},
		{"mains.open-states", "hum", ofVolts(func(v *Volts) float64 {
			return math.Min(v.humIn(capture.High), v.humIn(capture.Low))
		}), []speaks{pro(cause.Leakage), maybe(cause.MainsHum, cause.OpenConductor), con(cause.LoopSupply)}},
		{"mains.harmonics", "hum", ofVolts(func(v *Volts) float64 {
			return humRamp(v, v.share(&v.Ripple, v.Loose)*v.nearest())
		}), []speaks{pro(cause.LoopSupply), maybe(cause.MainsHum, cause.VoltageSag, cause.OtherCause, cause.Leakage, cause.ImpulseNoise)}},
		{"mains.rectified", "hum", ofVolts(func(v *Volts) float64 { return truth(v.Rectifier != validate.Rectifier(0)) }), []speaks{pro(cause.LoopSupply), maybe(cause.MainsHum, cause.VoltageSag)}},
		{"mains.half-supply", "half-wave-supply", ofVolts(func(v *Volts) float64 {
			return truth(v.HalfWave)
		}), []speaks{maybe(everything()...)}},
		{"mains.in-losses", "hum", func(r *reading, _ Key) float64 {
			if !r.levels || r.facts == nil {
				return 0
			}
			return math.Min(humRamp(r.volts, r.volts.humShare()*r.volts.nearest()), anyDirty(r))
		}, []speaks{pro(cause.MainsHum), maybe(cause.LoopSupply, cause.Leakage, cause.PoorJoint, cause.OpenConductor, cause.ReversedConductors)}},
		{"mains.none", "no-hum", ofVolts(func(v *Volts) float64 {
			if v.Levels < 2 || v.Seconds < 2 {
				return 0
			}
			return 1 - math.Min(1, humRamp(v, v.humShare()*v.nearest()))
		}), []speaks{con(cause.MainsHum)}},
	}
}

// humIn is the hum in one state, none where its volts run off.
func (v *Volts) humIn(l capture.Level) float64 {
	if v.Loose[l] || v.HalfWave {
		return 0
	}
	return humRamp(v, number(v.Hum[l]))
}

// humRamp is an amplitude over the smaller step between levels: 0 under 3 %, 1 at 20 %, where a receiver's margin begins to go.
func humRamp(v *Volts, volts float64) float64 {
	d := v.nearest()
	if !(d > 0) || volts <= 0 {
		return 0
	}
	return ramp(math.Log2(volts/d/0.03), 0, math.Log2(0.2/0.03))
}

// anyDirty is the strongest rate of damaged frames of any sender.
func anyDirty(r *reading) float64 {
	most := 0.0
	for i := range r.facts.Senders {
		s := &r.facts.Senders[i]
		most = math.Max(most, rate(float64(s.Dirty.N+s.Unframed.N), float64(s.Frames+s.Unframed.N)))
	}
	return most
}
