package slicer

import (
	"math"
	"slices"
	"sort"

	"linewitness/capture"
)

// The open states of a loop are held on one side only: towards mark the units' diodes carry what would pass, away from
// it nothing but capacitance and a suppressor stand against what couples in from L, which may carry S off by more than
// the supply. So an outer level is where the line comes to stand on the side of mark, and what lies beyond is that level
// too and moves no other. (Physics of the circuit; that long open conductors show mains is common practice, no source.)

// findSides finds in which direction each level may be carried off.
func (lv *levels) findSides() {
	lv.side = [3]float64{}
	if lv.kind != Loop || lv.index(capture.Mid) < 0 {
		return
	}
	if lv.name[0] != capture.Mid {
		lv.side[0] = -1
	}
	if top := lv.n - 1; lv.name[top] != capture.Mid {
		lv.side[top] = 1
	}
}

// sunken tells that level c stands clearly nearer to zero than was learned: a supply is weak or dead, and may come back.
func (lv *levels) sunken(c int) bool {
	return lv.move == ratio && math.Abs(lv.v[c]) < 0.8*math.Abs(lv.learned[c])
}

// held is the part of an error of level c that tells of the level: none of what carries it off beyond where it was
// learned to stand. No branch looks at the error's sign, which is chance.
func (lv *levels) held(c int, e float64) float64 {
	side := lv.side[c]
	if side == 0 {
		return e
	}
	room := 0.0
	if lv.move == ratio {
		room = max(side*(lv.learned[c]-lv.v[c]), 0)
	}
	return side * min(side*e, room)
}

// creep is how far a level moves for what carries it off, by itself: slowly and no faster for more, so that it finds a place that it
// has moved to for good, and comes back at once from any other.
func (lv *levels) creep(off, a float64) float64 {
	const slowly, most = 1.0 / 100, 0.1
	if lv.waves {
		return 0
	}
	limit := most * lv.least()
	return max(-limit, min(limit, off)) * a * slowly
}

// comeBack takes back what level c has crept too far, by itself, as it went: the supply has not moved. It returns what is left of the
// error.
func (lv *levels) comeBack(c int, e float64) float64 {
	side := lv.side[c]
	back := max(min(lv.crept[c], -side*e), 0)
	lv.crept[c] -= back
	lv.v[c] -= side * back
	return e + side*back
}

// seenAs is what a value on level c counts as in the mean that is told.
func (lv *levels) seenAs(c int, x float64) float64 {
	side := lv.side[c]
	if side == 0 {
		return x
	}
	most := lv.v[c] + side*max(4*lv.noise, 0.05*lv.least())
	return side * min(side*x, side*most)
}

const (
	fewStays  = 6   // on an outer level, from which on its inner edge is known
	innerPart = 0.2 // of the stays that stand no further out than the inner edge
	waveInner = 0.1 // the same with a half-wave supply, of which only stays that begin late in a lit half cycle show it
	waveStay  = 30  // periods of a half-wave supply that a stay lasts at most
)

