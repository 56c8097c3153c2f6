package verdict

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/cause"
)

// levelSigns are where the levels stand and what holds the line away from mark.
func levelSigns() []sign {
	heldAt := func(high bool) func(*Volts) float64 {
		return func(v *Volts) float64 {
			s := v.HeldLow
			if high {
				s = v.HeldHigh
			}
			return ramp(s, 0, math.Max(1, v.Seconds/3))
		}
	}
	return []sign{
		{"level.closed", "levels", ofVolts(func(v *Volts) float64 {
			p := v.Place()
			return truth(v.Loop && v.Levels >= 2 && p > 0.04 && p < 0.96 && v.Held.N == 0)
		}), []speaks{con(cause.OpenConductor, cause.ShortedConductors, cause.ReversedConductors, cause.NoPower, cause.StuckSender), con(cause.Addressing)}},
		{"level.held-own", "held", held(true), []speaks{pro(cause.StuckSender, cause.NoPower, cause.LoopSupply, cause.OpenConductor, cause.IntermittentContact, cause.ShortedConductors), maybe(cause.ReversedConductors, cause.Restarts, cause.VoltageSag, cause.OtherCause)}},
		{"level.held-other", "held", held(false), []speaks{con(cause.StuckSender), maybe(cause.NoPower, cause.LoopSupply, cause.Restarts)}},
		{"level.held-low", "held", ofVolts(heldAt(false)), []speaks{pro(cause.ShortedConductors), maybe(cause.OpenConductor, cause.IntermittentContact, cause.LoopSupply, cause.NoPower, cause.StuckSender, cause.VoltageSag, cause.ReversedConductors, cause.PoorJoint, cause.Restarts, cause.OtherCause)}},
		{"level.held-high", "held", ofVolts(heldAt(true)), []speaks{con(cause.ShortedConductors, cause.LoopSupply), maybe(cause.OpenConductor, cause.IntermittentContact, cause.NoPower, cause.StuckSender, cause.VoltageSag, cause.ReversedConductors, cause.PoorJoint, cause.Restarts, cause.OtherCause)}},
		{"level.near-zero", "levels", constantShare(0, 0.12), []speaks{pro(cause.ShortedConductors, cause.LoopSupply, cause.OpenConductor, cause.NoPower), maybe(cause.StuckSender, cause.ReversedConductors, cause.SilentSender, cause.ProbeArtefact, cause.OtherCause)}},
		{"level.constant", "levels", constantShare(0.12, math.Inf(1)), []speaks{maybe(dead...), maybe(cause.SilentSender, cause.OtherCause, cause.ProbeArtefact)}},
		{"level.no-high", "levels", ofVolts(func(v *Volts) float64 {
			return truth(v.Loop && v.Levels == 2 && math.IsNaN(v.High))
		}), []speaks{maybe(everything()...)}},
		{"level.no-low", "levels", ofVolts(func(v *Volts) float64 {
			return truth(v.Loop && v.Levels == 2 && math.IsNaN(v.Low))
		}), []speaks{maybe(everything()...)}},
		{"level.two", "levels", ofVolts(func(v *Volts) float64 { return truth(v.Loop && v.Levels == 2) }), []speaks{maybe(everything()...)}},
		{"level.untold", "levels", ofVolts(func(v *Volts) float64 { return truth(v.Levels == 0) }), []speaks{maybe(everything()...)}},
		{"level.mains-only", "only-mains", func(r *reading, _ Key) float64 {
			return truth(r.volts != nil && r.volts.OnlyMains && !r.volts.halfWaves())
		},
			[]speaks{pro(cause.ReversedConductors, cause.ShortedConductors, cause.OpenConductor, cause.NoPower, cause.MainsHum), maybe(cause.StuckSender, cause.LoopSupply, cause.Leakage, cause.OtherCause, cause.SilentSender)}},
		{"level.mains-driven", "only-mains", func(r *reading, _ Key) float64 {
			return truth(r.volts != nil && r.volts.OnlyMains && !r.volts.Relative && r.volts.Peak >= pickup)
		}, []speaks{pro(cause.ReversedConductors, cause.ShortedConductors), maybe(cause.OpenConductor), con(cause.NoPower, cause.StuckSender, cause.LoopSupply, cause.MainsHum)}},
		{"level.half-waves", "half-waves", func(r *reading, _ Key) float64 {
			return truth(r.volts != nil && r.volts.OnlyMains && r.volts.halfWaves())
		},
			[]speaks{maybe(everything()...)}},
		{"level.beyond", "beyond", ofVolts(func(v *Volts) float64 {
			if v.Beyond.N < 3 || !(v.span() > 0) || v.loose() {
				return 0
			}
			return ramp(v.BeyondMost/v.span(), 0.1, 1)
		}), []speaks{pro(cause.ReversedConductors, cause.ShortedConductors, cause.ImpulseNoise, cause.MainsHum), maybe(cause.OpenConductor, cause.Crosstalk, cause.IntermittentContact, cause.Leakage, cause.ProbeArtefact, cause.OtherCause)}},
		{"level.mark-moves", "place-moves", ofVolts(markMoves), []speaks{pro(cause.PoorJoint, cause.Leakage), maybe(cause.IntermittentContact, cause.ShortedConductors, cause.OpenConductor, cause.VoltageSag, cause.LoopSupply, cause.MainsHum, cause.ProbeArtefact, cause.OtherCause)}},
		{"level.mark-rises-supply-sinks", "place-moves", ofVolts(func(v *Volts) float64 {
			if v.PlaceMove > 0 && v.HighMove < -math.Abs(v.PlaceMove)/4 {
				return markMoves(v)
			}
			return 0
		}), []speaks{pro(cause.Leakage), con(cause.PoorJoint)}},
		{"level.mark-moves-alone", "place-moves", ofVolts(func(v *Volts) float64 {
			if math.Abs(v.HighMove) < math.Abs(v.PlaceMove)/4 {
				return markMoves(v)
			}
			return 0
		}), []speaks{pro(cause.PoorJoint), con(cause.Leakage, cause.VoltageSag, cause.LoopSupply)}},
		{"level.mark-holds", "place-holds", ofVolts(func(v *Volts) float64 {
			return truth(math.Abs(v.PlaceMove) < 0.015 && v.PlaceErr < 0.005)
		}), []speaks{con(cause.PoorJoint, cause.Leakage, cause.IntermittentContact)}},
		{"level.mark-fell", "mark-fell", ofVolts(func(v *Volts) float64 { return counted(v.MarkFell) }), []speaks{pro(cause.PoorJoint, cause.IntermittentContact), maybe(cause.Leakage, cause.OpenConductor, cause.ShortedConductors, cause.MainsHum, cause.ImpulseNoise)}},
		{"level.mark-noise", "mark-noise", ofVolts(func(v *Volts) float64 {
			if !(v.MarkErr > 0) {
				return 0
			}
			return ramp(math.Log2(math.Max(v.MarkNoise-2*v.MarkErr, 1)), 0, 1)
		}), []speaks{pro(cause.PoorJoint), maybe(cause.IntermittentContact, cause.ImpulseNoise, cause.Crosstalk)}},
		{"level.mark-quiet", "mark-noise", ofVolts(func(v *Volts) float64 { return truth(v.MarkErr > 0 && v.MarkNoise+2*v.MarkErr < 1.3) }), []speaks{con(cause.PoorJoint)}},
	}
}

