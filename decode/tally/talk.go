package tally

import (
	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/link"
	"linewitness/decode/uart"
)

// Talk are the sums of all senders of a line, in the order in which the dialogue's facts name them.
type Talk struct {
	Senders []*Sums
	scope   *Scope // nil: no volts
	phase   Phase  // nil: no mains
	pending []risk // characters whose phase is not known yet

	last    int          // who sent the frame before, by index; -1: not known
	lastEnd capture.Tick // when that ended
}

// NewTalk begins the sums of a link's senders. Bit is the unit interval in ticks.
func NewTalk(p *link.Profile, bit float64, c capture.Clock) *Talk {
	t := &Talk{last: -1}
	sides := []capture.Side{capture.SideUnknown}
	if p.Timing.TwoTalkers {
		sides = []capture.Side{p.Controller, p.Responder}
	}
	for _, side := range sides {
		t.Senders = append(t.Senders, NewSums(side, bit, p.Spaces, c))
	}
	return t
}

// Phase is the phase of the mains at an instant, in cycles.
type Phase func(t capture.Tick) (cycles float64, known PhaseKnown)

// PhaseKnown says whether a phase is known: now, never, or later, when more of the recording was seen.
type PhaseKnown uint8

// The answers.
const (
	PhaseNow PhaseKnown = iota
	PhaseNever
	PhaseLater
)

// risk is a character that the mains may have spoilt.
type risk struct {
	at  capture.Tick
	of  *Sums
	bad bool
}

// mostPending bounds the characters that wait: many more than come in the seconds after which a phase is settled.
const mostPending = 1 << 17

// WithPhase lets the sums have the phase of the mains.
func (t *Talk) WithPhase(p Phase) { t.phase = p }

// atRisk lets the characters of a frame wait for their phase: the bad ones and, of whole frames, the good ones. What stands in a
// damaged frame and broke no rule itself may be either.
func (t *Talk) atRisk(s *Sums, f *link.Frame) {
	for i := range f.Chars {
		c := &f.Chars[i]
		bad := c.Fault&(uart.FaultParity|uart.FaultStop|uart.FaultBreak) != 0
		if (bad || f.Why&damage == 0) && len(t.pending) < mostPending {
			t.pending = append(t.pending, risk{c.At, s, bad})
		}
	}
}

// Settle counts the characters whose phase is known by now.
func (t *Talk) Settle() {
	if t.phase == nil {
		return
	}
	n := 0
	for ; n < len(t.pending); n++ {
		r := &t.pending[n]
		cycles, known := t.phase(r.at)
		if known == PhaseLater {
			break
		}
		if known == PhaseNow {
			r.of.Phases.Add(cycles, r.bad)
		}
	}
	t.pending = t.pending[:copy(t.pending, t.pending[n:])]
}

// WithVolts lets the sums have the volts that a scope remembers.
func (t *Talk) WithVolts(s *Scope) { t.scope = s }

// Take counts the frames of a batch, which have their sides already.
func (t *Talk) Take(b *burst.Batch, frames []link.Frame) {
	at, to := b.At, b.To
	for i := range frames {
		f := &frames[i]
		n := ahead(at, f.At)
		at, to = at[n:], to[n:]
		k := t.sender(f.Side)
		if f.Why&link.WhyCut != 0 || k < 0 {
			t.last = -1
			continue
		}
		s := t.Senders[k]
		n = s.Add(f, at, to)
		at, to = at[n:], to[n:]
		t.wait(s, f, k)
		if t.phase != nil {
			t.atRisk(s, f)
		}
		if t.scope != nil {
			old, late := t.scope.between(f.At, f.End, b.Bursts[len(b.Bursts)-1].Until)
			s.Samples(f, old.SampleAt, old.Volts)
			s.Samples(f, late.SampleAt, late.Volts)
		}
	}
	t.Settle()
}

// sender is the index of a side; -1: a frame in nobody's turn.
func (t *Talk) sender(side capture.Side) int {
	for i, s := range t.Senders {
		if s.Side == side {
			return i
		}
	}
	return -1
}

// wait counts how long a frame waited for the one before: a reply for its poll, a poll for the reply before it, and where one side
// alone talks each frame for the last.
func (t *Talk) wait(s *Sums, f *link.Frame, k int) {
	if f.Begins {
		t.last = -1
	}
	switch {
	case f.Turnaround >= 0:
		s.Waits.Add(f.Turnaround)
	case t.last >= 0 && (t.last != k || len(t.Senders) == 1):
		s.Waits.Add(f.At - t.lastEnd)
	}
	t.last, t.lastEnd = k, f.End
}

// Clone is a copy of the sums so far.
func (t *Talk) Clone() (all []*Sums) {
	for _, s := range t.Senders {
		all = append(all, s.Clone())
	}
	return all
}
