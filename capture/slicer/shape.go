package slicer

import (
	"math"
	"slices"
)

// shape is what a window looks like before any level is known.
type shape struct {
	noise  float64 // standard deviation between neighbours
	low    float64 // least and greatest of the samples, single spikes aside
	high   float64
	mean   float64
	edge   int // samples that a typical jump takes; 0: nothing jumps
	spread float64
	runs   int // plateaus, about, where something jumps
}

// jumpSeconds is the slowest passage that counts as a jump: mains take about 2 ms over such a part of their swing, and 1 ms
// is the passage of an edge with a time constant of 0.4 bits at 600 Bd.
const jumpSeconds = 1.5e-3

// jumpPart of the window's range must be passed in one jump: less than a half, which a jump from a mark in the middle has.
const jumpPart = 0.4

// look measures a window; dt is the distance of samples in seconds, 0 where rows are changes. scratch is refilled.
func look(v []float64, dt float64, scratch []float64) (shape, []float64) {
	var s shape
	if len(v) == 0 {
		return s, scratch
	}
	s.noise, scratch = noiseOf(v, scratch)
	if s.noise == 0 && dt > 0 {
		s.noise = 0.4 * flicker(v)
	}
	if dt > 0 {
		scratch = despike(v, scratch)
	} else {
		scratch = append(scratch[:0], v...)
	}
	f := scratch
	s.low, s.high = f[0], f[0]
	sum := 0.0
	for _, x := range f {
		if x < s.low {
			s.low = x
		} else if x > s.high {
			s.high = x
		}
		sum += x
	}
	s.mean = sum / float64(len(f))
	s.spread = s.high - s.low
	if dt == 0 && s.noise > 0.02*s.spread {
		s.noise = 0.002 * s.spread // rows are changes: their differences are jumps
	}
	if s.spread <= 8*s.noise || s.spread <= 1e-9*max(math.Abs(s.low), math.Abs(s.high)) {
		return s, scratch
	}
	for k := 1; k <= max(1, len(f)/8); k *= 2 {
		if dt > 0 && k > 2 && float64(k)*dt > jumpSeconds {
			break
		}
		if widest(f, k) >= max(jumpPart*s.spread, 7*s.noise) {
			s.edge = k
			break
		}
	}
	return s, scratch
}

// widest is the greatest change over k samples.
func widest(f []float64, k int) float64 {
	m := 0.0
	for i := k; i < len(f); i++ {
		if d := f[i] - f[i-k]; d > m {
			m = d
		} else if -d > m {
			m = -d
		}
	}
	return m
}

// despike gives each sample the median of itself and its neighbours.
func despike(v, dst []float64) []float64 {
	dst = append(dst[:0], v...)
	for i := 1; i+1 < len(v); i++ {
		a, c := v[i-1], v[i+1]
		dst[i] = min(max(v[i], min(a, c)), max(a, c)) // without branches, which noise would mislead
	}
	return dst
}

// noiseOf is the standard deviation of a sample about its level, from the lower quarter of the differences between
// neighbours, which edges do not reach. A quantised still signal has four tenths of its step.
func noiseOf(v, scratch []float64) (float64, []float64) {
	d := scratch[:0]
	step := math.Inf(1)
	stride := max(1, len(v)/160)
	for i := 1; i < len(v); i += stride {
		x := math.Abs(v[i] - v[i-1])
		d = append(d, x)
		if x > 0 && x < step {
			step = x
		}
	}
	if len(d) < 2 {
		return 0, d
	}
	slices.Sort(d)
	// A quarter of |N(0, 2 s^2)| lies under 0.4506 s.
	if q := d[len(d)/4]; q > 0 {
		return q / 0.4506, d
	}
	if d[len(d)/2] > 0 {
		return 0.4 * step, d
	}
	return 0, d
}

// median of a list, which is put in order.
func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	slices.Sort(x)
	return x[len(x)/2]
}

// flicker is the step of a converter, seen where single samples leave the value of both neighbours; 0: too few do.
func flicker(v []float64) float64 {
	step, n := math.Inf(1), 0
	low, high := slices.Min(v), slices.Max(v)
	for i := 1; i+1 < len(v); i++ {
		if d := math.Abs(v[i] - v[i-1]); v[i-1] == v[i+1] && d > 0 && (d < (high-low)/16 || high-low < 3*d) {
			step = min(step, d)
			n++
		}
	}
	if n < max(2, len(v)/500) || n > len(v)/2 {
		return 0
	}
	return step
}
