package slicer

import (
	"math"

	"linewitness/capture"
)

// Kind is the electrical kind of what is sliced.
type Kind uint8

// The kinds. Loop: volts from S to N of a three-level current loop; Current: amperes of a loop; Pair: differential volts
// of two signal conductors; Pin: a logic pin of a board.
const (
	KindUnknown Kind = iota
	Loop
	Current
	Pair
	Pin
)

// Options of New. The zero value infers the kind.
type Options struct {
	Kind      Kind
	FullScale float64 // volts (amperes) at which the recorder clips; 0: not known
	Relative  bool    // volts are fractions of an unknown full scale: sizes mean nothing
}

// Found is what is known of the levels. Values are means over the last 0.2 s spent on a level (change lists: 64 rows), NaN
// where a level was not seen.
type Found struct {
	Kind           Kind
	Levels         int     // 0: none yet; 1: constant; 2 or 3
	Low, Mid, High float64 // V
	Noise          float64 // V, standard deviation about a level
	Negative       bool    // the supply is negative: High is the most negative
	Coupled        bool    // the input is AC-coupled: values of levels say nothing
	Afloat         bool    // the levels of a loop stand on either side of zero: its return is not the recorder's zero
	Mains          bool    // nothing but mains
	HalfWave       bool    // the supply lives in every other half cycle
	Clipped        int64   // samples at full scale
	Spacing        capture.Tick
	Uniform        bool // samples stand at even distances
}

// Slicer takes blocks with samples and gives blocks with transitions too. Everything is decided in windows of a fixed
// number of samples, counted from the start or the last gap, so that nothing depends on how the input was cut.
type Slicer struct {
	clock capture.Clock
	opt   Options
	clip  float64 // magnitude from which a sample counts as clipped
	emit  func(*capture.Block) error

	in      window // being filled
	begun   bool
	end     capture.Tick // of the last block
	last    capture.Tick // instant of the last sample
	sampled bool         // last is known
	bad     bool         // samples are damaged since badFrom
	badFrom capture.Tick

	spacing spacing
	clipped int64
	head    head
	mains   mains
	flat    float64 // the level while only one was seen
	flatSet bool
	noise   float64 // while no levels are known
	tracker *tracker
	out     output
}

// New makes a slicer for a recording with that clock.
func New(c capture.Clock, opt Options) *Slicer {
	s := &Slicer{clock: c, opt: opt, clip: math.Inf(1)}
	if opt.FullScale > 0 {
		s.clip = opt.FullScale * (1 - 1.0/32768)
	}
	return s
}

// Add takes the next block, which it does not keep, and hands to emit what is decided: the samples of the input, each
// once, and the transitions in them. The block handed out is refilled by the next one. Transitions and octets of the input are not
// carried over. The error is that of emit.
func (s *Slicer) Add(b *capture.Block, emit func(*capture.Block) error) error {
	s.emit = emit
	if b.Gap.Present() {
		if err := s.breakOff(b.Gap.From); err != nil {
			return err
		}
		s.in.open(b.Start, b.Gap)
	} else if !s.begun {
		s.in.open(b.Start, capture.Gap{})
	}
	s.begun = true
	s.end = b.End
	err := s.take(b.SampleAt, b.Volts)
	if s.tracker != nil {
		s.tracker.tail = samples{} // the input may change from here on
	}
	return err
}

// Flush ends the recording: what is undecided is decided with what there is.
func (s *Slicer) Flush(emit func(*capture.Block) error) error {
	if !s.begun {
		return nil
	}
	s.emit = emit
	if err := s.breakOff(s.end); err != nil {
		return err
	}
	s.begun = false
	if s.tracker == nil {
		if err := s.settleHead(true); err != nil || s.tracker == nil {
			return err
		}
	}
	return s.tracker.finish(s)
}

// Found is what is known so far.
func (s *Slicer) Found() Found {
	f := Found{Kind: s.opt.Kind, Low: math.NaN(), Mid: math.NaN(), High: math.NaN(), Noise: s.noise, Mains: s.mains.only,
		Clipped: s.clipped, Spacing: s.spacing.median, Uniform: s.spacing.uniform}
	if s.tracker == nil {
		if s.flatSet && !f.Mains {
			f.Levels = 1
		}
		return f
	}
	s.tracker.lv.found(&f)
	f.HalfWave = s.tracker.undo.wave.rate > 0
	f.Mains = false
	return f
}
