package compare

import "math"

// path is an alignment as far as single frames: which whole frame of the second recording each of the first is.
type path struct {
	seed
	to     []int32 // by frame of the first; -1: none
	n      int     // matched
	aloneA int     // whole frames of the first that the second, while it recorded, does not show
	aloneB int
	score  float64
}

// follow walks from a seed both ways. Each frame is sought where the last one that was found, and the drift learned so
// far, say that it must be, so that clocks may wander over hours.
func follow(a, b *heard, s seed, near float64) *path {
	p := &path{seed: s, to: make([]int32, len(a.at)), n: 1}
	for i := range p.to {
		p.to[i] = -1
	}
	p.to[s.i] = int32(s.j)
	p.walk(a, b, near, 1)
	p.walk(a, b, near, -1)
	if p.n >= leastHits {
		p.count(a, b)
		p.score = p.fit(a, b, near)
	}
	return p
}

// ring holds the last matches: the drift is read from the oldest of them to the newest.
type ring struct {
	ta, tb [256]float64
	n      int
}

func (r *ring) add(ta, tb float64) {
	r.ta[r.n%len(r.ta)], r.tb[r.n%len(r.tb)] = ta, tb
	r.n++
}

// drift is the ratio of the clocks less 1, and how far it may be off.
func (r *ring) drift(near float64) (drift, within float64) {
	last, old := (r.n-1)%len(r.ta), 0
	if r.n > len(r.ta) {
		old = r.n % len(r.ta)
	}
	span := math.Abs(r.ta[last] - r.ta[old])
	if within = near/span + wander; r.n < 8 || within > mostDrift {
		return 0, mostDrift
	}
	return (r.tb[last]-r.tb[old])/(r.ta[last]-r.ta[old]) - 1, within
}

// walk goes on from the seed in one direction, +1 or -1.
func (p *path) walk(a, b *heard, near float64, dir int) {
	var past ring
	ta, tb, j := a.at[p.i], b.at[p.j], p.j
	past.add(ta, tb)
	drift, within := past.drift(near)
	for i := p.i + dir; i >= 0 && i < len(a.at); i += dir {
		gap := a.at[i] - ta
		at, tol := tb+gap*(1+drift), near+within*math.Abs(gap)
		if at < b.from-tol || at > b.to+tol {
			break
		}
		if k := beside(b, j+dir, dir, at, tol, a.hash[i]); k >= 0 {
			p.to[i] = int32(k)
			p.n++
			ta, tb, j = a.at[i], b.at[k], k
			past.add(ta, tb)
			drift, within = past.drift(near)
			continue
		}
		for j+dir >= 0 && j+dir < len(b.at) && float64(dir)*(at-b.at[j+dir]) > tol+mostDrift*math.Abs(gap) {
			j += dir // far behind: never looked at again
		}
	}
}

// beside is find in either direction.
func beside(h *heard, j, dir int, at, near float64, hash uint64) (best int) {
	best, off := -1, math.Inf(1)
	for ; j >= 0 && j < len(h.at); j += dir {
		d := float64(dir) * (h.at[j] - at)
		if d > near {
			break
		}
		if -d > near || h.hash[j] != hash {
			continue
		}
		if d = math.Abs(d); d < off {
			best, off = j, d
		}
	}
	return best
}

// count counts what has no partner while both recorded.
func (p *path) count(a, b *heard) {
	m := p.axis(a, b)
	taken := make([]bool, len(b.at))
	for i, j := range p.to {
		if j >= 0 {
			taken[j] = true
		} else if t := m.second(a.at[i]); t >= b.from && t <= b.to {
			p.aloneA++
		}
	}
	for j, t := range b.at {
		if t = m.first(t); !taken[j] && t >= a.from && t <= a.to {
			p.aloneB++
		}
	}
}

// fit weighs a path: its gaps, each the more the better it agrees, less a part of what stands alone.
func (p *path) fit(a, b *heard, near float64) float64 {
	sum := 0.0
	for _, d := range p.offs(a, b) {
		sum += closeness(d, near)
	}
	return sum - 0.25*float64(p.aloneA+p.aloneB)
}

// offs are by how much the gaps from one matched frame to the next differ.
func (p *path) offs(a, b *heard) []float64 {
	all := make([]float64, 0, p.n)
	last := -1
	for i, j := range p.to {
		if j < 0 {
			continue
		}
		if last >= 0 {
			all = append(all, math.Abs(a.at[i]-a.at[last]-(b.at[j]-b.at[p.to[last]])))
		}
		last = i
	}
	return all
}
