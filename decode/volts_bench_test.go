package decode_test

import (
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/slicer"
	"linewitness/decode"
)

// go test ./decode -run '^$' -bench Volts -count 6 | benchstat -col /step -
//
// One minute of talk at 20,000 samples a second: one pass for minimum and maximum, slicing alone, and the whole examination.
func BenchmarkVolts(b *testing.B) {
	k := &talk{seed: 2, polls: 150}
	l := k.inVolts(capturetest.Loop{Noise: 0.1, Series: func(s float64) float64 { return 0.3 * sine(50.02*s) }})
	all := l.Block()
	per := func(b *testing.B) {
		b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(all.Volts)), "ns/sample")
		b.SetBytes(int64(8 * len(all.Volts)))
		b.ReportAllocs()
	}
	b.Run("step=minmax", func(b *testing.B) {
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
			if low == high {
				b.Fatal("constant")
			}
		}
		per(b)
	})
	blocks := func(b *testing.B, each func(*capture.Block)) {
		src := capturetest.Pieces(l.Info(), all, 8192)
		var blk capture.Block
		for src.Next(&blk) == nil {
			each(&blk)
		}
	}
	b.Run("step=slice", func(b *testing.B) {
		n := 0
		emit := func(blk *capture.Block) error { n += len(blk.At); return nil }
		for b.Loop() {
			s := slicer.New(l.Clock(), slicer.Options{Kind: slicer.Loop})
			blocks(b, func(blk *capture.Block) {
				if err := s.Add(blk, emit); err != nil {
					b.Fatal(err)
				}
			})
			if err := s.Flush(emit); err != nil {
				b.Fatal(err)
			}
		}
		per(b)
	})
	b.Run("step=examine", func(b *testing.B) {
		for b.Loop() {
			f, err := decode.Run(b.Context(), capturetest.Pieces(l.Info(), all, 8192), nil, decode.Options{Tap: capture.IndoorTerminal})
			if err != nil || len(f.Senders) != 2 || f.Senders[0].Good != 150 {
				b.Fatal(err, f.Senders)
			}
		}
		per(b)
	})
}
