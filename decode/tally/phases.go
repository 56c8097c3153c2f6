package tally

import "math"

// PhaseBins is how many bins a cycle of the mains has: 10 degrees each.
const PhaseBins = 36

// Phases counts characters by the phase of the mains at their start edge. The good ones are those that were at risk: polls may be
// locked to the mains, so errors must be compared with them and never with an even spread.
type Phases struct {
	Good, Bad [PhaseBins]int64
}

// Add counts a character at a phase in cycles, of any size.
func (p *Phases) Add(cycles float64, bad bool) {
	i := int(PhaseBins*(cycles-math.Floor(cycles))) % PhaseBins
	if bad {
		p.Bad[i]++
		return
	}
	p.Good[i]++
}

// N is how many were counted.
func (p *Phases) N() (good, bad int64) {
	for i := range PhaseBins {
		good, bad = good+p.Good[i], bad+p.Bad[i]
	}
	return good, bad
}

// Merge folds o into p.
func (p *Phases) Merge(o *Phases) {
	for i := range PhaseBins {
		p.Good[i] += o.Good[i]
		p.Bad[i] += o.Bad[i]
	}
}
