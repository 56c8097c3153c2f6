package decode

import (
	"linewitness/capture"
	"linewitness/decode/tally"
	"linewitness/decode/validate"
)

// The mains' phase is asked at a fixed grid of instants, so late that what comes next changes nothing about it any more, and kept for
// characters that are read later: those of a head are read when its link is learned.
const (
	phaseStep  = 0.2 // s from one instant of the grid to the next
	phaseLater = 3   // s: a head of 2 s is searched for the mains, and windows of 0.4 s are followed
	phaseKept  = 1 << 13
)

// phaseLog is what the mains' phase was in the last 27 minutes.
type phaseLog struct {
	mains *validate.Mains
	clock capture.Clock
	step  capture.Tick
	later capture.Tick
	begun bool
	first int64 // number of the first instant of the grid that was asked, and
	next  int64 // of the one that is asked next
	kept  []phaseAt
}

type phaseAt struct {
	cycles float64
	ok     bool
}

func newPhaseLog(c capture.Clock, m *validate.Mains) *phaseLog {
	return &phaseLog{mains: m, clock: c, step: max(c.Ticks(phaseStep), 1), later: c.Ticks(phaseLater)}
}

// begin says where the recording begins.
func (p *phaseLog) begin(at capture.Tick) {
	if p.begun {
		return
	}
	p.begun = true
	p.first = int64(at / p.step)
	p.next = p.first
	p.kept = make([]phaseAt, phaseKept)
}

// upTo asks for all instants before now that are settled; at the recording's end all are.
func (p *phaseLog) upTo(now capture.Tick, end bool) {
	if !end {
		now -= p.later
	}
	for ; p.begun && capture.Tick(p.next)*p.step <= now; p.next++ {
		cycles, ok := p.mains.Phase(capture.Tick(p.next) * p.step)
		p.kept[p.next&(phaseKept-1)] = phaseAt{cycles, ok}
	}
}

// at is the phase at an instant.
func (p *phaseLog) at(t capture.Tick) (cycles float64, known tally.PhaseKnown) {
	n := int64(t / p.step)
	switch {
	case n+1 >= p.next:
		return 0, tally.PhaseLater
	case t < 0 || n < p.first || n < p.next-phaseKept:
		return 0, tally.PhaseNever
	}
	a, b := p.kept[n&(phaseKept-1)], p.kept[(n+1)&(phaseKept-1)]
	hz := (b.cycles - a.cycles) / p.clock.Seconds(p.step)
	if !a.ok || !b.ok || hz < lowestMains || hz > highestMains { // lost in between
		return 0, tally.PhaseNever
	}
	return a.cycles + (b.cycles-a.cycles)*float64(t-capture.Tick(n)*p.step)/float64(p.step), tally.PhaseNow
}

// Limits of the frequency between two instants whose phases belong together, Hz: EN 50160 for islands, and some room.
const (
	lowestMains  = 40
	highestMains = 72
)
