package validate

import (
	"slices"

	"linewitness/capture"
)

// Cutting cuts sliced blocks into Pieces. Left out are what follows a transition until the line has settled, what
// precedes one while it may already be moving, and all of which nothing is known; what is under way when the recording
// ends or a gap comes is left out as well. What is given does not depend on how the recording was cut into blocks,
// apart from where one piece ends and the next of the same run begins.
type Cutting struct {
	line  walk
	meter edgeMeter
	fixed capture.Tick // set by Guard; 0: learned
	wait  capture.Tick // before it has learned

	level       capture.Level // of the present run
	from        capture.Tick  // its transition, or where it came into view
	least, seen int           // samples to leave out at least, and seen so far
	guard, lead capture.Tick  // left out after its transition, and before the next
	tail        int           // samples to leave out before the next at least
	settled     bool
	at          []capture.Tick // held back: a transition may follow
	volts       []float64
}

// The guards in time constants. An edge is within 0.2 % of its step of the end value 6 time constants after its middle.
// Its foot begins 0.7 of them before the middle where it is exponential, and 2 where it is a straight slope.
const (
	guardTaus = 6
	leadTaus  = 2
)

// Until 4 edges into a level are measured, or 64 have passed of which none could be, its first 32 samples and 2 ms are
// left out, and until that many of any kind, the last 16 samples and 1 ms.
const (
	leastSettled  = 2
	leastUntaught = 32
	tailSettled   = 1
	tailUntaught  = 16
	timeUntaught  = 2e-3 // s
	taughtEdges   = 4
	taughtTurns   = 64
)

// NewCutting begins a recording.
func NewCutting(c capture.Clock) *Cutting {
	return &Cutting{meter: newEdgeMeter(c), wait: c.Ticks(timeUntaught)}
}

// Guard sets how long after a transition samples are left out (never fewer than 2 samples), and a third of it before
// one (never fewer than 1 sample). 0, as at the beginning, lets it learn from the edges.
func (k *Cutting) Guard(t capture.Tick) { k.fixed = max(t, 0) }

// Add cuts the next block and hands over what has settled, in order of time. The slices of a piece are valid until
// give returns; those of samples held back from an earlier block are the Cutting's own.
func (k *Cutting) Add(b *capture.Block, give func(Piece)) {
	for s := k.line.begin(b); s.next(); {
		switch {
		case s.fresh:
			k.at, k.volts = k.at[:0], k.volts[:0]
			k.run(s.level, s.from)
		case s.turn:
			k.release(k.until(s.from-k.lead, len(k.at)-k.tail), give)
			k.at, k.volts = k.at[:0], k.volts[:0]
		}
		k.meter.turn(&s) // what it learns counts from the next run on, wherever blocks end
		if s.turn {
			k.run(s.level, s.from)
		}
		at, volts := s.samples()
		k.meter.add(at, volts)
		if s.level != capture.Unknown {
			k.pass(at, volts, give)
		}
	}
	k.line.end(b)
}

// run begins a run of one level.
func (k *Cutting) run(level capture.Level, from capture.Tick) {
	k.level, k.from, k.seen, k.settled = level, from, 0, false
	k.least, k.tail = leastSettled, tailSettled
	if k.fixed > 0 {
		k.guard, k.lead = k.fixed, k.fixed*leadTaus/guardTaus
		return
	}
	k.guard = capture.Tick(guardTaus * k.meter.tau[level])
	k.lead = capture.Tick(leadTaus * slices.Max(k.meter.tau[:]))
	if k.meter.taught[level] < taughtEdges && k.meter.turns[level] < taughtTurns {
		k.least, k.guard = leastUntaught, max(k.guard, k.wait)
	}
	taught, turns := 0, 0
	for i := range k.meter.turns {
		taught += k.meter.taught[i]
		turns += k.meter.turns[i]
	}
	if taught < taughtEdges && turns < taughtTurns {
		k.tail, k.lead = tailUntaught, max(k.lead, k.wait/2)
	}
}

// pass takes the next samples of the run, gives what is sure to be settled and holds the rest back.
func (k *Cutting) pass(at []capture.Tick, volts []float64, give func(Piece)) {
	n := 0
	for !k.settled && n < len(at) {
		if k.seen >= k.least && at[n]-k.from >= k.guard {
			k.settled = true
			break
		}
		k.seen++
		n++
	}
	if at, volts = at[n:], volts[n:]; len(at) == 0 {
		return
	}
	sure := at[len(at)-1] - k.lead
	free := len(k.at) + len(at) - k.tail // so many may go
	k.release(k.until(sure, min(free, len(k.at))), give)
	m := 0
	if len(k.at) == 0 {
		m = max(len(at)-k.tail, 0)
		for m > 0 && at[m-1] > sure {
			m--
		}
		if m > 0 {
			give(Piece{Level: k.level, At: at[:m], Volts: volts[:m]})
		}
	}
	k.at, k.volts = append(k.at, at[m:]...), append(k.volts, volts[m:]...)
}

// until counts those of the first n held samples that are no later than t.
func (k *Cutting) until(t capture.Tick, n int) int {
	n = max(n, 0)
	for n > 0 && k.at[n-1] > t {
		n--
	}
	return n
}

// release gives the first n of the held samples.
func (k *Cutting) release(n int, give func(Piece)) {
	if n == 0 {
		return
	}
	give(Piece{Level: k.level, At: k.at[:n], Volts: k.volts[:n]})
	k.at, k.volts = slices.Delete(k.at, 0, n), slices.Delete(k.volts, 0, n)
}
