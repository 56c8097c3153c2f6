package validate

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/link"
)

// counter follows a kind of frame's Counter field.
type counter struct {
	field   *link.Field // nil: none
	span    int64       // numbers that it has
	known   bool
	alive   bool // was seen to go up by one
	n       int64
	frames  int64 // of its side, when it was read
	fell    bool  // to 0, out of turn: a start if it goes on from there
	fellAt  capture.Tick
	silence float64
}

// countBits is the widest counter that is followed.
const countBits = 32

// counts tells whether a kind of frame carries a counter.
func counts(s *link.Shape) bool { return counterOf(s) != nil }

func counterOf(s *link.Shape) *link.Field {
	for i := range s.Fields {
		if f := &s.Fields[i]; f.Counter && !f.Signed && f.Bits >= 2 && f.Bits <= countBits {
			return f
		}
	}
	return nil
}

func newCounters(p *link.Profile) []counter {
	all := make([]counter, len(p.Shapes))
	for i := range all {
		if f := counterOf(&p.Shapes[i]); f != nil {
			all[i] = counter{field: f, span: 1 << f.Bits}
		}
	}
	return all
}

// number is the count that a frame of that kind carries.
func (f *follower) number(shape int, octets []byte) (int64, bool) {
	if shape < 0 || f.counters[shape].field == nil {
		return 0, false
	}
	return f.counters[shape].field.Number(octets)
}

// started looks for signs that a side has just started.
func (f *follower) started(r *link.Frame, h heard) {
	s := &f.sides[h.side]
	s.frames++
	silence := math.NaN()
	if s.heard {
		silence = max(0, f.clock.Seconds(r.At-s.end))
	}
	quiet := s.heard && f.silence > 0 && r.At-s.end > f.silence
	if r.OK() && h.role != untold && h.role != elsewhere {
		side := f.p.Controller
		if h.side == 1 {
			side = f.p.Responder
		}
		f.startOf(r, h.side, f.p.ShapeOf(r.Octets, side), silence, quiet)
	}
	s.heard, s.end = true, r.End
}

// startOf takes a good frame of a side: of a kind that is sent only after a start, or with a counter.
func (f *follower) startOf(r *link.Frame, side, shape int, silence float64, quiet bool) {
	s := &f.sides[side]
	if f.Starts[side].Measured {
		f.Starts[side].Of++
	}
	if shape < 0 {
		return
	}
	if f.p.Shapes[shape].Start {
		if f.Starts[side].Measured && (!s.starting || quiet) {
			f.Starts[side].add(r.At, silence)
			f.together(side, r.At)
		}
		s.starting = true
		f.restarted(side)
		return
	}
	s.starting = false
	if n, ok := f.number(shape, r.Octets); ok && f.Resets[side].Measured {
		f.count(r, side, shape, n, silence)
	}
}

// restarted forgets a side's counters: that they begin at 0 again is no second sign.
func (f *follower) restarted(side int) {
	for i := range f.counters {
		if from := f.p.Shapes[i].From; from == f.p.Controller && side == 0 || from == f.p.Responder && side == 1 {
			f.counters[i].known, f.counters[i].fell = false, false
		}
	}
}

// count takes the next number of a counter. One that falls to 0 before it can have gone round, and goes on with 1, has
// started anew; each frame of its side may have moved it, one unseen frame included. A reply that only gives the poll's
// number back shows the controller's start.
func (f *follower) count(r *link.Frame, side, shape int, n int64, silence float64) {
	c := &f.counters[shape]
	frames := f.sides[side].frames
	if c.known {
		f.Resets[side].Of++
		if c.fell && n != 0 {
			if n == 1 {
				f.Resets[side].add(c.fellAt, c.silence)
				f.together(side, c.fellAt)
			}
			c.fell = false
		}
		if n == 0 && c.n != 0 && frames-c.frames < c.span-c.n-1 && !f.echoes(side, n) {
			c.fell, c.fellAt, c.silence = true, r.At, silence
		}
	}
	c.known, c.n, c.frames = true, n, frames
}

// echoes tells whether a reply gives back the number of a poll whose own counter has just fallen.
func (f *follower) echoes(side int, n int64) bool {
	return side == 1 && f.polls > 0 && f.last.counted && f.last.count == n && f.counters[f.last.shape].fell
}

// together counts starts of both sides that come at once.
func (f *follower) together(side int, at capture.Tick) {
	s, other := &f.sides[side], &f.sides[1-side]
	s.began, s.start = true, at
	if other.began && math.Abs(f.clock.Seconds(at-other.start)) <= startsTogether {
		f.Together.add(max(at, other.start))
		other.began = false
	}
}
