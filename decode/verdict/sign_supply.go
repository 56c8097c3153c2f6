package verdict

import (
	"math"
	"slices"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/validate"
)

// supplySigns are how the loop's supply stands: its size, dips and what falls into them, slow movement.
func supplySigns() []sign {
	return []sign{
		{"supply.small", "supply-size", ofVolts(func(v *Volts) float64 {
			if !v.Loop || v.Relative || math.IsNaN(v.High) {
				return 0
			}
			return ramp(leastSupply/math.Max(math.Abs(v.High), 0.1), 1, 3)
		}), []speaks{pro(cause.LoopSupply, cause.ShortedConductors, cause.ProbeArtefact), maybe(cause.Leakage, cause.OpenConductor, cause.NoPower, cause.ReversedConductors, cause.OtherCause)}},
		{"supply.large", "supply-size", ofVolts(func(v *Volts) float64 {
			if !v.Loop || v.Relative || math.IsNaN(v.High) {
				return 0
			}
			return ramp(math.Abs(v.High)/mostSupply, 1, 1.5)
		}), []speaks{pro(cause.ReversedConductors, cause.ShortedConductors, cause.ProbeArtefact), maybe(cause.OpenConductor, cause.OtherCause, cause.MainsHum)}},
		{"supply.moves", "supply-moves", ofVolts(func(v *Volts) float64 {
			if !(math.Abs(v.PlaceMove) < math.Abs(v.HighMove)/2) {
				return 0
			}
			return ramp(math.Log2(math.Abs(v.HighMove)/0.03), 0, 2)
		}), []speaks{pro(cause.LoopSupply, cause.VoltageSag), maybe(cause.Leakage, cause.Restarts, cause.NoPower, cause.ShortedConductors, cause.OtherCause, cause.ProbeArtefact)}},
		{"supply.holds", "supply-moves", ofVolts(func(v *Volts) float64 { return truth(math.Abs(v.HighMove) < 0.01) }), []speaks{con(cause.LoopSupply, cause.Leakage)}},
		{"dip.count", "dips", dipSign(func(v *Volts) float64 { return counted(v.Dips.N) }),
			[]speaks{pro(cause.VoltageSag, cause.LoopSupply), maybe(cause.Restarts, cause.NoPower, cause.IntermittentContact, cause.ShortedConductors, cause.Leakage, cause.PoorJoint, cause.MainsHum, cause.ImpulseNoise, cause.OpenConductor, cause.OtherCause, cause.StuckSender)}},
		{"dip.deep", "dips", dipSign(func(v *Volts) float64 { return ramp(1-v.DipTo, 0.1, 0.4) }),
			[]speaks{pro(cause.VoltageSag), maybe(cause.LoopSupply, cause.Restarts, cause.NoPower, cause.IntermittentContact, cause.ShortedConductors, cause.Leakage, cause.PoorJoint, cause.OpenConductor, cause.OtherCause)}},
		{"dip.losses-in", "dips", func(r *reading, _ Key) float64 { return shown(dipsExplain(r)) },
			[]speaks{pro(cause.VoltageSag), maybe(cause.LoopSupply, cause.Restarts, cause.IntermittentContact, cause.ShortedConductors, cause.Leakage, cause.NoPower, cause.OpenConductor)}},
		{"dip.losses-out", "dips", func(r *reading, _ Key) float64 { return unshown(dipsExplain(r)) }, []speaks{con(cause.VoltageSag), maybe(lossy...)}},
		{"dip.none", "no-dips", ofVolts(func(v *Volts) float64 {
			if !v.Loop || v.Dips.N > 0 || !(v.Judged >= 0.5) {
				return 0
			}
			return v.Judged
		}), []speaks{con(cause.VoltageSag, cause.ShortedConductors, cause.NoPower), con(cause.LoopSupply)}},
		{"dip.unjudged", "dips", ofVolts(func(v *Volts) float64 { return truth(v.Loop && !(v.Judged >= 0.5)) }), []speaks{maybe(everything()...)}},
	}
}

// dipSign reads dips where they could be judged.
func dipSign(figure func(*Volts) float64) func(*reading, Key) float64 {
	return ofVolts(func(v *Volts) float64 {
		if !v.Loop || v.Dips.N == 0 || !(v.Judged >= 0.5) {
			return 0
		}
		return figure(v)
	})
}

// dipsExplain is how much more of the losses fell into dips than their share of time: in units of 4 bits, negative for less.
func dipsExplain(r *reading) float64 {
	if !r.levels || r.facts == nil {
		return 0
	}
	share, in, of := r.volts.coincide(lostInstants(r.facts), r.in.Second)
	if of == 0 || share <= 0 {
		return 0
	}
	p := math.Min(math.Max(share, 0.01), 0.9)
	n := float64(of)
	b := float64(in)*math.Log2(0.8/p) + (n-float64(in))*math.Log2(0.2/(1-p))
	return math.Max(-1.5, math.Min(mostShown, b/4))
}

// lostInstants are the first instants of all that was lost, ascending.
func lostInstants(f *validate.Facts) (at []capture.Tick) {
	for i := range f.Senders {
		s := &f.Senders[i]
		for _, t := range []*validate.Times{&s.Clean, &s.Dirty, &s.Unframed, &s.Late, &s.Missing} {
			at = append(at, t.At...)
		}
	}
	slices.Sort(at)
	return at[:min(len(at), validate.MostTimes)]
}
