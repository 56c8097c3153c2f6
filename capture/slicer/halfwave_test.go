package slicer_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/slicer"
)

// A loop that lives in every other half cycle tells its state while it is lit: instants are as good as the dark is long.
func TestHalfWaveSupply(t *testing.T) {
	t.Parallel()
	const rate, hertz = 4000, 50.02
	for _, supply := range []float64{100, -100} {
		w := newTelegraph(20, 4)
		w.now = 3
		w.dialogue(60, 3)
		l := w.line(capturetest.Loop{Rate: rate, Place: 0.4, Supply: supply, Noise: 0.05, Seed: 2})
		b := l.Block()
		for i := range b.Volts {
			b.Volts[i] *= min(max(2*math.Sin(2*math.Pi*hertz*float64(i)/rate), 0), 1)
		}
		got := slice(t, l.Info(), b, 4096, slicer.Options{Kind: slicer.Loop})
		want := truth(l)
		second := l.Clock().PerSecond()
		seen, all, stray := 0, 0, len(got.At)
		for _, e := range want {
			for i, at := range got.At {
				if got.To[i] == e.to && math.Abs(float64(at)-e.at) < 0.01*second {
					seen, stray = seen+1, stray-1
					break
				}
			}
			if e.at > 12*second { // levels are known by then
				all++
			} else {
				all = seen
			}
		}
		f := got.found
		if all < 400 || seen*100 < all*97 || stray*100 > all {
			t.Errorf("supply %g: %d of %d transitions within 10 ms, %d others; %+v", supply, seen, all, stray, f)
		}
		if f.Levels != 3 || math.Abs(f.Mid-0.4*supply) > 0.05*math.Abs(supply) || math.Abs(f.High-supply) > 0.05*math.Abs(supply) {
			t.Errorf("supply %g: %+v", supply, f)
		}
	}
}

// Of an open state of such a loop only one side is held, to the supply or to zero: what couples in from L carries it off from where it
// was when it opened, and further in the next period. So the first lit part after that may stand much nearer to mark than all others.
func TestHalfWaveSupplyCoupled(t *testing.T) {
	t.Parallel()
	const rate, hertz = 4000, 50.02
	for _, supply := range []float64{100, -100} {
		w := newTelegraph(20, 4)
		w.now = 3
		w.dialogue(100, 3)
		l := w.line(capturetest.Loop{Rate: rate, Place: 0.4, Supply: supply, Noise: 0.05, Seed: 2})
		b, want := l.Block(), truth(l)
		coupleHalfWave(b, want, supply, hertz/rate)
		got := slice(t, l.Info(), b, 4096, slicer.Options{Kind: slicer.Loop})
		second := l.Clock().PerSecond()
		seen, stray := 0, len(got.At)
		for _, e := range want {
			for i, at := range got.At {
				if got.To[i] == e.to && math.Abs(float64(at)-e.at) < 0.01*second {
					seen, stray = seen+1, stray-1
					break
				}
			}
		}
		if len(want) < 800 || seen*100 < len(want)*99 || stray*100 > len(want) {
			t.Errorf("supply %g: %d of %d transitions within 10 ms, %d others; %+v", supply, seen, len(want), stray, got.found)
		}
	}
}

// coupleHalfWave replaces the volts by those of a loop with mark at 0.4 of a half-wave supply, whose open states follow L by a
// capacitance, but for what their diodes hold; turn is the mains' periods a sample.
func coupleHalfWave(b *capture.Block, truth []edge, supply, turn float64) {
	const coupled = 110
	state, next, v, r := capture.Mid, 0, 0.0, rand.New(rand.NewPCG(3, 3))
	sine := func(i int) float64 { return math.Sin(2 * math.Pi * turn * float64(i)) }
	for i := range b.Volts {
		for next < len(truth) && truth[next].at <= float64(b.SampleAt[i]) {
			state, next = truth[next].to, next+1
		}
		lit := 100 * min(max(1.5*sine(i), 0), 1)
		v += coupled * (sine(i) - sine(i-1))
		switch state {
		case capture.High:
			v = max(v, lit)
		case capture.Low:
			v = min(v, 0)
		default:
			v = 0.4 * lit
		}
		b.Volts[i] = v*supply/100 + 0.05*r.NormFloat64()
	}
}
