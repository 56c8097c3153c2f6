package verdict

import (
	"math"

	"linewitness/decode/cause"
)

// edgeSigns are each sender's clock and bias, and the shape of edges.
func edgeSigns() []sign {
	clock := func(r *reading, i int) float64 {
		if i >= len(r.in.Signals) {
			return 0
		}
		m := r.in.Signals[i]
		off := math.Abs(m.PPM) - m.PM
		if !(off > 0) {
			return 0
		}
		return ramp(off, 0.5*clockLimit, 1.25*clockLimit)
	}
	bias := func(r *reading, i int) float64 {
		if i >= len(r.in.Signals) {
			return 0
		}
		return ramp(math.Abs(r.in.Signals[i].BiasPct), 6, biasLimit)
	}
	return []sign{
		{"clock.off-own", "clock", atOwn(clock), []speaks{pro(cause.ClockOff, cause.SpeedMismatch), maybe(cause.WrongLink, cause.OtherCause)}},
		{"clock.off-other", "clock", atOther(clock), []speaks{con(cause.ClockOff), maybe(cause.SpeedMismatch, cause.WrongLink, cause.ProbeArtefact, cause.OtherCause)}},
		{"clock.right-own", "clock", atOwn(func(r *reading, i int) float64 {
			if i >= len(r.in.Signals) {
				return 0
			}
			m := r.in.Signals[i]
			return truth(math.Abs(m.PPM)+m.PM < 0.75*clockLimit)
		}), []speaks{con(cause.ClockOff)}},
		{"clock.right-both", "clock", atOther(func(r *reading, i int) float64 {
			if i >= len(r.in.Signals) {
				return 0
			}
			m := r.in.Signals[i]
			return truth(math.Abs(m.PPM)+m.PM < 0.75*clockLimit)
		}), []speaks{con(cause.SpeedMismatch)}},
		{"bias.own", "bias", atOwn(bias), []speaks{pro(cause.DriverDistortion, cause.ExcessCapacitance), maybe(cause.LoopSupply, cause.PoorJoint, cause.Leakage, cause.MainsHum, cause.VoltageSag, cause.ProbeArtefact, cause.OtherCause)}},
		{"bias.other", "bias", atOther(bias), []speaks{con(cause.DriverDistortion), maybe(cause.ExcessCapacitance, cause.LoopSupply, cause.PoorJoint, cause.Leakage, cause.ProbeArtefact, cause.OtherCause)}},
		{"bias.none-own", "bias", atOwn(func(r *reading, i int) float64 {
			if i >= len(r.in.Signals) {
				return 0
			}
			return truth(math.Abs(r.in.Signals[i].BiasPct) < 6)
		}), []speaks{con(cause.DriverDistortion, cause.ExcessCapacitance)}},
		{"edge.slow", "edges-curved", ofVolts(func(v *Volts) float64 { return ramp(math.Log2(v.TauBits/0.04), 0, 2) }),
			[]speaks{pro(cause.ExcessCapacitance), maybe(cause.PoorJoint, cause.ProbeArtefact, cause.OtherCause, cause.DriverDistortion, cause.Leakage)}},
		{"edge.curved", "edges-curved", ofVolts(func(v *Volts) float64 { return truth(v.Curved && v.TauBits > 0.04) }), []speaks{pro(cause.ExcessCapacitance), con(cause.DriverDistortion)}},
		{"edge.sharp", "edges-sharp", ofVolts(func(v *Volts) float64 { return truth(v.TauBits < 0.04) }), []speaks{con(cause.ExcessCapacitance)}},
	}
}
