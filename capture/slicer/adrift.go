package slicer

import (
	"math"
	"slices"

	"linewitness/capture"
)

// The open states of a loop are held on one side only: towards mark the units' diodes carry what would pass, away from
// it nothing but capacitance and a suppressor stand against what couples in from L, which may carry S off by more than
// the supply. So an outer level is where the line comes to stand on the side of mark, and what lies beyond is that level
// too and moves no other. (Physics of the circuit; that long open conductors show mains is common practice, no source.)

// outwards is the direction, +1 or -1, in which level c may be carried off; 0: it is held.
func (lv *levels) outwards(c int) float64 {
	switch {
	case lv.kind != Loop || lv.name[c] == capture.Mid || lv.index(capture.Mid) < 0:
		return 0
	case c == 0:
		return -1
	case c == lv.n-1:
		return 1
	}
	return 0
}

// sunken tells that level c stands clearly nearer to zero than was learned: a supply is weak or dead, and may come back.
func (lv *levels) sunken(c int) bool {
	return lv.move == ratio && math.Abs(lv.v[c]) < 0.8*math.Abs(lv.learned[c])
}

// held is the part of an error of level c that tells of the level: none of what carries it off beyond where it was
// learned to stand.
func (lv *levels) held(c int, e float64) float64 {
	side := lv.outwards(c)
	if side*e <= 0 {
		return e
	}
	room := 0.0
	if lv.move == ratio {
		room = max(side*(lv.learned[c]-lv.v[c]), 0)
	}
	return side * min(side*e, room)
}

// seenAs is what a value on level c counts as in the mean that is told.
func (lv *levels) seenAs(c int, x float64) float64 {
	side := lv.outwards(c)
	if side == 0 {
		return x
	}
	most := lv.v[c] + side*max(4*lv.noise, 0.05*lv.least())
	return side * min(side*x, side*most)
}

const (
	fewStays  = 6   // on an outer level, from which on its inner edge is known
	innerPart = 0.2 // of the stays that stand no further out than the inner edge
)

// aroundMark are the levels of a loop, of which modes of plateaus may have been seen: mark is where the line spends most
// time, and an outer level stands where the line came to on that side. A mode that is not carried off keeps its value.
func aroundMark(w []window, u undo, m []mode, noise float64, edge, pulse int) []mode {
	rest := longest(m)
	b := bandOf(w, u, m, rest, noise)
	var stays [2][]float64
	for x := range restored(w, u) {
		b.stays(x, max(pulse/2, 2*edge, 2), 12*pulse, &stays)
	}
	var out []mode
	if o, ok := b.outer(m[:rest], stays[0], -1, noise); ok {
		out = append(out, o)
	}
	out = append(out, m[rest])
	if o, ok := b.outer(m[rest+1:], stays[1], 1, noise); ok {
		out = append(out, o)
	}
	return out
}

// outer is the level on one side of mark, from the modes there and the distances of stays.
func (b band) outer(m []mode, far []float64, side, noise float64) (mode, bool) {
	if len(far) < fewStays {
		if len(m) == 0 {
			return mode{}, false
		}
		return m[longest(m)], true
	}
	slices.Sort(far)
	inner, last := far[int(innerPart*float64(len(far)))], far[int((1-innerPart)*float64(len(far)))]
	if len(m) == 1 && last-inner <= max(6*noise, 0.25*last) {
		return m[0], true
	}
	return mode{value: b.value + side*inner}, true
}

// band is where mark is seen.
type band struct{ low, value, high float64 }

// bandOf is mark's band: robustly, since it may hold much of a near level.
func bandOf(w []window, u undo, m []mode, mark int, noise float64) band {
	low, high := math.Inf(-1), math.Inf(1)
	if mark > 0 {
		low = (m[mark-1].value + m[mark].value) / 2
	}
	if mark+1 < len(m) {
		high = (m[mark].value + m[mark+1].value) / 2
	}
	var x []float64
	for part := range restored(w, u) {
		for _, v := range part {
			if v > low && v < high {
				x = append(x, v)
			}
		}
	}
	value := m[mark].value
	for i := range x {
		x[i] = math.Abs(x[i] - value)
	}
	half := max(6*noise, 2.5*median(x))
	return band{value - half, value, value + half}
}

// stays appends how far from mark the line stood on either side, for each stay between two marks, all of at least so many
// samples, and the stay no longer than a character: a longer one is a mark that sags.
func (b band) stays(x []float64, least, most int, far *[2][]float64) {
	var before, stay run
	for i := 0; i < len(x); {
		now := b.next(x, i)
		if now.side == atMark && stay.side != atMark && before.side == atMark && now.long(least) && stay.long(least) && before.long(least) &&
			before.from > 0 && now.to < len(x) && stay.to-stay.from <= most {
			far[stay.side] = append(far[stay.side], b.distance(x[stay.from:stay.to]))
		}
		before, stay, i = stay, now, now.to
	}
}

const atMark = -1

// run is a stretch on one side of mark: 0 below, 1 above, or at it.
type run struct{ side, from, to int }

func (r run) long(least int) bool { return r.to-r.from >= least }

// next is the run that starts at i.
func (b band) next(x []float64, i int) run {
	r := run{b.side(x[i]), i, i + 1}
	for r.to < len(x) && b.side(x[r.to]) == r.side {
		r.to++
	}
	return r
}

func (b band) side(v float64) int {
	switch {
	case v < b.low:
		return 0
	case v > b.high:
		return 1
	}
	return atMark
}

// distance from mark to which a stay came, spikes aside.
func (b band) distance(x []float64) float64 {
	d := slices.Clone(x)
	for i := range d {
		d[i] = math.Abs(d[i] - b.value)
	}
	slices.Sort(d)
	return d[len(d)*19/20]
}
