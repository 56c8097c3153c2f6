package slicer

import (
	"math"

	"linewitness/capture"
)

// move is how the other levels go along when one is seen to drift.
type move uint8

const (
	ratio move = iota // with the supply: in proportion to their distance from the lowest
	shift             // by the same amount: AC coupling
	alone             // each by itself: a driven pair
)

// hysteresis is the part of the way to the next level after which a passage is confirmed.
const hysteresis = 0.65

// levels are two or three levels in rising order of volts, as they stand at present.
type levels struct {
	n        int
	v        [3]float64
	learned  [3]float64
	mean     [3]float64 // of what was seen on each of late, over some mains periods
	floor    [2]float64 // least separations
	name     [3]capture.Level
	side     [3]float64 // in which each may be carried off, +1 or -1; 0: it is held
	crept    [3]float64 // V by which each has moved by itself in its side's direction
	ground   int        // the level that does not move with the supply; -1: not seen, it is 0 V
	move     move
	noise    float64
	edge     int // samples that a jump takes
	pulse    int // samples of a usual pulse
	kind     Kind
	negative bool
	afloat   bool    // nobody knows where zero is
	waves    bool    // of a half-wave supply: an outer level is where the line comes to, however far it is always carried off
	coupling float64 // 1/s: rate at which an AC-coupled input forgets; 0: it does not
}

// learnt keeps the present levels as those to come back to.
func (lv *levels) learnt() {
	lv.learned, lv.mean = lv.v, lv.v
	lv.findSides()
	for i := range lv.n - 1 {
		sep := lv.v[i+1] - lv.v[i]
		lv.noise = max(lv.noise, 1e-6*sep)
	}
	for i := range lv.n - 1 {
		lv.floor[i] = math.Max(math.Min(6*lv.noise, 0.9*(lv.v[i+1]-lv.v[i])), 0.1*(lv.v[i+1]-lv.v[i]))
	}
}

// index of a named level; -1: not there.
func (lv *levels) index(name capture.Level) int {
	for i := range lv.n {
		if lv.name[i] == name {
			return i
		}
	}
	return -1
}

// nearest is the level that a value belongs to.
func (lv *levels) nearest(x float64) int {
	i := 0
	for i+1 < lv.n && x > (lv.v[i]+lv.v[i+1])/2 {
		i++
	}
	return i
}

// least separation of two neighbours.
func (lv *levels) least() float64 {
	if lv.n == 3 {
		return min(lv.v[1]-lv.v[0], lv.v[2]-lv.v[1])
	}
	return lv.v[1] - lv.v[0]
}

// reached is the level that a value has reached, seen from level c: beyond it by the hysteresis.
func (lv *levels) reached(c int, x float64) int {
	for c+1 < lv.n && x > lv.v[c]+hysteresis*(lv.v[c+1]-lv.v[c]) {
		c++
	}
	for c > 0 && x < lv.v[c]-hysteresis*(lv.v[c]-lv.v[c-1]) {
		c--
	}
	return c
}

// follow moves level c by part a of its error e, and the others with it; own is the part that level c learns for itself.
func (lv *levels) follow(c int, e, a, own float64) {
	if lv.side[c] != 0 {
		all := lv.comeBack(c, e)
		e = lv.held(c, all)
		step := lv.creep(all-e, a)
		lv.v[c] += step
		lv.crept[c] += lv.side[c] * step
	}
	d := a * e
	switch lv.move {
	case shift:
		for i := range lv.n {
			lv.v[i] += d
		}
	case alone:
		lv.v[c] += d
	default:
		lv.scale(c, d)
	}
	if math.Abs(e) < 0.3*lv.least() { // not while a supply sinks
		lv.v[c] += own * e
	}
	lv.keepApart(c)
}

// scale moves level c by d, and what hangs on the same supply in proportion.
func (lv *levels) scale(c int, d float64) {
	base := 0.0
	if lv.ground >= 0 {
		base = lv.v[lv.ground]
	}
	arm := lv.v[c] - base
	if c == lv.ground || math.Abs(arm) <= 10*lv.noise { // too short an arm to tell how far the others move
		lv.v[c] += d
		return
	}
	next := arm + d
	if least := 0.1 * (lv.learned[c] - base); next*least < least*least {
		next = least // the supply is dead: levels must not fall together
	}
	part := next / arm
	for i := range lv.n {
		if i != lv.ground {
			lv.v[i] = base + (lv.v[i]-base)*part
		}
	}
}

// anchor keeps the lowest level near where it was learned, so that it cannot be carried away by a supply that comes back; and
// brings the others back to what was learned while the line lies low, since a dead supply may return at once. What was learned moves
// slowly with what is seen.
func (lv *levels) anchor(c int, dt float64) {
	const back, learn = 1.0, 10.0
	if dt == 0 {
		dt = 1e-3
	}
	g := lv.ground
	if c == g {
		lv.hold()
		for i := range lv.n {
			if i != g {
				lv.v[i] += (lv.learned[i] - lv.v[i]) * min(dt/back, 1)
			}
		}
		return
	}
	a := min(dt/learn, 0.01)
	for i := range lv.n {
		lv.learned[i] += (lv.v[i] - lv.learned[i]) * a
	}
}

// hold keeps the lowest level near where it was learned.
func (lv *levels) hold() {
	const reach = 0.3
	g := lv.ground
	far := reach * math.Abs(lv.learned[lv.above()]-lv.learned[g])
	lv.v[g] = min(max(lv.v[g], lv.learned[g]-far), lv.learned[g]+far)
}

// keepApart holds the least separations, outwards from the level that stands.
func (lv *levels) keepApart(c int) {
	if lv.ground >= 0 && lv.move == ratio {
		c = lv.ground
	}
	for i := c; i+1 < lv.n; i++ {
		if low := lv.v[i] + lv.floor[i]; lv.v[i+1] < low {
			lv.v[i+1] = low
		}
	}
	for i := c; i > 0; i-- {
		if high := lv.v[i] - lv.floor[i-1]; lv.v[i-1] > high {
			lv.v[i-1] = high
		}
	}
}

// above is the level next to the lowest one, away from zero; -1: the lowest was not seen.
func (lv *levels) above() int {
	switch lv.ground {
	case -1:
		return -1
	case 0:
		return 1
	}
	return lv.ground - 1
}

// found puts the levels into what is said of them.
func (lv *levels) found(f *Found) {
	f.Kind, f.Levels, f.Noise, f.Negative, f.Coupled = lv.kind, lv.n, lv.noise, lv.negative, lv.coupling > 0
	f.Afloat = lv.afloat
	for i := range lv.n {
		switch lv.name[i] {
		case capture.Low:
			f.Low = lv.mean[i]
		case capture.Mid:
			f.Mid = lv.mean[i]
		case capture.High:
			f.High = lv.mean[i]
		}
	}
}
