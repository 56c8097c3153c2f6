package tally

import (
	"math"
	"sort"

	"linewitness/capture"
)

// Heights are the volts at which an excerpt's levels stand, by level; NaN where one was not seen to settle.
func (e *Excerpt) Heights() (h [4]float64) {
	if len(e.Line.At) == 0 && e.Usual != h {
		return e.Usual
	}
	var seen [4][]float64
	level, next := e.First, 0
	for i := range e.Volts {
		c := &e.Volts[i]
		changed := false
		for next < len(e.Line.At) && e.Line.At[next] <= c.At {
			level = e.Line.To[next]
			next++
			changed = true
		}
		edge := changed || next < len(e.Line.At) && i+1 < len(e.Volts) && e.Line.At[next] <= e.Volts[i+1].At
		if !edge && level <= capture.High {
			seen[level] = append(seen[level], (c.Low+c.High)/2)
		}
	}
	for l := range h {
		h[l] = math.NaN()
		if v := seen[l]; l != int(capture.Unknown) && len(v) > 0 {
			sort.Float64s(v)
			h[l] = v[len(v)/2]
		}
	}
	if mark := h[capture.Mid]; !math.IsNaN(mark) {
		low, high := math.Inf(1), math.Inf(-1)
		for i := range e.Volts {
			low, high = math.Min(low, e.Volts[i].Low), math.Max(high, e.Volts[i].High)
		}
		for _, l := range [2]capture.Level{capture.Low, capture.High} {
			if h[l] = inner(seen[l], h[l], mark); math.Abs(h[l]-mark) < 0.02*(high-low) {
				h[l] = math.NaN() // it is mark, called so before the levels were known
			}
		}
	}
	return h
}

// inner is where an open state of a loop stands: usually, or on the side of mark where its volts run off from there, which moves
// their middle by a tenth of the way and more; NaN: too little of it was seen.
func inner(v []float64, usual, mark float64) float64 {
	const few, far = 3, 0.1
	if len(v) < few {
		return math.NaN()
	}
	sort.Slice(v, func(i, j int) bool { return math.Abs(v[i]-mark) < math.Abs(v[j]-mark) })
	near := v[len(v)/5]
	if math.Abs(usual-near) < far*math.Abs(near-mark) {
		return usual
	}
	return near
}
