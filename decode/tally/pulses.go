package tally

// Pulses counts how long a line stood at one state without a break, in bins of 1/PulseSteps unit interval, fixed edges. The last bin
// holds all that is longer.
type Pulses struct {
	Bins [pulseMost * PulseSteps]int64
}

// PulseSteps is how many bins a unit interval has. A character has up to 13 of those.
const (
	PulseSteps = 32
	pulseMost  = 16
)

// Bits is the shortest length of bin i, in unit intervals.
func (p *Pulses) Bits(i int) float64 { return float64(i) / PulseSteps }

// N is how many were counted.
func (p *Pulses) N() int64 { return sum(p.Bins[:]) }

// add counts a length in bins.
func (p *Pulses) add(bins uint64) { p.Bins[min(bins, uint64(len(p.Bins)-1))]++ }

// Merge folds o into p.
func (p *Pulses) Merge(o *Pulses) {
	for i, n := range o.Bins {
		p.Bins[i] += n
	}
}

func sum(all []int64) (n int64) {
	for _, x := range all {
		n += x
	}
	return n
}
