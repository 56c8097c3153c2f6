package slicer_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/slicer"
)

// Windows that follow each other in memory are sliced where they lie: a block that is spoilt as soon as Add returns, in the middle of
// an edge of any length, leaves no trace.
func TestInputMayChangeAfterAdd(t *testing.T) {
	t.Parallel()
	l := talk(0.2, 4).line(capturetest.Loop{Rate: 20_000, Noise: 0.1, Tau: 2e-4, Factor: dip(0.3, 0.3, 1, 2.5)})
	all := l.Block()
	for i := 30_000; i < 35_500; i++ { // between two levels for longer than a window
		all.Volts[i] = 6
	}
	want := slice(t, l.Info(), all, 1000, slicer.Options{})
	if len(want.At) < 300 {
		t.Fatalf("%d transitions", len(want.At))
	}
	// Whole windows, of which the last one of a block is always copied.
	for _, cut := range []int{2 * 4096, 3 * 4096, 5 * 4096} {
		got := run(t, l.Info(), &spoilt{Source: capturetest.Pieces(l.Info(), all, cut)}, slicer.Options{})
		if d := cmp.Diff(want, got, cmp.AllowUnexported(sliced{}), nan); d != "" {
			t.Errorf("blocks of %d (-want +got):\n%.2000s", cut, d)
		}
	}
}

// spoilt gives blocks in storage of their own, and overwrites the one before.
type spoilt struct {
	capture.Source
	at [2][]capture.Tick
	v  [2][]float64
	n  int
}

func (s *spoilt) Next(b *capture.Block) error {
	for i := range b.Volts {
		b.SampleAt[i], b.Volts[i] = -1, math.Inf(1)
	}
	s.at[s.n], s.v[s.n] = b.SampleAt, b.Volts
	s.n = 1 - s.n
	b.SampleAt, b.Volts = s.at[s.n], s.v[s.n]
	return s.Source.Next(b)
}
