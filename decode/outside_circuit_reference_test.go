package decode_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"linewitness/capture"
	"linewitness/capture/slicer"
)

// The drop of N stands at this end in full while this side is open, by the divider's share in mark, and not at all while the
// feeding side is open: there only the cable couples some of it in.
func TestCircuitSimulatorPutsNeutralDropOnStates(t *testing.T) {
	t.Parallel()
	needs(t, "ngspice")
	for _, c := range loopTables["neutral drop"] {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			w := runLoop(t, c.loopCircuit)
			checkMains(t, w, byName{math.NaN(), 0, w.neutral * w.otherR / (w.feedR + w.otherR), w.neutral})
		})
	}
}

// checkMains compares amplitudes of 50 Hz in each level, V, with those of the waveform: within a tenth of the drop, which
// tells full, share and none apart, and within 3 % where there is something to measure.
func checkMains(t *testing.T, w *waveform, got byName) {
	t.Helper()
	want := w.mains()
	for _, level := range []capture.Level{capture.Low, capture.Mid, capture.High} {
		limit := 0.03 * want[level]
		if want[level] < 0.1*w.neutral {
			limit = 0.1 * w.neutral
		}
		if !near(got[level], want[level], limit) {
			t.Errorf("50 Hz in %v: got %.3f V, want %.3f within %.3f", level, got[level], want[level], limit)
		}
	}
}

// Levels at rest are those of Kirchhoff's laws with a drop of the LED of 1.1 V: the supply less one drop, the divider
// between two drops, and 0 but for the LED's knee.
func TestCircuitSimulatorAgreesWithKirchhoff(t *testing.T) {
	t.Parallel()
	needs(t, "ngspice")
	const drop = 1.1
	for _, c := range []loopCase{
		{name: "24 V", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(2)}},
		{name: "48 V unequal", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(2), supply: 48, feedR: 1500, otherR: 4700}},
		{name: "joint", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(2), joint: 600}},
		{name: "fed at this end", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(2), atFeed: true, feedR: 1500}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			w := runLoop(t, c.loopCircuit)
			got, below := w.levels(), w.otherR
			if w.atFeed {
				below += w.joint
			}
			mark := drop + (w.supply-2*drop)*below/(w.feedR+w.joint+w.otherR)
			for level, want := range map[capture.Level]float64{capture.Low: 0.4, capture.Mid: mark, capture.High: w.supply - drop} {
				if !near(got[level], want, 0.4) {
					t.Errorf("%v: got %.3f V, want %.3f within 0.4", level, got[level], want)
				}
			}
		})
	}
}

// Steps five times finer move no crossing by more than 0.2 us: the reference is that good.
func TestCircuitSimulatorResolvesEdges(t *testing.T) {
	t.Parallel()
	needs(t, "ngspice")
	for _, c := range []loopCase{
		{name: "sharp", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(1)}},
		{name: "22 nF", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(1), cable: 22e-9}},
		{name: "phototransistors", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(1), cable: 22e-9, phototransistor: true}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			coarse := runLoop(t, c.loopCircuit)
			c.step = coarse.step / 5
			want, worst := runLoop(t, c.loopCircuit).crossings(t), 0.0
			for i, got := range coarse.crossings(t) {
				worst = max(worst, math.Abs(got.at-want[i].at))
			}
			if t.Logf("%d crossings, %.3f us at most", len(want), worst*1e6); worst > 0.2e-6 {
				t.Errorf("crossings move by %.3f us, want 0.2 us at most", worst*1e6)
			}
		})
	}
}

// A recording cut into other pieces, or without a word on what it is, gives the same transitions.
func TestVoltsOfCircuitSimulatorInPieces(t *testing.T) {
	t.Parallel()
	needs(t, "ngspice")
	for _, c := range []loopCase{
		{name: "sound", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(3)}},
		{name: "negative", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(3), supply: -24}},
		{name: "mark at 0.9", loopCircuit: loopCircuit{speed: 2400, talk: dialogue(3), feedR: 440, otherR: 3960}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			w := runLoop(t, c.loopCircuit)
			whole := sliceVolts(t, w, 20e3, 1<<20, slicer.Options{Kind: slicer.Loop})
			same := func(how string, got *sliced) {
				if !slices.Equal(got.At, whole.At) || !slices.Equal(got.To, whole.To) || !slices.Equal(got.doubt, whole.doubt) {
					t.Errorf("%s: %d transitions, %s, want %d", how, len(got.At), fmt.Sprint(got.To[:min(3, len(got.To))]), len(whole.At))
				}
			}
			for _, size := range []int{1, 61, 4096} {
				same(fmt.Sprintf("pieces of %d", size), sliceVolts(t, w, 20e3, size, slicer.Options{Kind: slicer.Loop}))
			}
			unsaid := sliceVolts(t, w, 20e3, 4096, slicer.Options{})
			if same("kind not said", unsaid); unsaid.found.Kind != slicer.Loop {
				t.Errorf("kind not said: inferred %d, want a loop", unsaid.found.Kind)
			}
		})
	}
}
