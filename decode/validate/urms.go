package validate

import (
	"math"

	"linewitness/capture"
)

// Urms measures the RMS of an alternating voltage over one cycle, refreshed each half cycle: Urms(1/2) of IEC 61000-4-30.
// Windows start at zero crossings of the fundamental: those are predicted by a phase that is followed with each cycle's
// fundamental, so that noise, harmonics and dips do not move them. The zero value is not usable.
type Urms struct {
	clock  capture.Clock
	second float64
	emit   func(start, end capture.Tick, rms float64)
	given  bool // frequency and phase are given
	state  mainsState
	origin capture.Tick
	begun  bool
	find   *Mains  // looks for frequency and phase in the first seconds
	level  float64 // V peak of the fundamental, slowly averaged
	before float64 // and of the last cycle
	tried  int64   // windows of find at the last try

	half      int64        // the half cycle in progress, counted in the phase
	start     capture.Tick // first instant that belongs to it
	next      capture.Tick // first instant that does not
	now, past urmsHalf
	last      capture.Tick // the last sample
	apart     capture.Tick // the least distance of two samples; 0: not known yet
	has       bool
}

// urmsHalf sums a half cycle.
type urmsHalf struct {
	start, last      capture.Tick
	n                int64
	square, cos, sin float64
	whole            bool // samples from its beginning to its end
}

// urmsKeep is the share of the usual fundamental under which a cycle says nothing of the phase, and the change from one window
// to the next above which it does not either.
const urmsKeep = 0.1

// NewUrms begins to measure; emit gets each window. nominal is 50 or 60 where known, 0 otherwise. Frequency and phase are
// found in the first 2 s, which give no windows.
func NewUrms(c capture.Clock, nominal float64, emit func(start, end capture.Tick, rms float64)) *Urms {
	return &Urms{clock: c, second: 1 / c.PerSecond(), emit: emit, find: NewMains(c, nominal)}
}

// NewUrmsAt begins to measure mains of a given frequency with an upward zero crossing at an instant.
func NewUrmsAt(c capture.Clock, hz float64, crossing capture.Tick, emit func(start, end capture.Tick, rms float64)) *Urms {
	u := &Urms{clock: c, second: 1 / c.PerSecond(), emit: emit, given: true, begun: true, origin: crossing}
	u.state = mainsState{hz: hz}
	return u
}

// Add takes the next samples in two parallel slices.
func (u *Urms) Add(at []capture.Tick, volts []float64) {
	for i, t := range at {
		if u.find != nil {
			u.seek(at[i:i+1], volts[i:i+1])
			continue
		}
		v := volts[i]
		if v-v != 0 {
			continue
		}
		if !u.has {
			u.enter(t)
			u.last = t - (u.next - u.start)
		}
		for t >= u.next {
			u.step()
			if t >= u.next+(u.next-u.start) {
				u.enter(t) // samples are missing
			}
		}
		if d := t - u.last; u.apart == 0 || d < u.apart {
			u.apart = d
		}
		u.last = t
		h := &u.now
		if h.n == 0 {
			h.whole = t-u.start <= u.most()
		} else if t-h.last > u.most() {
			h.whole = false
		}
		h.last = t
		h.n++
		s, c := math.Sincos(2 * math.Pi * u.phase(t))
		h.square += v * v
		h.cos += v * c
		h.sin += v * s
	}
}

// phase is the followed phase at an instant, 0 at an upward crossing.
func (u *Urms) phase(t capture.Tick) float64 {
	return u.state.phase + u.state.hz*(float64(t-u.origin)*u.second-u.state.at)
}

// instant is the first tick at which the phase has reached so many half cycles.
func (u *Urms) instant(half int64) capture.Tick {
	s := u.state.at + (float64(half)/2-u.state.phase)/u.state.hz
	// A millionth of a half cycle is rounding, not time.
	return u.origin + capture.Tick(math.Ceil(s/u.second-0.5e-6/u.state.hz/u.second))
}

// enter begins with the half cycle that holds t; what went before it is not joined to it.
func (u *Urms) enter(t capture.Tick) {
	u.half = int64(math.Floor(2*u.phase(t) + 1e-6))
	u.start, u.next = u.instant(u.half), u.instant(u.half+1)
	u.now, u.past = urmsHalf{start: u.start}, urmsHalf{}
	u.has = true
}

// most is how far samples of a whole half cycle may stand apart, and the outer ones from its ends.
func (u *Urms) most() capture.Tick { return min((u.next-u.start)/4, 3*u.apart) }

// step ends the half cycle in progress.
func (u *Urms) step() {
	h := &u.now
	h.whole = h.whole && h.n > 1 && u.next-h.last <= u.most()
	if h.whole && u.past.whole {
		n := float64(h.n + u.past.n)
		u.emit(u.past.start, u.next, math.Sqrt((h.square+u.past.square)/n))
		if !u.given {
			u.correct((h.cos+u.past.cos)*2/n, (h.sin+u.past.sin)*2/n)
		}
	}
	u.past = *h
	u.half++
	u.start, u.next = u.next, max(u.instant(u.half+1), u.next+1)
	u.now = urmsHalf{start: u.start}
}

// correct lets the phase follow the fundamental of a cycle: a loop of some five cycles for the phase and, so that it holds
// through an interruption, a slower one for the frequency.
func (u *Urms) correct(cos, sin float64) {
	size := math.Hypot(cos, sin)
	steady := math.Abs(size-u.before) < urmsKeep*size // a step within a cycle looks like a turn of the phase
	u.before = size
	if !steady || size < urmsKeep*u.level {
		return
	}
	u.level += (size - u.level) / 100
	err := math.Atan2(cos, sin) / (2 * math.Pi)
	at := float64(u.next-u.origin) * u.second
	u.state.phase += u.state.hz * (at - u.state.at)
	u.state.at = at
	u.state.phase += 0.1 * err
	u.state.hz += 0.0005 * err * 2 * u.state.hz
}

// seek looks for the mains in the first samples.
func (u *Urms) seek(at []capture.Tick, volts []float64) {
	if !u.begun {
		u.begun, u.origin = true, at[0]
	}
	m := u.find
	m.Add(Piece{Level: capture.Mid, At: at, Volts: volts})
	if !m.locked || m.nRecent == u.tried {
		return
	}
	u.tried = m.nRecent
	tone := m.Facts().States[capture.Mid].Tones[0]
	cycles, ok := m.Phase(at[0])
	if !ok || tone.Phase != tone.Phase {
		return
	}
	// The crest of a cosine is a quarter of a cycle after the upward crossing.
	u.state = mainsState{at: float64(at[0]-u.origin) * u.second, phase: cycles - tone.Phase + 0.25, hz: m.state.hz}
	u.level = tone.Peak
	u.find = nil
}

// UrmsFixed is Urms(1/2) of samples that are locked to the mains: windows of so many samples (at least 2), each half a
// window after the one before. It stops with the last whole window.
func UrmsFixed(volts []float64, window int) []float64 {
	var out []float64
	for i := 0; window >= 2 && i+window <= len(volts); i += window / 2 {
		var sum float64
		for _, v := range volts[i : i+window] {
			sum += v * v
		}
		out = append(out, math.Sqrt(sum/float64(window)))
	}
	return out
}
