package validate

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/statistic"
)

// fact is by how much the bias of characters follows the mains, as peak in per cent of the unit interval. Where volts show the phase
// of the mains it is a circular-linear regression (K. V. Mardia, 1976) with its F test; where only levels are known, the largest
// power of a scan over frequencies (P of both for what goes beyond soundShift), its p by Z. Sidak (1967) over all of them; halfway between two of these the peak is given a third
// too small. Vector: hum of known size.
func (h *humScan) fact(id string, side capture.Side) Fact {
	x := newFact(id, side, "%")
	c := *h
	c.close() // the stretch in progress is counted in a copy
	if free := c.known.n - c.lost - 2; free >= humFewest {
		c.known.tell(&x, free)
		return x
	}
	c.tell(&x)
	return x
}

// tell puts the regression on a known phase into a fact. Interval from the standard error of either part.
func (h *humSums) tell(x *Fact, free float64) {
	f := h.fit()
	x.N = int64(h.n)
	if !f.ok || h.uu == 0 {
		x.Unmeasured = "characters stand at too few phases of the mains"
		return
	}
	a := math.Sqrt(f.square)
	half := 1.96 * math.Sqrt((h.uu-f.explained)/free*f.trace/2)
	x.Value, x.Low, x.High = 100*a, 100*max(0, a-half), 100*(a+half)
	// Beyond the margin: what F leaves of the sum of squares if the amplitude is less by it.
	over := f.explained * within(a, soundShift)
	x.P = math.Pow(1+over/(h.uu-f.explained), -free/2)
}

// tell puts the largest power of the scan into a fact. Interval by Student from the scatter between stretches.
func (h *humScan) tell(x *Fact) {
	x.N = h.used
	o, _, p, ok := h.largest()
	if !ok {
		x.Unmeasured = "no 8 s hold enough characters of this sender"
		return
	}
	mean := o.a / o.n
	x.Value, x.P = 100*math.Sqrt(max(0, mean)), p
	if o.n >= 2 {
		half := statistic.StudentQuantile(0.975, o.n-1) * math.Sqrt(max(0, o.aa/o.n-mean*mean)/(o.n-1))
		x.Low, x.High = 100*math.Sqrt(max(0, mean-half)), 100*math.Sqrt(max(0, mean+half))
	}
}
