package slicer

import (
	"math"

	"linewitness/capture"
)

// passage is an edge on the way, from the last sample that rested on the present level.
type passage struct {
	start   int // sample before the edge
	entered int // sample at which the middle level was reached; -1: not yet
	inBand  int // samples since that rest on the middle level
	strays  int // samples that reached no other level
	flat    int // of them the last ones that rest on one value
	value   float64
	kept    bool // the state before it is kept, since it has been changed
}

// edge follows the signal out of its band until it has come back or reached another level, and writes that down. It
// returns false, and changes nothing, where the samples held do not decide it.
//
// On the way between the outer levels the middle one is passed. It counts only if the signal rested there as long as it
// took to arrive (an exponential passage stays in so narrow a band for at most 0.65 of that), or turned back there.
func (t *tracker) edge(b *capture.Block, force bool) bool {
	p := passage{start: max(t.i-1, t.decided, 0), entered: -1}
	for k := t.i; k < len(t.x); k++ {
		x := t.x[k]
		if p.entered < 0 && x >= t.low && x <= t.high {
			t.outer.close(&t.lv)
			t.i, t.seen = k, max(t.seen, k)
			return true
		}
		to := t.lv.reached(t.c, x)
		if to == t.c && t.lv.side[t.c] != 0 && t.jumpedBack(k) {
			to -= int(t.lv.side[t.c])
		}
		switch {
		case to == t.c:
			if p.entered >= 0 {
				if t.back(x) {
					t.commit(b, &p, k-1, 1)
					return true
				}
				continue
			}
			if t.rests(&p, x) {
				if t.sunk(&p, x) {
					t.commit(b, &p, k, t.lv.above())
					return true
				}
				t.snap(&p, k, x)
			}
			t.stray(&p, k, x)
		case to == 1 && t.lv.n == 3 && t.c != 1:
			if t.stays(&p, k, x) {
				t.commit(b, &p, k, 1)
				return true
			}
		default:
			t.commit(b, &p, k, to)
			return true
		}
	}
	if force {
		return t.cutOff(b, &p)
	}
	if p.kept {
		t.state = t.before
	}
	return false
}

// jumpedBack tells that the signal has jumped from an outer level, or from where that was carried off to, towards mark by
// most of the way between them, and lies on that side now: hum had moved both.
func (t *tracker) jumpedBack(k int) bool {
	const way, clear = 0.6, 1 - hysteresis + 0.03
	side := t.lv.side[t.c]
	before := k - t.lv.edge - 1
	if before < max(t.decided, 0) || t.dt == 0 {
		return false
	}
	sep := side * (t.lv.v[t.c] - t.lv.v[t.c-int(side)])
	x := side * max(side*t.x[k-1], side*t.x[k]) // one sample may be noise
	return side*(t.x[before]-x) > way*sep && side*(t.lv.v[t.c]-x) > clear*sep
}

// keep makes sure that an edge which is left undecided can be taken again: most change nothing before they are decided, and need no copy.
func (t *tracker) keep(p *passage) {
	if !p.kept {
		t.before, p.kept = t.state, true
	}
}

// cutOff ends an edge with the samples held: mark if it was reached, else no transition.
func (t *tracker) cutOff(b *capture.Block, p *passage) bool {
	if p.entered >= 0 {
		t.commit(b, p, len(t.x)-1, 1)
	}
	t.i = len(t.x)
	return true
}

// back tells that the signal has left the middle level towards where it came from.
func (t *tracker) back(x float64) bool {
	from, mid := t.lv.v[t.c], t.lv.v[1]
	return math.Abs(x-mid) > hysteresis*math.Abs(from-mid)
}

