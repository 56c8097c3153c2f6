package slicer

import (
	"math"
	"slices"

	"linewitness/capture"
)

// size is the number of samples in a window.
const size = 4096

// absurd is a magnitude that no recorder gives: a sample from there on is damage, like NaN.
const absurd = 1e30

// window is a stretch of samples, at most size of them, with what is missing before it.
type window struct {
	start, end capture.Tick
	gap        capture.Gap
	fresh      bool // nothing is known of what was before: start of the recording or after a gap
	at         []capture.Tick
	v          []float64
	shape      shape
}

func (w *window) open(start capture.Tick, gap capture.Gap) {
	w.start, w.end, w.gap, w.fresh = start, start, gap, true
	w.at, w.v = slices.Grow(w.at[:0], size), slices.Grow(w.v[:0], size)
}

// empty tells that the window says nothing at all.
func (w *window) empty() bool { return len(w.v) == 0 && w.start == w.end && !w.gap.Present() }

// copyTo makes dst an independent copy that reuses dst's storage.
func (w *window) copyTo(dst *window) {
	at, v := append(dst.at[:0], w.at...), append(dst.v[:0], w.v...) // without more room, which would be cleared
	*dst = *w
	dst.at, dst.v = at, v
}

// take puts samples into windows.
func (s *Slicer) take(at []capture.Tick, v []float64) error {
	for i := 0; i < len(v); {
		// In parts, so that the samples are still at hand when they are copied.
		part := min(i+size, len(v))
		n := s.good(at[i:part], v[i:part])
		if n == 0 {
			if err := s.takeBad(at[i], v[i]); err != nil {
				return err
			}
			i++
			continue
		}
		if s.bad {
			s.bad = false
			s.in.open(at[i], capture.Gap{From: s.badFrom, To: at[i], Count: -1, Why: capture.GapDamaged})
		}
		if err := s.fill(at, v, i, i+n); err != nil {
			return err
		}
		i += n
	}
	return nil
}

// fill puts the usable samples from i up to end into the window; a whole window is worked on in place.
func (s *Slicer) fill(at []capture.Tick, v []float64, i, end int) error {
	for i < end {
		if next := i + size; len(s.in.v) == 0 && next <= end && next < len(at) && at[next] > at[next-1] {
			at0, v0 := s.in.at, s.in.v
			s.in.at, s.in.v = at[i:next], v[i:next]
			err := s.close(at[next])
			s.in.at, s.in.v = at0, v0
			if err != nil {
				return err
			}
			i = next
			continue
		}
		if len(s.in.v) == size {
			if err := s.close(at[i]); err != nil {
				return err
			}
			continue
		}
		m := min(end-i, size-len(s.in.v))
		s.in.at, s.in.v = append(s.in.at, at[i:i+m]...), append(s.in.v, v[i:i+m]...)
		i += m
	}
	return nil
}

// good is the number of usable samples at the front: finite, and each after the one before.
func (s *Slicer) good(at []capture.Tick, v []float64) int {
	if len(v) == 0 {
		return 0
	}
	last := s.last
	if !s.sampled {
		last = at[0] - 1
	}
	at = at[:len(v)]
	n := len(v)
	if !sound(last, at, v) {
		n = 0
		for i, x := range v {
			if at[i] <= last || !(x < absurd && x > -absurd) {
				break
			}
			last = at[i]
			n++
		}
	}
	if n > 0 {
		s.last, s.sampled = at[n-1], true
	}
	return n
}

// sound tells whether all samples are usable, without a branch for each: instants rise if the signs of all differences are set, and
// no sample is greater than the root of the sum of squares, which is no number if one of them is none. It may say no
// where good looks more closely.
func sound(last capture.Tick, at []capture.Tick, v []float64) bool {
	rising := capture.Tick(-1)
	var even, odd float64
	at = at[:len(v)]
	for len(v) >= 8 && len(at) >= 8 { // eight at a time, which do not wait for each other
		a, x := (*[8]capture.Tick)(at), (*[8]float64)(v)
		rising &= (last - a[0]) & (a[0] - a[1]) & (a[1] - a[2]) & (a[2] - a[3])
		rising &= (a[3] - a[4]) & (a[4] - a[5]) & (a[5] - a[6]) & (a[6] - a[7])
		even += (x[0]*x[0] + x[2]*x[2]) + (x[4]*x[4] + x[6]*x[6])
		odd += (x[1]*x[1] + x[3]*x[3]) + (x[5]*x[5] + x[7]*x[7])
		last, at, v = a[7], at[8:], v[8:]
	}
	for i, x := range v {
		rising &= last - at[i]
		even += x * x
		last = at[i]
	}
	return rising < 0 && even+odd < absurd*absurd/2
}

// takeBad starts a lost interval; samples that do not advance in time are left out.
func (s *Slicer) takeBad(t capture.Tick, v float64) error {
	if s.sampled && t <= s.last {
		return nil
	}
	s.last, s.sampled = t, true
	if s.bad {
		return nil
	}
	err := s.close(t)
	s.bad, s.badFrom = true, t
	return err
}

// breakOff closes what is open at an instant after which nothing is known.
func (s *Slicer) breakOff(end capture.Tick) error {
	if !s.begun {
		return nil
	}
	if s.bad {
		s.bad = false
		if end <= s.badFrom {
			return nil
		}
		s.in.open(end, capture.Gap{From: s.badFrom, To: end, Count: -1, Why: capture.GapDamaged})
	}
	return s.close(end)
}

// close ends the window at an instant and works on it.
func (s *Slicer) close(end capture.Tick) error {
	w := &s.in
	w.end = max(end, w.start)
	if n := len(w.at); n > 0 {
		w.end = max(w.end, w.at[n-1])
	}
	if w.empty() {
		return nil
	}
	err := s.work(w)
	w.start, w.gap, w.fresh = w.end, capture.Gap{}, false
	w.at, w.v = w.at[:0], w.v[:0]
	return err
}

// work learns from a window or slices it.
func (s *Slicer) work(w *window) error {
	s.spacing.learn(w.at)
	s.countClipped(w.v)
	if s.tracker != nil {
		return s.tracker.slice(s, w)
	}
	return s.hold(w)
}

func (s *Slicer) countClipped(v []float64) {
	if s.opt.FullScale <= 0 {
		return
	}
	for _, x := range v {
		if math.Abs(x) >= s.clip {
			s.clipped++
		}
	}
}

// spacing is how far samples stand apart, from the first window with enough of them.
type spacing struct {
	known   bool
	uniform bool
	median  capture.Tick
}

func (p *spacing) learn(at []capture.Tick) {
	if p.known || len(at) < 3 {
		return
	}
	d := make([]capture.Tick, 0, size)
	for i := 1; i < len(at); i++ {
		d = append(d, at[i]-at[i-1])
	}
	slices.Sort(d)
	p.known, p.median = true, d[len(d)/2]
	near := 0
	for _, x := range d {
		if dx := float64(x) / float64(p.median); dx > 0.8 && dx < 1.2 {
			near++
		}
	}
	p.uniform = near*10 >= len(d)*8
}
