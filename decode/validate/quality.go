package validate

import (
	"math"

	"linewitness/decode/link"
	"linewitness/decode/uart"
)

// dirtyMargin: a character that leaves a receiver less than this fraction of the unit interval does not have clean bits.
// A total distortion over 40 % is sure to misprint (US Army training text SS0031); half of the half bit is kept here.
const dirtyMargin = 0.25

// Quality is what one frame's edges say.
type Quality struct {
	Fit   uart.Fit
	Bias  float64    // mean over its characters, of the unit interval; NaN: none
	Lean  float64    // how much of a relative clock error leaks into Bias
	Iso   float64    // largest minus smallest displacement within the frame
	Edges FrameEdges // what an EdgeWalk measured
	Dirty bool       // a rule of the format broken, a pulse too short, or edges far from their place
}

// Measure reads the quality of a frame from its characters and their fits.
func Measure(f *link.Frame, fits []uart.CharFit) (q Quality) {
	var late, early float32
	var faults uart.Fault
	n := 0
	for i := range f.Chars {
		c, g := &f.Chars[i], &fits[i]
		late, early = max(late, c.Late), min(early, c.Early)
		faults |= c.Fault
		if c.Fault&(edgeFaults) != 0 {
			continue // its edges may belong to anything
		}
		q.Fit.AddChar(*g)
		if b := float64(c.Bias); b == b {
			q.Bias += b
			q.Lean += float64(g.Lean)
			n++
		}
	}
	q.Iso = float64(late - early)
	q.Dirty = faults&^uart.FaultCut != 0 || late > 0.5-dirtyMargin || early < dirtyMargin-0.5
	if n == 0 {
		q.Bias = math.NaN()
		return q
	}
	q.Bias /= float64(n)
	q.Lean /= float64(n)
	return q
}
