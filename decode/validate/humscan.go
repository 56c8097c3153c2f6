package validate

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/link"
)

// Where only levels are known nothing tells the phase of the mains, and their frequency wanders. So each stretch of 8 s is searched
// by itself, and the powers of all stretches are added up frequency by frequency (M. S. Bartlett, 1948).
const (
	humSeconds = 8.0   // of a stretch
	humAll     = 8     // stretches that are all searched; after them
	humEach    = 4     // one of so many is
	humStep    = 0.125 // Hz, 1/humSeconds: powers of neighbours are nearly independent
	humEvents  = 16    // characters of a stretch that are looked at, evenly spread
	humFewest  = 12    // a stretch of fewer says nothing
	humKept    = 192   // characters of a stretch that are kept
	humPlaces  = 32    // places in a frame with a mean of their own
	humMemory  = 64    // characters that such a mean remembers
)

// humBands are where the mains may be: 50 Hz -6 to +4 % (EN 50160, 4.2.1, all of the time), and the same part of 60 Hz.
var humBands = [...]struct {
	lowest float64
	n      int
}{{47, 41}, {56.375, 49}}

// humBins is how many frequencies there are.
const humBins = 41 + 49

// humScan looks for mains in the bias of characters: hum moves edges to mark and edges to space in opposite directions.
type humScan struct {
	clock     capture.Clock
	phase     func(capture.Tick) (cycles float64, ok bool) // of mains that are followed; nil: only levels are known
	begun     bool
	from      capture.Tick // of the stretch
	span      capture.Tick
	every     int // of so many characters one is kept
	skip      int
	n         int
	at        [humKept]capture.Tick
	u         [humKept]float64
	mean      [humPlaces]float64
	seen      [humPlaces]float64
	of        [humBins]humPower
	known     humSums // by the phase of mains that are followed
	lost      float64 // degrees of freedom that the stretches in known have used up
	used      int64   // characters in of
	stretches int64   // with enough characters, of unknown phase
}

// humPower sums what the stretches say of one frequency.
type humPower struct {
	n     float64 // stretches
	power float64 // exponential of mean 1 a stretch where nothing follows the mains
	a, aa float64 // squared amplitude less what chance makes of it, and its square
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
	bin := 0
	for _, b := range humBands {
		h.search(h.of[bin:bin+b.n], k, b.lowest)
		bin += b.n
	}
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

// search adds the powers of the first n characters at frequencies from lowest on.
func (h *humScan) search(of []humPower, n int, lowest float64) {
	var c, s, dc, ds [humEvents]float64
	for i := range n {
		t := 2 * math.Pi * h.clock.Seconds(h.at[i]-h.from)
		s[i], c[i] = math.Sincos(lowest * t)
		ds[i], dc[i] = math.Sincos(humStep * t)
	}
	for b := range of {
		var sum humSums
		for i, u := range h.u[:n] {
			sum.add(u, c[i], s[i])
			c[i], s[i] = c[i]*dc[i]-s[i]*ds[i], c[i]*ds[i]+s[i]*dc[i]
		}
		sum.centre()
		of[b].add(&sum)
	}
}

func centre(u []float64) {
	mean := meanVolts(u)
	for i := range u {
		u[i] -= mean
	}
}

// add takes what a stretch says of the frequency. Its power is Hotelling's statistic of the two sums under all orders of the
// values, half of it: mean 1, and with less of a tail than an exponential variable.
func (p *humPower) add(s *humSums) {
	f := s.fit()
	if !f.ok || s.uu == 0 {
		return
	}
	p.n++
	p.power += f.explained / s.uu * (s.n - 1) / 2
	a := f.square - s.uu/(s.n-1)*f.trace
	p.a, p.aa = p.a+a, p.aa+a*a
}
