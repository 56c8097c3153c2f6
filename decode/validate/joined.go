package validate

import (
	"linewitness/capture"
	"linewitness/decode/statistic"
)

// JoinedWindow is how far from a dip's lowest value a loss or a start may lie and still fall together with it, s.
// An assumption with no source.
const JoinedWindow = 1.0

// JoinedFacts lists what falls together with dips of the supply or the mains: for each sender the episodes of loss, and the starts,
// within JoinedWindow of one. Value is the share that dips explain beyond chance (W. S. Abbott, 1925), P that of all circular shifts
// of the ones against the others with as many near, exact whatever the clustering of both. Of both only the first 20 are
// known, so the test looks at the time up to the earlier of the two twentieths. Vector: CoincidenceTest's.
func (f *Fold) JoinedFacts(dips DipEvents, from, to capture.Tick) []Fact {
	var all []Fact
	for i := range f.Senders {
		all = append(all, f.joined("joined.losses-at-dips", f.Senders[i].Side, f.errors.of[i].episodes, dips, from, to))
	}
	for i := range f.Senders {
		if f.Dialogue.Starts[i].Measured {
			all = append(all, f.joined("joined.starts-at-dips", f.Senders[i].Side, f.Dialogue.Starts[i].Times, dips, from, to))
		}
	}
	return all
}

// joined compares events with dips.
func (f *Fold) joined(id string, side capture.Side, t Times, dips DipEvents, from, to capture.Tick) Fact {
	x := newFact(id, side, "")
	if t.N > int64(len(t.At)) {
		to = min(to, t.At[len(t.At)-1]+1)
	}
	if n := len(dips.First); dips.N > int64(n) && n > 0 {
		to = min(to, dips.First[n-1].End+1)
	}
	var events, near []float64
	for _, at := range t.At {
		if at >= from && at < to {
			events = append(events, f.clock.Seconds(at-from))
		}
	}
	for _, d := range dips.First {
		if d.Worst >= from && d.Worst < to {
			near = append(near, f.clock.Seconds(d.Worst-from))
		}
	}
	x.N = int64(len(events))
	length := f.clock.Seconds(to - from)
	switch {
	case len(events) == 0:
		x.Unmeasured = "no such event was seen"
	case len(near) == 0:
		x.Unmeasured = "no dip was seen"
	case length <= 4*JoinedWindow:
		x.Unmeasured = "the recording is too short to tell chance from cause"
	default:
		c := statistic.CoincidenceTest(events, near, JoinedWindow, length)
		x.Value, x.Low, x.High, x.P = c.Share.Value, c.Share.Within.Lower, c.Share.Within.Upper, c.P
		x.Times = copied(t)
	}
	return x
}
