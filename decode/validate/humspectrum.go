package validate

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/statistic"
)

// Where only levels are known nothing tells the phase of the mains, and their frequency wanders. So each stretch of 8 s is searched
// by itself, and the powers of all stretches are added up frequency by frequency (M. S. Bartlett, 1948).
const (
	humSeconds = 8.0   // of a stretch
	humAll     = 4     // stretches that are all searched; after them
	humEach    = 6     // one of so many is
	humStep    = 0.125 // Hz, 1/humSeconds: powers of neighbours are nearly independent
	humEvents  = 12    // characters of a stretch that are looked at, evenly spread
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

// humMost is how many values of one stretch are searched at most.
const humMost = 48

// humSpectrum adds up the powers of stretches.
type humSpectrum struct{ of [humBins]humPower }

// humPower sums what the stretches say of one frequency.
type humPower struct {
	n     float64 // stretches
	power float64 // no more than exponential of mean 1 a stretch where nothing follows the mains
	a, aa float64 // squared amplitude less what chance makes of it, and its square
}

// scan takes the centred values u at instants of a stretch that begins at from; amplitudes up to the margin are nothing.
func (h *humSpectrum) scan(clock capture.Clock, from capture.Tick, at []capture.Tick, u []float64, margin float64) {
	var t [humMost]float64
	for i := range at {
		t[i] = 2 * math.Pi * clock.Seconds(at[i]-from)
	}
	bin := 0
	for _, b := range humBands {
		search(h.of[bin:bin+b.n], t[:len(at)], u, b.lowest, margin)
		bin += b.n
	}
}

// search adds the powers at frequencies from lowest on; t is 2 pi times the instants.
func search(of []humPower, t, u []float64, lowest, margin float64) {
	var c, s, dc, ds [humMost]float64
	for i := range t {
		s[i], c[i] = math.Sincos(lowest * t[i])
		ds[i], dc[i] = math.Sincos(humStep * t[i])
	}
	for b := range of {
		var sum humSums
		for i, v := range u {
			sum.add(v, c[i], s[i])
			c[i], s[i] = c[i]*dc[i]-s[i]*ds[i], c[i]*ds[i]+s[i]*dc[i]
		}
		sum.centre()
		of[b].add(&sum, margin)
	}
}

// add takes what a stretch says of the frequency. Its power is Hotelling's statistic of the two sums under all orders of the
// values, half of it: mean 1, and with less of a tail than an exponential variable.
func (p *humPower) add(s *humSums, margin float64) {
	f := s.fit()
	if !f.ok || s.uu == 0 {
		return
	}
	p.n++
	p.power += f.explained / s.uu * (s.n - 1) / 2 * within(math.Sqrt(f.square), margin)
	a := f.square - s.uu/(s.n-1)*f.trace
	p.a, p.aa = p.a+a, p.aa+a*a
}

// within is the part of a power that is left when its amplitude is less by a margin.
func within(amplitude, margin float64) float64 {
	if amplitude <= margin {
		return 0
	}
	left := 1 - margin/amplitude
	return left * left
}

// largest is the frequency of most power, and the chance of as much at any of those scanned (Z. Sidak, 1967); false where there is none.
func (h *humSpectrum) largest() (best *humPower, hz, p float64, ok bool) {
	single, tried, at := 2., 0., 0
	for i := range h.of {
		o := &h.of[i]
		if o.n == 0 {
			continue
		}
		tried++
		if best != nil && o.n == best.n && o.power <= best.power {
			continue
		}
		if q := statistic.ChiSquaredTail(2*o.power, 2*o.n); q < single {
			best, single, at = o, q, i
		}
	}
	if best == nil {
		return nil, math.NaN(), 1, false
	}
	hz = humBands[0].lowest + humStep*float64(at)
	if n := humBands[0].n; at >= n {
		hz = humBands[1].lowest + humStep*float64(at-n)
	}
	return best, hz, statistic.LookElsewhere(single, tried), true
}
