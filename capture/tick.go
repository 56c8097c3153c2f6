package capture

import "math"

// Tick is an instant on a recording's own time axis, counted in its own clock: VCD time, CSV nanoseconds, WAV
// sub-samples. The axis is the file's, so that the seconds printed are those that stand in the file; the first
// instant covered need not be 0. At 1 ns it holds 292 years either way.
type Tick int64

// Clock is the exact number of ticks in a second, Num/Den: 1e9/1 for nanoseconds, 48000*1024/1 for sound at 48 kHz,
// 1/100 for a timescale of 100 s.
type Clock struct{ Num, Den int64 }

// Nanoseconds is the clock of one tick a nanosecond.
var Nanoseconds = Clock{Num: 1e9, Den: 1}

// Valid tells whether both terms are positive.
func (c Clock) Valid() bool { return c.Num > 0 && c.Den > 0 }

// PerSecond is the number of ticks in a second.
func (c Clock) PerSecond() float64 { return float64(c.Num) / float64(c.Den) }

// Seconds is the instant or span t in seconds, for output only.
func (c Clock) Seconds(t Tick) float64 {
	if c.Den == 1 {
		// Whole seconds and the rest apart keep the last digit of long recordings.
		whole, rest := int64(t)/c.Num, int64(t)%c.Num
		return float64(whole) + float64(rest)/float64(c.Num)
	}
	return float64(t) / c.PerSecond()
}

// Ticks is the number of ticks nearest to s seconds, limited to what a Tick holds.
func (c Clock) Ticks(s float64) Tick {
	v := math.Round(s * c.PerSecond())
	switch {
	case v >= math.MaxInt64:
		return math.MaxInt64
	case v <= math.MinInt64:
		return math.MinInt64
	}
	return Tick(v)
}
