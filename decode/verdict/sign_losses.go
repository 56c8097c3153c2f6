package verdict

import "linewitness/decode/cause"

// lossSigns are what frames, good and bad, say: damaged ones, whole ones with a wrong sum, replies that are missing or late.
func lossSigns() []sign {
	clean := func(r *reading, i int) float64 {
		s := &r.facts.Senders[i]
		return rate(float64(s.Clean.N), float64(s.Frames))
	}
	dirty := func(r *reading, i int) float64 {
		s := &r.facts.Senders[i]
		return rate(float64(s.Dirty.N+s.Unframed.N), float64(s.Frames+s.Unframed.N))
	}
	half := func(part func(float64) float64, figure func(*reading, int) float64) func(*reading, int) float64 {
		return func(r *reading, i int) float64 { return part(figure(r, i)) }
	}
	return []sign{
		{"loss.clean-own", "losses", atOwn(half(shown, clean)), []speaks{pro(cause.BadChecksum), maybe(allWiring...),
			maybe(cause.TwoControllers, cause.WrongLink, cause.Addressing, cause.OtherCause, cause.DriverDistortion, cause.ClockOff, cause.LoopSupply, cause.ProbeArtefact)}},
		{"loss.clean-other", "losses", atOther(half(shown, clean)), []speaks{con(cause.BadChecksum), maybe(allWiring...), maybe(cause.WrongLink, cause.TwoControllers, cause.Addressing, cause.OtherCause)}},
		{"loss.no-clean-own", "losses", atOwn(half(unshown, clean)), []speaks{con(cause.BadChecksum), con(cause.WrongLink)}},
		{"loss.dirty-own", "losses", atOwn(half(shown, dirty)), []speaks{pro(cause.ClockOff, cause.DriverDistortion), con(cause.BadChecksum, cause.SilentSender, cause.DeafReceiver),
			maybe(allWiring...), maybe(cause.LoopSupply, cause.SpeedMismatch, cause.TwoControllers, cause.WrongLink, cause.Addressing, cause.ProbeArtefact, cause.OtherCause, cause.Restarts, cause.StuckSender, cause.NoPower, cause.LateReplies)}},
		{"loss.dirty-other", "losses", atOther(half(shown, dirty)), []speaks{con(cause.ClockOff, cause.DriverDistortion, cause.BadChecksum, cause.SilentSender, cause.DeafReceiver, cause.LateReplies),
			maybe(allWiring...), maybe(cause.LoopSupply, cause.SpeedMismatch, cause.TwoControllers, cause.WrongLink, cause.Addressing, cause.ProbeArtefact, cause.OtherCause, cause.Restarts, cause.StuckSender, cause.NoPower)}},
		{"loss.no-dirty-own", "losses", atOwn(half(unshown, dirty)), []speaks{con(allWiring...), con(cause.SpeedMismatch, cause.WrongLink, cause.ClockOff, cause.DriverDistortion, cause.TwoControllers, cause.LoopSupply, cause.StuckSender)}},
		{"loss.no-dirty-other", "losses", atOther(half(unshown, dirty)), []speaks{con(allWiring...), con(cause.SpeedMismatch, cause.WrongLink, cause.LoopSupply, cause.TwoControllers)}},
		{"loss.none-good-own", "losses", atOwn(noneGood), []speaks{pro(cause.SpeedMismatch, cause.WrongLink, cause.ClockOff, cause.DriverDistortion), con(cause.DeafReceiver, cause.LateReplies, cause.Restarts),
			maybe(allWiring...), maybe(cause.BadChecksum, cause.TwoControllers, cause.ProbeArtefact, cause.OtherCause, cause.LoopSupply, cause.StuckSender)}},
		{"loss.none-good-other", "losses", atOther(noneGood), []speaks{con(allBoards...), maybe(allWiring...), maybe(allSetups...), maybe(cause.OtherCause)}},
		{"reply.missing-own", "losses", missing(true), []speaks{pro(cause.SilentSender, cause.NoPower, cause.Restarts, cause.Addressing, cause.SpeedMismatch),
			maybe(cause.LateReplies, cause.ClockOff, cause.DriverDistortion, cause.LoopSupply, cause.StuckSender, cause.DeafReceiver)}},
		{"reply.missing-other", "losses", missing(false), []speaks{maybe(cause.DeafReceiver, cause.ClockOff, cause.DriverDistortion, cause.LoopSupply, cause.StuckSender, cause.SpeedMismatch, cause.NoPower, cause.Restarts),
			con(cause.LateReplies, cause.SilentSender, cause.BadChecksum), maybe(allWiring...), maybe(cause.TwoControllers, cause.WrongLink, cause.ProbeArtefact, cause.OtherCause)}},
		{"reply.none-missing", "losses", plain(func(r *reading) float64 {
			return unshown(missingRate(r))
		}), []speaks{con(cause.SilentSender, cause.NoPower, cause.Restarts, cause.Addressing, cause.LateReplies, cause.StuckSender, cause.SpeedMismatch, cause.LoopSupply, cause.TwoControllers), con(allWiring...)}},
		{"reply.late-own", "losses", atOwn(late), []speaks{pro(cause.LateReplies), maybe(cause.TwoControllers, cause.Addressing, cause.OtherCause, cause.WrongLink)}},
		{"reply.in-time-own", "losses", atOwn(inTime), []speaks{con(cause.LateReplies)}},
		{"pulse.short", "short-pulses", plain(func(r *reading) float64 {
			if r.facts == nil {
				return 0
			}
			return counted(r.facts.Pulses.N)
		}), []speaks{pro(cause.ImpulseNoise, cause.Crosstalk), maybe(cause.MainsHum, cause.PoorJoint, cause.IntermittentContact, cause.TwoControllers, cause.ProbeArtefact, cause.OtherCause, cause.LoopSupply, cause.VoltageSag, cause.Leakage, cause.ExcessCapacitance, cause.DriverDistortion, cause.Addressing, cause.ReversedConductors)}},
		{"pulse.mark-in-space", "short-pulses", plain(func(r *reading) float64 {
			if r.facts == nil {
				return 0
			}
			return counted(r.facts.GlitchMark)
		}), []speaks{pro(cause.ImpulseNoise, cause.Crosstalk), con(cause.IntermittentContact, cause.PoorJoint), maybe(cause.MainsHum, cause.ReversedConductors, cause.TwoControllers, cause.ProbeArtefact, cause.OtherCause)}},
		{"pulse.none", "short-pulses", plain(func(r *reading) float64 {
			if r.facts == nil || r.facts.Pulses.N > 0 {
				return 0
			}
			return ramp(goodFrames(r), 0, 60)
		}), []speaks{con(cause.ImpulseNoise, cause.Crosstalk, cause.IntermittentContact)}},
	}
}

