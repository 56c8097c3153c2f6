// Package series weaves values that stand at instants into blocks.
//
//	Open(t) { Level | Volts } Advance(t) { Level | Volts } Advance(t) ... Finish | Abort
//
// What is said of one instant counts once the instant is left: of several values the last one wins, so no transition
// has zero width. A recording is lost while any of its quantities is unknown; the block then ends, and the next one
// starts where all are known again. A transition lies in (Start, End] of its block: the level at Start is First.
package series

import (
	"io"

	"linewitness/capture"
)

// DefaultLimit is the number of transitions or samples after which a block is cut.
const DefaultLimit = 8192

// Builder fills one block at a time. It doesn't allocate beyond the block's own storage.
type Builder struct {
	now     capture.Tick
	dirty   bool // something was said of now
	opened  bool
	sampled bool // volts were said of now
	pending state
	present state

	levels, volts bool
	limit         int
	dst           *capture.Block
	given         bool // a block was given already
	lost          bool
	lostFrom      capture.Tick
	lostWhy       capture.GapWhy
	start         capture.Tick
	err           error // how step ended
}

// state is what is known at an instant.
type state struct {
	level    capture.Level
	volts    float64
	levelWhy capture.GapWhy // GapNone: the level is known
	voltsWhy capture.GapWhy // GapNone: the volts are known
}

// New makes a builder of blocks with levels, volts or both, cut at limit transitions or samples (0: DefaultLimit).
func New(levels, volts bool, limit int) Builder {
	if limit <= 0 {
		limit = DefaultLimit
	}
	b := Builder{levels: levels, volts: volts, limit: limit}
	if levels {
		b.pending.levelWhy = capture.GapUnknown
	}
	if volts {
		b.pending.voltsWhy = capture.GapUnknown
	}
	b.present = b.pending
	return b
}

// Begin directs what follows into dst.
func (b *Builder) Begin(dst *capture.Block) {
	dst.Reset()
	b.dst = dst
	if b.opened && !b.lost {
		dst.Start, dst.First = b.start, b.present.level
	}
}

// Open starts the recording at t, with everything unknown.
func (b *Builder) Open(t capture.Tick) {
	b.opened, b.now = true, t
	b.lost, b.lostFrom, b.lostWhy = true, t, capture.GapUnknown
}

// Opened tells whether the recording has started.
func (b *Builder) Opened() bool { return b.opened }

// Now is the instant that values are taken for.
func (b *Builder) Now() capture.Tick { return b.now }

// Level says that l stands from now on.
func (b *Builder) Level(l capture.Level) {
	b.pending.level, b.pending.levelWhy, b.dirty = l, capture.GapNone, true
}

// Volts says that v is measured now.
func (b *Builder) Volts(v float64) {
	b.pending.volts, b.pending.voltsWhy, b.dirty, b.sampled = v, capture.GapNone, true, true
}

// LoseLevel says that the level is unknown from now on.
func (b *Builder) LoseLevel(why capture.GapWhy) {
	b.pending.level, b.pending.levelWhy, b.dirty = capture.Unknown, why, true
}

// LoseVolts says that the volts are unknown from now on.
func (b *Builder) LoseVolts(why capture.GapWhy) {
	b.pending.voltsWhy, b.dirty, b.sampled = why, true, false
}

// Lose says that nothing is known from now on.
func (b *Builder) Lose(why capture.GapWhy) {
	if b.levels {
		b.LoseLevel(why)
	}
	if b.volts {
		b.LoseVolts(why)
	}
}

// Advance leaves now for a later instant t. It is true when the block is complete: Begin the next one then.
func (b *Builder) Advance(t capture.Tick) (complete bool) {
	if b.dirty {
		complete = b.commit()
	}
	b.now = t
	return complete
}

// commit takes over what was said of now.
func (b *Builder) commit() (complete bool) {
	why := b.pending.levelWhy
	if why == capture.GapNone {
		why = b.pending.voltsWhy
	}
	was := b.present.level
	sampled := b.sampled
	b.present, b.dirty, b.sampled = b.pending, false, false
	switch {
	case b.lost && why != capture.GapNone:
		// A gap is one gap, whatever else goes unknown meanwhile.
		if b.lostFrom == b.now {
			b.lostWhy = why
		}
		return false
	case b.lost:
		b.regain()
		return false
	case why != capture.GapNone:
		b.lost, b.lostFrom, b.lostWhy = true, b.now, why
		return b.cut()
	}
	if b.present.level != was {
		b.dst.At = append(b.dst.At, b.now)
		b.dst.To = append(b.dst.To, b.present.level)
	}
	if sampled {
		b.sample()
	}
	if len(b.dst.At) >= b.limit || len(b.dst.SampleAt) >= b.limit && b.now > b.dst.Start {
		return b.cut()
	}
	return false
}

// regain ends a gap. The samples of a block after a gap start with the value that stands at its start.
func (b *Builder) regain() {
	b.lost = false
	b.dst.Start, b.dst.First = b.now, b.present.level
	if b.lostFrom < b.now {
		b.dst.Gap = capture.Gap{From: b.lostFrom, To: b.now, Count: -1, Why: b.lostWhy}
	}
	if b.volts {
		b.sample()
	}
}

func (b *Builder) sample() {
	b.dst.SampleAt = append(b.dst.SampleAt, b.now)
	b.dst.Volts = append(b.dst.Volts, b.present.volts)
}

// cut completes the block at now.
func (b *Builder) cut() bool {
	b.dst.End = b.now
	b.start = b.now
	b.given = true
	return true
}

// Fill makes dst the next block by calling step until a block is complete. What stands before step's first error is given
// first, up to the last whole instant; then that error is given for ever. io.EOF ends a recording that is whole.
func (b *Builder) Fill(dst *capture.Block, step func() (complete bool, err error)) error {
	b.Begin(dst)
	for b.err == nil {
		var complete bool
		if complete, b.err = step(); complete {
			return nil
		}
	}
	if b.err == io.EOF && b.Finish() || b.err != io.EOF && b.Abort() {
		return nil
	}
	return b.err
}

// Finish ends the recording at now. While it is true a block is complete and Finish must be called once more after
// the next Begin.
func (b *Builder) Finish() (complete bool) {
	if !b.opened {
		return false
	}
	if b.dirty && b.commit() {
		return true
	}
	d := b.dst
	if b.lost {
		d.Start = b.now
		if b.lostFrom < b.now {
			d.Gap = capture.Gap{From: b.lostFrom, To: b.now, Count: -1, Why: b.lostWhy}
			b.lostFrom = b.now
		}
	}
	if d.Start == b.now && !d.Gap.Present() && len(d.SampleAt) == 0 && b.given {
		return false
	}
	return b.cut()
}

// Abort ends the recording at now without what was said of now: where a file breaks off, that may be half of it.
func (b *Builder) Abort() (complete bool) {
	b.dirty, b.sampled, b.pending = false, false, b.present
	if b.opened && !b.given && b.lost && b.lostFrom == b.now {
		return false // nothing is covered yet
	}
	return b.Finish()
}
