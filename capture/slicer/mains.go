package slicer

import (
	"math"
	"slices"
)

const (
	mainsPoint  = 0.5e-3 // s: harmonics up to the sixteenth of 60 Hz
	mainsPoints = 2048   // in a test: one second
	mainsLeast  = 0.15   // s: a test over fewer periods says nothing
	sharpEdge   = 0.3e-3 // s: mains take longer over two fifths of their swing, however clipped
	mainsBins   = 32     // of a period
)

// mains tells whether a line without levels carries nothing but mains: whether its volts are the same at the same phase, for
// some frequency from 42 to 69 Hz (EN 50160 for isolated systems: 42.5 to 57.5 Hz about 50 Hz; the like about 60 Hz).
type mains struct {
	only  bool
	point []float64 // means over dt
	dt    float64   // s
	sum   float64
	n     int
	every int // samples in a point
}

// add takes a window.
func (m *mains) add(w *window, dt float64) {
	if w.fresh || dt == 0 {
		m.point, m.sum, m.n = m.point[:0], 0, 0
	}
	if dt == 0 || dt > 5e-3 {
		return
	}
	if isSharp(w.shape.edge, dt) {
		m.only, m.point, m.sum, m.n = false, m.point[:0], 0, 0
		return
	}
	m.every = max(1, int(math.Round(mainsPoint/dt)))
	m.dt = float64(m.every) * dt
	for _, x := range w.v {
		m.sum += x
		if m.n++; m.n == m.every {
			m.point = append(m.point, m.sum/float64(m.n))
			m.sum, m.n = 0, 0
			if len(m.point) == mainsPoints {
				m.test(w.shape.noise)
				m.point = m.point[:0]
			}
		}
	}
}

// isSharp tells whether a jump that takes so many samples is too quick for mains.
func isSharp(edge int, dt float64) bool { return edge > 0 && float64(edge)*dt < sharpEdge }

// test looks for a period that explains nearly all.
func (m *mains) test(noise float64) {
	if float64(len(m.point))*m.dt < mainsLeast {
		return
	}
	m.only = false
	low, high := slices.Min(m.point), slices.Max(m.point)
	if spread := high - low; spread < 8*noise || spread <= 0 {
		return
	}
	// A quarter of the points settles it for nearly all lines: half of the time, every other point.
	part := make([]float64, 0, mainsPoints/4)
	for i := 0; i < len(m.point)/2; i += 2 {
		part = append(part, m.point[i])
	}
	best, least := search(part, 2*m.dt, 42, 69, 0.5)
	if least > 0.3*squaresOf(part) {
		return
	}
	best, least = search(m.point, m.dt, best-0.5, best+0.5, 0.02)
	_, worst := fold(m.point, best*m.dt)
	// A telegraph on strong hum leaves few but great residues.
	m.only = least < 0.04*squaresOf(m.point) && worst < 0.25*(high-low)
}

// search is the frequency whose period leaves least, and what that is.
func search(point []float64, dt, from, to, step float64) (best, least float64) {
	least = math.Inf(1)
	for f := from; f <= to; f += step {
		if r, _ := fold(point, f*dt); r < least {
			best, least = f, r
		}
	}
	return best, least
}

func squaresOf(v []float64) float64 {
	mean, sum := meanOf(v), 0.0
	for _, x := range v {
		sum += (x - mean) * (x - mean)
	}
	return sum
}

// fold is the sum of squares that a period leaves, and the greatest residue; step is the part of the period between points.
func fold(point []float64, step float64) (squares, worst float64) {
	var sum, n [mainsBins]float64
	bin := func(i int) int {
		c := float64(i) * step
		return int((c-float64(int(c)))*mainsBins) % mainsBins
	}
	for i, x := range point {
		b := bin(i)
		sum[b] += x
		n[b]++
	}
	for i, x := range point {
		b := bin(i)
		d := math.Abs(x - sum[b]/n[b])
		squares += d * d
		worst = max(worst, d)
	}
	return squares, worst
}

// mainsOnly tests what has gathered since the last test.
func (s *Slicer) mainsOnly() bool {
	s.mains.test(s.noise)
	return s.mains.only
}
