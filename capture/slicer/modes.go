package slicer

import (
	"math"
	"slices"
)

// bins of the histogram of plateau values.
const bins = 1024

// mode is a value at which plateaus gather.
type mode struct {
	value  float64
	weight float64 // plateaus, each at most 1
	time   float64 // samples
	valley float64 // density between it and the mode above, relative to the lesser of both
	from   float64 // of the values that belong to it
	to     float64
}

// modesOf finds at most three modes. Long plateaus count as much as short ones (saturating at cap samples), so that a
// rare talker's level shows and rests do not drown it. The density is smoothed until no more than three modes with real
// valleys are left: the two humps of a hum merge before two levels do.
func modesOf(seen []plateau, noise float64, weightCap int) []mode {
	if len(seen) == 0 {
		return nil
	}
	p := slices.Clone(seen)
	slices.SortFunc(p, func(a, b plateau) int {
		switch {
		case a.value < b.value:
			return -1
		case a.value > b.value:
			return 1
		}
		return a.n - b.n
	})
	low, span := p[0].value, p[len(p)-1].value-p[0].value
	if span <= 6*noise || span <= 0 {
		return []mode{basin(p, weightCap)}
	}
	hist := make([]float64, bins)
	for _, x := range p {
		hist[min(int((x.value-low)/span*(bins-1)+0.5), bins-1)] += weight(x, weightCap)
	}
	for h := max(1.5*noise/span*bins, 2.5); h < bins/3; h *= 1.4 {
		m := split(p, smooth(hist, int(h)), low, span, noise, weightCap)
		if m = heaviest(m); len(m) < 3 || len(m) == 3 && linked(m, seen) {
			return m
		}
	}
	return []mode{basin(p, weightCap)}
}

// weight of a plateau: none if it is far shorter than usual, since then it is the end of a pulse that did not come to rest.
func weight(p plateau, weightCap int) float64 {
	if 2*p.n < weightCap {
		return 0
	}
	return float64(min(p.n, weightCap)) / float64(weightCap)
}

// smooth is a moving mean of half width h, twice.
func smooth(x []float64, h int) []float64 {
	for range 2 {
		y := make([]float64, len(x))
		sum := 0.0
		for i := -h; i < len(x); i++ {
			if i+h < len(x) {
				sum += x[i+h]
			}
			if i-h-1 >= 0 {
				sum -= x[i-h-1]
			}
			if i >= 0 {
				y[i] = max(sum, 0)
			}
		}
		x = y
	}
	return x
}

// split cuts sorted plateaus at the real valleys of their density and drops what has too little weight.
func split(p []plateau, density []float64, low, span, noise float64, weightCap int) []mode {
	peaks, cuts, depth := valleys(density)
	var all []mode
	total, from := 0.0, 0
	for i := range peaks {
		to := len(p)
		if i < len(cuts) {
			limit := low + (float64(cuts[i])+0.5)/(bins-1)*span
			to = from + upTo(p[from:], limit)
		}
		if to > from {
			m := basin(p[from:to], weightCap)
			if i < len(depth) {
				m.valley = depth[i]
			}
			total += m.weight
			all = append(all, m)
		}
		from = to
	}
	least := max(0.03*total, min(2.5, 0.1*total))
	all = slices.DeleteFunc(all, func(m mode) bool { return m.weight < least })
	return joinClose(all, noise, p, weightCap)
}

// linked tells whether three modes are levels of one line: on a loop each jump starts or ends at mark, in the middle; a pair
// is driven to either side of zero. The humps of a hum or a drift have no jumps between them.
func linked(m []mode, seen []plateau) bool {
	if driven(m[0].value, m[2].value) {
		return true
	}
	var jumps [3][3]int
	last := -1
	for _, x := range seen {
		now := slices.IndexFunc(m, func(y mode) bool { return x.value >= y.from && x.value <= y.to })
		if now >= 0 && last >= 0 {
			jumps[min(last, now)][max(last, now)]++
		}
		last = now
	}
	return jumps[0][1] > jumps[0][2] && jumps[1][2] > jumps[0][2]
}

// driven tells whether two levels stand about alike on either side of zero.
func driven(low, high float64) bool {
	return low < 0 && high > 0 && math.Abs(low+high) < 0.4*(high-low)
}

// heaviest leaves three modes if they have nearly all the weight: the others are levels under a sag.
func heaviest(m []mode) []mode {
	if len(m) <= 3 {
		return m
	}
	w, total := make([]float64, len(m)), 0.0
	for i := range m {
		w[i] = m[i].weight
		total += w[i]
	}
	slices.Sort(w)
	third, fourth := w[len(w)-3], w[len(w)-4]
	if fourth > third/2 || third+w[len(w)-2]+w[len(w)-1] < 0.6*total {
		return m
	}
	return slices.DeleteFunc(slices.Clone(m), func(x mode) bool { return x.weight < third })
}

// upTo is the number of plateaus up to a value.
func upTo(p []plateau, limit float64) int {
	n, _ := slices.BinarySearchFunc(p, limit, func(a plateau, x float64) int {
		if a.value <= x {
			return -1
		}
		return 1
	})
	return n
}

// joinClose joins modes that the noise does not let tell apart.
func joinClose(all []mode, noise float64, p []plateau, weightCap int) []mode {
	for i := 0; i+1 < len(all); {
		if all[i+1].value-all[i].value >= 6*noise {
			i++
			continue
		}
		from, to := upTo(p, math.Nextafter(all[i].from, math.Inf(-1))), upTo(p, all[i+1].to)
		valley := all[i+1].valley
		all[i] = basin(p[from:to], weightCap)
		all[i].valley = valley
		all = slices.Delete(all, i+1, i+2)
	}
	return all
}

// realValley is the density between two modes, relative to the lesser, from which on they are one. An arcsine
// distribution (hum) has 0.3 to 0.6 in its middle.
const realValley = 0.25

// valleys gives the peaks of a density that real valleys part, and the places and depths of those.
func valleys(d []float64) (peaks, cuts []int, depth []float64) {
	best, lowest := 0, -1
	for i := 1; i < len(d); i++ {
		switch {
		case lowest < 0 && d[i] > d[best]:
			best = i
		case lowest < 0 && d[i] < realValley*d[best]:
			lowest = i
		case lowest >= 0 && d[i] < d[lowest]:
			lowest = i
		case lowest >= 0 && d[i]*realValley > d[lowest]:
			// Up again: a valley if it is deep against what rises here, which the later peak can only deepen.
			peaks, cuts = append(peaks, best), append(cuts, middle(d, lowest))
			depth = append(depth, d[lowest]/max(d[i], 1e-300))
			best, lowest = i, -1
		}
	}
	return append(peaks, best), cuts, depth
}

// middle of the flat bottom that starts at i.
func middle(d []float64, i int) int {
	j := i
	for j+1 < len(d) && d[j+1] <= d[i] {
		j++
	}
	return (i + j) / 2
}

// basin is the mode of all of p, which is sorted: the median, in which plateaus weigh by the square of their length, since short ones
// may not have come to rest.
func basin(p []plateau, weightCap int) mode {
	m := mode{from: p[0].value, to: p[len(p)-1].value}
	all := 0.0
	square := func(x plateau) float64 {
		n := float64(min(x.n, 32*weightCap))
		return n * n
	}
	for _, x := range p {
		m.weight += weight(x, weightCap)
		m.time += float64(x.n)
		all += square(x)
	}
	sum := 0.0
	for _, x := range p {
		if sum += square(x); sum*2 >= all {
			m.value = x.value
			break
		}
	}
	return m
}
