package validate

import (
	"linewitness/capture"
	"linewitness/decode/link"
)

// silent measures the silence before an instant.
func (f *follower) silent(at capture.Tick) {
	if !f.any || at <= f.end {
		return
	}
	if s := f.clock.Seconds(at - f.end); s > f.Longest {
		f.Longest, f.LongestAt = s, f.end
	}
	if f.Silences.Measured {
		f.Silences.chance(at-f.end > f.silence, f.end)
	}
}

// faulty looks for silences of a side that the other answers with a communication fault.
func (f *follower) faulty(side int, r *link.Frame) {
	if !r.OK() {
		return
	}
	f.lasting(side, r.At)
	s := &f.sides[side]
	s.good, s.lastGood = true, r.End
}

func (f *follower) lasting(side int, now capture.Tick) {
	s := &f.sides[side]
	if s.good && f.Faults[side].Measured {
		f.Faults[side].chance(now-s.lastGood > f.fault, s.lastGood+f.fault)
	}
}

// finish closes the silences that last to the recording's end.
func (f *follower) finish(end capture.Tick) {
	f.silent(end)
	for i := range f.sides {
		if f.sides[i].good && end-f.sides[i].lastGood > f.fault {
			f.lasting(i, end)
			f.sides[i].good = false
		}
	}
}
