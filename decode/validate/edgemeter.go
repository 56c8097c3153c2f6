package validate

import (
	"math"
	"slices"

	"linewitness/capture"
)

// edgeMeter measures one edge after another. It keeps the samples around the latest transition.
type edgeMeter struct {
	window capture.Tick // how far after a transition it looks at most

	at        []capture.Tick // from lo on the last samples of the run before the transition, from first on
	volts     []float64      // those of the present run; once the transition is measured, only the latter count
	lo, first int
	pending   bool // the transition is not measured yet

	from, to capture.Level
	when     capture.Tick // the transition
	run      int          // samples of the present run, up to edgeBefore

	tau    [4]float64 // ticks: running time constant into each level
	taught [4]int     // edges that went into it
	turns  [4]int     // transitions into it
}

// measured is the shape of one edge, in ticks.
type measured struct {
	from, to   capture.Level
	tau, space float64
	shape      float64 // area before the middle to the area after; NaN: not told
}

const (
	edgeRoom   = 6    // samples an edge must have on either side, and time constants after it
	edgeBefore = 1024 // samples kept of what was before
	edgeAfter  = 8192 // samples looked at after, and
	edgeWindow = 0.02 // seconds: a time constant of up to 3 ms
	edgeWeight = 8    // of how many edges the running time constant is made
)

func newEdgeMeter(c capture.Clock) edgeMeter {
	return edgeMeter{window: c.Ticks(edgeWindow)}
}

// turn ends the present run, before the samples of the next are added.
func (m *edgeMeter) turn(s *stretch) (e measured, ok bool) {
	if s.fresh {
		m.clear()
		m.pending, m.run = false, 0
		return e, false
	}
	if !s.turn {
		return e, false
	}
	if m.pending {
		e, ok = m.measure(m.before(s.from))
	}
	m.keepPresent()
	m.pending = m.run >= edgeRoom && s.before != capture.Unknown && s.level != capture.Unknown
	m.from, m.to, m.when, m.first, m.run = s.before, s.level, s.from, len(m.at), 0
	m.turns[s.level]++
	return e, ok
}

// add takes the next samples of the present run.
func (m *edgeMeter) add(at []capture.Tick, volts []float64) (e measured, ok bool) {
	m.run = min(m.run+len(at), edgeBefore)
	if m.pending {
		n := min(len(at), edgeAfter-(len(m.at)-m.first))
		if n > 0 && at[n-1]-m.when > m.window {
			n = ahead(at[:n], m.when+m.window+1)
		}
		m.at, m.volts = append(m.at, at[:n]...), append(m.volts, volts[:n]...)
		if n == len(at) {
			return e, false
		}
		e, ok = m.measure(len(m.at))
		m.pending = false
		at, volts = at[n:], volts[n:]
	}
	if len(at) >= edgeBefore {
		m.clear()
		at, volts = at[len(at)-edgeBefore:], volts[len(volts)-edgeBefore:]
	}
	m.at, m.volts = append(m.at, at...), append(m.volts, volts...)
	if len(m.at)-m.first > 2*edgeBefore {
		m.keepPresent()
	}
	return e, ok
}

func (m *edgeMeter) clear() {
	m.at, m.volts, m.lo, m.first = m.at[:0], m.volts[:0], 0, 0
}

// keepPresent drops all but the last samples of the present run; it moves them seldom.
func (m *edgeMeter) keepPresent() {
	m.lo = max(m.first, len(m.at)-edgeBefore)
	if m.lo > 4*edgeBefore {
		m.at = m.at[:copy(m.at, m.at[m.lo:])]
		m.volts = m.volts[:copy(m.volts, m.volts[m.lo:])]
		m.lo = 0
	}
	m.first = m.lo
}

// before is where the samples end that a transition at t cannot have moved yet.
func (m *edgeMeter) before(t capture.Tick) int {
	n := max(len(m.at)-1, m.first)
	lead := capture.Tick(leadTaus * slices.Max(m.tau[:]))
	for n > m.first && m.at[n-1] > t-lead {
		n--
	}
	return n
}

// measure measures the edge on the samples up to end, and learns from it.
func (m *edgeMeter) measure(end int) (measured, bool) {
	e := measured{from: m.from, to: m.to, shape: math.NaN()}
	if m.run < edgeRoom || end-m.first < edgeRoom-2 {
		return e, false
	}
	p := edgePart{at: m.at[m.lo:end], volts: m.volts[m.lo:end], when: m.when, first: m.first - m.lo}
	p.still = p.t(0) + edgeRoom*m.tau[e.from]
	if !p.shape(&e) {
		return e, false
	}
	t := &m.tau[e.to]
	if m.taught[e.to] == 0 {
		*t = e.tau
	}
	*t += (e.tau - *t) / edgeWeight
	m.taught[e.to] = min(m.taught[e.to]+1, edgeBefore)
	return e, true
}
