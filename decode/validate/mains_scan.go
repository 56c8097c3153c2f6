package validate

import (
	"math"
	"slices"

	"linewitness/capture"
)

const (
	mainsPoints   = 4096   // of the transform
	mainsGrid     = 1.6e-3 // s at most between its points; what that takes from 2f the refinement gives back
	mainsHeadBins = 50     // bins of a state below which a head says nothing of it
)

// mainsScan holds what the search needs: the head with each state's mean and slope off, and the transform.
type mainsScan struct {
	bins     []mainsBin
	re, im   []float64
	cos, sin []float64
	gain     []float64 // of the grid's frequencies, log likelihood
	sorted   []float64
	states   int
	used     [4]bool
}

// acquire searches a head for the mains frequency: a generalised periodogram (least squares, each state with its own mean,
// own amplitudes at f and 2f and own noise; gain in log likelihood summed over states). A line at 100 Hz alone so means
// 50 Hz that recharge a supply twice a cycle. Found mains begin to be followed from the head's start.
func (m *Mains) acquire(head []mainsBin) bool {
	s := &m.scan
	if !s.detrend(head) {
		return false
	}
	dt := float64(m.bin) * m.second * max(math.Floor(mainsGrid/(float64(m.bin)*m.second)+1e-9), 1)
	step := 1 / (dt * mainsPoints)
	k0 := int(math.Ceil(mainsLowest / step))
	k1 := int(mainsHighest / step)
	if k1 <= k0 {
		return false
	}
	s.transform(dt, k0, k1)
	best := 0
	for k, g := range s.gain {
		if g > s.gain[best] {
			best = k
		}
	}
	f, gain := float64(k0+best)*step, s.gain[best]
	chance := m.chanceOf(f, gain, head)
	if chance < 0.5 {
		f, gain = m.refine(f-step, f+step)
		chance = m.chanceOf(f, gain, head)
	}
	m.chance = min(m.chance, chance)
	if chance > mainsFoundBelow {
		return false
	}
	m.begin(head, f, gain)
	return true
}

// chanceOf is the probability that noise gives such a gain anywhere in the band and in any try so far: the bound of Davies
// for the largest of a chi-squared process, in the form of Baluev (MNRAS 385, 2008, 1279: W = df sqrt(4 pi var t)), with the
// rate of the second harmonic for all terms; try j takes 1/(j(j+1)) of the whole. Noise that is not white lifts the
// whole periodogram: gains are taken relative to its median where that is above the one of white noise.
func (m *Mains) chanceOf(f, gain float64, head []mainsBin) float64 {
	s := &m.scan
	half := 2 * s.states // half the degrees of freedom: two tones of two parts a state
	s.sorted = append(s.sorted[:0], s.gain...)
	slices.Sort(s.sorted)
	gain *= min(1, (float64(half)-1./3)/s.sorted[len(s.sorted)/2])
	var w, t, tt float64
	for i := range head {
		w += head[i].w
		t += head[i].w * head[i].at
		tt += head[i].w * head[i].at * head[i].at
	}
	band, share := mainsHighest-mainsLowest, 1.
	if m.nominal > 0 {
		if share = 2; math.Abs(f/m.nominal-1) <= mainsIsland {
			band = 2 * mainsIsland * m.nominal
		}
	}
	width := 2 * band * math.Sqrt(4*math.Pi*max(tt/w-t*t/(w*w), 0))
	single, term := 0., 1. // sum of gain^k/k! is the tail of chi-squared with 2 half degrees
	for k := range half {
		single += term
		if k < half-1 {
			term *= gain / float64(k+1)
		}
	}
	// Here term is gain^(half-1)/(half-1)!, and gain^(half-1/2)/Gamma(half) is term times the root of gain.
	log := math.Log(single+width*term*math.Sqrt(max(gain, 0))) - gain
	j := float64(m.tries + 1)
	return max(min(math.Exp(log)*share*j*(j+1), 1), 1e-300)
}

// detrend copies the head with mean and slope of each state taken off, in units of the state's scatter.
func (s *mainsScan) detrend(head []mainsBin) bool {
	s.bins = append(s.bins[:0], head...)
	s.states, s.used = 0, [4]bool{}
	for l := capture.Low; l <= capture.High; l++ {
		s.used[l] = s.detrendState(l)
		if s.used[l] {
			s.states++
		}
	}
	return s.states > 0
}

