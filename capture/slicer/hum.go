package slicer

import (
	"math"
	"math/cmplx"

	"linewitness/capture"
)

const (
	humParts  = 4      // fundamental and harmonics 2, 3 and 5: what mains leave in a reading
	humTime   = 0.15   // s of rest in which the hum is learned anew
	humRest   = 4e-3   // s without a jump, at least, after which the line is taken to rest
	humJump   = 0.2e-3 // s over which a jump is sought, at most: hum is no jump
	humSpan   = 2.0    // s of the recording in which its frequency is sought
	humPoints = 2000   // samples used for that
	humLow    = 42.0   // Hz; EN 50160, isolated systems, with room, as for a line that carries mains only
	humHigh   = 69.0   //
	humLeast  = 0.0225 // of the spread: less does not matter
)

var humOrder = [humParts]float64{1, 2, 3, 5}

// hum is what the mains add to all levels of a pair alike, learned while the line rests and taken off everywhere.
type hum struct {
	turn  float64 // rad/s; 0: there is none
	dt    float64 // s between samples
	edge  int     // samples of a jump
	jump  float64 // V from which a change over them is one
	least int     // samples without one after which the line rests
	part  [humParts]complex128
	level float64 // of the rest
	still int     // samples since the last jump
	known bool    // level is
}

// start prepares a pass from an instant on.
func (h *hum) start(t float64) (now, step [humParts]complex128) {
	for k, order := range humOrder {
		now[k] = cmplx.Rect(1, math.Mod(order*h.turn*t, 2*math.Pi))
		step[k] = cmplx.Rect(1, order*h.turn*h.dt)
	}
	return now, step
}

// at is the hum at a sample.
func (h *hum) at(now *[humParts]complex128) float64 {
	sum := 0.0
	for k := range now {
		sum += real(h.part[k])*real(now[k]) - imag(h.part[k])*imag(now[k])
	}
	return sum
}

// pass appends the samples of a window, which may have none, without the hum.
func (h *hum) pass(c capture.Clock, w *window, dst []float64) []float64 {
	if len(w.v) == 0 {
		return dst
	}
	now, step := h.start(c.Seconds(w.at[0]))
	gain := min(h.dt/humTime, 0.1)
	for i, x := range w.v {
		rest := x - h.at(&now)
		dst = append(dst, rest)
		if h.rests(w.v, i) {
			h.learn(rest, gain, &now)
		}
		for k := range now {
			now[k] *= step[k]
		}
	}
	return dst
}

// rests tells whether the line stands still at sample i.
func (h *hum) rests(v []float64, i int) bool {
	if i < h.edge {
		return false
	}
	if math.Abs(v[i]-v[i-h.edge]) > h.jump {
		h.still, h.known = 0, false
		return false
	}
	h.still++
	return h.still > h.least
}

// learn brings the hum up to date with a sample at rest, by least mean squares.
func (h *hum) learn(rest, gain float64, now *[humParts]complex128) {
	if !h.known {
		h.level, h.known = rest, true
	}
	e := rest - h.level
	h.level += 2 * gain * e
	for k := range now {
		h.part[k] += complex(2*gain*e, 0) * cmplx.Conj(now[k])
	}
}

// findHum looks for a hum in the rests of windows. It fails where there is none that matters, or where it leaves
// a quarter of what it should explain.
func (s *Slicer) findHum(w []window, spread, noise float64, edge, pulse int) (hum, bool) {
	dt := s.seconds()
	if dt == 0 || edge == 0 {
		return hum{}, false
	}
	edge = min(edge, int(humJump/dt)+1)
	h := hum{dt: dt, edge: edge, jump: max(0.15*spread, 6*noise), least: max(int(humRest/dt), 12*pulse)}
	w = w[max(0, len(w)-max(int(humSpan/dt/size), leastHeld)):]
	t, v := s.rests(w, h)
	if float64(len(v))*dt < 2*mainsLeast {
		return hum{}, false
	}
	t, v = thinned(t, v, humPoints)
	mean, all := meanOf(v), squaresOf(v)/float64(len(v))
	best, _ := strongest(t, v, mean, humLow, humHigh, 0.1)
	best, most := strongest(t, v, mean, best-0.1, best+0.1, 0.005)
	if most < 0.6*all || math.Sqrt(2*most) < max(humLeast*spread, 3*noise) {
		return hum{}, false
	}
	h.turn = 2 * math.Pi * best
	for range 4 { // each pass learns on from the one before
		for i := range w {
			h.pass(s.clock, &w[i], nil)
		}
		h.still, h.known = 0, false
	}
	return h, s.leaves(w, h) < 0.25*all
}

// leaves is the mean square that is left of the rests.
func (s *Slicer) leaves(w []window, h hum) float64 {
	clean := make([]window, len(w))
	for i := range w {
		clean[i] = w[i]
		clean[i].v = h.pass(s.clock, &w[i], nil)
	}
	_, v := s.rests(clean, h)
	if len(v) == 0 {
		return math.Inf(1)
	}
	return squaresOf(v) / float64(len(v))
}

// rests are the samples at which the line stands still, with their instants in seconds.
func (s *Slicer) rests(w []window, h hum) (t, v []float64) {
	for i := range w {
		for j, x := range w[i].v {
			if h.rests(w[i].v, j) {
				t, v = append(t, s.clock.Seconds(w[i].at[j])), append(v, x)
			}
		}
	}
	return t, v
}

// thinned leaves no more than n points, at even distances.
func thinned(t, v []float64, n int) ([]float64, []float64) {
	every := (len(t) + n - 1) / n
	if every <= 1 {
		return t, v
	}
	var a, b []float64
	for i := 0; i < len(t); i += every {
		a, b = append(a, t[i]), append(b, v[i])
	}
	return a, b
}

// strongest is the frequency of the strongest sine in points at any instants, and its mean square.
func strongest(t, v []float64, mean, from, to, step float64) (best, most float64) {
	for f := from; f <= to; f += step {
		var re, im float64
		for i, x := range v {
			sin, cos := math.Sincos(2 * math.Pi * f * t[i])
			re += (x - mean) * cos
			im += (x - mean) * sin
		}
		n := float64(len(v))
		if p := 2 * (re*re + im*im) / (n * n); p > most {
			best, most = f, p
		}
	}
	return best, most
}
