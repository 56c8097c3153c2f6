package output

import (
	"math"
	"strconv"
	"testing"

	"linewitness/capture"
)

func TestSeconds(t *testing.T) {
	sound := capture.Clock{Num: 48000 * 1024, Den: 1}
	for _, c := range []struct {
		tick  capture.Tick
		clock capture.Clock
		want  string
	}{
		{0, capture.Nanoseconds, "0"},
		{1_234_567_000, capture.Nanoseconds, "1.234567"},
		{1_245_000_000, capture.Nanoseconds, "1.245"},
		{-1, capture.Nanoseconds, "-0.000000001"},
		{-2_500_000_000, capture.Nanoseconds, "-2.5"},
		{604_800_123_456_789, capture.Nanoseconds, "604800.123456789"},
		{math.MaxInt64, capture.Nanoseconds, "9223372036.854775807"},
		{math.MinInt64, capture.Nanoseconds, "-9223372036.854775808"},
		{7, capture.Clock{Num: 1, Den: 1}, "7"},
		{7, capture.Clock{Num: 1, Den: 100}, "700"},
		{-7, capture.Clock{Num: 1, Den: 10}, "-70"},
		{1_234_567, capture.Clock{Num: 1e6, Den: 1}, "1.234567"},
		{123_456_789_012_345_678, capture.Clock{Num: 1e15, Den: 1}, "123.456789012345678"},
		{48000 * 1024 * 3 / 2, sound, "1.5"},
		{1024, sound, "0.000020833333333333333"},
		{48000*1024*604800 + 1024*12, sound, "604800.00025"},
		{math.MaxInt64, capture.Clock{Num: 3, Den: 1000}, "3074457345618258400000"},
		{1, capture.Clock{}, "null"},
	} {
		if got := string(appendSeconds(nil, c.tick, c.clock)); got != c.want {
			t.Errorf("%d ticks of %d/%d: %s s, want %s", c.tick, c.clock.Num, c.clock.Den, got, c.want)
		}
	}
}

// The decimal written exactly is the one that the correctly rounded quotient prints as, where that is long enough.
func TestDecimalIsTheQuotient(t *testing.T) {
	for tick := capture.Tick(1); tick < 4e15; tick = tick*3 + 7 {
		got := string(appendSeconds(nil, tick, capture.Nanoseconds))
		want := strconv.FormatFloat(float64(tick)/1e9, 'f', -1, 64)
		if got != want {
			t.Errorf("%d ns: %s, want %s", tick, got, want)
		}
	}
}

func TestNumber(t *testing.T) {
	for _, c := range []struct {
		v    float64
		want string
	}{
		{0, "0"}, {math.Copysign(0, -1), "0"}, {math.NaN(), "null"}, {math.Inf(1), "null"}, {math.Inf(-1), "null"},
		{0.0123 * 1000, "12.3"}, {0.1 + 0.2, "0.3"}, {-118.25, "-118.25"}, {9600, "9600"}, {1e-12, "1e-12"}, {1e21, "1e+21"},
		{math.MaxFloat64, "1.79769313486e+308"},
	} {
		if got := string(appendNumber(nil, c.v)); got != c.want {
			t.Errorf("%v: %s, want %s", c.v, got, c.want)
		}
	}
}
