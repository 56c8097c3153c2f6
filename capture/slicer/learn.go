package slicer

import (
	"math"

	"linewitness/capture"
)

// learnLevels finds levels in windows. It fails where fewer than two can be told apart.
func (s *Slicer) learnLevels(w []window) (levels, undo, bool) {
	noise, spread, edge := s.survey(w)
	if edge == 0 {
		return levels{}, undo{}, false
	}
	rule := ruleFor(noise, spread, edge, s.spacing.uniform)
	p := gather(w, rule, undo{}, nil)
	u := s.toUndo(w, p, spread, noise, edge, rule.usual(p))
	if u.active() {
		if noise, spread, edge = s.surveyUndone(w, u, noise); edge == 0 {
			return levels{}, undo{}, false
		}
		rule = ruleFor(noise, spread, edge, s.spacing.uniform)
		p = gather(w, rule, u, p[:0])
	}
	m := joinHumps(modesOf(p, noise, rule.usual(p)))
	if len(m) > 0 && s.spacing.uniform && s.loop(m, u) {
		m = aroundMark(w, u, m, noise, edge, rule.usual(p))
	}
	if s.opt.Kind == Pair {
		m = joinDrivers(m)
	}
	if len(m) < 2 {
		return levels{}, undo{}, false
	}
	lv := nameLevels(m, s.opt, u.coupling.rate)
	lv.noise, lv.edge, lv.pulse, lv.waves = noise, edge, rule.usual(p), u.wave.rate > 0
	lv.learnt()
	return lv, u, true
}

// toUndo is what to take off the samples: of a pair the hum, of a loop the dark half cycles or a coupling.
func (s *Slicer) toUndo(w []window, p []plateau, spread, noise float64, edge, pulse int) undo {
	u := undo{clock: s.clock}
	switch s.opt.Kind {
	case Pin:
	case Pair:
		if h, ok := s.findHum(w, spread, noise, edge, pulse); ok {
			u.hum = h
		}
	default:
		if wave, ok := s.findHalfWave(w); ok {
			u.wave, s.head.wait = wave, true
		} else if rate := couplingRate(w, spread, noise, edge, pulse, s.seconds()); rate > 0 {
			u.coupling = newRestorer(rate, s.seconds())
		}
	}
	return u
}

// loop tells whether the line is a loop as far as its modes show.
func (s *Slicer) loop(m []mode, u undo) bool {
	return s.opt.Kind == Loop || len(m) > 1 && nameLevels(m, s.opt, u.coupling.rate).kind == Loop
}

// gather finds the plateaus of windows, with u taken off.
func gather(w []window, rule runRule, u undo, p []plateau) []plateau {
	for x := range restored(w, u) {
		p = plateaus(x, rule, p)
	}
	return p
}

// survey is the noise, the typical range of a window with jumps, and the samples that a jump takes.
func (s *Slicer) survey(w []window) (noise, spread float64, edge int) {
	var noises, spreads, edges []float64
	r := rippleOf(w)
	for i := range w {
		if sh := &w[i].shape; sh.edge > 0 && !r.is(sh) {
			spreads, edges = append(spreads, sh.spread), append(edges, float64(sh.edge))
		}
		if len(w[i].v) > 16 {
			noises = append(noises, w[i].shape.noise)
		}
	}
	return median(noises), median(spreads), int(median(edges))
}

// surveyUndone is survey of what u leaves.
func (s *Slicer) surveyUndone(w []window, u undo, noise float64) (n, spread float64, edge int) {
	var left []window
	for x := range restored(w, u) {
		shape, _ := look(x, s.seconds(), nil)
		left = append(left, window{v: x, shape: shape}) // of v the length counts, the rest is overwritten
	}
	n, spread, edge = s.survey(left)
	return max(n, noise), spread, edge
}

// joinHumps joins two modes on the same side of the mark when the valley between them is no clean one: two humps of
// one level with hum. Real outer levels stand on either side of mark.
func joinHumps(m []mode) []mode {
	if len(m) < 3 {
		return m
	}
	const clean = 0.03
	rest := longest(m)
	for _, i := range [...]int{0, 1} {
		if rest != i && rest != i+1 && m[i].valley > clean {
			j := joined(m[i], m[i+1])
			if i == 0 {
				return []mode{j, m[2]}
			}
			return []mode{m[0], j}
		}
	}
	return m
}

