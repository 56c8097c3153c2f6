package validate

import (
	"cmp"
	"math"
	"slices"

	"linewitness/capture"
	"linewitness/decode/statistic"
)

// Shift is how the levels stand at two kinds of times, where mark keeps to one of two heights: a fault that comes and goes, or
// came, moves it, and which levels go along tells what it is. NaN: not seen at those times.
type Shift struct {
	Bins           [2]int     // time bins of each kind; 0: there are no two kinds
	Low, Mid, High [2]float64 // V; those with the larger magnitude of High (of Mid, where High stands) come first
}

const (
	shiftPart   = 0.05 // of the levels' distance: the least that counts
	shiftSpread = 4.0  // standard deviations within a kind
	shiftBins   = 2    // of a kind, at least
)

// Found tells whether there are two kinds of times.
func (s *Shift) Found() bool { return s.Bins[0] > 0 }

// shift splits the time bins in two by mark where that lessens the squares most (two means in one dimension, exact).
func (l *Levels) shift() (s Shift) {
	var at []int
	for i := range timeBins {
		if l.of[capture.Mid].time[i].n >= timeLeast {
			at = append(at, i)
		}
	}
	mid := func(i int) float64 { return l.of[capture.Mid].time[i].mean() }
	slices.SortFunc(at, func(a, b int) int { return cmp.Compare(mid(a), mid(b)) })
	cut := bestCut(at, mid)
	if cut == 0 {
		return s
	}
	kind := [2][]int{at[:cut], at[cut:]}
	a, b := l.typical(capture.Mid, kind[0]), l.typical(capture.Mid, kind[1])
	high := [2]float64{l.typical(capture.High, kind[0]), l.typical(capture.High, kind[1])}
	within := statistic.NormalMAD * max(statistic.MAD(l.means(capture.Mid, kind[0])), statistic.MAD(l.means(capture.Mid, kind[1])))
	if d := math.Abs(a - b); d < shiftPart*l.distance() || d < shiftSpread*within {
		return s
	}
	first, x, y := 0, math.Abs(high[0]), math.Abs(high[1])
	if !(math.Abs(x-y) > shiftPart*max(x, y)) { // High stands, or was not seen
		x, y = math.Abs(a), math.Abs(b)
	}
	if y > x {
		first = 1
	}
	for i := range 2 {
		k := kind[(i+first)%2]
		s.Bins[i] = len(k)
		s.Low[i], s.Mid[i], s.High[i] = l.typical(capture.Low, k), l.typical(capture.Mid, k), l.typical(capture.High, k)
	}
	return s
}

// bestCut is where sorted bins are cut in two; 0: there are too few.
func bestCut(at []int, of func(int) float64) (cut int) {
	best, left, all := math.Inf(-1), 0.0, 0.0
	for _, i := range at {
		all += of(i)
	}
	for n := 1; n < len(at); n++ {
		left += of(at[n-1])
		if n < shiftBins || len(at)-n < shiftBins {
			continue
		}
		// What the squares are lessened by, but for a constant.
		if gain := left*left/float64(n) + (all-left)*(all-left)/float64(len(at)-n); gain > best {
			best, cut = gain, n
		}
	}
	return cut
}

func (b *timeBin) mean() float64 { return b.sum / float64(b.n) }

// means are those of a level in some time bins.
func (l *Levels) means(level capture.Level, bins []int) (m []float64) {
	for _, i := range bins {
		if b := &l.of[level].time[i]; b.n >= timeLeast {
			m = append(m, b.mean())
		}
	}
	return m
}

// typical is the median of a level's means, NaN where it was not seen.
func (l *Levels) typical(level capture.Level, bins []int) float64 {
	return statistic.Median(l.means(level, bins))
}

// distance is that of the outermost levels seen, or of the farther from 0 V where no other was.
func (l *Levels) distance() float64 {
	low, high := 0.0, 0.0
	for level := capture.Low; level <= capture.High; level++ {
		if s := &l.of[level]; s.n > 0 {
			m := s.sum / float64(s.n)
			low, high = min(low, m), max(high, m)
		}
	}
	return high - low
}