func (s *mainsScan) detrendState(l capture.Level) bool {
	var n int
	var w, t, v, tt, tv, vv float64
	for i := range s.bins {
		if b := &s.bins[i]; b.level == l {
			n++
			w += b.w
			t += b.w * b.at
			v += b.w * b.v
		}
	}
	if n < mainsHeadBins {
		return false
	}
	t, v = t/w, v/w
	for i := range s.bins {
		if b := &s.bins[i]; b.level == l {
			tt += b.w * (b.at - t) * (b.at - t)
			tv += b.w * (b.at - t) * (b.v - v)
			vv += b.w * (b.v - v) * (b.v - v)
		}
	}
	slope, scatter := 0., math.Sqrt(vv/w)
	if tt > 0 {
		slope = tv / tt
	}
	if scatter <= 1e-12*math.Abs(v) {
		return false
	}
	for i := range s.bins {
		if b := &s.bins[i]; b.level == l {
			b.v = (b.v - v - slope*(b.at-t)) / scatter
		}
	}
	return true
}

// transform fills the gains of grid frequencies k0..k1, in steps of 1/(dt mainsPoints) Hz.
func (s *mainsScan) transform(dt float64, k0, k1 int) {
	if s.re == nil {
		s.prepare()
	}
	s.gain = append(s.gain[:0], make([]float64, k1-k0+1)...)
	for l := capture.Low; l <= capture.High; l++ {
		if !s.used[l] {
			continue
		}
		clear(s.re)
		clear(s.im)
		var n int64
		var w, vv float64
		for i := range s.bins {
			b := &s.bins[i]
			if b.level != l {
				continue
			}
			k := int((b.at-s.bins[0].at)/dt+0.5) & (mainsPoints - 1)
			s.re[k] += b.w * b.v
			s.im[k] += b.w
			n, w, vv = n+1, w+b.w, vv+b.w*b.v*b.v
		}
		mainsTransform(s.re, s.im, s.cos, s.sin)
		for k := k0; k <= k1; k++ {
			f := mainsFit{n: n, w: w}
			if s.fitAt(k, vv, &f); f.ok {
				s.gain[k-k0] += f.gain()
			}
		}
	}
}

// gain is half the log likelihood ratio of the fit with two tones against the mean alone.
func (f *mainsFit) gain() float64 { return 0.5 * float64(f.n-5) * math.Log(f.ss0/f.ss1) }

// fitAt solves the normal equations of a state at grid frequency k from the transforms of weights and weighted volts.
func (s *mainsScan) fitAt(k int, vv float64, f *mainsFit) {
	var c, sn [5]float64 // sums of weight times cos and sin of 0..4 times the phase
	var a [mainsTerms][mainsTerms]float64
	var b [mainsTerms]float64
	for h := range c {
		i, j := h*k&(mainsPoints-1), -h*k&(mainsPoints-1)
		// Two real series went in as one complex one; volts are the even part, weights the odd.
		c[h], sn[h] = (s.im[i]+s.im[j])/2, (s.re[i]-s.re[j])/2
		if h == 0 {
			b[0] = s.re[0]
		} else if h <= 2 {
			b[2*h-1], b[2*h] = (s.re[i]+s.re[j])/2, -(s.im[i]-s.im[j])/2
		}
	}
	a[0][0] = f.w
	for h := 1; h <= 2; h++ {
		a[2*h-1][0], a[2*h][0] = c[h], sn[h]
		for g := 1; g <= h; g++ {
			a[2*h-1][2*g-1] = (c[h-g] + c[h+g]) / 2
			a[2*h][2*g] = (c[h-g] - c[h+g]) / 2
			a[2*h][2*g-1] = (sn[h+g] + sn[h-g]) / 2
			if g < h {
				a[2*h-1][2*g] = (sn[h+g] - sn[h-g]) / 2
			}
		}
	}
	f.solve(&a, &b, 5, vv)
}

// refine is the frequency of most gain between two (golden section), and the gain.
func (m *Mains) refine(lo, hi float64) (f, gain float64) {
	const g = 0.6180339887498949
	a, b := hi-g*(hi-lo), lo+g*(hi-lo)
	ga, gb := m.gainAt(a), m.gainAt(b)
	for range 10 {
		if ga > gb {
			hi, b, gb = b, a, ga
			a = hi - g*(hi-lo)
			ga = m.gainAt(a)
		} else {
			lo, a, ga = a, b, gb
			b = lo + g*(hi-lo)
			gb = m.gainAt(b)
		}
	}
	if ga > gb {
		return a, ga
	}
	return b, gb
}

// gainAt is the gain of the detrended head at a frequency.
func (m *Mains) gainAt(hz float64) (gain float64) {
	for l := range m.cells {
		m.cells[l].reset(0)
	}
	for i := range m.scan.bins {
		b := &m.scan.bins[i]
		m.cells[b.level].add(hz*(b.at-m.scan.bins[0].at), b.v, b.w)
	}
	for l := range m.cells {
		if !m.scan.used[l] {
			continue
		}
		if f := m.cells[l].fit(2, &m.angles); f.ok {
			gain += f.gain()
		}
	}
	return gain
}