// stays tells whether the signal rests on the middle level rather than passes it.
func (t *tracker) stays(p *passage, k int, x float64) bool {
	if p.entered < 0 {
		p.entered = k
	}
	if math.Abs(x-t.lv.v[1]) <= max(0.15*t.lv.least(), 3*t.lv.noise) {
		p.inBand++
	}
	arrival := p.entered - p.start
	return p.inBand >= max(2, arrival) || k-p.entered >= 8*(arrival+1) || t.dt == 0
}

// rests counts how long the signal has stood on one value off its level: long enough tells that this is no edge.
func (t *tracker) rests(p *passage, x float64) bool {
	if math.Abs(x-p.value) > max(4*t.lv.noise, 0.05*t.lv.least()) || p.flat == 0 {
		p.flat, p.value = 0, x
	}
	p.flat++
	return p.flat >= t.slow+3 && t.dt > 0 && t.lv.move == ratio && t.undo.wave.rate == 0 // what is held rests always
}

// sunk tells that the signal jumped from the lowest level, which no supply moves, to a powered one that has sagged in
// the meantime, and rests there below its threshold. The levels are then brought down to what is seen.
func (t *tracker) sunk(p *passage, x float64) bool {
	lv, to := &t.lv, t.lv.above()
	if t.c != lv.ground || to < 0 || (x-lv.v[t.c])/(lv.v[to]-lv.v[t.c]) < 1-hysteresis {
		return false
	}
	lv.scale(to, p.value-lv.v[to])
	return true
}

// snap takes the value on which the signal rests right after a jump for the level: the supply moved while the line stood on
// another one.
func (t *tracker) snap(p *passage, k int, x float64) {
	if t.c == t.lv.ground || t.decided < 0 || k-t.decided > 4*(t.slow+4) || t.lv.n < 3 && t.lv.outside(t.c, x, t.lv.outBand()) {
		return
	}
	t.keep(p)
	t.lv.scale(t.c, t.lv.comeBack(t.c, p.value-t.lv.v[t.c]))
	t.bounds()
}

// stray is a sample off the present level that reached no other: a dip, a slow edge, or after a while a level that moves.
func (t *tracker) stray(p *passage, k int, x float64) {
	if k < t.seen {
		return
	}
	p.strays++
	patch := max(8, 3*t.slow, t.wait)
	switch {
	case t.lv.outside(t.c, x, t.lv.outBand()):
		t.keep(p)
		if t.lv.n < 3 {
			patch = max(patch, t.far)
		}
		t.outer.add(x, &t.lv)
		if p.strays >= 2 && t.lv.revive(x) {
			t.bounds()
			return
		}
	case t.outer.n > 0:
		t.keep(p)
		t.outer.close(&t.lv)
	}
	if p.strays > patch {
		t.keep(p)
		t.lv.follow(t.c, x-t.lv.v[t.c], t.gain[1], t.gain[1]/ownPart)
		if t.lv.move == ratio && t.c == t.lv.ground {
			t.lv.hold()
		}
		t.bounds()
	}
}

// commit makes level to the present one, reached for sure at sample k.
func (t *tracker) commit(b *capture.Block, p *passage, k, to int) {
	at, doubt, last := t.instant(p.start, k, to)
	t.outer.close(&t.lv)
	confirmed := k
	if p.entered >= 0 && to == 1 {
		confirmed = p.entered
	}
	// What came long before the passage was no part of the edge.
	between := min(confirmed-p.start-1, 2*max(confirmed-last, 0))
	if k+1 < len(t.x) && math.Abs(t.x[k+1]-t.x[k]) > max(6*t.lv.noise, 0.1*math.Abs(t.lv.v[to]-t.lv.v[t.c])) {
		between++
	}
	t.c, t.decided, t.i = to, k, k
	t.seen = k + 6*max(between, 0)
	t.slow = min(max(between, t.slow-t.slow/64-1, t.lv.edge), size/4)
	t.mark(b, at, doubt, t.lv.name[to])
	t.bounds()
	if t.x[k] >= t.low && t.x[k] <= t.high {
		t.i = k + 1
	}
}
