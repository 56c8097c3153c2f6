package validate

import (
	"math"

	"linewitness/capture"
)

// levelTrack follows what stands on the line sample by sample, level by level.
type levelTrack struct {
	pace    pace
	clock   capture.Clock
	of      [4]trackedLevel
	chunk   float64 // samples from one renewal of a level to the next: 16 or 0.5 ms
	drift   float64 // weight of one of them in the slow mean, once so many were seen:
	slow    int64
	each    float64 // 1/chunk, and
	free    float64 // 1/(chunk-1)
	sep     float64 // V: smaller separation of the levels; +Inf: not known
	top     float64 // V: outer level on the side of High, and
	bottom  float64 // on the other
	up      bool    // High is above Low
	lowest  float64 // V: limits beyond which samples are outside the supply
	highest float64

	level   capture.Level // of the present run
	n       int           // its samples so far
	settled bool
	out     departure
	steady  departure // while not settled: samples that stand still elsewhere; peak is their mean
	lost    int       // samples since it was settled last, and
	lostAt  capture.Tick
}

type trackedLevel struct {
	known   bool
	ref     float64 // V: the level now
	mean    float64 // V: over some 2 s of its samples, never drawn by more than a tenth of the separation
	noise   float64 // variance
	sigmas  float64 // V: 8 standard deviations
	half    float64 // V: half of what makes a spike; within it the line stands on its level
	chunks  int64
	k, s, q float64 // samples of the chunk, and the sums of their distances from ref and of the squares
	teach   []float64
}

// departure is a run of samples away from the level.
type departure struct {
	n          int
	from, last capture.Tick
	peak       float64 // V, signed
}

const (
	trackChunk    = 16
	trackSeconds  = 5e-4
	trackNoise    = 16  // chunks that the variance is made of
	trackSlow     = 2.0 // seconds of its own that a level's slow mean is made of
	trackGuard    = 2   // samples after a transition that are not looked at
	trackLost     = 128 // samples away from the level after which it is learned anew, and
	trackLostTime = 10  // times the longest spike
)

func newLevelTrack(c capture.Clock) levelTrack {
	t := levelTrack{clock: c}
	t.chunks(trackChunk, 1./256)
	for i := range t.of {
		t.of[i].half = math.Inf(1)
	}
	t.limits()
	return t
}

// teach learns the distance of samples and tells whether it still does: then samples come one by one.
func (t *levelTrack) teach(at capture.Tick) bool {
	if t.pace.n > len(t.pace.dist) {
		return false
	}
	t.pace.add([]capture.Tick{at})
	if t.pace.n > len(t.pace.dist) {
		d := max(t.clock.Seconds(t.pace.smallest), 1e-9)
		n := min(max(trackChunk, math.Ceil(trackSeconds/d)), 1e5)
		t.chunks(n, n*d/trackSlow)
	}
	return true
}

// chunks sets how many samples a chunk has, and the weight of one in the slow mean.
func (t *levelTrack) chunks(n, drift float64) {
	t.chunk, t.drift, t.each, t.free = n, drift, 1/n, 1/(n-1)
	t.slow = max(int64(1/drift), trackNoise) + 1
}

func (t *levelTrack) begin(level capture.Level) {
	t.level, t.n, t.settled, t.lost = level, 0, false, 0
	t.out, t.steady = departure{}, departure{}
}

// quiet takes the samples that stand on the level, up to the end of a chunk, and returns how many.
func (t *levelTrack) quiet(volts []float64) int {
	l := &t.of[t.level]
	ref := l.ref
	low, high := max(ref-l.half, t.lowest), min(ref+l.half, t.highest)
	k, s, q := 0, l.s, l.q
	volts = volts[:min(len(volts), int(t.chunk-l.k))]
	for _, v := range volts {
		if !(v >= low && v <= high) {
			break
		}
		d := v - ref
		s += d
		q += d * d
		k++
	}
	l.s, l.q = s, q
	l.k += float64(k)
	t.n += k
	if l.k >= t.chunk {
		t.renew(l)
	}
	return k
}

// outside is how far a sample beyond the limits lies beyond the outer level, V; 0: within.
func (t *levelTrack) outside(v float64) float64 {
	if v >= t.lowest && v <= t.highest {
		return 0
	}
	high, low := t.top, t.bottom
	if !t.up {
		high, low = low, high
	}
	if v > t.highest {
		return v - high
	}
	return low - v
}

// step takes one sample, and returns the departure that ends before it.
func (t *levelTrack) step(at capture.Tick, v float64, most capture.Tick) (ended departure) {
	l := &t.of[t.level]
	if t.n++; t.n <= trackGuard {
		return ended
	}
	if !l.known {
		t.learn(l, v)
		return ended
	}
	d := v - l.ref
	switch {
	case math.Abs(d) <= l.half:
		ended, t.out = t.out, departure{}
		t.settled, t.lost, t.steady = true, 0, departure{}
		l.s, l.q = l.s+d, l.q+d*d
		if l.k++; l.k >= t.chunk {
			t.renew(l)
		}
	case !t.settled:
		t.settle(l, at, v, most)
	default:
		ended = t.depart(at, d, most)
	}
	return ended
}

// depart takes a sample away from the level. What goes on for longer than a spike is the level's own movement.
func (t *levelTrack) depart(at capture.Tick, d float64, most capture.Tick) (ended departure) {
	if t.out.n > 0 && (d > 0) != (t.out.peak > 0) {
		ended, t.out = t.out, departure{}
	}
	if t.out.n == 0 {
		t.out.from = at
	}
	t.out.n++
	t.out.last = at
	if math.Abs(d) > math.Abs(t.out.peak) {
		t.out.peak = d
	}
	if t.out.n > spikeSamples && at-t.out.from > most {
		t.settled, t.out, t.steady = false, departure{}, departure{}
	}
	return ended
}

// settle waits until the line stands still for longer than a spike: then the level has moved there.
func (t *levelTrack) settle(l *trackedLevel, at capture.Tick, v float64, most capture.Tick) {
	if t.lost == 0 {
		t.lostAt = at
	}
	if t.lost++; t.lost > trackLost && at-t.lostAt > trackLostTime*most {
		l.known, l.teach, t.lost = false, l.teach[:0], 0
		return
	}
	if t.steady.n == 0 || math.Abs(v-t.steady.peak) > l.half/2 {
		t.steady = departure{n: 1, from: at, last: at, peak: v}
		return
	}
	t.steady.n++
	t.steady.peak += (v - t.steady.peak) / float64(t.steady.n)
	if t.steady.n > spikeSamples && at-t.steady.from > most {
		l.ref, l.k, l.s, l.q = t.steady.peak, 0, 0, 0
		t.settled, t.lost, t.steady = true, 0, departure{}
	}
}
