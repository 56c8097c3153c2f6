package validate

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/statistic"
	"linewitness/decode/uart"
)

const (
	phaseBins = 64
	badKept   = 16           // of a stretch
	riskKept  = humMost - 16 // good ones of a stretch that are looked at
	riskMost  = 192          // good ones of a stretch that are kept
)

// mainsBad holds at which phase of the mains one sender's episodes of loss begin, and at which good characters stood that were at risk:
// polls may be locked to the mains themselves.
type mainsBad struct {
	clock     capture.Clock
	phase     func(capture.Tick) (cycles float64, ok bool)
	bad, good [phaseBins]int
	episodes  int64
	begun     bool
	from      capture.Tick
	span      capture.Tick
	nBad      int
	nGood     int
	badAt     [badKept]capture.Tick
	goodAt    [riskMost]capture.Tick
	spectrum  humSpectrum
	scanned   int64 // episodes in it
}

func newMainsBad(c capture.Clock) mainsBad {
	return mainsBad{clock: c, span: c.Ticks(humSeconds)}
}

// whole takes a good frame, for which one of its characters stands.
func (m *mainsBad) whole(r *link.Frame) {
	if n := len(r.Chars); n > 0 {
		m.take(r.Chars[pick(r.At, n)].At, false)
	}
}

// damaged takes the first frame of an episode by the character that is broken, or whose edges stand worst.
func (m *mainsBad) damaged(r *link.Frame) {
	if len(r.Chars) < 2 {
		return // it may as well be a pulse in a rest
	}
	at, least := r.Chars[0].At, float32(1)
	for i := range r.Chars {
		c := &r.Chars[i]
		if c.Fault&^uart.FaultCut != 0 {
			at = c.At
			break
		}
		if g := c.Margin(); g < least {
			at, least = c.At, g
		}
	}
	m.episodes++
	m.take(at, true)
}

// take takes an instant.
func (m *mainsBad) take(at capture.Tick, bad bool) {
	if m.phase != nil {
		if p, ok := m.phase(at); ok {
			p -= math.Floor(p)
			i := min(int(p*phaseBins), phaseBins-1)
			if bad {
				m.bad[i]++
			} else {
				m.good[i]++
			}
		}
		return
	}
	if !m.begun || at-m.from >= m.span || at < m.from {
		m.close()
		m.begun, m.from = true, at
	}
	switch {
	case bad && m.nBad < badKept:
		m.badAt[m.nBad] = at
		m.nBad++
	case !bad && m.nGood < riskMost:
		m.goodAt[m.nGood] = at
		m.nGood++
	}
}

// close searches the stretch that ended, if it tells anything: a single episode has every phase.
func (m *mainsBad) close() {
	bad, good := m.nBad, m.nGood
	m.nBad, m.nGood = 0, 0
	if bad < 2 || good < humFewest {
		return
	}
	k := min(good, riskKept)
	var at [humMost]capture.Tick
	var u [humMost]float64
	for i := range k {
		at[i] = m.goodAt[i*good/k]
	}
	for i := range bad {
		at[k+i], u[k+i] = m.badAt[i], 1
	}
	centre(u[:k+bad])
	m.spectrum.scan(m.clock, m.from, at[:k+bad], u[:k+bad], 0)
	m.scanned += int64(bad)
}

// facts compare the phase of the episodes with that of good characters. Where volts show the phase of the mains: by how much the mean
// directions of both lie apart (0: not at all), P by G. S. Watson's two-sample test (1962) at the mains frequency and at twice it, the
// smaller by Z. Sidak (1967). Where only levels are known: the frequency of largest power of a scan within EN 50160, P over all of it.
// Vectors: watson_*, losses at one phase of a frequency nobody knows.
func (m *mainsBad) facts(dst []Fact, side capture.Side) []Fact {
	x, s := newFact("mains.losses-phase", side, ""), newFact("mains.losses-scan", side, "Hz")
	c := *m
	c.close()
	x.N, s.N = int64(sumOf(c.bad[:])), c.scanned
	const none = "no frame of this sender was damaged"
	switch {
	case m.episodes == 0:
		x.Unmeasured, s.Unmeasured = none, none
	case m.phase == nil:
		x.Unmeasured = "levels alone do not show the phase of the mains"
		if _, s.Value, s.P, _ = c.spectrum.largest(); s.Value != s.Value {
			s.P, s.Unmeasured = math.NaN(), "no 8 s hold two losses of this sender among enough frames"
		}
	default:
		s.Unmeasured = "the volts show the phase of the mains, or that there are none"
		if x.N == 0 || sumOf(c.good[:]) == 0 {
			x.Unmeasured = "no mains were followed while frames were damaged"
			break
		}
		c.apart(&x)
	}
	return append(dst, x, s)
}

// apart compares both histograms. The interval is the normal one of a mean direction of independent phases.
func (m *mainsBad) apart(x *Fact) {
	a, b := statistic.ResultantOfBins(m.bad[:], 1), statistic.ResultantOfBins(m.good[:], 1)
	x.Value = math.Hypot(a.Cos/float64(a.N)-b.Cos/float64(b.N), a.Sin/float64(a.N)-b.Sin/float64(b.N))
	half := 1.96 * math.Sqrt(0.5/float64(a.N)+0.5/float64(b.N))
	x.Low, x.High = max(0, x.Value-half), x.Value+half
	var twiceBad, twiceGood [phaseBins / 2]int
	for i := range twiceBad {
		twiceBad[i], twiceGood[i] = m.bad[i]+m.bad[i+phaseBins/2], m.good[i]+m.good[i+phaseBins/2]
	}
	one, two := statistic.WatsonBinned(m.bad[:], m.good[:]), statistic.WatsonBinned(twiceBad[:], twiceGood[:])
	x.P = statistic.LookElsewhere(min(one.P, two.P), 2)
}

func sumOf(n []int) (sum int) {
	for _, v := range n {
		sum += v
	}
	return sum
}
