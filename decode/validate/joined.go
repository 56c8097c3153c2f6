package validate

import (
	"linewitness/capture"
	"linewitness/decode/statistic"
)

// JoinedWindow is how far from a dip's lowest value a loss or a start may lie and still fall together with it, s.
// An assumption with no source.
const JoinedWindow = 1.0

// JoinedFacts lists what falls together with dips of the supply or the mains, and how soon both recover: for each sender the
// episodes of loss, and the starts, within JoinedWindow of one. Value is the share that dips explain beyond chance (W. S. Abbott, 1925),
// P that of all circular shifts of the ones against the others with as many near, exact whatever the clustering of both. Of both only
// the first 20 are known, so the test looks at the time up to the earlier of the two twentieths. Vector: CoincidenceTest's.
func (f *Fold) JoinedFacts(dips DipEvents, from, to capture.Tick) []Fact {
	near := events{N: dips.N}
	for _, d := range dips.First {
		near.at, near.until = append(near.at, d.Worst), d.End+1
	}
	var all []Fact
	for i := range f.Senders {
		all = append(all, f.joined("joined.losses-at-dips", f.Senders[i].Side, f.errors.of[i].episodes, near, from, to, noDip))
	}
	for i := range f.Senders {
		if f.Dialogue.Starts[i].Measured {
			all = append(all, f.joined("joined.starts-at-dips", f.Senders[i].Side, f.Dialogue.Starts[i].Times, near, from, to, noDip))
		}
	}
	all = append(all, f.dipRecovery(dips))
	for i := range f.Senders {
		all = append(all, f.talkRecovery(i, dips))
	}
	return all
}

const noDip = "no dip was seen"

// JoinedSteps lists for each sender which episodes of loss fall together with loads that start or stop; statistics as of JoinedFacts.
func (f *Fold) JoinedSteps(steps Times, from, to capture.Tick) (all []Fact) {
	near := events{N: steps.N, at: steps.At}
	if n := len(steps.At); n > 0 {
		near.until = steps.At[n-1] + 1
	}
	for i := range f.Senders {
		all = append(all, f.joined("joined.losses-at-load-steps", f.Senders[i].Side, f.errors.of[i].episodes, near, from, to, "no load was seen to start or stop"))
	}
	return all
}

// events are the first of a kind, ascending, and until when they are all known, if there are more.
type events struct {
	N     int64
	at    []capture.Tick
	until capture.Tick
}

// dipRecovery is the median time from a dip's lowest value until it is back over the threshold (IEC 61000-4-30), of the first 20;
// interval as of medianOf.
func (f *Fold) dipRecovery(dips DipEvents) Fact {
	var s Sketch
	for _, d := range dips.First {
		if d.Recovered > 0 {
			s.Add(f.clock.Seconds(d.Recovered - d.Worst))
		}
	}
	x := newFact("joined.dip-recovery", capture.Line, "s")
	medianOf(&x, &s, 1, noDip)
	return x
}

// talkRecovery is the median time from a dip's end to the first good frame of a sender whose frames were lost within JoinedWindow of
// it, of the first 20; interval as of medianOf.
func (f *Fold) talkRecovery(i int, dips DipEvents) Fact {
	var s Sketch
	r, window := &f.errors.of[i], f.clock.Ticks(JoinedWindow)
	for k, at := range r.episodes.At {
		for _, d := range dips.First {
			if k < len(r.mended) && at >= d.Worst-window && at <= d.Worst+window {
				s.Add(f.clock.Seconds(max(0, r.mended[k]-d.End)))
				break
			}
		}
	}
	x := newFact("joined.talk-recovery", f.Senders[i].Side, "s")
	medianOf(&x, &s, 1, "no loss of this sender fell together with a dip")
	return x
}

// joined compares events of one kind with those of another, of which none says why it could not.
func (f *Fold) joined(id string, side capture.Side, t Times, others events, from, to capture.Tick, none string) Fact {
	x := newFact(id, side, "")
	if t.N > int64(len(t.At)) {
		to = min(to, t.At[len(t.At)-1]+1)
	}
	if others.N > int64(len(others.at)) {
		to = min(to, others.until)
	}
	var events, near []float64
	for _, at := range t.At {
		if at >= from && at < to {
			events = append(events, f.clock.Seconds(at-from))
		}
	}
	for _, at := range others.at {
		if at >= from && at < to {
			near = append(near, f.clock.Seconds(at-from))
		}
	}
	x.N = int64(len(events))
	length := f.clock.Seconds(to - from)
	switch {
	case len(events) == 0:
		x.Unmeasured = "no such event was seen"
	case len(near) == 0:
		x.Unmeasured = none
	case length <= 4*JoinedWindow:
		x.Unmeasured = "the recording is too short to tell chance from cause"
	default:
		c := statistic.CoincidenceTest(events, near, JoinedWindow, length)
		x.Value, x.Low, x.High, x.P = c.Share.Value, c.Share.Within.Lower, c.Share.Within.Upper, c.P
		x.Times = copied(t)
	}
	return x
}
