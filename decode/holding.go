package decode

import (
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
	if h.times.N++; len(h.times.At) < validate.MostTimes {
		h.times.At = append(h.times.At, h.since)
	}
}

// facts are those so far, the hold that has not ended included.
func (h *holding) facts(c capture.Clock) (low, high float64, times validate.Times) {
	all := *h
	all.times.At = append([]capture.Tick(nil), h.times.At...)
	if all.known {
		all.count(all.end, c)
	}
	return c.Seconds(all.of[capture.Low]), c.Seconds(all.of[capture.High]), all.times
}
