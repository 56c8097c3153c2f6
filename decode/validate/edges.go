package validate

import (
	"math"

	"linewitness/capture"
)

// Edges gathers the shape of every kind of transition of a line in volts, in bounded memory.
//
// At a terminal of a three-level loop that is fed from the unit with resistor Rf and returned by the other with Ro, the
// cable's capacitance C between S and N makes each kind its own time constant:
//
//	Mid to High   the other unit opens     Rf*C, the feeding unit's resistor charges it
//	Mid to Low    the feeding unit opens   Ro*C, the other unit's resistor discharges it
//	High to Mid   the other unit closes    Rf*Ro/(Rf+Ro)*C
//	Low to Mid    the feeding unit closes  Rf*Ro/(Rf+Ro)*C
//
// So capacitance curves all of them in fixed proportions, whoever sends, while a slow driver bends those of one sender
// only. The kinds of two levels, Low to High and High to Low, are there for taps that show no Mid.
type Edges struct {
	line  walk
	meter edgeMeter
	clock capture.Clock
	kinds [4][4]edgeKind
	space float64 // distance of samples at the last edge measured, ticks
}

type edgeKind struct {
	seen, sharp int64
	tau, shape  Sketch
}

// EdgeShape is what the transitions of one kind look like. Times are in seconds; NaN: none measured.
type EdgeShape struct {
	From, To capture.Level
	Seen     int64 // transitions of the kind
	N        int64 // of those, measured: with at least 6 samples and 6 time constants of room after, 6 samples before
	Sharp    int64 // of those, with a time constant under the distance of samples
	// Time constant by area: twice the area under (B-v)/(B-A) from the crossing of the middle on, where the line goes
	// from A to B. It is the time constant of an exponential, a quarter of the duration of a linear slope, and a
	// quarter of the distance of samples where the edge falls between two of them.
	Tau50, Tau90 float64
	// Shape is the median ratio of the area before the middle to the area after it, over edges of at least 1.5 sample
	// distances: 0.39 for an exponential that starts where the sender switches (ln 2 - 1/2 to 1/2), 1 for a linear
	// slope; Shapes is over how many.
	Shape  float64
	Shapes int64
	Curved bool // at least 8 measured, the median over 1.5 sample distances, three quarters over one
}

// EdgeFacts are the edges of a recording so far.
type EdgeFacts struct {
	Resolution float64 // distance of samples, s: shorter times are not told apart; NaN: no edge measured
	Kinds      []EdgeShape
}

// Kind is the shape of one kind; of a kind that was not seen, one without figures.
func (f *EdgeFacts) Kind(from, to capture.Level) EdgeShape {
	for i := range f.Kinds {
		if f.Kinds[i].From == from && f.Kinds[i].To == to {
			return f.Kinds[i]
		}
	}
	nan := math.NaN()
	return EdgeShape{From: from, To: to, Tau50: nan, Tau90: nan, Shape: nan}
}

// NewEdges begins a recording.
func NewEdges(c capture.Clock) *Edges {
	return &Edges{clock: c, meter: newEdgeMeter(c)}
}

// Add takes the next sliced block.
func (e *Edges) Add(b *capture.Block) {
	for s := e.line.begin(b); s.next(); {
		e.take(e.meter.turn(&s))
		if s.turn {
			e.kinds[s.before][s.level].seen++
		}
		e.take(e.meter.add(s.samples()))
	}
	e.line.end(b)
}

// take counts a measured edge.
func (e *Edges) take(m measured, ok bool) {
	if !ok {
		return
	}
	k := &e.kinds[m.from][m.to]
	e.space = m.space
	if m.tau < m.space {
		k.sharp++
	}
	k.tau.Add(m.tau / e.clock.PerSecond())
	k.shape.Add(m.shape)
}

// Facts are those so far: the kinds seen, in order of their levels.
func (e *Edges) Facts() EdgeFacts {
	f := EdgeFacts{Resolution: math.NaN()}
	if e.space > 0 {
		f.Resolution = e.space / e.clock.PerSecond()
	}
	for from := capture.Low; from <= capture.High; from++ {
		for to := capture.Low; to <= capture.High; to++ {
			if k := &e.kinds[from][to]; k.seen > 0 {
				f.Kinds = append(f.Kinds, k.facts(from, to, f.Resolution))
			}
		}
	}
	return f
}

func (k *edgeKind) facts(from, to capture.Level, resolution float64) EdgeShape {
	s := EdgeShape{From: from, To: to, Seen: k.seen, N: k.tau.N(), Sharp: k.sharp}
	s.Tau50, s.Tau90 = k.tau.Percentile(50), k.tau.Percentile(90)
	s.Shape, s.Shapes = k.shape.Percentile(50), k.shape.N()
	s.Curved = s.N >= 8 && s.Tau50 > 1.5*resolution && k.tau.Percentile(25) > resolution
	return s
}
