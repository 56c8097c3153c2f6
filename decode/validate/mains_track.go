package validate

import (
	"math"

	"linewitness/capture"
)

const (
	mainsWander  = 1e-4 // Hz^2/s: how fast the frequency walks (0.01 Hz in a second); a stiff grid is slower
	mainsLost    = 0.12 // cycles of standard deviation at which the phase counts as lost
	mainsJitter  = 1e-6 // cycles^2 that every window's phase is uncertain by at least
	mainsMemory  = 64   // windows over which the expected tones are averaged
	mainsWeak    = 30.  // square of the tones' signal-to-noise ratio in a window under which the expected size is used
	mainsPresent = 3.   // signal-to-noise ratio under which strong tones are absent from a window
	mainsSettle  = 0.4  // s within which a change of frequency is expected to have come about
	mainsTwo     = 2    // tones that are followed
)

// mainsState is phase (cycles) and frequency (Hz) at an instant with their covariance: a Kalman filter of the random walk
// of the frequency.
type mainsState struct {
	at, phase, hz float64
	pp, pf, ff    float64
}

// predict moves the state to an instant.
func (s *mainsState) predict(at float64) {
	dt := at - s.at
	s.at = at
	s.phase += s.hz * dt
	span := math.Abs(dt)
	s.pp += 2*dt*s.pf + dt*dt*s.ff + mainsWander*span*span*span/3
	s.pf += dt*s.ff + mainsWander*dt*span/2
	s.ff += mainsWander * span
}

// correct takes a measured phase error in cycles.
func (s *mainsState) correct(err, variance float64) {
	total := s.pp + variance
	kp, kf := s.pp/total, s.pf/total
	s.phase += kp * err
	s.hz += kf * err
	s.pp, s.pf, s.ff = s.pp-kp*s.pp, s.pf-kp*s.pf, s.ff-kf*s.pf
}

// doubt widens what is known after an error beyond three standard deviations: the frequency may have changed.
func (s *mainsState) doubt(err float64) {
	s.pp += err * err
	s.ff += err * err / (mainsSettle * mainsSettle)
}

// mainsPair are two tones as cosine and sine parts, V.
type mainsPair [mainsTwo][2]float64

// mainsTemplate holds the tones expected of a state, and in how many windows they were seen.
type mainsTemplate struct {
	tone mainsPair
	n    int
}

// mainsSpan are cycles and seconds followed.
type mainsSpan struct {
	cycles, seconds float64
	firstVariance   float64
}

// mainsTotal are sums over all that was followed.
type mainsTotal struct {
	windows int64
	weight  float64 // samples
	square  float64 // weighted squares of the samples in a bin, less 1 each: 12 times the variance of their times in steps
}

// mainsSpacing is how far samples stand apart: ticks in so many steps.
type mainsSpacing struct{ ticks, steps float64 }

// binSpan is the root mean square time in seconds over which bins average.
func (m *Mains) binSpan() float64 {
	if m.spacing.steps == 0 || m.total.weight == 0 {
		return 0
	}
	return math.Sqrt(m.total.square/m.total.weight) * m.spacing.ticks / m.spacing.steps * m.second
}

func (f *mainsFit) pair() (p mainsPair) {
	for k := range p {
		p[k][0], p[k][1] = f.tone(k + 1)
	}
	return p
}

// turn moves tones by a phase in cycles of the fundamental.
func (p mainsPair) turn(cycles float64) mainsPair {
	for k := range p {
		s, c := math.Sincos(2 * math.Pi * cycles * float64(k+1))
		p[k][0], p[k][1] = p[k][0]*c-p[k][1]*s, p[k][1]*c+p[k][0]*s
	}
	return p
}

// begin starts to follow mains found in a head. The first time they define phase 0: the head's start. After a loss the
// phase is set so that the tones lie where they lay before, which leaves half a cycle open where only 2f shows.
func (m *Mains) begin(head []mainsBin, hz, gain float64) {
	start := head[0].at
	m.now = mainsState{at: start, hz: hz}
	for l := range m.cells {
		m.cells[l].reset(0)
	}
	total := m.total
	for i := range head {
		m.fold(head[i].at, head[i].v, head[i].w, head[i].level)
	}
	m.total = total
	fits := m.fits()
	turn := 0.
	if m.found {
		turn = m.align(&fits)
	}
	for l := range fits {
		if fits[l].ok && m.trust[l].n == 0 {
			m.trust[l] = mainsTemplate{fits[l].pair().turn(turn), 1}
		}
	}
	spread := min(20/gain, 1)
	m.state = mainsState{at: start, phase: turn, hz: hz, pp: 0.0025 * spread, ff: 0.0036 * spread}
	m.found, m.locked = true, true
	m.tries = 0
	m.state.at = math.NaN() // the first window fixes it
	m.state.phase -= hz * start
}

