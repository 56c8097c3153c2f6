package tally

import (
	"math/bits"

	"linewitness/capture"
)

// Waits counts lengths of time in bins of fixed edges: each octave of ticks has waitSteps bins of equal width, 6 to 3 % of what they
// hold. Lengths under waitSteps ticks have a bin each.
type Waits struct {
	Bins [(64 - waitBits) * waitSteps]int64
}

const (
	waitBits  = 4
	waitSteps = 1 << waitBits
)

// N is how many were counted.
func (w *Waits) N() int64 { return sum(w.Bins[:]) }

// Add counts one length; a negative one counts as 0.
func (w *Waits) Add(t capture.Tick) {
	w.Bins[waitBin(t)]++
}

func waitBin(t capture.Tick) int {
	u := uint64(max(t, 0))
	octave := max(bits.Len64(u)-waitBits-1, 0)
	return octave<<waitBits + int(u>>octave)
}

// Edges are the lengths that bin i holds: from, up to but not including to.
func (w *Waits) Edges(i int) (from, to capture.Tick) { return waitEdge(i), waitEdge(i + 1) }

func waitEdge(i int) capture.Tick {
	octave := max(i>>waitBits-1, 0)
	return capture.Tick(i-octave<<waitBits) << octave
}

// Merge folds o into w.
func (w *Waits) Merge(o *Waits) {
	for i, n := range o.Bins {
		w.Bins[i] += n
	}
}
