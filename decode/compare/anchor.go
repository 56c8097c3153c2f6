package compare

import (
	"math"
	"slices"
)

// Where contents repeat, the gaps between frames tell occasions apart: windows of so many frames, so many of them spread
// over the shorter recording, are sought all over the longer one.
const (
	anchors     = 16
	window      = 24
	mostMisses  = window / 3
	bestAnchors = 3 // places kept of each
)

// place is where a window fits.
type place struct {
	seed
	fit float64 // gaps that agree, each the more the better it does
}

// gaps looks for seeds by windows of frames whose contents and gaps agree.
func gaps(a, b *heard, near float64) (seeds []seed) {
	short, long, swapped := a, b, false
	if len(b.at) < len(a.at) {
		short, long, swapped = b, a, true
	}
	n := len(short.at) - window
	if n < 0 {
		return nil
	}
	last := -1
	for k := range anchors {
		i := n * k / (anchors - 1)
		if i == last {
			continue
		}
		last = i
		for _, p := range fits(short, long, i, near) {
			s := p.seed
			if swapped {
				s.i, s.j = s.j, s.i
			}
			seeds = append(seeds, s)
		}
	}
	return seeds
}

// fits are the places of long at which the window of short at i fits best.
func fits(short, long *heard, i int, near float64) (best []place) {
	for j := range long.at {
		if long.hash[j] != short.hash[i] {
			continue
		}
		p, ok := walk(short, long, seed{i, j}, near)
		if !ok {
			continue
		}
		at, _ := slices.BinarySearchFunc(best, p, func(x, y place) int {
			if x.fit > y.fit {
				return -1
			}
			return 1
		})
		if at < bestAnchors {
			best = slices.Insert(best, at, p)
			best = best[:min(len(best), bestAnchors)]
		}
	}
	return best
}

// walk weighs how many frames of a window stand in long where the gaps want them, and gives up early.
func walk(short, long *heard, s seed, near float64) (p place, ok bool) {
	p = place{seed: s}
	pa, pb, misses := s.i, s.j, 0
	for k := s.i + 1; k < s.i+window; k++ {
		gap := short.at[k] - short.at[pa]
		j, off := find(long, pb+1, long.at[pb]+gap, near+mostDrift*gap, short.hash[k])
		if j < 0 {
			if misses++; misses > mostMisses {
				return p, false
			}
			continue
		}
		p.fit += closeness(off, near)
		pa, pb = k, j
	}
	return p, true
}

// closeness is 1 where nothing is between, 0 from near on.
func closeness(off, near float64) float64 { return max(0, 1-off/near) }

// find is the frame from index j on with that content that is nearest to an instant, and how far it is; -1: none is near.
func find(h *heard, j int, at, near float64, hash uint64) (best int, off float64) {
	best, off = -1, math.Inf(1)
	for ; j < len(h.at) && h.at[j] <= at+near; j++ {
		if h.at[j] < at-near || h.hash[j] != hash {
			continue
		}
		if d := math.Abs(h.at[j] - at); d < off {
			best, off = j, d
		}
	}
	return best, off
}
