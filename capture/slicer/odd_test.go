package slicer_test

import (
	"math"
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/slicer"
)

// Seconds of exactly 0 V before the talk have no frequency, and say nothing of a half-wave supply.
func TestDeadStartAtLowRate(t *testing.T) {
	t.Parallel()
	const rate = 4000
	w := newTelegraph(20, 4)
	w.now = 4
	w.dialogue(40, 2)
	l := w.line(capturetest.Loop{Rate: rate, Place: 0.4, Supply: 100, Noise: 0.05, Seed: 2})
	b := l.Block()
	for i := range b.Volts {
		lit := min(max(2*math.Sin(2*math.Pi*50.02*float64(i)/rate), 0), 1)
		if b.Volts[i] *= lit; i < 3.9*rate {
			b.Volts[i] = 0
		}
	}
	if got := slice(t, l.Info(), b, 4096, slicer.Options{Kind: slicer.Loop}); len(got.Volts) != len(b.Volts) {
		t.Errorf("%d samples, want %d", len(got.Volts), len(b.Volts))
	}
}

// Gaps that follow each other leave windows without a sample, also while the hum of a pair is learned.
func TestHumBetweenGaps(t *testing.T) {
	t.Parallel()
	l := talk(0.5, 6).line(capturetest.Loop{Rate: 20_000, Place: 0.5, Supply: 2, Noise: 1e-3, Seed: 9})
	all := l.Block()
	for i, v := range all.Volts {
		all.Volts[i] = 2.5*(v-1) + 2*math.Sin(2*math.Pi*50*float64(i)/20_000)
	}
	const cut = 60_000 // late in the head from which the hum is learned
	lost := all.SampleAt[cut]
	gap := func(from, to capture.Tick) capture.Gap {
		return capture.Gap{From: from, To: to, Count: -1, Why: capture.GapDamaged}
	}
	blocks := []capture.Block{
		{Start: all.Start, End: lost, Samples: capture.Samples{SampleAt: all.SampleAt[:cut], Volts: all.Volts[:cut]}},
		{Start: lost + 1024, End: lost + 2048, Gap: gap(lost, lost+1024)},
		{Start: lost + 3072, End: lost + 4096, Gap: gap(lost+2048, lost+3072)},
		{Start: all.SampleAt[cut+8], End: all.End, Gap: gap(lost+4096, all.SampleAt[cut+8]),
			Samples: capture.Samples{SampleAt: all.SampleAt[cut+8:], Volts: all.Volts[cut+8:]}},
	}
	s := slicer.New(l.Clock(), slicer.Options{Kind: slicer.Pair})
	n := 0
	emit := func(b *capture.Block) error { n += len(b.At); return nil }
	for i := range blocks {
		if err := s.Add(&blocks[i], emit); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Flush(emit); err != nil {
		t.Fatal(err)
	}
	if f := s.Found(); f.Levels != 3 || n < 500 {
		t.Errorf("%d transitions, %+v", n, f)
	}
}
