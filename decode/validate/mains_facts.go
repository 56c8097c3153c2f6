package validate

import (
	"math"

	"linewitness/capture"
)

// MainsFacts are ripple and hum in a recording so far. Phases are in cycles.
type MainsFacts struct {
	Found  bool
	Chance float64 // probability that noise alone would have been found (Davies' bound, all tries and frequencies counted)
	Hz     float64 // mean over what was followed; NaN where nothing was found
	HzErr  float64 // its standard error
	Cycles float64 // of mains that were followed
	States [4]MainsState
	Crest  MainsCrest
}

// MainsState is what mains do to the volts of one state, by capture.Level.
type MainsState struct {
	Bins  int64         // means of 0.4 ms that went in; 0: the state was not seen while mains were followed
	Tones [7]MainsTone  // the fundamental and harmonics 2 to 7
	Noise float64       // V, standard deviation of one sample's worth of what the tones leave
	Wave  [64]MainsMean // one average cycle, the state's slow mean taken off
}

// MainsTone is a harmonic: Peak cos(2 pi (k phase - Phase)), k times the tracked phase. NaN where it was not measured.
type MainsTone struct {
	Peak, PeakErr   float64 // V, and standard error of either of its two parts
	Phase, PhaseErr float64 // cycles of the harmonic, 0..1; NaN under two standard errors
}

// MainsMean is the mean volts of a 64th of a cycle, and how many samples it is of.
type MainsMean struct{ Volts, N float64 }

// Facts are the facts so far; the window in progress is left out until Flush.
func (m *Mains) Facts() MainsFacts {
	f := MainsFacts{Found: m.found, Chance: m.chance, Hz: math.NaN(), HzErr: math.NaN()}
	if m.found && m.total.windows > 0 {
		f.Hz, f.HzErr, f.Cycles = m.frequency()
	}
	for l := capture.Low; l <= capture.High; l++ {
		f.States[l] = m.stateFacts(&m.long[l], f.Hz)
	}
	f.Crest = noCrest()
	if m.found {
		l := capture.High
		if f.States[capture.Mid].strength() > f.States[l].strength() {
			l = capture.Mid
		}
		f.Crest = m.crest(&m.long[l])
		f.Crest.State = l
	}
	return f
}

// frequency is the mean frequency, its standard error, and the cycles followed.
func (m *Mains) frequency() (hz, err, cycles float64) {
	window := float64(m.window) * m.second
	cycles = m.state.hz * window * float64(m.total.windows)
	if m.span.seconds < window {
		return m.state.hz, math.Sqrt(m.state.ff), cycles
	}
	hz = m.span.cycles / m.span.seconds
	return hz, math.Sqrt(m.span.firstVariance+m.state.pp) / m.span.seconds, hz * window * float64(m.total.windows)
}

// stateFacts fits the tones to the average cycle of a state.
func (m *Mains) stateFacts(c *mainsCells, hz float64) MainsState {
	s := MainsState{Bins: c.n, Noise: math.NaN()}
	for k := range s.Tones {
		s.Tones[k] = MainsTone{math.NaN(), math.NaN(), math.NaN(), math.NaN()}
	}
	for k := range s.Wave {
		cell := &c.cell[k]
		s.Wave[k] = MainsMean{cell.v / cell.w, cell.w}
	}
	// Where phases are too one-sided for seven tones they may do for fewer.
	for _, tones := range []int{mainsTones, 3, 2} {
		f := c.fit(tones, &m.angles)
		if !f.ok {
			continue
		}
		s.Noise = math.Sqrt(f.noise)
		span := m.binSpan()
		for k := 1; k <= tones; k++ {
			s.Tones[k-1] = f.facts(k, mainsSinc(float64(k)*hz*span)*mainsSinc(float64(k)/mainsPhases))
		}
		break
	}
	return s
}

// facts is harmonic k, of which the averaging over a bin and a cell left a part of kept.
func (f *mainsFit) facts(k int, kept float64) (t MainsTone) {
	c, s := f.tone(k)
	t.Peak = math.Hypot(c, s) / kept
	t.PeakErr = math.Sqrt(f.noise*(f.inv[2*k-1]+f.inv[2*k])/2) / kept
	t.Phase, t.PhaseErr = math.NaN(), math.NaN()
	if t.Peak > 2*t.PeakErr {
		t.Phase = math.Atan2(s, c) / (2 * math.Pi)
		t.Phase -= math.Floor(t.Phase)
		t.PhaseErr = t.PeakErr / t.Peak / (2 * math.Pi)
	}
	return t
}

// strength is the square of all tones' size against their error.
func (s *MainsState) strength() (sum float64) {
	for _, t := range s.Tones {
		if x := t.Peak / t.PeakErr; x == x {
			sum += x * x
		}
	}
	return sum
}

// mainsSinc is sin(pi x)/(pi x).
func mainsSinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}
