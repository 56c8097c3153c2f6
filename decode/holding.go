package decode

import (
	"slices"

	"linewitness/capture"
	"linewitness/decode/validate"
)

// longHold is longer than any character lasts (at 20 Bd half a second) and any reset of a unit's sender needs, s.
const longHold = 0.8

// holding adds up how long a loop stands away from mark without a break: no talk does that.
type holding struct {
	level capture.Level
	since capture.Tick
	end   capture.Tick
	known bool
	of    [4]capture.Tick
	times validate.Times
	ends  bool              // the recording ended in one
	each  [4]validate.Times // by level
}

func (h *holding) add(b *capture.Block, c capture.Clock) {
	if !h.known || b.Gap.Present() || b.First != h.level {
		h.turn(b.First, b.Start, c)
	}
	for i, at := range b.At {
		h.turn(b.To[i], at, c)
	}
	h.end, h.known = b.End, true
}

// turn ends one level and begins the next.
func (h *holding) turn(to capture.Level, at capture.Tick, c capture.Clock) {
	if h.known {
		h.count(min(at, max(h.end, at)), c)
	}
	h.level, h.since, h.known = to, at, true
}

func (h *holding) count(until capture.Tick, c capture.Clock) {
	if h.level != capture.Low && h.level != capture.High || until-h.since < c.Ticks(longHold) {
		return
	}
	h.of[h.level] += until - h.since
	for _, t := range [2]*validate.Times{&h.times, &h.each[h.level]} {
		if t.N++; len(t.At) < validate.MostTimes {
			t.At = append(t.At, h.since)
		}
	}
}

// at are those of one level so far, how long they lasted in all, s, and whether one runs on.
func (h *holding) at(level capture.Level, c capture.Clock) (times validate.Times, seconds float64, ends bool) {
	all := h.copy(c)
	return all.each[level], c.Seconds(all.of[level]), all.ends && all.level == level
}

// copy has the hold that has not ended counted.
func (h *holding) copy(c capture.Clock) holding {
	all := *h
	all.times.At = slices.Clone(h.times.At)
	for i := range all.each {
		all.each[i].At = slices.Clone(h.each[i].At)
	}
	if all.known {
		n := all.times.N
		all.count(all.end, c)
		all.ends = all.times.N > n
	}
	return all
}

// facts are those so far, the hold that has not ended included; ends says that there is one.
func (h *holding) facts(c capture.Clock) (low, high float64, times validate.Times, ends bool) {
	all := h.copy(c)
	return c.Seconds(all.of[capture.Low]), c.Seconds(all.of[capture.High]), all.times, all.ends
}
