package tally

import (
	"slices"

	"linewitness/capture"
)

// envelopeColumns bounds columns of time: half of them at least are used in a long recording.
const envelopeColumns = 256

// leastColumn is the width of a column of time at first, in seconds.
const leastColumn = 1e-2

// Span is what happened to the line in one column of time.
type Span struct {
	Changes   int64   // transitions
	Samples   int64   // numbers among them, of which
	Low, High float64 // are the lowest and the highest, V; 0 where there is none
}

// Add folds o into s.
func (s *Span) Add(o *Span) {
	s.Changes += o.Changes
	if o.Samples == 0 {
		return
	}
	if s.Samples == 0 {
		s.Low, s.High = o.Low, o.High
	}
	s.Samples += o.Samples
	s.Low, s.High = min(s.Low, o.Low), max(s.High, o.High)
}

// Envelope is what the whole line did over time: transitions and, where there are volts, their lowest and highest.
type Envelope struct {
	Columns[Span, *Span]
}

// NewEnvelope begins one.
func NewEnvelope(c capture.Clock) Envelope {
	return Envelope{newColumns[Span](int64(c.Ticks(leastColumn)), envelopeColumns)}
}

// Add takes a block.
func (e *Envelope) Add(b *capture.Block) {
	for at := b.At; len(at) > 0; {
		s := e.At(int64(at[0]))
		n := ahead(at, capture.Tick(e.till))
		s.Changes += int64(n)
		at = at[n:]
	}
	at, volts := b.SampleAt, b.Volts
	for len(at) > 0 && len(volts) > 0 {
		s := e.At(int64(at[0]))
		n := min(ahead(at, capture.Tick(e.till)), len(volts))
		s.volts(volts[:n])
		at, volts = at[n:], volts[n:]
	}
}

// volts takes samples; what is no number is passed over.
func (s *Span) volts(all []float64) {
	i := 0
	if s.Samples == 0 {
		for i < len(all) && all[i] != all[i] {
			i++
		}
		if i == len(all) {
			return
		}
		s.Low, s.High = all[i], all[i]
	}
	low, high, n := s.Low, s.High, s.Samples
	for _, v := range all[i:] {
		if v < low {
			low = v
		}
		if v > high {
			high = v
		}
		if v == v {
			n++
		}
	}
	s.Low, s.High, s.Samples = low, high, n
}

// Merge folds another part of the recording into e.
func (e *Envelope) Merge(o *Envelope) { e.Columns.Merge(&o.Columns) }

// Clone is a copy that does not move when e goes on.
func (e *Envelope) Clone() Envelope { return Envelope{e.Columns.Clone()} }

// ahead counts the instants before t: mostly few or all, so it looks there first.
func ahead(at []capture.Tick, t capture.Tick) int {
	if len(at) == 0 || at[len(at)-1] < t {
		return len(at)
	}
	for i := range min(len(at), 64) {
		if at[i] >= t {
			return i
		}
	}
	n, _ := slices.BinarySearch(at, t)
	return n
}
