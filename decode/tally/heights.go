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
	return h
}
