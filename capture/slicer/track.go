package slicer

import (
	"math"

	"linewitness/capture"
)

const (
	piece      = 64   // samples after which the level is brought up to date
	followTime = 1e-3 // s: mains and supplies move that slowly, whatever the bit rate
	toldTime   = 0.2  // s on a level over which the levels that are told are taken
	patchTime  = 1e-3 // s: what lasts longer off its level, and reaches no other, is a level that moves
	ownPart    = 500  // a level learns for itself, against the others, so many times more slowly
	anchorAge  = 256  // samples after which levels are anchored
	mostCarry  = size // samples that an undecided edge may hold back
)

// tracker walks over samples in a known state with known levels.
type tracker struct {
	at   []capture.Tick // samples not yet handed out: between two windows a copy, so that the input need not be kept
	v    []float64
	own  samples   // storage for them
	tail samples   // the same samples where they lay in the last window
	x    []float64 // what is sliced: v itself, or v with what is undone taken off
	undo undo

	state
	start    capture.Tick // of the next block
	stop     capture.Tick // end of the samples held
	gap      capture.Gap  // before the next block
	fresh    bool         // nothing is known before it
	gain     [piece + 1]float64
	slowGain float64 // the same a sample for the levels that are told
	wait     int     // stray samples after which the level is thought to move, at least
	far      int     // the same beyond the outermost level
	dt       float64 // s between samples; 0: rows are changes
	spacing  float64 // ticks between samples
	before   state   // at the beginning of the edge under way, where it has changed anything
	scratch  []plateau
}

// state is what a walk changes: small enough to be copied, so that a walk can be taken again.
type state struct {
	lv      levels
	c       int          // index of the present level
	settled bool         // c is known
	i       int          // next sample to look at
	decided int          // sample at which the present level was confirmed; -1: before those held
	seen    int          // first sample that the level has not followed
	age     int          // samples since the level was last anchored
	slow    int          // samples that slow edges take
	low     float64      // band of the present level
	high    float64      //
	free    int8         // +1, -1: the band has no end above, below
	lastAt  capture.Tick // of the last transition
	marked  bool         // lastAt is known in this stretch
	outer   excursions
}

func newTracker(lv levels, u undo, p spacing, dt float64) *tracker {
	t := &tracker{dt: dt, fresh: true, spacing: float64(p.median)}
	t.own = samples{make([]capture.Tick, 0, 2*size), make([]float64, 0, 2*size)}
	t.at, t.v = t.own.at, t.own.v
	t.lv = lv
	t.outer.value = new([mostOuter]float64)
	if t.undo = u; u.active() {
		t.x = make([]float64, 0, 2*size)
	}
	n := 16.0
	if dt > 0 {
		n = max(n, followTime/dt)
	}
	for m := range t.gain {
		t.gain[m] = 1 - math.Exp(-float64(m)/n)
	}
	t.slowGain = min(dt/toldTime, 1.0/piece)
	if dt == 0 {
		t.slowGain = 1.0 / piece
	}
	t.slow = max(lv.edge, lv.pulse/2)
	if dt > 0 {
		t.wait = int(min(patchTime/dt, size/2))
	}
	if u.wave.rate > 0 { // the last lit sample is held, which may have been taken in an edge
		t.wait = int(min(2/u.wave.rate, size/2))
	}
	t.far = int(min(10*n, size/2))
	return t
}

// slice works on a window and hands out what is decided.
func (t *tracker) slice(s *Slicer, w *window) error {
	if w.fresh {
		if err := t.finish(s); err != nil {
			return err
		}
		t.begin(w)
	}
	t.join(w)
	if t.undo.active() {
		t.x = t.undo.apply(w, t.x)
	} else {
		t.x = t.v
	}
	before := t.state
	force := len(t.v) > mostCarry+size/2
	cut := t.walk(&s.out, force)
	if t.outer.ready() && t.relearn(s, before) {
		cut = t.walk(&s.out, force)
	}
	// An edge needs the samples before it.
	err := t.handOut(s, max(min(cut, len(t.v)-2), t.decided, 0))
	t.locate(w)
	return err
}

