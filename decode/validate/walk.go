package validate

import (
	"slices"

	"linewitness/capture"
)

// walk goes through blocks run by run, and remembers between them what stands on the line.
type walk struct {
	level capture.Level
	known bool // something came before
}

// stretch is what of a run lies in a block.
type stretch struct {
	level, before capture.Level
	from          capture.Tick // the transition; where the stretch is fresh, its beginning
	turn          bool         // it begins with a transition
	fresh         bool         // nothing is known of what was before
	b             *capture.Block
	i, j, k       int // samples [i, j); the next transition
	begun         bool
}

// begin stands before the first stretch of a block.
func (w *walk) begin(b *capture.Block) stretch {
	s := stretch{b: b, level: b.First, from: b.Start, before: w.level}
	s.fresh = !w.known || b.Gap.Present()
	s.turn = !s.fresh && b.First != w.level
	return s
}

// end remembers how the block ended.
func (w *walk) end(b *capture.Block) { w.level, w.known = b.Last(), true }

// next goes to the next stretch.
func (s *stretch) next() bool {
	if s.begun {
		if s.k == len(s.b.At) {
			return false
		}
		s.before, s.level, s.from = s.level, s.b.To[s.k], s.b.At[s.k]
		s.turn, s.fresh, s.i = true, false, s.j
		s.k++
	}
	s.begun = true
	s.j = len(s.b.SampleAt)
	if s.k < len(s.b.At) {
		s.j = s.i + ahead(s.b.SampleAt[s.i:], s.b.At[s.k])
	}
	return true
}

// samples are those of the stretch.
func (s *stretch) samples() ([]capture.Tick, []float64) {
	return s.b.SampleAt[s.i:s.j], s.b.Volts[s.i:s.j]
}

// ahead counts the instants before t: mostly few, so it looks at the first ones in turn.
func ahead(at []capture.Tick, t capture.Tick) int {
	for i, a := range at {
		if a >= t {
			return i
		}
		if i == 24 {
			break
		}
	}
	n, _ := slices.BinarySearch(at, t)
	return n
}

// pace learns the usual distance of samples from the first of them: the smallest so far, then the lower quartile of 64.
type pace struct {
	last     capture.Tick
	n        int
	dist     [64]capture.Tick
	smallest capture.Tick
}

// add takes samples and tells how many it still wanted to see.
func (p *pace) add(at []capture.Tick) {
	for _, t := range at {
		if p.n > len(p.dist) {
			return
		}
		if p.n > 0 {
			d := t - p.last
			p.dist[p.n-1] = d
			if p.n == 1 || d < p.smallest {
				p.smallest = d
			}
		}
		p.last = t
		if p.n++; p.n > len(p.dist) {
			slices.Sort(p.dist[:])
			p.smallest = p.dist[len(p.dist)/4]
		}
	}
}

// pick is one of n things that an instant stands for, as good as drawn whatever grid instants lie on, but the same each time (the
// output function of SplitMix64; G. L. Steele, D. Lea, C. H. Flood, 2014).
func pick(at capture.Tick, n int) int {
	x := uint64(at) + 0x9E3779B97F4A7C15
	x = (x ^ x>>30) * 0xBF58476D1CE4E5B9
	x = (x ^ x>>27) * 0x94D049BB133111EB
	return int((x ^ x>>31) % uint64(n))
}
