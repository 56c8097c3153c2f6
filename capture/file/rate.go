package file

import (
	"errors"
	"fmt"
	"math"

	"linewitness/capture"
)

const leastStep = 16 // ticks between samples whose instants are rounded

// rateOf is the number of samples a second in blocks, told from the longest run without a gap. Where it
// is no whole number, every instant may be rounded to a tick: of the rates that fit, the roundest is taken. Whether each
// sample fits is for the writer.
func rateOf(blocks []capture.Block, c capture.Clock) (int64, error) {
	n, span := longestRun(blocks)
	if n < 2 {
		return 0, errors.New("wav: expected two samples or more without a gap between, which tell the rate, found fewer")
	}
	rate := float64(n-1) * c.PerSecond() / float64(span)
	if rate == math.Trunc(rate) && rate <= math.MaxUint32 {
		return int64(rate), nil
	}
	slack := rate / float64(span)
	// Where a tick is a good part of the distance, rounding could hide a sample that is missing.
	for p := int64(1e9); p > 0 && int64(span) >= leastStep*int64(n-1); p /= 10 {
		near := math.Round(rate/float64(p)) * float64(p)
		if near > 0 && near <= math.MaxUint32 && math.Abs(near-rate) <= slack {
			return int64(near), nil
		}
	}
	return 0, fmt.Errorf("wav: expected a whole number of samples a second, up to 4294967295, found %.9g", rate)
}

// longestRun is the number of samples and the ticks from the first to the last of them.
func longestRun(blocks []capture.Block) (n int, span capture.Tick) {
	run, from := 0, capture.Tick(0)
	for i := range blocks {
		b := &blocks[i]
		if b.Gap.Present() {
			run = 0
		}
		if len(b.SampleAt) == 0 {
			continue
		}
		if run == 0 {
			from = b.SampleAt[0]
		}
		run += len(b.SampleAt)
		if run > n {
			n, span = run, b.SampleAt[len(b.SampleAt)-1]-from
		}
	}
	return n, span
}
