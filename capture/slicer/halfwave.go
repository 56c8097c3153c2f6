package slicer

import (
	"math"
	"slices"
)

const (
	waveBins   = 64   // of a mains period
	waveReach  = 0.12 // of a period, by which a rise may be off and still set the clock
	wavePull   = 0.3  // part of that by which it sets it
	waveFlat   = 0.93 // of the crest: where the supply is lit
	waveMissed = 30   // rises in a row that must come at another time to start the clock anew
	waveDrift  = 0.01 // part of that by which it sets the rate
)

// halfWave is a loop whose supply lives in every other half cycle of the mains: the line tells its state while it is lit, and
// keeps it while it is dark. Its clock is the rise of the volts in mark.
type halfWave struct {
	rate     float64 // periods a sample; 0: no such supply
	sign     float64 // of the supply
	rise     float64 // V, half of mark's crest
	from, to float64 // lit, in periods from the rise
	phase    float64 // periods since the last rise
	last     float64 // V, the sample before
	held     float64 // V, the last one that was lit
	known    bool    // held is
	missed   int     // rises in a row that came at another time
	risen    bool    // since the supply was lit last
	off      float64 // periods by which the clock was off then
}

// dark is how long the line says nothing, in periods.
func (h *halfWave) dark() float64 { return 1 - (h.to - h.from) }

// hold appends the samples of a window, the dark ones as the last lit one before.
func (h *halfWave) hold(v, dst []float64) []float64 {
	for _, x := range v {
		was := h.lit()
		h.step(h.sign * x)
		switch {
		case h.lit():
			h.held, h.known = x, true
		case was && h.risen:
			h.set()
		case !h.known:
			h.held = x
		}
		dst = append(dst, h.held)
	}
	return dst
}

func (h *halfWave) lit() bool { return h.phase >= h.from && h.phase < h.to }

// step moves the clock on by a sample and sets it by a rise.
func (h *halfWave) step(x float64) {
	h.phase += h.rate
	if h.phase >= 1 {
		h.phase--
	}
	if h.last < h.rise && x >= h.rise {
		// Where the line was not at mark its volts rise at another time.
		if h.risen = h.near(); h.risen {
			h.off = h.phase - math.Round(h.phase)
		} else {
			h.missed++
		}
	}
	h.last = x
}

// near tells that the line was at mark when it was lit last, as far as is known, or has not been for long.
func (h *halfWave) near() bool {
	return !h.known || math.Abs(h.sign*h.held-2*h.rise) <= 0.5*h.rise || h.missed >= waveMissed
}

// set brings the clock nearer to the last rise, once it is seen that it was that of a mark: an open state's coupled volts rise earlier.
func (h *halfWave) set() {
	h.risen = false
	if !h.near() {
		h.missed++
		return
	}
	if h.missed++; math.Abs(h.off) < waveReach {
		h.phase -= wavePull * h.off
		h.rate -= waveDrift * h.off * h.rate
		h.missed = 0
	} else if h.missed > waveMissed {
		h.phase, h.missed = h.phase-h.off, 0
	}
	h.phase -= math.Floor(h.phase)
}

// findHalfWave looks for such a supply in windows: most periods alike, with a crest, a dark part, and nothing beyond zero.
func (s *Slicer) findHalfWave(w []window) (halfWave, bool) {
	dt := s.seconds()
	if dt == 0 || dt > 1e-3 || len(w) < leastHeld || s.opt.Kind != Loop && s.opt.Kind != KindUnknown {
		return halfWave{}, false
	}
	if !mayBeDark(w) {
		return halfWave{}, false
	}
	var t, v []float64
	for i := range w {
		v = append(v, w[i].v...)
		for _, at := range w[i].at {
			t = append(t, s.clock.Seconds(at))
		}
	}
	n := min(len(t), int(humSpan/dt))
	shortT, shortV := thinned(t[:n], v[:n], humPoints)
	f, most := strongest(shortT, shortV, meanOf(shortV), humLow, humHigh, 0.1)
	if most == 0 {
		return halfWave{}, false // a constant has no frequency
	}
	f, _ = strongest(shortT, shortV, meanOf(shortV), f-0.1, f+0.1, 0.005)
	for _, sign := range [2]float64{1, -1} {
		h := halfWave{sign: sign, rate: f * dt}
		if crest, ok := h.crest(v); ok {
			if h.rise = crest / 2; h.findLit(v, crest) {
				return h, true
			}
		}
	}
	return halfWave{}, false
}

// mayBeDark tells that as much of the time as a half-wave supply is dark nearly nothing is left of the usual crests.
func mayBeDark(w []window) bool {
	var x []float64
	for v := range someOf(w, undo{}, humPoints) {
		x = append(x, math.Abs(v))
	}
	slices.Sort(x)
	return len(x) > 0 && x[len(x)/4] < 0.35*x[len(x)*7/10]
}

// crest is mark's, the usual one of a period.
func (h *halfWave) crest(v []float64) (float64, bool) {
	n := int(math.Ceil(1 / h.rate))
	var most, least []float64
	for ; len(v) >= n; v = v[n:] {
		top, bottom := math.Inf(-1), math.Inf(1)
		for _, x := range v[:n] {
			top, bottom = max(top, h.sign*x), min(bottom, h.sign*x)
		}
		most, least = append(most, top), append(least, bottom)
	}
	if len(most) < 20 {
		return 0, false
	}
	crest, share := densest(most, 0.1)
	return crest, crest > 0 && share > 0.3 && quantile(least, 0.5) > -0.35*crest
}

// densest is the value about which most of x lie within a part of it, and their share.
func densest(x []float64, part float64) (value, share float64) {
	x = slices.Clone(x)
	slices.Sort(x)
	for i, v := range x {
		if v <= 0 {
			continue
		}
		// From v on up to what has v on its lower bound.
		n := upperBound(x, v*(1+part)/(1-part)) - i
		if s := float64(n) / float64(len(x)); s > share {
			value, share = x[i+n/2], s
		}
	}
	return value, share
}

// findLit finds which part of a period is lit, from the usual volts after a rise.
func (h *halfWave) findLit(v []float64, crest float64) bool {
	var bins [waveBins][]float64
	last, regular := -1, 0
	for i := 1; i < len(v); i++ {
		if h.sign*v[i-1] >= h.rise || h.sign*v[i] < h.rise {
			continue
		}
		if last >= 0 && math.Abs(float64(i-last)*h.rate-1) < 0.04 {
			regular++
		}
		last = i
		for b := range bins {
			if j := i + int(float64(b)/waveBins/h.rate+0.5); j < len(v) {
				bins[b] = append(bins[b], h.sign*v[j])
			}
		}
	}
	if rises := len(bins[0]); rises < 20 || 5*regular < 3*rises { // else they are no mains
		return false
	}
	dark, from, to := 0, -1, -1
	for b := range bins {
		x := quantile(bins[b], 0.5)
		switch {
		case x < 0.25*crest:
			dark++
		case x > waveFlat*crest && x < 1.2*crest && (to == b || to < 0):
			if from < 0 {
				from = b
			}
			to = b + 1
		}
	}
	h.from, h.to = (float64(from)+1)/waveBins, (float64(to)-1)/waveBins
	return dark >= waveBins*3/10 && from >= 0 && h.to-h.from > 0.08
}

// quantile of values, which are not changed.
func quantile(x []float64, part float64) float64 {
	if len(x) == 0 {
		return 0
	}
	y := slices.Clone(x)
	slices.Sort(y)
	return y[min(int(part*float64(len(y))), len(y)-1)]
}
