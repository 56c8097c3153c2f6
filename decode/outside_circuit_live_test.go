package decode_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"linewitness/capture/slicer"
)

// L beside S carries an open S off, by more than the supply, wherever nothing but diodes holds it: the circuit that ngspice
// computed shows it. Transitions are still those that the senders made, each within 30 us (storage of the LED and the passage of
// 1 Mohm and cable) or what it says itself, and the levels are where the line comes to when a side opens.
func TestOpenLineBesideLiveInCircuitSimulator(t *testing.T) {
	t.Parallel()
	needs(t, "ngspice")
	for _, c := range []loopCase{
		{name: "24 V", loopCircuit: loopCircuit{speed: 1200, talk: dialogue(4), live: 2e-9, cable: 2e-9}},
		{name: "48 V and mark at 0.8", loopCircuit: loopCircuit{speed: 1200, talk: dialogue(4), live: 2e-9, cable: 3e-9, supply: 48, feedR: 1000, otherR: 4000}},
		{name: "negative", loopCircuit: loopCircuit{speed: 600, talk: dialogue(3), live: 1e-9, cable: 2e-9, supply: -36}},
		{name: "at the feeding end", loopCircuit: loopCircuit{speed: 600, talk: dialogue(3), live: 2e-9, cable: 3e-9, atFeed: true}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			w := runLoop(t, c.loopCircuit)
			low, high := slices.Min(w.volts), slices.Max(w.volts)
			if span := math.Abs(w.supply); high-low < 1.5*span {
				t.Fatalf("%.1f to %.1f V: nothing was carried off", low, high)
			}
			for _, rate := range []int{20e3, 50e3} {
				t.Run(fmt.Sprintf("%d kSa per s", rate/1000), func(t *testing.T) {
					checkSenders(t, w, sliceVolts(t, w, rate, 4096, slicer.Options{Kind: slicer.Loop}))
				})
			}
		})
	}
}

// checkSenders compares the transitions with what the senders did, and levels with the diode's drop from supply and 0 V.
func checkSenders(t *testing.T, w *waveform, s *sliced) {
	t.Helper()
	var want []crossing
	for i := 1; i < len(w.states); i++ {
		if w.states[i].level != w.states[i-1].level {
			want = append(want, crossing{w.states[i].from, w.states[i].level})
		}
	}
	if len(s.At) != len(want) {
		t.Fatalf("%d transitions, want %d; levels %.2f V", len(s.At), len(want), s.volts())
	}
	for i, at := range s.At {
		off, doubt := w.seconds(s.rate, at)-want[i].at, w.info(s.rate).Clock.Seconds(s.doubt[i]+1)
		if s.To[i] != want[i].to || math.Abs(off) > doubt+30e-6 {
			t.Errorf("transition %d: %v %+.1f us off, doubt %.1f us, want %v at %.6f s", i, s.To[i], off*1e6, doubt*1e6, want[i].to, want[i].at)
		}
	}
	f := s.found
	if math.Abs(f.Low) > 0.1*math.Abs(w.supply) || math.Abs(f.High-w.supply) > 0.1*math.Abs(w.supply) || f.Levels != 3 {
		t.Errorf("levels %.2f V, want 0 and %g V within a tenth of the supply", s.volts(), w.supply)
	}
}
