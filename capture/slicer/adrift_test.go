package slicer_test

import (
	"math"
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/slicer"
)

// carryOff lets the open states of a loop's samples run away from mark, as the coupling to L does: by up to most volts, with the
// mains, from nothing at the start of each open state.
func carryOff(b *capture.Block, rate int, mark, least, most float64) {
	off := 0.0
	for i, v := range b.Volts {
		if math.Abs(v-mark) < least {
			off = 0
			continue
		}
		step := 2 * math.Pi * 50 / float64(rate) * most * math.Cos(2*math.Pi*50*float64(i)/float64(rate))
		if v < mark {
			off = min(off+step, 0)
		} else {
			off = max(off+step, 0)
		}
		b.Volts[i] += off
	}
}

// What carries an open state off, away from mark, makes no transition and moves no level: levels stand at the inner edge.
func TestOpenStatesCarriedOff(t *testing.T) {
	t.Parallel()
	for _, supply := range []float64{24, -48, 140} {
		for _, place := range []float64{0.25, 0.5, 0.8} {
			for _, most := range []float64{0.5, 1.5, 3} {
				l := talk(0.3, 6).line(capturetest.Loop{Rate: 20_000, Place: place, Supply: supply, Noise: 0.05, Seed: 3})
				b := l.Block()
				mark, size := supply*place, math.Abs(supply)
				carryOff(b, 20_000, mark, 0.1*size, most*size)
				got := slice(t, l.Info(), b, 4096, slicer.Options{Kind: slicer.Loop})
				sameLevels(t, got, truth(l), l.Clock(), 0)
				f := got.found
				if f.Levels != 3 || f.Negative != (supply < 0) || math.Abs(f.Mid-mark) > 0.02*size ||
					math.Abs(f.Low) > 0.1*size || math.Abs(f.High-supply) > 0.1*size {
					t.Errorf("supply %g, place %g, most %g: %+v", supply, place, most, f)
				}
			}
		}
	}
}

// Hum as large as the swing of a pair is taken off: it is the same in all states.
func TestHumOfAPair(t *testing.T) {
	t.Parallel()
	for _, hertz := range []float64{49.97, 60.02} {
		for _, volts := range []float64{0.5, 2, 4} {
			l := talk(0.5, 8).line(capturetest.Loop{Rate: 20_000, Place: 0.5, Supply: 2, Noise: 1e-3, Seed: 9})
			b := l.Block()
			for i, v := range b.Volts {
				s := float64(i) / 20_000
				b.Volts[i] = 2.5*(v-1) + 0.2 + volts*(math.Sin(2*math.Pi*hertz*s)+0.1*math.Sin(6*math.Pi*hertz*s+1))
			}
			got := slice(t, l.Info(), b, 4096, slicer.Options{Kind: slicer.Pair})
			sameLevels(t, got, truth(l), l.Clock(), 1.2) // a first part may look like mains alone
			if f := got.found; f.Levels != 3 || math.Abs(f.Low+2.3) > 0.15 || math.Abs(f.Mid-0.2) > 0.15 || math.Abs(f.High-2.7) > 0.15 {
				t.Errorf("%g Hz, %g V: %+v", hertz, volts, f)
			}
		}
	}
}

// Most windows of a line that talks now and then hold a rest, whose ripple is slow: how sharp jumps are is seen where the line talks.
func TestRestsWithRipple(t *testing.T) {
	t.Parallel()
	const rate = 48_000
	w := newTelegraph(1200, 4)
	w.now = 0.5
	w.dialogue(40, 1)
	ripple := func(s float64) float64 { return 0.3 * math.Sin(2*math.Pi*100.03*s) }
	l := w.line(capturetest.Loop{Rate: rate, Place: 0.4, Noise: 0.01, Seed: 4, Extra: ripple})
	b := l.Block()
	carryOff(b, rate, 0.4*24, 2, 14)
	got := slice(t, l.Info(), b, 4096, slicer.Options{Kind: slicer.Loop})
	sameLevels(t, got, truth(l), l.Clock(), 0.5)
}

// An outer level that crept after what carries it off comes back by itself: the supply has not moved, and mark stays where it is.
func TestCreptLevelComesBackAlone(t *testing.T) {
	t.Parallel()
	const rate = 12_000
	for _, place := range []float64{0.25, 0.5, 0.75} {
		for _, most := range []float64{6, 24, 48} {
			w := newTelegraph(1200, 5)
			w.now = 0.3
			w.dialogue(60, 0.02)
			hum := func(s float64) float64 { return 0.6 * math.Sin(2*math.Pi*50.01*s) }
			l := w.line(capturetest.Loop{Rate: rate, Place: place, Noise: 0.05, Seed: 4, Series: hum})
			b := l.Block()
			carryOff(b, rate, place*24, 2, most)
			got := slice(t, l.Info(), b, 4096, slicer.Options{Kind: slicer.Loop})
			sameLevels(t, got, truth(l), l.Clock(), 0.5)
			if f := got.found; math.Abs(f.High-24) > 0.6 || math.Abs(f.Mid-24*place) > 0.1 {
				t.Errorf("place %g, carried off by %g V: mark %.2f, high %.2f V", place, most, f.Mid, f.High)
			}
		}
	}
}
