package record_test

import (
	"math"
	"slices"

	"pgregory.net/rapid"

	"linewitness/capture"
)

// blockGen draws any block that the rules allow: levels of 2 and 3, gaps of every kind, doubts, irregular and even
// samples, octets in any order, ticks up to both ends of int64.
func blockGen() *rapid.Generator[*capture.Block] {
	return rapid.Custom(func(t *rapid.T) *capture.Block {
		b := &capture.Block{}
		b.Start, b.End = span(t)
		if b.Start > math.MinInt64 && rapid.Bool().Draw(t, "gap") {
			b.Gap = capture.Gap{
				From: capture.Tick(rapid.Int64Range(math.MinInt64, int64(b.Start)-1).Draw(t, "from")), To: b.Start,
				Count: rapid.OneOf(rapid.Just(int64(-1)), rapid.Int64()).Draw(t, "count"),
				Why:   capture.GapWhy(rapid.Uint8Range(1, 255).Draw(t, "why")),
			}
		}
		b.First = capture.Level(rapid.IntRange(0, 3).Draw(t, "first"))
		b.At = rising(t, b.Start, b.End)
		b.To = levels(t, b.First, len(b.At))
		b.Doubt = doubts(t, len(b.At))
		b.SampleAt = rising(t, b.Start, b.End)
		b.Volts = volts(t, len(b.SampleAt))
		b.Octets = rapid.SliceOfN(octetGen(), 0, 20).Draw(t, "octets")
		return b
	})
}

func span(t *rapid.T) (start, end capture.Tick) {
	any := rapid.OneOf(
		rapid.Int64Range(0, 1e9), rapid.Int64(),
		rapid.Int64Range(math.MinInt64, math.MinInt64+50), rapid.Int64Range(math.MaxInt64-50, math.MaxInt64),
	)
	a, b := any.Draw(t, "a"), any.Draw(t, "b")
	return capture.Tick(min(a, b)), capture.Tick(max(a, b))
}

// rising draws instants: units with jitter, even ones, or any.
func rising(t *rapid.T, start, end capture.Tick) (at []capture.Tick) {
	n := rapid.IntRange(0, 80).Draw(t, "n")
	room := uint64(end) - uint64(start)
	if n == 0 || rapid.IntRange(0, 3).Draw(t, "shape") == 0 {
		any := rapid.OneOf(rapid.Uint64Range(0, room), rapid.Uint64Range(0, min(room, 100)), rapid.Uint64Range(room-min(room, 100), room))
		for range n {
			at = append(at, capture.Tick(uint64(start)+any.Draw(t, "at")))
		}
		slices.Sort(at)
		return slices.Compact(at)
	}
	unit := rapid.OneOf(rapid.Uint64Range(1, 1e6), rapid.Uint64Range(1, 1<<60)).Draw(t, "unit")
	most := rapid.Uint64Range(1, 10).Draw(t, "most")
	jitter := rapid.SampledFrom([]uint64{0, 1, unit / 100, unit / 2}).Draw(t, "jitter")
	pos := rapid.Uint64Range(0, room).Draw(t, "first")
	for range n {
		at = append(at, capture.Tick(uint64(start)+pos))
		step := rapid.Uint64Range(1, most).Draw(t, "units")*unit + rapid.Uint64Range(0, jitter).Draw(t, "rest")
		if step > room-pos {
			break
		}
		pos += step
	}
	return at
}

func levels(t *rapid.T, first capture.Level, n int) (to []capture.Level) {
	three := rapid.Bool().Draw(t, "three")
	for range n {
		l := rapid.SampledFrom([]capture.Level{capture.Low, capture.High}).Draw(t, "to")
		if three {
			l = capture.Level(rapid.IntRange(1, 3).Draw(t, "to"))
		}
		if l == first {
			l = l%3 + 1
		}
		to, first = append(to, l), l
	}
	return to
}

func doubts(t *rapid.T, n int) (d []capture.Tick) {
	any := rapid.OneOf(rapid.Int64Range(0, 0), rapid.Int64Range(0, 1), rapid.Int64Range(0, 500), rapid.Int64())
	shape := rapid.IntRange(0, 3).Draw(t, "doubts")
	same := any.Draw(t, "doubt")
	for i := 0; i < n && shape > 0; i++ {
		if shape == 2 || shape == 3 && i%10 == 0 {
			same = any.Draw(t, "doubt")
		}
		d = append(d, capture.Tick(same))
	}
	return d
}

func volts(t *rapid.T, n int) (v []float64) {
	shape := rapid.IntRange(0, 4).Draw(t, "volts")
	scale := rapid.Float64Range(1e-9, 1e3).Draw(t, "scale") / 32768
	digits := math.Pow10(rapid.IntRange(0, 6).Draw(t, "digits"))
	for range n {
		switch shape {
		case 0:
			v = append(v, rapid.Float64().Filter(finite).Draw(t, "v"))
		case 1:
			v = append(v, float64(rapid.Float32().Filter(func(f float32) bool { return finite(float64(f)) }).Draw(t, "v")))
		case 2:
			v = append(v, float64(rapid.Int16().Draw(t, "v"))*scale)
		case 3:
			v = append(v, float64(rapid.IntRange(-5000, 5000).Draw(t, "v"))/digits)
		default:
			v = append(v, rapid.SampledFrom([]float64{0, math.Copysign(0, -1), 1, -1, math.MaxFloat64, 5e-324}).Draw(t, "v"))
		}
	}
	return v
}

func finite(f float64) bool { return !math.IsNaN(f) && !math.IsInf(f, 0) }

func octetGen() *rapid.Generator[capture.Octet] {
	return rapid.Custom(func(t *rapid.T) capture.Octet {
		return capture.Octet{
			At:    capture.Tick(rapid.OneOf(rapid.Int64Range(0, 1e6), rapid.Int64()).Draw(t, "at")),
			Value: rapid.OneOf(rapid.Uint16Range(0, 255), rapid.Uint16Range(0, 511), rapid.Uint16()).Draw(t, "value"),
			Side:  capture.Side(rapid.OneOf(rapid.Just(uint8(0)), rapid.Uint8Range(0, 6), rapid.Uint8()).Draw(t, "side")),
			Bad:   rapid.IntRange(0, 9).Draw(t, "bad") == 0,
		}
	})
}