func noneGood(r *reading, i int) float64 {
	s := &r.facts.Senders[i]
	if s.Good > 0 {
		return 0
	}
	return ramp(float64(s.Frames+s.Unframed.N), 1, 8)
}

func goodFrames(r *reading) (n float64) {
	for i := range r.facts.Senders {
		n += float64(r.facts.Senders[i].Good)
	}
	return n
}

// missingRate is that of good polls without a reply; 0 where no reply can be expected at this tap.
func missingRate(r *reading) float64 {
	f := r.facts
	if f == nil || !f.TwoTalk || len(f.Senders) != 2 {
		return 0
	}
	return rate(float64(f.Senders[1].Missing.N), float64(f.Solicited))
}

// missing reads missing replies: of the unit that should answer, or of the one that asks.
func missing(own bool) func(*reading, Key) float64 {
	return func(r *reading, k Key) float64 {
		if x := shown(missingRate(r)); x > 0 && (r.own(k) == 1) == own {
			return x
		}
		return 0
	}
}

func late(r *reading, i int) float64 {
	s := &r.facts.Senders[i]
	return shown(rate(float64(s.Late.N), float64(s.Turn.N())))
}

func inTime(r *reading, i int) float64 {
	s := &r.facts.Senders[i]
	if s.Turn.N() == 0 {
		return 0
	}
	return unshown(rate(float64(s.Late.N), float64(s.Turn.N())))
}
