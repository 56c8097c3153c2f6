package verdict

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/cause"
	"linewitness/decode/validate"
)

// dialogueSigns are what units do in answer to each other.
func dialogueSigns() []sign {
	of := func(pick func(*validate.Dialogue) *validate.Count) func(*reading) float64 {
		return func(r *reading) float64 {
			if r.facts == nil || len(r.facts.Senders) != 2 {
				return 0
			}
			return countRate(pick(&r.facts.Dialogue))
		}
	}
	side := func(place int, own bool, figure func(*reading) float64) func(*reading, Key) float64 {
		return func(r *reading, k Key) float64 {
			if i := r.own(k); i >= 0 && (i == place) != own {
				return 0
			}
			return figure(r)
		}
	}
	ignored := of(func(d *validate.Dialogue) *validate.Count { return &d.Ignored })
	twice := of(func(d *validate.Dialogue) *validate.Count { return &d.Interleaved })
	elsewhere := of(func(d *validate.Dialogue) *validate.Count { return &d.Elsewhere })
	overlaps := of(func(d *validate.Dialogue) *validate.Count { return &d.Overlaps })
	foreign := of(func(d *validate.Dialogue) *validate.Count { return &d.Foreign })
	doubled := of(func(d *validate.Dialogue) *validate.Count { return &d.Doubled })
	wrongKind := of(func(d *validate.Dialogue) *validate.Count { return &d.WrongAnswer })
	unasked := of(func(d *validate.Dialogue) *validate.Count { return &d.Unasked })
	up := func(f func(*reading) float64) func(*reading) float64 {
		return func(r *reading) float64 { return shown(f(r)) }
	}
	down := func(f func(*reading) float64) func(*reading) float64 {
		return func(r *reading) float64 { return unshown(f(r)) }
	}
	return []sign{
		{"talk.ignored-own", "ignored-replies", side(0, true, up(ignored)), []speaks{pro(cause.DeafReceiver), maybe(allWiring...), maybe(cause.TwoControllers, cause.WrongLink, cause.Addressing, cause.ProbeArtefact, cause.OtherCause, cause.SpeedMismatch, cause.ClockOff, cause.LoopSupply)}},
		{"talk.ignored-other", "ignored-replies", side(0, false, up(ignored)), []speaks{pro(cause.ClockOff, cause.DriverDistortion), con(cause.DeafReceiver)}},
		{"talk.heard-own", "ignored-replies", side(0, true, down(ignored)), []speaks{con(cause.DeafReceiver)}},
		{"talk.two-schedules", "two-schedules", plain(up(twice)), []speaks{pro(cause.TwoControllers), maybe(cause.DeafReceiver, cause.Crosstalk, cause.WrongLink, cause.ReversedConductors, cause.OtherCause, cause.SilentSender, cause.NoPower, cause.LateReplies)}},
		{"talk.one-schedule", "two-schedules", plain(down(twice)), []speaks{con(cause.TwoControllers)}},
		{"talk.controller-elsewhere", "controller-elsewhere", plain(up(elsewhere)), []speaks{pro(cause.TwoControllers), maybe(cause.Crosstalk, cause.ReversedConductors, cause.WrongLink, cause.OtherCause)}},
		{"talk.overlaps", "overlaps", plain(up(overlaps)), []speaks{pro(cause.TwoControllers, cause.Addressing), maybe(cause.LateReplies, cause.Crosstalk, cause.WrongLink, cause.OtherCause, cause.ImpulseNoise, cause.ReversedConductors, cause.Restarts)}},
		{"talk.no-overlaps", "overlaps", plain(down(overlaps)), []speaks{con(cause.TwoControllers)}},
		{"talk.foreign", "foreign-replies", plain(up(foreign)), []speaks{pro(cause.Addressing), maybe(cause.TwoControllers, cause.LateReplies, cause.WrongLink, cause.ReversedConductors, cause.Crosstalk, cause.OtherCause)}},
		{"talk.doubled", "double-replies", plain(up(doubled)), []speaks{pro(cause.Addressing), maybe(cause.TwoControllers, cause.LateReplies, cause.Crosstalk, cause.WrongLink, cause.OtherCause)}},
		{"talk.wrong-kind", "wrong-answers", plain(up(wrongKind)), []speaks{maybe(cause.LateReplies, cause.TwoControllers, cause.WrongLink, cause.ReversedConductors, cause.Addressing, cause.OtherCause, cause.Crosstalk)}},
		{"talk.unasked", "unasked-replies", plain(up(unasked)), []speaks{maybe(cause.LateReplies, cause.TwoControllers, cause.WrongLink, cause.Addressing, cause.SilentSender, cause.DeafReceiver, cause.OtherCause, cause.ReversedConductors, cause.Crosstalk), maybe(cause.ClockOff, cause.DriverDistortion, cause.BadChecksum)}},
		{"start.own", "restarts", starts(true), []speaks{pro(cause.Restarts, cause.NoPower), maybe(cause.VoltageSag, cause.LoopSupply, cause.OtherCause)}},
		{"start.other", "restarts", starts(false), []speaks{con(cause.Restarts), maybe(cause.NoPower)}},
		{"start.together", "restarts", plain(func(r *reading) float64 {
			if r.facts == nil {
				return 0
			}
			return counted(r.facts.Dialogue.Together.N)
		}), []speaks{pro(cause.VoltageSag, cause.NoPower), con(cause.Restarts)}},
		{"start.none-own", "restarts", noStarts, []speaks{con(cause.Restarts)}},
		{"silence.long", "silences", plain(func(r *reading) float64 {
			if r.facts == nil || r.facts.Dialogue.Seconds <= 0 {
				return 0
			}
			return ramp(r.facts.Dialogue.Longest/r.facts.Dialogue.Seconds, 0.05, 0.3)
		}), []speaks{maybe(dead...), maybe(cause.Restarts, cause.SilentSender, cause.VoltageSag, cause.IntermittentContact, cause.OtherCause, cause.SpeedMismatch, cause.TwoControllers)}},
		{"fault.silence-own", "fault-silence", atOwn(func(r *reading, i int) float64 {
			if i > 1 {
				return 0
			}
			return counted(r.facts.Dialogue.Faults[i].N)
		}), []speaks{maybe(dead...), maybe(cause.SilentSender, cause.Restarts, cause.DeafReceiver, cause.VoltageSag, cause.IntermittentContact, cause.SpeedMismatch)}},
	}
}

