package validate

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/statistic"
)

const (
	loadWindow  = 0.2  // s
	loadHalf    = 10   // windows on either side of a step: 2 s
	loadFewest  = 20   // samples of mark in a window
	loadGap     = 1.0  // s without mark after which a step can't be told
	loadBeyond  = 8.0  // standard errors that a step takes
	loadLeast   = 0.01 // of the mark level: a smaller step of it counts for nothing
	loadRipple  = 0.5  // a step of the ripple by less than half of it counts for nothing,
	loadVisible = 2e-3 // nor one under this part of the mark level
)

// Loads looks for steps of the mark level of a loop, and of what swings about it: loads that start or stop change both, by the drop
// along the neutral or in the supply. Figures are of windows of 0.2 s; what lasts under 2 s is no step.
type Loads struct {
	clock       capture.Clock
	window      capture.Tick
	index       int64
	n, sum, sq  float64
	base        float64 // near the level, so that squares keep their digits
	last        int64   // the last window that counted
	mark, swing stepWatch
	steps       Times
	until       int64 // no further step before this window: both figures show the same one
	seen        int64 // windows
}

// NewLoads begins a recording.
func NewLoads(c capture.Clock) *Loads {
	return &Loads{clock: c, window: max(c.Ticks(loadWindow), 1), mark: stepWatch{least: loadLeast}, swing: stepWatch{ratio: loadRipple, least: loadVisible}}
}

// Add takes the next piece; only those at mid, the mark of a loop, say anything.
func (l *Loads) Add(p Piece) {
	if p.Level != capture.Mid {
		return
	}
	for i := 0; i < len(p.At); {
		index := mainsFloor(int64(p.At[i]), int64(l.window))
		if index != l.index {
			l.close()
			l.index = index
		}
		j := runUntil(p.At, i, capture.Tick(index+1)*l.window, 0)
		if l.n == 0 && l.seen == 0 {
			l.base = p.Volts[i]
		}
		for _, v := range p.Volts[i:j] {
			d := v - l.base
			l.sum += d
			l.sq += d * d
		}
		l.n += float64(j - i)
		i = j
	}
}

// close judges the window in progress.
func (l *Loads) close() {
	n, sum, sq := l.n, l.sum, l.sq
	l.n, l.sum, l.sq = 0, 0, 0
	if n < loadFewest || sum-sum != 0 {
		return
	}
	if float64(l.index-l.last)*loadWindow > loadGap {
		l.mark.clear()
		l.swing.clear()
	}
	l.last = l.index
	l.seen++
	mean := sum / n
	level := math.Abs(l.base + mean)
	back, ok := l.mark.add(l.base+mean, level)
	other, also := l.swing.add(math.Sqrt(max(0, sq/n-mean*mean)), level)
	if !ok {
		back, ok = other, also
	}
	if ok && l.index >= l.until {
		l.steps.add(capture.Tick(l.index-int64(back)) * l.window)
		l.until = l.index + loadHalf
	}
}

// Steps are the instants at which the level or its swing changed for good.
func (l *Loads) Steps() Times { return copied(l.steps) }

// Facts is the rate of steps, with the exact interval of F. Garwood (1936). Units start and stop, so no P. Vectors: steps of known
// size and time.
func (l *Loads) Facts() []Fact {
	x := newFact("levels.load-steps", capture.Line, "/h")
	if x.N, x.Times = l.steps.N, l.Steps(); l.seen < 2*loadHalf {
		x.Unmeasured = "mark of a loop was seen for too short a time"
		return []Fact{x}
	}
	r := statistic.RateOf(int(x.N), float64(l.seen)*loadWindow/3600, 0.95)
	x.Value, x.Low, x.High = r.Value, r.Within.Lower, r.Within.Upper
	return []Fact{x}
}

// stepWatch compares ten values with the ten before them, and tells the largest difference of those that follow each other.
type stepWatch struct {
	least, ratio float64 // a smaller step counts for nothing: part of the level, part of the value
	v            [2 * loadHalf]float64
	n            int
	best         float64
	age          int // windows since the best; 0: none
}

func (w *stepWatch) clear() { w.n, w.age, w.best = 0, 0, 0 }

// add takes a value; ok: a step stood so many windows back.
func (w *stepWatch) add(v, level float64) (back int, ok bool) {
	copy(w.v[:], w.v[1:])
	w.v[len(w.v)-1] = v
	if w.n = min(w.n+1, len(w.v)); w.n < len(w.v) {
		return 0, false
	}
	a, va := meanAndVariance(w.v[:loadHalf])
	b, vb := meanAndVariance(w.v[loadHalf:])
	d := math.Abs(b - a)
	if w.age > 0 {
		w.age++
	}
	beyond := d > w.least*level && d > w.ratio*max(a, b) && d > loadBeyond*math.Sqrt((va+vb)/loadHalf)
	if beyond && d > w.best {
		w.best, w.age = d, 1
	}
	if w.age == 0 || beyond && w.age < loadHalf {
		return 0, false
	}
	back = w.age - 1 + loadHalf - 1
	w.age, w.best = 0, 0
	if beyond { // it still shows: not twice
		w.n = loadHalf
	}
	return back, true
}

func meanAndVariance(v []float64) (mean, variance float64) {
	mean = meanVolts(v)
	for _, x := range v {
		variance += (x - mean) * (x - mean)
	}
	return mean, variance / float64(len(v)-1)
}
