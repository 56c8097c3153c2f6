package circuit

import (
	"math"
	"math/rand/v2"
	"sync"

	"linewitness/decode/cause"
)

// Draw is one line that a cause may have made: as it is while nothing is wrong, and with its fault.
type Draw struct {
	Sound, Faulty Line
	Passing       bool // the fault comes and goes: a recording's levels are mostly those of the sound line
	Now           bool // it is there while somebody measures
}

// drawsOfEach is how many lines stand for a cause at a place.
const drawsOfEach = 200

// Draws are the lines of a cause at a unit (Between: at the line), drawn once. They are the same on every machine. All parameters are
// assumptions wide enough for any such line; they have no source but for what observables of a circuit follow from.
func Draws(c cause.Cause, at Place) []Draw {
	key := drawKey{c, at}
	if all, ok := drawn.Load(key); ok {
		return all.([]Draw)
	}
	r := rand.New(rand.NewPCG(uint64(c)+1, uint64(at)+1))
	all := make([]Draw, drawsOfEach)
	for i := range all {
		all[i] = draw(c, at, r)
	}
	kept, _ := drawn.LoadOrStore(key, all)
	return kept.([]Draw)
}

type drawKey struct {
	cause cause.Cause
	at    Place
}

var drawn sync.Map

func draw(c cause.Cause, at Place, r *rand.Rand) Draw {
	d := Draw{Sound: sound(r), Passing: comesAndGoes(c)}
	d.Now = !d.Passing || r.Float64() < 0.3
	d.Faulty = d.Sound
	if f := c.Family(); at == Between && (f == cause.Board || f == cause.Setup) {
		at = Indoor + Place(r.IntN(2))
	}
	d.Faulty.spoil(c, at, r)
	return d
}

// comesAndGoes tells whether a cause is mostly not there.
func comesAndGoes(c cause.Cause) bool {
	switch c {
	case cause.IntermittentContact, cause.VoltageSag, cause.ImpulseNoise, cause.Restarts:
		return true
	}
	return false
}

func between(r *rand.Rand, low, high float64) float64 { return low + (high-low)*r.Float64() }

// broadly is drawn evenly on a logarithmic scale.
func broadly(r *rand.Rand, low, high float64) float64 { return low * math.Pow(high/low, r.Float64()) }

func chance(r *rand.Rand, p float64) bool { return r.Float64() < p }

// sound draws a line with nothing wrong, both units talking. Most units feed the loop from the outdoor unit with 24 to 56 V; some with
// up to 140 V, a few negative.
func sound(r *rand.Rand) Line {
	l := Line{Feed: Outdoor, Supply: between(r, 22, 60), Entry: Indoor, Mains: between(r, 215, 245), Leak: math.Inf(1), LeakAt: Indoor + Place(r.IntN(2))}
	if chance(r, 0.2) {
		l.Supply = between(r, 56, 145)
	}
	if chance(r, 0.08) {
		l.Supply = -l.Supply
	}
	if chance(r, 0.25) {
		l.Feed = Indoor
	}
	if chance(r, 0.4) {
		l.Entry = Outdoor
	}
	if chance(r, 0.2) {
		l.Mains = between(r, 98, 125)
	}
	loop, place := broadly(r, 1500, 30000), between(r, 0.05, 0.95)
	l.unit(l.Feed).Ohms, l.unit(l.Feed.other()).Ohms = loop*(1-place), loop*place
	for i := range l.Units {
		u := &l.Units[i]
		u.Drop, u.Duty, u.Live = between(r, 1, 2.6), between(r, 0.05, 0.45), true
	}
	l.Busy = chance(r, 0.4)
	l.JointS = between(r, 0.1, 2)
	l.NDrop = between(r, 0, 2)
	l.Hum = broadly(r, 0.01, 0.5)
	l.Ripple = broadly(r, 0.01, 0.5)
	if chance(r, 0.08) { // half-wave, hardly smoothed
		l.Ripple = between(r, 0.3, 0.6) * math.Abs(l.Supply)
	}
	l.Ghost = between(r, 0.01, 0.35)
	return l
}

