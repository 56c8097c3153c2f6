package slicer

import (
	"math"
	"slices"

	"linewitness/capture"
)

const (
	similar   = 6  // plateaus beyond the outermost levels that make a new level
	mostOuter = 32 // such plateaus kept
)

// excursions are plateaus beyond the outermost levels.
type excursions struct {
	mean  float64 // of the stretch under way
	n     int     // its samples; 0: none
	value *[mostOuter]float64
	count int
	vain  int // times that nothing new was learned
}

// outBand is the part of a separation beyond an outermost level from which on a sample may belong to another one. Where
// three levels are known there is no other.
func (lv *levels) outBand() float64 {
	if lv.n == 3 {
		return 0.35
	}
	return 0.15
}

// outside tells whether x lies beyond the outermost level c by more than a part of a separation.
func (lv *levels) outside(c int, x, part float64) bool {
	top := lv.n - 1
	return c == top && x > lv.v[top]+part*(lv.v[top]-lv.v[top-1]) || c == 0 && x < lv.v[0]-part*(lv.v[1]-lv.v[0])
}

// revive brings back the levels learned when the signal stands beyond levels that had sunk: a dead supply returned.
func (lv *levels) revive(x float64) bool {
	top := lv.n - 1
	if lv.negative {
		top = 0
	}
	if !lv.sunken(top) || math.Abs(x) < math.Abs(lv.v[top]) || math.Signbit(x) != math.Signbit(lv.learned[top]) {
		return false
	}
	lv.v, lv.crept = lv.learned, [3]float64{}
	return true
}

// add takes a sample beyond the outermost level.
func (e *excursions) add(x float64, lv *levels) {
	if lv.displaced() {
		e.n = 0
		return
	}
	if e.n > 0 && math.Abs(x-e.mean) > max(4*lv.noise, 0.1*lv.least()) {
		e.close(lv)
	}
	e.n++
	e.mean += (x - e.mean) / float64(min(e.n, 8))
}

// displaced tells that the levels are far from what was learned: what lies outside now may be an old level.
func (lv *levels) displaced() bool {
	for i := range lv.n {
		if lv.move == ratio && math.Abs(lv.v[i]-lv.learned[i]) > 0.3*(lv.learned[lv.n-1]-lv.learned[0]) {
			return true
		}
	}
	return false
}

// close ends a stretch; it is a plateau if it was long enough.
func (e *excursions) close(lv *levels) {
	if e.n == 0 {
		return
	}
	if e.n >= max(2, lv.edge/2+1) && e.count < mostOuter {
		e.value[e.count] = e.mean
		e.count++
	}
	e.n, e.mean = 0, 0
}

// ready tells that enough plateaus were seen to look again: more each time that it was in vain.
func (e *excursions) ready() bool { return e.count >= min(similar<<e.vain, mostOuter) }

// relearn looks for a level beyond the ones known in the samples held, and goes back to before them if it finds one.
func (t *tracker) relearn(s *Slicer, before state) bool {
	values := t.outer.value[:t.outer.count]
	next, ok := t.widen(s.opt, values)
	vain := t.outer.vain
	t.outer = excursions{value: t.outer.value, vain: min(vain+1, 8)}
	if !ok {
		return false
	}
	was := before.lv.name[before.c]
	t.state = before
	t.outer = excursions{value: t.outer.value}
	t.lv = next
	if t.settled {
		if t.c = next.index(was); t.c < 0 {
			t.c = next.nearest(before.lv.v[before.c])
		}
		t.bounds()
	}
	return true
}

// widen learns from the plateaus held, those seen outside, and the levels known.
func (t *tracker) widen(opt Options, outside []float64) (levels, bool) {
	old := &t.lv
	if old.n == 3 {
		return levels{}, false
	}
	top := old.n - 1
	rule := ruleFor(old.noise, old.v[top]-old.v[0], old.edge, t.dt > 0)
	p := plateaus(t.x, rule, t.scratch[:0])
	weightCap := rule.usual(p)
	mark := max(old.index(capture.Mid), 0)
	for range 2 * similar {
		p = append(p, plateau{old.v[mark], 8 * size}, plateau{old.v[1-mark], weightCap})
	}
	for _, x := range outside {
		p = append(p, plateau{old.v[mark], weightCap}, plateau{x, weightCap})
	}
	m := joinHumps(modesOf(p, old.noise, weightCap))
	t.scratch = p
	if old.kind == Pair {
		m = joinDrivers(m)
	}
	if len(m) <= old.n || !old.opposite(m) {
		return levels{}, false
	}
	if old.kind == Loop {
		innermost(m, outside, old.v[mark])
	}
	lv := nameLevels(m, opt, old.coupling)
	lv.noise, lv.edge, lv.pulse = old.noise, old.edge, old.pulse
	lv.learnt()
	return lv, true
}

// innermost puts the outer mode that the values outside made to the inner edge of them.
func innermost(m []mode, outside []float64, mark float64) {
	i := 0
	if outside[0] > mark {
		i = len(m) - 1
	}
	far := make([]float64, len(outside))
	for k, x := range outside {
		far[k] = math.Abs(x - mark)
	}
	slices.Sort(far)
	m[i].value = mark + math.Copysign(far[int(innerPart*float64(len(far)))], outside[0]-mark)
}

// opposite tells whether a third level makes sense: mark stays between the others, and each is narrower than the way to the next.
func (lv *levels) opposite(m []mode) bool {
	mark := lv.index(capture.Mid)
	if lv.kind == Loop && mark >= 0 && math.Abs(m[1].value-lv.v[mark]) > 0.1*lv.least() {
		return false
	}
	for i := range len(m) - 1 {
		if sep := m[i+1].value - m[i].value; m[i].to-m[i].from > sep || m[i+1].to-m[i+1].from > sep {
			return false
		}
	}
	return true
}