// align is the phase in cycles by which the fits' tones have to be turned back to match the expected ones.
func (m *Mains) align(fits *[4]mainsFit) float64 {
	best, turn := math.Inf(-1), 0.
	for k := range 256 {
		by := float64(k) / 256
		var match float64
		for l := range fits {
			if !fits[l].ok || m.trust[l].n == 0 {
				continue
			}
			got := fits[l].pair().turn(-by)
			for h, want := range m.trust[l].tone {
				match += fits[l].w / fits[l].noise * (got[h][0]*want[0] + got[h][1]*want[1])
			}
		}
		if match > best {
			best, turn = match, by
		}
	}
	return -turn
}

// openWindow begins a window: the state is predicted for its middle. It is false where the phase would be too uncertain,
// or the frequency is none that mains have.
func (m *Mains) openWindow(window int64) bool {
	mid := (float64(window) + 0.5) * float64(m.window) * m.second
	m.now, m.fresh = m.state, false
	if m.now.at != m.now.at {
		m.now.at, m.fresh = mid, true
		m.now.phase += m.now.hz * mid
	} else {
		m.now.predict(mid)
	}
	for l := range m.cells {
		m.cells[l].reset(0)
	}
	return m.now.pp <= mainsLost*mainsLost && m.now.hz > mainsLowest-1 && m.now.hz < mainsHighest+1
}

// fold puts a bin into the cells of the window in progress.
func (m *Mains) fold(at, v, w float64, level capture.Level) {
	c := &m.cells[level&3]
	if c.n == 0 {
		c.base = v
	}
	c.add(m.now.phase+m.now.hz*(at-m.now.at), v-c.base, w)
	m.total.weight += w
	m.total.square += w * (w*w - 1)
}

// fits fits the states in the cells of the window in progress.
func (m *Mains) fits() (fits [4]mainsFit) {
	for l := capture.Low; l <= capture.High; l++ {
		fits[l] = m.cells[l].fit(mainsTwo, &m.angles)
	}
	return fits
}

// closeWindow corrects phase and frequency by what the window in progress showed.
func (m *Mains) closeWindow() {
	s := m.now
	fits := m.fits()
	if err, variance, ok := m.phaseError(&fits); ok {
		if variance += mainsJitter; err*err > 9*(s.pp+variance) {
			s.doubt(err)
		}
		s.correct(err, variance)
	}
	m.learn(&fits, s.phase-m.now.phase)
	if m.fresh {
		m.span.firstVariance = s.pp
	} else {
		m.span.cycles += s.phase - m.state.phase
		m.span.seconds += s.at - m.state.at
	}
	m.state = s
	m.recent[m.nRecent%mainsRecent] = mainsAt{s, m.fresh}
	m.nRecent++
	m.total.windows++
}

// phaseError is the error of the tracked phase in cycles and its variance, from how far the tones are turned against the
// expected ones: the least squares estimate over states and tones. Strong tones are judged by the size that they have in
// this window; where they are absent the window says nothing.
func (m *Mains) phaseError(fits *[4]mainsFit) (err, variance float64, ok bool) {
	var expected, along, across float64
	for l := range fits {
		f := &fits[l]
		if !f.ok {
			continue
		}
		got, weight := f.pair(), f.w/(2*f.noise)
		for h, want := range m.trust[l].tone {
			k := float64(h + 1)
			expected += k * k * weight * (want[0]*want[0] + want[1]*want[1])
			along += k * k * weight * (want[0]*got[h][0] + want[1]*got[h][1])
			across += k * weight * (want[0]*got[h][1] - want[1]*got[h][0])
		}
	}
	size := along
	if expected < mainsWeak {
		size = expected
	} else if along < mainsPresent*math.Sqrt(expected) {
		return 0, 0, false
	}
	if !(size > 0) {
		return 0, 0, false
	}
	const cycle = 2 * math.Pi
	// A phase that is late sees tones turned forward: cos(k(p+e)) has its crest at -k e.
	return -across / size / cycle, expected / (size * size) / (cycle * cycle), true
}

// learn renews the expected tones and the average over the recording; by is how far the phase was corrected.
func (m *Mains) learn(fits *[4]mainsFit, by float64) {
	for l := range fits {
		f, t := &fits[l], &m.trust[l]
		if !f.ok {
			continue
		}
		m.long[l].join(&m.cells[l], f.c[0])
		got := f.pair().turn(by)
		t.n = min(t.n+1, mainsMemory)
		for h := range t.tone {
			for i := range t.tone[h] {
				t.tone[h][i] += (got[h][i] - t.tone[h][i]) / float64(t.n)
			}
		}
	}
}