// begin forgets where the line stands, not its levels.
func (t *tracker) begin(w *window) {
	t.at, t.v, t.i, t.seen = t.at[:0], t.v[:0], 0, 0
	t.x = t.x[:0]
	t.undo.cut()
	t.start, t.gap, t.fresh = w.start, w.gap, w.fresh
	t.settled, t.marked, t.decided = false, false, -1
}

// finish decides and hands out all the rest.
func (t *tracker) finish(s *Slicer) error {
	if len(t.v) == 0 {
		return nil
	}
	t.walk(&s.out, true)
	return t.handOut(s, len(t.v))
}

// walk looks at the samples held and returns how many are decided; force decides them all.
func (t *tracker) walk(o *output, force bool) int {
	t.open(o)
	if t.settled {
		t.name(&o.block, t.start)
	}
	for t.i < len(t.x) {
		if !t.settled {
			t.settle(o)
		}
		if t.rest(); t.i == len(t.x) {
			break
		}
		if !t.edge(&o.block, force) {
			return max(t.i-2, t.decided, 0)
		}
	}
	return len(t.x)
}

// open starts the block that the walk fills.
func (t *tracker) open(o *output) {
	b := &o.block
	b.Start, b.Gap, b.First = t.start, t.gap, o.level
	if t.fresh {
		b.First = capture.Unknown
	}
	b.At, b.To, b.Doubt = b.At[:0], b.To[:0], b.Doubt[:0]
}

// settle finds the level at the next sample.
func (t *tracker) settle(o *output) {
	t.settled = true
	x := t.x[t.i:]
	first := x[0]
	if len(x) > 2 { // a spike is no level
		first = max(min(x[0], x[1]), min(max(x[0], x[1]), x[2]))
	}
	t.c = t.lv.nearest(first)
	t.bounds()
	t.name(&o.block, t.at[t.i])
}

// name says what the present level is called, where it had no name or another one.
func (t *tracker) name(b *capture.Block, at capture.Tick) {
	name := t.lv.name[t.c]
	switch {
	case t.fresh && len(b.At) == 0:
		b.First = name
	case b.Last() != name:
		t.mark(b, at, 0, name)
	}
}

// mark writes a transition down, after the one before it. Two of them within a quarter of a sample's distance are one: no
// sample stood between them.
func (t *tracker) mark(b *capture.Block, at, doubt capture.Tick, to capture.Level) {
	at = max(at, b.Start)
	if n := len(b.At); t.marked && n > 0 && t.dt > 0 && at-t.lastAt < capture.Tick(t.spacing/4) {
		before := b.First
		if n > 1 {
			before = b.To[n-2]
		}
		if b.To[n-1], b.Doubt[n-1] = to, max(b.Doubt[n-1], doubt); to == before {
			b.At, b.To, b.Doubt = b.At[:n-1], b.To[:n-1], b.Doubt[:n-1]
		}
		return
	}
	if t.marked && at <= t.lastAt {
		doubt += t.lastAt + 1 - at
		at = t.lastAt + 1
	}
	b.At, b.To, b.Doubt = append(b.At, at), append(b.To, to), append(b.Doubt, doubt)
	t.lastAt, t.marked = at, true
}

// handOut gives the first cut samples with their transitions and keeps the rest.
func (t *tracker) handOut(s *Slicer, cut int) error {
	b := &s.out.block
	b.End = t.stop
	if cut < len(t.at) {
		b.End = t.at[cut]
	}
	b.SampleAt, b.Volts = t.at[:cut], t.v[:cut]
	if cut == 0 && b.Start == b.End && !b.Gap.Present() && len(b.At) == 0 {
		t.retain(0)
		return nil
	}
	s.out.level = b.Last()
	err := s.emit(b)
	t.start, t.gap, t.fresh = b.End, capture.Gap{}, false
	t.retain(cut)
	return err
}
