package tally

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/uart"
)

// damage are the rules that only damage on the line, or a wrong sum, breaks.
const damage = link.WhyChecksum | link.WhyParity | link.WhyStop | link.WhyLength | link.WhyUnframed

// Traffic is what a sender sent in one column of time.
type Traffic struct{ Frames, Bad int64 }

// Add folds o into t.
func (t *Traffic) Add(o *Traffic) { t.Frames, t.Bad = t.Frames+o.Frames, t.Bad+o.Bad }

// fixed is the number of binary places of a fixed-point number.
const fixed = 48

// perTick is n a unit interval as a number a tick; rounded up, so that whole unit intervals come to whole numbers.
func perTick(n, bit float64) uint64 { return uint64(math.Ceil(n * (1 << fixed) / bit)) }

// Sums are what figures need of one sender's traffic: whole-numbered counts in a bounded space, some 40 KiB and 100 KiB more where
// there are volts, however long the recording is. Sums of parts of a recording, merged in any grouping, are the sums of the whole.
type Sums struct {
	Side           capture.Side
	Whole, Damaged Eye       // of frames that are whole and of those that are not
	Volts          *VoltEye  // of both; nil: no volts
	Pulses         [2]Pulses // marks and spaces inside frames
	Waits          Waits     // from the other side's frame to this one's: a responder's turn-around, a controller's rest
	Time           Columns[Traffic, *Traffic]
	Phases         Phases // all 0 where the mains were not followed

	spaces uart.Spaces
	bit    float64 // ticks
	column uint64  // columns of an eye a tick, and
	step   uint64  // bins of pulses a tick, in 2^-fixed: a character's length times those does not overflow
}

// NewSums begins the sums of one sender. Bit is the unit interval in ticks; spaces are the levels that are space where there are
// three of them, else 0.
func NewSums(side capture.Side, bit float64, spaces uart.Spaces, c capture.Clock) *Sums {
	return &Sums{Side: side, spaces: spaces, bit: bit, column: perTick(EyeSteps, bit), step: perTick(PulseSteps, bit),
		Time: newColumns[Traffic](int64(c.Ticks(leastColumn)), envelopeColumns)}
}

// Add counts a frame that the recording did not cut. At and to are the line's transitions from its start edge on, and any number that
// follow it. It returns how many of them it went through.
func (s *Sums) Add(f *link.Frame, at []capture.Tick, to []capture.Level) (used int) {
	t := s.Time.At(int64(f.At))
	t.Frames++
	if !f.OK() {
		t.Bad++
	}
	r := reading{Sums: s, eye: &s.Whole, at: at, to: to}
	if f.Why&damage != 0 {
		r.eye = &s.Damaged
	}
	for k := range f.Chars {
		c := &f.Chars[k]
		r.spaces = s.spaces
		if !r.spaces.Has(c.Space) {
			r.spaces = 1 << c.Space // two levels, or a talker whose conductors are swapped
		}
		r.character(c.At, ends(f, k))
	}
	return r.i
}

// reading goes through the transitions of one frame.
type reading struct {
	*Sums
	eye    *Eye
	spaces uart.Spaces
	at     []capture.Tick
	to     []capture.Level
	i      int          // the next transition
	last   capture.Tick // when the line's state changed last, and
	state  int          // to what
	begun  bool         // it did within the frame
}

// of is the state that a level is.
func (r *reading) of(l capture.Level) int { return int(r.spaces >> (l & 7) & 1) }

// character counts one that begins at start and ends at end.
func (r *reading) character(start, end capture.Tick) {
	for ; r.i < len(r.at) && r.at[r.i] < start; r.i++ {
		if r.begun && r.of(r.to[r.i]) != r.state {
			r.turn() // between characters
		}
	}
	if r.i == len(r.at) || r.at[r.i] != start {
		return
	}
	if r.begun && r.state == Mark {
		r.turn()
	}
	at, to := r.at[r.i+1:], r.to[r.i+1:]
	to = to[:len(at)]
	eye, spaces, last, state, turns, n := r.eye, r.spaces, start, Space, 0, len(at)
	for k, t := range at { // all transitions go through here: what it counts in must not wait for what it counted before
		if t >= end {
			n = k
			break
		}
		if int(spaces>>(to[k]&7)&1) == state {
			continue
		}
		r.Pulses[state].add(uint64(t-last) * r.step >> fixed)
		column := r.columns(t - start)
		turn := column / EyeColumns
		state ^= 1
		eye.To[state][column-turn*EyeColumns]++
		turns += turn * (1 - 2*state)
		last = t
	}
	r.i += 1 + n
	r.last, r.state, r.begun = last, state, true
	eye.Characters++
	eye.spaceTurns += int64(turns)
	eye.end(r.columns(end-start), state)
}

// turn ends a pulse and begins one of the other state.
func (r *reading) turn() {
	steps := uint64(len(r.Pulses[0].Bins))
	if t := r.at[r.i] - r.last; float64(t) < float64(pulseMost)*r.bit {
		steps = uint64(t) * r.step >> fixed
	}
	r.Pulses[r.state].add(steps)
	r.last, r.state = r.at[r.i], 1-r.state
}

// columns is a distance from a start edge in columns of an eye, rounded.
func (s *Sums) columns(t capture.Tick) int { return int((uint64(t)*s.column + 1<<(fixed-1)) >> fixed) }

// ends is where character k of a frame ends: nominally, or where the next one begins.
func ends(f *link.Frame, k int) capture.Tick {
	end := f.Chars[k].End
	if k+1 < len(f.Chars) {
		end = min(end, f.Chars[k+1].At)
	}
	return end
}

// Samples counts the volts of a frame. At and volts are samples in order of time; those outside of its characters are passed over.
func (s *Sums) Samples(f *link.Frame, at []capture.Tick, volts []float64) {
	if len(at) == 0 {
		return
	}
	if s.Volts == nil {
		s.Volts = newVoltEye()
	}
	i := 0
	for k := range f.Chars {
		c, end := &f.Chars[k], ends(f, k)
		for ; i < len(at) && at[i] < end; i++ {
			if at[i] >= c.At {
				s.Volts.add(s.columns(at[i]-c.At)%EyeColumns, volts[i])
			}
		}
	}
}

// Merge folds the sums of another part of the same sender's traffic on the same link into s.
func (s *Sums) Merge(o *Sums) {
	s.Whole.Merge(&o.Whole)
	s.Damaged.Merge(&o.Damaged)
	if o.Volts != nil {
		if s.Volts == nil {
			s.Volts = newVoltEye()
		}
		s.Volts.Merge(o.Volts)
	}
	s.Pulses[Mark].Merge(&o.Pulses[Mark])
	s.Pulses[Space].Merge(&o.Pulses[Space])
	s.Waits.Merge(&o.Waits)
	s.Time.Merge(&o.Time)
	s.Phases.Merge(&o.Phases)
}

// Clone is a copy that does not move when s goes on.
func (s *Sums) Clone() *Sums {
	d := *s
	d.Time = s.Time.Clone()
	if s.Volts != nil {
		d.Volts = &VoltEye{s.Volts.rows.Clone()}
	}
	return &d
}