// joinDrivers joins two modes of a pair that stand on one side of its rest: two senders do not drive to the same volts.
func joinDrivers(m []mode) []mode {
	const near = 0.3 // of the whole swing
	if len(m) < 3 {
		return m
	}
	swing := m[2].value - m[0].value
	switch {
	case m[1].value-m[0].value < near*swing:
		return []mode{joined(m[0], m[1]), m[2]}
	case m[2].value-m[1].value < near*swing:
		return []mode{m[0], joined(m[1], m[2])}
	}
	return m
}

// joined is one mode of two neighbours, a the lower one.
func joined(a, b mode) mode {
	return mode{value: (a.value*a.weight + b.value*b.weight) / (a.weight + b.weight),
		weight: a.weight + b.weight, time: a.time + b.time, from: a.from, to: b.to}
}

// longest is the mode that the line spends most time in.
func longest(m []mode) int {
	best := 0
	for i := range m {
		if m[i].time > m[best].time {
			best = i
		}
	}
	return best
}

// nameLevels gives two or three modes, in rising order, their names.
func nameLevels(m []mode, opt Options, coupling float64) levels {
	lv := levels{n: len(m), ground: -1}
	for i := range m {
		lv.v[i] = m[i].value
	}
	lv.kind = opt.Kind
	lv.coupling = coupling
	switch {
	case lv.kind == KindUnknown && coupling > 0:
		lv.kind = Loop
	case lv.kind == KindUnknown:
		lv.kind = inferKind(m, opt.Relative)
	}
	// An input that does not say where zero is leaves the sign open: a positive supply is common.
	lv.afloat = coupling == 0 && lv.kind == Loop && lv.straddles()
	lv.negative = coupling == 0 && !lv.afloat && math.Abs(lv.v[0]) > math.Abs(lv.v[lv.n-1])
	switch {
	case lv.kind == Pair:
		lv.namePair()
	case lv.kind == Loop:
		lv.nameLoop(longest(m))
	default:
		lv.nameTwo()
	}
	if coupling > 0 || lv.afloat {
		lv.move, lv.ground = shift, -1
	}
	return lv
}

// straddles tells that mark stands near zero and the outer levels clearly on either side, as no loop's do whose return is the recorder's zero:
// the input is AC-coupled, too slowly for it to show in a pulse, or its zero is off.
func (lv *levels) straddles() bool {
	const clear, rest = 0.15, 0.15
	low, high := lv.v[0], lv.v[lv.n-1]
	return lv.n == 3 && math.Min(-low, high) > clear*(high-low) && math.Abs(lv.v[1]) < rest*(high-low)
}

// inferKind tells the kinds apart by number, sign and size of levels.
func inferKind(m []mode, relative bool) Kind {
	n := len(m)
	low, high := m[0].value, m[n-1].value
	least, most := math.Min(math.Abs(low), math.Abs(high)), math.Max(math.Abs(low), math.Abs(high))
	switch {
	case driven(low, high) && (relative || most < 10):
		return Pair
	case n == 3:
		return Loop
	case relative:
		return Pin
	case least < 0.15*most && most <= 0.06:
		return Current
	case least < 0.15*most && most >= 1.6 && most <= 5.8:
		return Pin
	}
	return Loop
}

// nameLoop: mark is Mid, and the level in which the line rests; the others are named by their distance from zero.
func (lv *levels) nameLoop(rest int) {
	order := [3]int{0, 1, 2} // from zero outwards
	if lv.negative {
		for i := range lv.n {
			order[i] = lv.n - 1 - i
		}
	}
	if lv.n == 3 {
		lv.name[order[0]], lv.name[1], lv.name[order[2]] = capture.Low, capture.Mid, capture.High
		lv.ground = order[0]
		return
	}
	lv.name[rest] = capture.Mid
	if rest == order[0] {
		lv.name[order[1]] = capture.High
		return
	}
	lv.name[order[0]] = capture.Low
	lv.ground = order[0]
}

// nameTwo: the two outermost levels are Low and High by magnitude.
func (lv *levels) nameTwo() {
	if lv.n == 3 {
		// More levels than the kind has: the middle one is kept and said.
		lv.nameLoop(1)
		return
	}
	lv.ground = 0
	if lv.negative {
		lv.ground = 1
	}
	lv.name[lv.ground], lv.name[1-lv.ground] = capture.Low, capture.High
}

// namePair: Low is the more negative, Mid the idle bias.
func (lv *levels) namePair() {
	lv.negative = false
	lv.name[0], lv.name[lv.n-1] = capture.Low, capture.High
	if lv.n == 3 {
		lv.name[1] = capture.Mid
	}
	lv.move = alone
}