// aroundMark are the levels of a loop, of which modes of plateaus may have been seen: mark is where the line spends most
// time, and an outer level stands where the line came to on that side. A mode that is not carried off keeps its value.
func aroundMark(w []window, u undo, m []mode, noise float64, edge, pulse int) []mode {
	b, rest, ok := markBand(w, u, noise)
	if !ok {
		return m
	}
	m = b.join(m, rest)
	mark := slices.IndexFunc(m, func(x mode) bool { return b.side(x.value) == atMark })
	most := 12 * pulse
	if u.wave.rate > 0 {
		most = int(waveStay / u.wave.rate)
	}
	var stays [2][]float64
	for x := range restored(w, u) {
		b.stays(x, edge, max(pulse/2, 2*edge, 2), most, &stays)
	}
	var out []mode
	if o, ok := b.outer(m[:mark], stays[0], -1, noise); ok {
		out = append(out, o)
	}
	out = append(out, m[mark])
	if o, ok := b.outer(m[mark+1:], stays[1], 1, noise); ok {
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
	if b.waves {
		inner = far[int(waveInner*float64(len(far)))]
	} else if len(m) == 1 && last-inner <= max(6*noise, 0.25*last) {
		return m[0], true
	}
	return mode{value: b.value + side*inner}, true
}

// band is where mark is seen.
type band struct {
	low, value, high float64
	settled          float64 // part of a stay's samples that lie nearer to mark than what counts
	waves            bool    // of a half-wave supply
}

// mostLooked is about how many samples mark's band is taken from.
const mostLooked = 8_000

// markBand is the band in which the line rests for more than half of the time, and the samples in it as a mode; else there is none.
func markBand(w []window, u undo, noise float64) (band, mode, bool) {
	x := slices.AppendSeq(make([]float64, 0, 2*mostLooked), someOf(w, u, mostLooked))
	if len(x) == 0 {
		return band{}, mode{}, false
	}
	value := nth(x, len(x)/2)
	off := make([]float64, len(x))
	for i := range x {
		off[i] = math.Abs(x[i] - value)
	}
	// Two and a half times the median holds a sine, and four and a half any hum; a near level may take a part of it.
	typical, most := nth(off, len(x)/2), nth(off, int(0.97*float64(len(x))))
	half := max(6*noise, min(4.5*typical, max(2.5*typical, 1.1*most)))
	if u.wave.rate > 0 {
		half = max(half, 2*(1-waveFlat)*math.Abs(value))
	}
	inside := len(x) - countOff(x, value-half, value+half)
	rest := mode{value: value, time: float64(inside*samplesIn(w)) / float64(len(x)), from: value - half, to: value + half}
	b := band{value - half, value, value + half, 0.95, false} // spikes aside
	if u.wave.rate > 0 {
		b.waves, b.settled = true, 0.05 // each period has its own
	}
	return b, rest, 2*inside > len(x)
}

// countOff is how many values lie outside a band.
func countOff(x []float64, low, high float64) int {
	n := uint(0)
	for _, v := range x {
		n += off(v, low, high)
	}
	return int(n)
}

// upperBound is the number of sorted values up to a limit.
func upperBound(x []float64, limit float64) int {
	return sort.Search(len(x), func(i int) bool { return x[i] > limit })
}

// join puts rest into the modes, in place of all those in the band if it is not a single one: a hum has two.
func (b band) join(m []mode, rest mode) []mode {
	from := slices.IndexFunc(m, func(x mode) bool { return x.value >= b.low })
	if from < 0 {
		from = len(m)
	}
	to := from
	for to < len(m) && m[to].value <= b.high {
		to++
	}
	if to == from+1 {
		return m
	}
	return slices.Replace(slices.Clone(m), from, to, rest)
}

// stays appends how far from mark the line stood on either side, for each stay between two marks that began with a jump,
// all of at least so many samples, and the stay no longer than a character: a longer one is a mark that sags.
func (b band) stays(x []float64, edge, least, most int, far *[2][]float64) {
	var before, stay run
	for i := 0; i < len(x); {
		now := b.next(x, i)
		if now.side == atMark && stay.side != atMark && before.side == atMark && now.long(least) && stay.long(least) && before.long(least) &&
			before.from > 0 && now.to < len(x) && stay.to-stay.from <= most && b.jumps(x, stay.from, edge) {
			far[stay.side] = append(far[stay.side], b.distance(x[stay.from:stay.to]))
		}
		before, stay, i = stay, now, now.to
	}
}

// jumps tells that most of what the signal stands off mark at the start of a stay came at once: a hum's does not.
func (b band) jumps(x []float64, from, edge int) bool {
	const most = 0.35
	landing := x[from+edge]
	return math.Abs(landing-x[from-edge]) > most*math.Abs(landing-b.value)
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

// distance from mark to which a stay came.
func (b band) distance(x []float64) float64 {
	d := slices.Clone(x)
	for i := range d {
		d[i] = math.Abs(d[i] - b.value)
	}
	slices.Sort(d)
	return d[int(b.settled*float64(len(d)))]
}
