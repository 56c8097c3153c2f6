package verdict

import (
	"linewitness/capture"
	"linewitness/decode/cause"
)

// silenceSigns are who is not heard, and what stands on the line instead.
func silenceSigns() []sign {
	return []sign{
		{"silent.own", "talks", func(r *reading, k Key) float64 {
			if r.alone() {
				return truth(k.Side == capture.SideB || k.Side == capture.Line)
			}
			return silentOwn(r, k)
		},
			[]speaks{pro(cause.SilentSender, cause.NoPower, cause.StuckSender, cause.LoopSupply, cause.OpenConductor, cause.Addressing, cause.SpeedMismatch),
				con(cause.ClockOff, cause.DriverDistortion, cause.BadChecksum, cause.LateReplies, cause.Restarts, cause.DeafReceiver),
				maybe(cause.ShortedConductors, cause.ReversedConductors, cause.Leakage, cause.PoorJoint, cause.WrongLink, cause.OtherCause, cause.ProbeArtefact, cause.TwoControllers, cause.ExcessCapacitance)}},
		{"silent.other", "talks", func(r *reading, k Key) float64 {
			i := r.own(k)
			if i < 0 || r.facts == nil || len(r.facts.Senders) != 2 {
				return 0
			}
			return truth(silent(r, 1-i) && !silent(r, i))
		}, []speaks{con(cause.SilentSender, cause.NoPower, cause.ClockOff, cause.DriverDistortion, cause.BadChecksum, cause.LateReplies, cause.Restarts),
			maybe(cause.DeafReceiver, cause.StuckSender, cause.LoopSupply, cause.SpeedMismatch, cause.Addressing)}},
		{"silent.alone", "talks", plain(func(r *reading) float64 { return truth(r.alone() && !mute(r)) }), []speaks{maybe(everything()...)}},
		{"silent.all", "talks", plain(func(r *reading) float64 { return truth(mute(r)) }),
			[]speaks{maybe(dead...), maybe(cause.SilentSender, cause.OtherCause, cause.WrongLink, cause.SpeedMismatch, cause.ProbeArtefact, cause.MainsHum, cause.Addressing, cause.IntermittentContact, cause.VoltageSag),
				con(cause.ClockOff, cause.DriverDistortion, cause.BadChecksum, cause.LateReplies, cause.Restarts, cause.DeafReceiver, cause.TwoControllers)}},
		{"silent.unchanging", "talks", plain(func(r *reading) float64 { return truth(mute(r) && r.in.Changes < 4) }),
			[]speaks{maybe(dead...), maybe(cause.SilentSender, cause.OtherCause), con(cause.MainsHum, cause.ImpulseNoise, cause.Crosstalk, cause.IntermittentContact, cause.TwoControllers, cause.SpeedMismatch)}},
		{"silent.unreadable", "talks", plain(func(r *reading) float64 {
			if !mute(r) {
				return 0
			}
			return ramp(float64(r.in.Changes), 4, 400)
		}), []speaks{maybe(everything()...)}},
		{"talk.own", "talks", atOwn(func(r *reading, i int) float64 { return ramp(float64(r.facts.Senders[i].Good), 0, 30) }),
			[]speaks{con(cause.NoPower, cause.StuckSender, cause.OpenConductor, cause.ShortedConductors, cause.SpeedMismatch, cause.WrongLink, cause.SilentSender)}},
		{"talk.other", "talks", atOther(func(r *reading, i int) float64 { return ramp(float64(r.facts.Senders[i].Good), 0, 30) }),
			[]speaks{con(cause.StuckSender, cause.OpenConductor, cause.ShortedConductors, cause.SpeedMismatch, cause.WrongLink, cause.ReversedConductors)}},
		{"talk.asks", "talks", func(r *reading, k Key) float64 { return truth(r.own(k) == 0 && r.facts.TwoTalk) },
			[]speaks{con(cause.LateReplies), maybe(cause.SilentSender, cause.DeafReceiver, cause.NoPower, cause.StuckSender, cause.LoopSupply, cause.Restarts, cause.SpeedMismatch, cause.Addressing)}},
		{"talk.current", "loop-closed", plain(func(r *reading) float64 {
			if r.in.Tap != capture.LoopCurrent || r.facts == nil {
				return 0
			}
			return ramp(goodFrames(r), 0, 20)
		}), []speaks{con(cause.OpenConductor, cause.ShortedConductors, cause.ReversedConductors, cause.NoPower, cause.Addressing)}},
	}
}

// silentOwn reads a unit that is silent while the other talks.
var silentOwn = atOwn(func(r *reading, i int) float64 { return truth(silent(r, i) && !silent(r, 1-min(i, 1))) })

// silent tells whether a sender sent no frame, whole or damaged.
func silent(r *reading, i int) bool {
	if i >= len(r.facts.Senders) {
		return false
	}
	s := &r.facts.Senders[i]
	return s.Frames+s.Unframed.N == 0
}

// mute tells whether nobody sent anything that could be read.
func mute(r *reading) bool {
	if r.facts == nil {
		return true
	}
	for i := range r.facts.Senders {
		if r.facts.Senders[i].Frames > 0 {
			return false
		}
	}
	return true
}
