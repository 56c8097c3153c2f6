package tally_test

import (
	"testing"

	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/link"
	"linewitness/decode/tally"
	"linewitness/decode/uart"
)

// go test ./decode/tally -run '^$' -bench Tallies -count 6
//
// One batch of a dialogue of 2,400 Bd, in transitions.
func BenchmarkTallies(b *testing.B) {
	w, p := struck(1, 200, 20)
	var batch *burst.Batch
	var frames []link.Frame
	talk := tally.NewTalk(p, clock.PerSecond()/p.Speed(), clock)
	read(b, w, p, 1<<20, func(of *burst.Batch, f []link.Frame, _ []uart.Glitch, _ capture.Tick) { batch, frames = of, f })
	b.ReportAllocs()
	for b.Loop() {
		talk.Take(batch, frames)
	}
	b.ReportMetric(float64(b.Elapsed())/float64(b.N)/float64(len(batch.At)), "ns/transition")
}
