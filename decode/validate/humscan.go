package validate

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/link"
)

// humScan looks for mains in the bias of characters: hum moves edges to mark and edges to space in opposite directions.
type humScan struct {
	clock capture.Clock
	phase func(capture.Tick) (cycles float64, ok bool) // of mains that are followed; nil: only levels are known
	begun bool
	from  capture.Tick // of the stretch
	span  capture.Tick
	every int // of so many characters one is kept
	skip  int
	n     int
	at    [humKept]capture.Tick
	u     [humKept]float64
	mean  [humPlaces]float64
	seen  [humPlaces]float64
	humSpectrum
	known     humSums // by the phase of mains that are followed
	lost      float64 // degrees of freedom that the stretches in known have used up
	used      int64   // characters in the spectrum
	stretches int64   // with enough characters, of unknown phase
}

func newHumScan(c capture.Clock) humScan {
	return humScan{clock: c, span: c.Ticks(humSeconds), every: 1}
}

// frame takes the characters of a whole frame. What content and clock make of a character's bias is much the same each time, so it
// is taken from the mean at its place.
func (h *humScan) frame(r *link.Frame) {
	if !h.begun || r.At-h.from >= h.span {
		h.close()
		h.begun, h.from = true, r.At
	}
	for i := range r.Chars {
		if h.skip++; h.skip < h.every || h.n == humKept {
			continue
		}
		h.skip = 0
		b := float64(r.Chars[i].Bias)
		if b != b {
			continue
		}
		p := i % humPlaces
		d := b - h.mean[p]
		h.seen[p] = min(h.seen[p]+1, humMemory)
		h.mean[p] += d / h.seen[p]
		if h.seen[p] >= 4 {
			h.at[h.n], h.u[h.n] = r.Chars[i].At, d
			h.n++
		}
	}
}

// close takes the stretch that ended into account.
func (h *humScan) close() {
	n := h.n
	h.n = 0
	h.every = max(1, h.every*n/(humKept/2))
	if n < humFewest {
		return
	}
	if h.phase != nil && h.follow(n) {
		return
	}
	if h.stretches++; h.stretches > humAll && h.stretches%humEach != 0 {
		return
	}
	k := min(n, humEvents)
	for i := range k {
		h.at[i], h.u[i] = h.at[i*n/k], h.u[i*n/k]
	}
	h.used += int64(k)
	centre(h.u[:k])
	h.scan(h.clock, h.from, h.at[:k], h.u[:k], soundShift)
}

// follow takes a stretch in which the phase of the mains is known throughout.
func (h *humScan) follow(n int) bool {
	var s humSums
	centre(h.u[:n])
	for i := range n {
		p, ok := h.phase(h.at[i])
		if !ok {
			return false
		}
		sin, cos := math.Sincos(2 * math.Pi * p)
		s.add(h.u[i], cos, sin)
	}
	s.centre()
	h.known.plus(&s)
	h.lost++
	return true
}

func centre(u []float64) {
	mean := meanVolts(u)
	for i := range u {
		u[i] -= mean
	}
}
