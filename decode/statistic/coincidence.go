package statistic

import (
	"math"
	"slices"
)

// Coincidence says how many events lie near events of another kind.
type Coincidence struct {
	N, Near  int      // events, and those within the window
	Expected float64  // share that lies near by chance: the share of the line within the window
	P        float64  // of as many or more near
	Exact    bool     // p is the law of circular shifts, else a binomial one
	Share    Estimate // share that the others explain, 95 %; see [AttributableShare]
}

// coincidenceLimit bounds the crossings that are sorted.
const coincidenceLimit = 2_000_000

// CoincidenceTest counts the events at instants a that lie within the window of some instant of b, both within
// 0..length. p is the share of all circular shifts of a against b with as many near: exact whatever
// the clustering of a and of b, if nothing else ties both to time. It is never below one over the number of
// distinct shifts. Above 2 million crossings p is binomial, which supposes independent events of a.
func CoincidenceTest(a, b []float64, window, length float64) Coincidence {
	nan := math.NaN()
	if !(length > 0) || math.IsInf(length, 1) || !(window >= 0) || !allWithin(a, length) || !allWithin(b, length) {
		return Coincidence{0, 0, nan, nan, false, Estimate{nan, unknown()}}
	}
	zones := nearZones(b, window, length)
	covered := 0.0
	for _, z := range zones {
		covered += z.Upper - z.Lower
	}
	out := Coincidence{N: len(a), Expected: math.Min(1, covered/length), P: 1}
	for _, t := range a {
		if slices.ContainsFunc(zones, func(z Interval) bool { return z.Contains(t) }) {
			out.Near++
		}
	}
	out.Share = AttributableShare(out.Near, out.N, out.Expected, 0.95)
	switch {
	case out.Near == 0:
		out.Exact = true
	case len(a) > coincidenceLimit/(2*len(zones)):
		out.P = binomialAtLeast(out.Near, out.N, out.Expected)
	default:
		out.P, out.Exact = shiftShare(a, zones, out.Near, length), true
	}
	return out
}

func allWithin(x []float64, length float64) bool {
	return !slices.ContainsFunc(x, func(v float64) bool { return !(v >= 0 && v <= length) })
}

// nearZones are the stretches of the circle within the window of an instant, cut at 0, sorted and apart.
func nearZones(b []float64, window, length float64) []Interval {
	if len(b) > 0 && 2*window >= length {
		return []Interval{{0, length}}
	}
	var raw []Interval
	for _, t := range b {
		lo, hi := t-window, t+window
		switch {
		case lo < 0:
			raw = append(raw, Interval{lo + length, length}, Interval{0, hi})
		case hi > length:
			raw = append(raw, Interval{lo, length}, Interval{0, hi - length})
		default:
			raw = append(raw, Interval{lo, hi})
		}
	}
	slices.SortFunc(raw, func(p, q Interval) int { return compareFloats(p.Lower, q.Lower) })
	var zones []Interval
	for _, z := range raw {
		if n := len(zones); n > 0 && z.Lower <= zones[n-1].Upper {
			zones[n-1].Upper = math.Max(zones[n-1].Upper, z.Upper)
			continue
		}
		zones = append(zones, z)
	}
	return zones
}

// shiftShare is the share of shifts 0..length of a with at least near of them in the zones.
func shiftShare(a []float64, zones []Interval, near int, length float64) float64 {
	type crossing struct {
		at   float64
		step int
	}
	var all []crossing
	count := 0 // just after a shift of 0
	for _, t := range a {
		for _, z := range zones {
			in, out := z.Lower-t, z.Upper-t
			if in <= 0 && out > 0 {
				count++
			}
			if in <= 0 {
				in += length
			}
			if out <= 0 {
				out += length
			}
			all = append(all, crossing{in, 1}, crossing{out, -1})
		}
	}
	slices.SortFunc(all, func(p, q crossing) int { return compareFloats(p.at, q.at) })
	last, enough := 0.0, 0.0
	for _, c := range all {
		if count >= near {
			enough += math.Min(c.at, length) - last
		}
		last = math.Min(c.at, length)
		count += c.step
	}
	if count >= near {
		enough += length - last
	}
	return clamp01(math.Max(enough/length, 1/float64(len(all)+1)))
}