// held reads a line that stands away from mark for long as this unit would hold it: the one that feeds pulls it low by
// opening, the other lets it rise. Causes at the line may do either.
func held(own bool) func(*reading, Key) float64 {
	return func(r *reading, k Key) float64 {
		if !r.levels || r.volts.Held.N == 0 {
			return 0
		}
		v := r.volts
		low, high := ramp(v.HeldLow, 0, math.Max(1, v.Seconds/3)), ramp(v.HeldHigh, 0, math.Max(1, v.Seconds/3))
		if k.Side != capture.Indoor && k.Side != capture.Outdoor {
			if own {
				return math.Max(low, high)
			}
			return 0
		}
		feeds := k.Side == v.Feed || v.Feed == capture.SideUnknown && k.Side == capture.Outdoor
		if feeds == own {
			return low
		}
		return high
	}
}

// constantShare reads a line that stands at one level, by its height in shares of the least supply of any loop.
func constantShare(from, to float64) func(*reading, Key) float64 {
	return ofVolts(func(v *Volts) float64 {
		if v.Levels > 1 || v.Relative {
			return 0
		}
		x := math.Abs(v.Constant) / leastSupply
		return truth(x >= from && x < to)
	})
}

// markMoves is how far the ratio of mark to supply moved.
func markMoves(v *Volts) float64 {
	size := math.Abs(v.PlaceMove)
	if !(size > 3*v.PlaceErr) {
		return 0
	}
	return ramp(math.Log2(size/0.015), 0, 2)
}
