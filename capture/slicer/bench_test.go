package slicer_test

import (
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/slicer"
)

// BenchmarkSlice against one pass for the least and greatest sample over the same data, in one run.
func BenchmarkSlice(b *testing.B) {
	for _, c := range []struct {
		name  string
		pause float64
	}{{"traffic", 1}, {"dense", 0.01}} {
		w := newTelegraph(1200, 6)
		w.now = 0.2
		w.dialogue(300, c.pause)
		l := w.line(capturetest.Loop{Rate: 20_000, Noise: 0.1, Tau: 5e-5})
		all := l.Block()
		b.Run(c.name+"/minmax", func(b *testing.B) {
			for b.Loop() {
				low, high := all.Volts[0], all.Volts[0]
				for _, v := range all.Volts {
					if v < low {
						low = v
					}
					if v > high {
						high = v
					}
				}
				if low > high {
					b.Fatal(low, high)
				}
			}
			perSample(b, len(all.Volts))
		})
		b.Run(c.name+"/slice", func(b *testing.B) {
			for b.Loop() {
				s := slicer.New(l.Clock(), slicer.Options{})
				n := 0
				emit := func(b *capture.Block) error { n += len(b.At); return nil }
				if s.Add(all, emit) != nil || s.Flush(emit) != nil || n < 1000 {
					b.Fatal(n)
				}
			}
			perSample(b, len(all.Volts))
		})
	}
}

func perSample(b *testing.B, samples int) {
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(samples), "ns/sample")
}
