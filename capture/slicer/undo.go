package slicer

import (
	"iter"

	"linewitness/capture"
)

// undo takes off samples what was added before they can be sliced: an AC coupling, the hum of a pair, the dark half cycles of a
// supply.
type undo struct {
	coupling restorer
	hum      hum
	wave     halfWave
	clock    capture.Clock
}

func (u *undo) active() bool { return u.coupling.rate > 0 || u.hum.turn > 0 || u.wave.rate > 0 }

// cut forgets what was before a gap.
func (u *undo) cut() {
	u.coupling.held, u.hum.still, u.hum.known, u.wave.known = false, 0, false, false
}

// apply appends what is left of a window.
func (u *undo) apply(w *window, dst []float64) []float64 {
	switch {
	case u.hum.turn > 0:
		return u.hum.pass(u.clock, w, dst)
	case u.wave.rate > 0:
		return u.wave.hold(w.v, dst)
	}
	return u.coupling.restore(w.v, dst)
}

// restored are the samples of each window with u taken off; they are overwritten by the next ones.
func restored(w []window, u undo) iter.Seq[[]float64] {
	return func(yield func([]float64) bool) {
		u := u
		var x []float64
		for i := range w {
			if !u.active() {
				x = w[i].v
			} else {
				if w[i].fresh {
					u.cut()
				}
				x = u.apply(&w[i], x[:0])
			}
			if !yield(x) {
				return
			}
		}
	}
}

// someOf are about n samples of windows at even distances, with u taken off.
func someOf(w []window, u undo, n int) iter.Seq[float64] {
	every := max(1, samplesIn(w)/n)
	return func(yield func(float64) bool) {
		from := 0
		for x := range restored(w, u) {
			for ; from < len(x); from += every {
				if !yield(x[from]) {
					return
				}
			}
			from -= len(x)
		}
	}
}

func samplesIn(w []window) int {
	n := 0
	for i := range w {
		n += len(w[i].v)
	}
	return n
}