// countRate is a count's rate where it was measured.
func countRate(c *validate.Count) float64 {
	if !c.Measured || c.Of == 0 {
		return 0
	}
	return rate(float64(c.N), float64(c.Of))
}

// startsOf counts a side's starts, by frames and by counters.
func startsOf(d *validate.Dialogue, i int) (n int64, measured bool) {
	if i < 0 || i > 1 {
		return 0, false
	}
	for _, s := range []*validate.Started{&d.Starts[i], &d.Resets[i]} {
		if s.Measured && s.Of > 0 {
			n, measured = n+s.N, true
		}
	}
	return n, measured
}

func starts(own bool) func(*reading, Key) float64 {
	return func(r *reading, k Key) float64 {
		if r.facts == nil || len(r.facts.Senders) != 2 {
			return 0
		}
		d := &r.facts.Dialogue
		a, _ := startsOf(d, 0)
		b, _ := startsOf(d, 1)
		switch i := r.own(k); {
		case i < 0 && own:
			return counted(max(a, b))
		case i < 0:
			return counted(min(a, b))
		case (i == 0) == own:
			return counted(a)
		}
		return counted(b)
	}
}

// noStarts grows with a unit's time without a start.
func noStarts(r *reading, k Key) float64 {
	if r.facts == nil {
		return 0
	}
	i := r.own(k)
	if n, measured := startsOf(&r.facts.Dialogue, i); i < 0 || !measured || n > 0 {
		return 0
	}
	return math.Min(mostShown, math.Log2(1+r.facts.Dialogue.Seconds/30))
}

// structureSigns are what the recorder adds and whether the talk fits the link at all.
func structureSigns() []sign {
	return []sign{
		{"probe.few-samples", "samples-a-bit", plain(func(r *reading) float64 { return truth(r.in.Volts != nil && r.in.Volts.DistortionHidden) }), []speaks{pro(cause.ProbeArtefact)}},
		{"probe.clipped", "clipped", plain(func(r *reading) float64 { return truth(r.in.Volts != nil && r.in.Volts.Clipped > 0) }), []speaks{pro(cause.ProbeArtefact), maybe(cause.ReversedConductors, cause.ShortedConductors, cause.ImpulseNoise, cause.MainsHum, cause.OpenConductor, cause.OtherCause)}},
		{"probe.zero-moves", "zero-moves", plain(func(r *reading) float64 { return truth(r.in.Volts != nil && r.in.Volts.ZeroMove != 0) }), []speaks{pro(cause.ProbeArtefact), maybe(cause.Leakage, cause.OtherCause, cause.MainsHum, cause.LoopSupply)}},
		{"probe.coupled", "ac-coupled", plain(func(r *reading) float64 { return truth(r.in.Volts != nil && r.in.Volts.Coupled) }), []speaks{maybe(everything()...)}},
		{"link.learned", "learned", plain(func(r *reading) float64 { return truth(r.in.Learned && r.facts != nil) }), []speaks{con(cause.WrongLink), maybe(cause.SpeedMismatch, cause.ClockOff, cause.BadChecksum, cause.TwoControllers, cause.Addressing)}},
		{"link.swapped-own", "swapped", atOwn(swapped), []speaks{pro(cause.ReversedConductors)}},
		{"link.swapped-other", "swapped", atOther(swapped), []speaks{maybe(cause.ReversedConductors)}},
		{"side.at-tap", "levels", func(r *reading, k Key) float64 {
			switch r.in.Tap {
			case capture.IndoorTerminal:
				return truth(k.Side == capture.Indoor)
			case capture.OutdoorTerminal:
				return truth(k.Side == capture.Outdoor)
			}
			return 0
		}, []speaks{maybe(cause.NoPower, cause.StuckSender, cause.LoopSupply, cause.SilentSender, cause.DeafReceiver)}},
		{"side.feeds", "levels", func(r *reading, k Key) float64 {
			return truth(r.volts != nil && r.volts.Loop && r.volts.Feed != capture.SideUnknown && k.Side == r.volts.Feed)
		},
			[]speaks{pro(cause.LoopSupply), maybe(cause.NoPower, cause.StuckSender, cause.SilentSender)}},
	}
}

func swapped(r *reading, i int) float64 { return counted(r.facts.Senders[i].Swapped.N) }
