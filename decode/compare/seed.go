package compare

import "math"

// seed is a pair of whole frames, of the first recording and of the second, that may be one.
type seed struct{ i, j int }

// rare looks for seeds by content alone: two frames in a row that come once in each recording. Those that keep their
// distances in time form runs; the middle of each of the longest is a seed.
func rare(a, b *heard, near float64) []seed {
	inA, inB := pairsOf(a), pairsOf(b)
	var open [4]run
	var best []run
	for i := 0; i+1 < len(a.at); i++ {
		key := pairKey(a, i)
		x, y := inA[key], inB[key]
		if x.n != 1 || y.n != 1 {
			continue
		}
		s := seed{i, int(y.at)}
		k := 0
		for k < len(open) && !open[k].takes(a, b, s, near) {
			k++
		}
		if k == len(open) { // none goes on so: the one that rested longest ends
			k = 0
			for n := range open {
				if open[n].last.i < open[k].last.i {
					k = n
				}
			}
			best = append(best, open[k])
			open[k] = run{}
		}
		open[k].add(s)
	}
	best = append(best, open[:]...)
	return longest(best)
}

type once struct{ at, n int32 }

// pairsOf counts each pair of neighbours.
func pairsOf(h *heard) map[uint64]once {
	m := make(map[uint64]once, len(h.at))
	for i := 0; i+1 < len(h.at); i++ {
		key := pairKey(h, i)
		m[key] = once{int32(i), m[key].n + 1}
	}
	return m
}

func pairKey(h *heard, i int) uint64 {
	return h.hash[i]*0x9E3779B97F4A7C15 ^ h.hash[i+1]
}

// run is a row of seeds that keep their distances.
type run struct {
	seeds []seed
	last  seed
}

func (r *run) takes(a, b *heard, s seed, near float64) bool {
	if len(r.seeds) == 0 {
		return true
	}
	ga, gb := a.at[s.i]-a.at[r.last.i], b.at[s.j]-b.at[r.last.j]
	return gb > 0 && math.Abs(gb-ga) <= near+mostDrift*ga
}

func (r *run) add(s seed) { r.seeds, r.last = append(r.seeds, s), s }

// longest are the middles of the longest runs, longest first.
func longest(all []run) (seeds []seed) {
	for len(seeds) < mostSeeds {
		best := -1
		for k := range all {
			if len(all[k].seeds) >= 3 && (best < 0 || len(all[k].seeds) > len(all[best].seeds)) {
				best = k
			}
		}
		if best < 0 {
			break
		}
		seeds = append(seeds, all[best].seeds[len(all[best].seeds)/2])
		all[best] = run{}
	}
	return seeds
}
