package validate

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/statistic"
	"linewitness/decode/uart"
)

const (
	weighedAll  = 8   // bursts that are all read in every other way; after them
	weighedEach = 256 // one of so many is
)

// weighing sums what bursts cost under the link's reading and its rivals.
type weighing struct {
	bursts, weighed int64
	bits            [16]float64 // by reading, the link's own first
	squares         [16]float64 // of what each costs less in a burst
}

// due counts a burst and tells whether it is one to weigh.
func (w *weighing) due() bool {
	w.bursts++
	return w.bursts <= weighedAll || w.bursts%weighedEach == 0
}

// Weighs counts a burst and tells whether Weighed wants its description lengths.
func (f *Fold) Weighs() bool { return f.weighing.due() }

// Weighed takes the description lengths of a burst, as of uart.Rivals.
func (f *Fold) Weighed(bits []float64) {
	f.weighing.weighed++
	for i, b := range bits {
		f.weighing.bits[i] += b
		f.weighing.squares[i] += (bits[0] - b) * (bits[0] - b)
	}
}

// rivalFacts list by how many bits the best reading at another speed, in another format and with mark and space exchanged explains the
// line better than the link, in the bursts that were weighed: less than 0 where the link is best. Normal interval from the scatter
// between bursts. P is what the best of m readings gains by chance at most: m 2^-bits (A. A. Markov's inequality, as a description length
// is that of a law), or Student's one-sided p over the bursts where that is larger, as single bursts may be damaged. Vector: characters
// of a known line.
func (f *Fold) rivalFacts(dst []Fact) []Fact {
	w, all := &f.weighing, f.rivals
	for kind, id := range [uart.RivalKinds]string{"structure.speed-gain", "structure.format-gain", "structure.polarity-gain"} {
		x := newFact(id, capture.Line, "bits")
		best, at, m := math.Inf(-1), 0, 0.
		for i := range all {
			if i > 0 && all[i].Kind == uart.RivalKind(kind) {
				if m++; w.bits[0]-w.bits[i] > best {
					best, at = w.bits[0]-w.bits[i], i
				}
			}
		}
		x.N = w.weighed
		if x.Unmeasured = f.unweighed(m > 0); x.Measured() {
			w.tell(&x, at, m)
		}
		dst = append(dst, x)
	}
	return dst
}

// fewestWeighed is how many bursts tell at least.
const fewestWeighed = 4

// unweighed says why readings cannot be compared.
func (f *Fold) unweighed(rivals bool) string {
	switch {
	case !rivals:
		return "this line has no such other reading"
	case f.p.Supply.HalfWave:
		return "the supply is dark for half of the time, so that levels are not talk alone"
	case f.p.Either:
		return "this line is read in either polarity, burst by burst"
	case f.weighing.weighed < fewestWeighed:
		return "too little talk was seen"
	}
	return ""
}

// tell puts the gain of a reading, the best of m, into a fact.
func (w *weighing) tell(x *Fact, at int, m float64) {
	n, gain := float64(w.weighed), w.bits[0]-w.bits[at]
	spread := math.Sqrt(max(0, w.squares[at]-gain*gain/n) * n / (n - 1)) // standard deviation of the sum
	x.Value, x.Low, x.High, x.P = gain, gain-1.96*spread, gain+1.96*spread, 1
	if gain > 0 {
		p := math.Exp2(-gain)
		if spread > 0 {
			p = max(p, statistic.StudentTail(gain/spread, n-1))
		}
		x.P = statistic.LookElsewhere(p, m)
	}
}

// rivalsOf are the readings that are weighed of a link, its own first.
func rivalsOf(p *link.Profile, c capture.Clock) []uart.Rival {
	l := p.Line
	l.Speed = p.Speed()
	return uart.NewRivals(l, c).All
}