// spoil puts a fault into a sound line.
func (l *Line) spoil(c cause.Cause, at Place, r *rand.Rand) {
	switch c.Family() {
	case cause.Wiring:
		l.spoilWiring(c, r)
	case cause.Board, cause.Setup:
		l.spoilUnit(c, at, r)
	}
}

// spoilWiring puts a fault into the cable.
func (l *Line) spoilWiring(c cause.Cause, r *rand.Rand) {
	switch c {
	case cause.OpenConductor:
		if chance(r, 0.25) {
			l.OpenN = true
		} else {
			l.OpenS = true
		}
		l.unanswered(r)
	case cause.IntermittentContact:
		l.OpenS = true
		l.unanswered(r)
	case cause.ShortedConductors:
		if chance(r, 0.75) {
			l.Leak = broadly(r, 0.1, 30)
		} else {
			l.liven(between(r, 0.9, 1), r)
		}
		l.unanswered(r)
	case cause.ReversedConductors:
		l.Order = OrderLN + Order(r.IntN(3))
		l.LiveMean = between(r, 0, 0.3)
		if l.Order != OrderLN || chance(r, 0.5) {
			l.unanswered(r)
		}
	case cause.VoltageSag:
		l.Mains *= between(r, 0.5, 0.9)
		l.Supply *= between(r, 0.4, 0.9)
	case cause.MainsHum:
		l.Hum, l.NDrop = between(r, 1, 15), between(r, 0.5, 20)
	case cause.PoorJoint:
		l.JointS = broadly(r, 100, 20000)
	case cause.Leakage:
		if chance(r, 0.7) {
			l.Leak = broadly(r, 300, 50000)
		} else {
			l.Hum = between(r, 2, 40)
		}
	case cause.ImpulseNoise, cause.Crosstalk:
		l.Hum += between(r, 0, 1)
	}
}

// spoilUnit puts a fault into a unit, its board or its settings.
func (l *Line) spoilUnit(c cause.Cause, at Place, r *rand.Rand) {
	switch c {
	case cause.SilentSender, cause.Addressing, cause.WrongLink, cause.SpeedMismatch:
		l.unit(at).Sender = Closed
		if c != cause.SilentSender && chance(r, 0.5) {
			l.unit(at).Sender = Talks
		}
		l.slow(r)
	case cause.StuckSender:
		l.unit(at).Sender = Open
		l.slow(r)
	case cause.Restarts:
		l.unit(at).Sender = Closed
	case cause.LoopSupply:
		l.Feed = at // the loop supply of a unit that makes none is nobody's fault
		l.Supply *= between(r, 0, 0.75)
		l.Ripple = between(r, 0.1, 0.6) * math.Abs(l.Supply)
		if chance(r, 0.4) {
			l.Supply, l.Ripple = 0, 0
		}
		l.slow(r)
	case cause.NoPower:
		l.unit(at).Live = false
		l.slow(r)
	}
}

// unanswered lets the line be without dialogue: somebody polls slowly, or nobody does.
func (l *Line) unanswered(r *rand.Rand) {
	polls := r.IntN(2)
	l.Units[1-polls].Sender = Closed
	l.slow(r)
}

// slow lets what talk there is become sparse, or end.
func (l *Line) slow(r *rand.Rand) {
	l.Busy = l.Busy && chance(r, 0.5)
	if chance(r, 0.2) {
		for i := range l.Units {
			if l.Units[i].Sender == Talks {
				l.Units[i].Sender = Closed
			}
		}
	}
}

// liven lets L reach S.
func (l *Line) liven(share float64, r *rand.Rand) {
	l.LiveS, l.LiveMean = share, between(r, 0, 0.4)
}
