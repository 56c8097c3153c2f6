package circuit

import "math"

// Sender is what a unit's sending transistor does.
type Sender uint8

// The states: it talks; it stays closed, which is mark; it stays open, which is space for ever.
const (
	Talks Sender = iota
	Closed
	Open
)

// Unit is one end of the loop.
type Unit struct {
	Ohms   float64 // in series with S
	Drop   float64 // V across its receiver's LED and its transistor
	Sender Sender
	Duty   float64 // largest share of a meter's averaging time for which it sends space
	Live   bool    // mains at its terminals
}

// Order is in which order the conductors stand at the unit far from the mains.
type Order uint8

// The orders: right, or two exchanged.
const (
	RightOrder Order = iota
	OrderLN
	OrderLS
	OrderSN
)

// Line is one line, sound or with a fault.
type Line struct {
	Feed     Place   // the unit that makes the loop supply
	Supply   float64 // V; negative: S is below N
	Ripple   float64 // V effective on the supply
	Units    [2]Unit // indoor, outdoor
	Busy     bool    // no averaging time without talk
	Mains    float64 // V effective from L to N
	Entry    Place   // where the mains enters; the other unit is fed through the cable
	NDrop    float64 // V effective from N to earth at the far unit
	Order    Order   // at the far unit
	OpenS    bool    // between the units
	OpenN    bool
	JointS   float64 // ohm in series with S, the cable's own included
	Leak     float64 // ohm from S to N; +Inf: none
	LeakAt   Place   // at whose end
	LiveS    float64 // share of the mains that stands on S
	LiveMean float64 // its mean, rectified by what is connected, over the mains
	Hum      float64 // V effective on S, of what couples in
	Ghost    float64 // share of the mains that an S which nobody drives shows on a meter of 10 megohms
}

func (l *Line) unit(p Place) *Unit { return &l.Units[p-Indoor] }

// far is the unit fed through the cable.
func (l *Line) far() Place { return l.Entry.other() }

// runs tells whether a unit has mains from L to N.
func (l *Line) runs(p Place) bool {
	fed := p != l.far() || !l.OpenN && l.Order != OrderLS && l.Order != OrderSN
	return fed && l.unit(p).Live
}

// joined is the conductance from S at one unit to S at the other, as the loop's current sees it.
func (l *Line) joined(lifted Place) float64 {
	if l.OpenS || l.OpenN || lifted != Between || l.Order == OrderLS || l.Order == OrderSN {
		return 0
	}
	return 1 / l.JointS
}

// leakAt is the unit to whose S terminal the leak is joined, and whether it is at all.
func (l *Line) leakAt(lifted Place) (Place, bool) {
	at := l.LeakAt
	if lifted == at {
		at = at.other() // the leak is on the wire, which hangs on the other unit
	}
	return at, !math.IsInf(l.Leak, 1)
}

// net is the loop for one state of the senders: two nodes, S at the feeding unit and S at the other.
type net struct {
	between        float64    // conductance from one node to the other
	ground         [2]float64 // from each node to N: leak and meter
	emf, source    float64    // V and conductance of the feeding unit; 0: its sender is open or it is dead
	sinkV, sinking float64    // of the other unit
}

// solve gives S to N at the feeding and at the other unit, in volts of a positive supply. The source gives current only, the sink takes
// only: each of the four states is tried until one contradicts neither.
func (n *net) solve() (feed, other float64) {
	for _, try := range [...]struct{ source, sink bool }{{true, true}, {true, false}, {false, true}, {false, false}} {
		a, b := n.nodes(try.source, try.sink)
		if (!try.source || a <= n.emf) && (!try.sink || b >= n.sinkV) {
			return a, b
		}
	}
	return 0, 0 // the last state contradicts nothing
}

// nodes solves the two nodes for a state of source and sink.
func (n *net) nodes(source, sink bool) (a, b float64) {
	g11, g22, i1, i2 := n.between+n.ground[0], n.between+n.ground[1], 0.0, 0.0
	if source {
		g11, i1 = g11+n.source, n.emf*n.source
	}
	if sink {
		g22, i2 = g22+n.sinking, n.sinkV*n.sinking
	}
	if n.between == 0 {
		return over(i1, g11), over(i2, g22)
	}
	det := g11*g22 - n.between*n.between
	return over(i1*g22+i2*n.between, det), over(i2*g11+i1*n.between, det)
}

func over(a, b float64) float64 {
	if b == 0 {
		return 0
	}
	return a / b
}

// volts are those from S to N at a unit while the feeding unit's and the other's sender are closed or open.
func (l *Line) volts(q Quantity, feedOn, otherOn bool) float64 {
	var n net
	f, o := l.unit(l.Feed), l.unit(l.Feed.other())
	n.between = l.joined(q.Lifted)
	if at, leaks := l.leakAt(q.Lifted); leaks {
		n.ground[l.index(at)] += 1 / l.Leak
	}
	n.ground[l.index(q.At)] += 1 / q.Meter.ohms()
	if feedOn && l.runs(l.Feed) {
		n.emf, n.source = max(0, math.Abs(l.Supply)-f.Drop), 1/f.Ohms
	}
	if otherOn && l.runs(l.Feed.other()) {
		n.sinkV, n.sinking = o.Drop, 1/o.Ohms
	}
	a, b := n.solve()
	if q.At == l.Feed {
		b = a
	}
	return math.Copysign(b, l.Supply)
}

// index is a unit's place among the nodes.
func (l *Line) index(p Place) int {
	if p == l.Feed {
		return 0
	}
	return 1
}

// closed tells whether a unit's sender is closed while it rests.
func (u *Unit) closed() bool { return u.Sender != Open }

// Levels are the volts from S to N at a unit in mark, while the feeding unit opens, and while the other one does, as a probe of 10
// megohms sees them. An unable sender is in its own state.
func (l *Line) Levels(at Place) (mark, low, high float64) {
	q := Quantity{From: S, To: N, At: at}
	f, o := l.unit(l.Feed).closed(), l.unit(l.Feed.other()).closed()
	return l.volts(q, f, o), l.volts(q, false, o), l.volts(q, f, false)
}
