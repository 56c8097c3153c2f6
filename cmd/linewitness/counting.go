package main

import (
	"linewitness/capture"
	"linewitness/decode/compare"
	"linewitness/decode/link"
)

// counts are what compare counts of a recording's frames, by side.
type counts struct {
	clock      capture.Clock
	all, whole int
	of         [8]sideCount
	asked      bool // a whole poll stands
	pollOf     capture.Side
	polls      [8]shares // by who was asked
}

type sideCount struct {
	damaged shares
	turns   thinned // turn-arounds, ms
}

// shares counts what went wrong of what could, and in how many runs.
type shares struct {
	n, k, runs int
	open       bool
}

func (s *shares) add(wrong bool) {
	s.n++
	if wrong {
		s.k++
		if !s.open {
			s.runs++
		}
	}
	s.open = wrong
}

func (s *shares) datum() compare.Datum { return compare.Datum{K: s.k, N: s.n, Runs: s.runs} }

func (c *counts) add(f *link.Frame) {
	whole := f.Why&^link.WhyTiming == 0
	c.all++
	s := &c.of[f.Side&7]
	if whole {
		c.whole++
		if f.Turnaround >= 0 {
			s.turns.add(1000 * c.clock.Seconds(f.Turnaround))
		}
	}
	s.damaged.add(!whole)
	switch {
	case f.Poll && f.Why == link.WhyUnframed:
	case f.Poll:
		c.answered(true)
		c.asked, c.pollOf = whole, f.Side
	case f.Side != c.pollOf:
		c.answered(false)
	}
}

// answered ends the poll that stands.
func (c *counts) answered(missing bool) {
	if to, ok := partners[c.pollOf]; ok && c.asked {
		c.polls[to].add(missing)
	}
	c.asked = false
}

// partners are who answers whom.
var partners = map[capture.Side]capture.Side{capture.Indoor: capture.Outdoor, capture.Outdoor: capture.Indoor,
	capture.SideA: capture.SideB, capture.SideB: capture.SideA}

// thinned keeps every n-th value, and doubles n whenever it is full, so that values stay spread over the whole recording.
type thinned struct {
	v     []float64
	every int
	skip  int
}

const mostThinned = 4096

func (t *thinned) add(v float64) {
	if t.skip > 0 {
		t.skip--
		return
	}
	if len(t.v) == mostThinned {
		for i := range mostThinned / 2 {
			t.v[i] = t.v[2*i]
		}
		t.v = t.v[:mostThinned/2]
		t.every = 2 * max(t.every, 1)
	}
	t.v = append(t.v, v)
	t.skip = max(t.every, 1) - 1
}
