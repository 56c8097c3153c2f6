package verdict

import (
	"math"

	"linewitness/decode/cause"
	"linewitness/decode/validate"
)

// How losses follow each other is likelier under one kind of cause than under another: a fault that lasts loses everything from some
// instant on, a contact or a supply loses runs, noise and wrong edges lose here and there. The order counts as much as the number.

// courses are the shares in which a cause loses here and there, from some instant on, and in spells. Read off the circuit, not fitted.
type courses struct{ here, onset, spells float64 }

// courseOf is how a cause loses what it acts on.
func courseOf(c cause.Cause) courses {
	switch c {
	case cause.OpenConductor, cause.ShortedConductors, cause.ReversedConductors, cause.SilentSender, cause.StuckSender, cause.NoPower, cause.SpeedMismatch,
		cause.WrongLink, cause.Addressing, cause.BadChecksum:
		return courses{0.15, 0.7, 0.15}
	case cause.Restarts: // it comes back
		return courses{0.3, 0.02, 0.68}
	case cause.IntermittentContact, cause.PoorJoint, cause.VoltageSag, cause.LoopSupply, cause.Leakage, cause.ImpulseNoise, cause.Crosstalk, cause.MainsHum,
		cause.OtherCause:
		return courses{0.35, 0.15, 0.5}
	case cause.ProbeArtefact: // it measures as it measures
		return courses{0.85, 0.05, 0.1}
	}
	return courses{0.7, 0.15, 0.15}
}

// logCourse is ln of the marginal likelihood of good and bad ones in their order. Without one (n differs from what was counted), and
// where all are good, only the numbers count.
func (l lost) logCourse(c courses) float64 {
	here := betaBinomial(l.bad(), l.good, 1, 1)
	if float64(l.course.N) != l.good+l.bad() || l.course.Bad == 0 {
		return here
	}
	return logMix([]float64{c.here, c.onset, c.spells}, []float64{here, moves(&l.course, 1, rare, 1, lasts), moves(&l.course, 1, rare, 1, 1)})
}

// How seldom a good one is followed by a bad one where a fault begins, and a bad one by a good one where it lasts: Beta(1, x).
const (
	rare  = 20
	lasts = 200
)

// moves is ln of the marginal likelihood of a row of good and bad ones whose chances to turn bad and to turn good again are
// Beta(badA, badB) and Beta(goodA, goodB); either may be the first.
func moves(c *validate.Course, badA, badB, goodA, goodB float64) float64 {
	gg, gb, bb, bg := c.Moves()
	return betaBinomial(float64(gb), float64(gg), badA, badB) + betaBinomial(float64(bg), float64(bb), goodA, goodB) - math.Ln2
}

// logMix is ln of the weighted mean of exp(x).
func logMix(w, x []float64) float64 {
	top := math.Inf(-1)
	for _, v := range x {
		top = math.Max(top, v)
	}
	sum := 0.0
	for i, v := range x {
		sum += w[i] * math.Exp(v-top)
	}
	return top + math.Log(sum)
}

// endsBad tells that a row of bad ones stands at the end which chance does not make: what was good before need not be so now.
func endsBad(c *validate.Course) bool { return c.Last >= 8 && 5*c.Last >= c.N }
