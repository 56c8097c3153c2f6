package validate

import (
	"fmt"

	"linewitness/capture"
)

// NoEdges lists the facts of edges where a recording has no volts.
func NoEdges() []Fact { return (&Edges{}).list("levels alone do not show the shape of an edge") }

// FactList lists the shape of the slowest kind of edge: its median time constant by area, how many of its edges take longer than
// the distance of samples, and the ratio of the areas before and after the middle, by which a curve (0.39) is told from a slope (1).
// Sound lines have capacitance too, so no P. Intervals as of medianOf and by C. J. Clopper and E. S. Pearson (1934). Vectors: those of
// EdgeShape.
func (e *Edges) FactList() []Fact { return e.list("no edge had room enough to be measured") }

func (e *Edges) list(why string) []Fact {
	k := e.slowest()
	if k == nil {
		k = &edgeKind{}
	}
	tau := newFact("edges.time-constant", capture.Line, "s")
	medianOf(&tau, &k.tau, 1, why)
	n := k.tau.N()
	slow := shareFact("edges.slow", capture.Line, Times{N: n - k.sharp}, n, why)
	shape := newFact("edges.shape", capture.Line, "")
	if n > 0 {
		why = fmt.Sprintf("all %d edges are sharper than 1.5 distances of samples", n)
	}
	medianOf(&shape, &k.shape, 1, why)
	return []Fact{tau, slow, shape}
}

// slowest is the kind of edge with the longest median time constant of those measured at least 8 times; nil: none.
func (e *Edges) slowest() (slow *edgeKind) {
	best := 0.
	for i := range e.kinds {
		for j := range e.kinds[i] {
			k := &e.kinds[i][j]
			if k.tau.N() < 8 {
				continue
			}
			if t := k.tau.Percentile(50); slow == nil || t > best {
				slow, best = k, t
			}
		}
	}
	return slow
}
