package decode_test

import (
	"math"
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/decode"
	"linewitness/decode/verdict"
)

// examined is what a whole examination says of a circuit's levels, from 50,000 samples a second.
func examined(t *testing.T, w *waveform) *verdict.Volts {
	t.Helper()
	const rate = 50e3
	tap := capture.IndoorTerminal
	if w.atFeed {
		tap = capture.OutdoorTerminal
	}
	f := find(t, capturetest.Pieces(w.info(rate), w.sample(rate, 0.020), 4096), decode.Options{Tap: tap})
	if f.Volts == nil {
		t.Fatal("no facts of levels")
	}
	return f.Volts
}

// The levels of the answer are those that ngspice computed, within 2 % of the span: also where a joint or a leak
// moves them, and with either sign of the supply.
func TestLevelFactsAgreeWithCircuitSimulator(t *testing.T) {
	t.Parallel()
	needs(t, "ngspice")
	for _, table := range []string{"leak", "joint", "supply", "mark near an end"} {
		for _, c := range loopTables[table] {
			t.Run(table+"/"+c.name, func(t *testing.T) {
				t.Parallel()
				w := runLoop(t, c.loopCircuit)
				agree(t, examined(t, w), w.levels())
			})
		}
	}
}

// agree wants levels within 2 % of the span.
func agree(t *testing.T, v *verdict.Volts, want byName) {
	t.Helper()
	limit := 0.02 * math.Abs(want[capture.High]-want[capture.Low])
	for level, got := range map[capture.Level]float64{capture.Low: v.Low, capture.Mid: v.Mid, capture.High: v.High} {
		if !near(got, want[level], limit) {
			t.Errorf("%v: got %.3f V, want %.3f within %.3f", level, got, want[level], limit)
		}
	}
}

// Edges have the time constants of the cable and the resistor that moves it: the feeding one's up to the supply, the other
// one's down to 0. An LED adds its own ohms, the more the less current is left: up to a quarter, and never less.
func TestEdgeFactsAgreeWithCircuitSimulator(t *testing.T) {
	t.Parallel()
	needs(t, "ngspice")
	for _, c := range []loopCircuit{
		{speed: 1200, talk: dialogue(6), cable: 100e-9},
		{speed: 1200, talk: dialogue(6), cable: 100e-9, feedR: 1000, otherR: 2200},
	} {
		w := runLoop(t, c)
		v := examined(t, w)
		seen := 0
		for _, e := range v.Edges {
			want := 0.0
			switch {
			case e.From == capture.Mid && e.To == capture.High:
				want = w.cable * (w.feedR + w.joint)
			case e.From == capture.Mid && e.To == capture.Low:
				want = w.cable * w.otherR
			default:
				continue
			}
			seen++
			if e.N < 15 || e.Tau50 < 0.97*want || e.Tau50 > 1.25*want || !e.Curved {
				t.Errorf("%v to %v: time constant %.1f us of %d, curved %v; want %.1f us", e.From, e.To, e.Tau50*1e6, e.N, e.Curved, want*1e6)
			}
		}
		if seen != 2 {
			t.Errorf("%d kinds of edges, want 2", seen)
		}
	}
	sharp := examined(t, runLoop(t, loopCircuit{speed: 2400, talk: dialogue(5)}))
	for _, e := range sharp.Edges {
		if e.Curved {
			t.Errorf("%v to %v is curved in a loop without a cable", e.From, e.To)
		}
	}
}

// Dips of the supply are found where the circuit has them, with their depth; nothing else is one.
func TestDipFactsAgreeWithCircuitSimulator(t *testing.T) {
	t.Parallel()
	needs(t, "ngspice")
	c := loopCircuit{speed: 2400, talk: dialogue(20), dips: []dip{{at: 0.4, lasts: 0.08, depth: 0.4}, {at: 1.2, lasts: 0.2, depth: 0.25}}}
	w := runLoop(t, c)
	v := examined(t, w)
	if v.Dips.N != 2 {
		t.Fatalf("%d dips, want 2: %+v", v.Dips.N, v.DipSpans)
	}
	clock := w.info(50e3).Clock
	for i, d := range c.dips {
		if at := clock.Seconds(v.Dips.At[i]); !near(at, d.at, 0.02) {
			t.Errorf("dip %d at %.3f s, want %.3f", i, at, d.at)
		}
	}
	still := runLoop(t, loopCircuit{speed: 2400, talk: dialogue(6)})
	agree(t, v, still.levels())
	// The LEDs keep their volts, so the level falls by a little more than the supply.
	if !near(v.DipTo, 0.6, 0.03) {
		t.Errorf("down to %.3f, want 0.6", v.DipTo)
	}
	if sound := examined(t, still); sound.Dips.N != 0 {
		t.Errorf("%d dips in a sound loop", sound.Dips.N)
	}
}

// What follows the mains has the amplitudes by state that the circuit gives it.
func TestMainsFactsAgreeWithCircuitSimulator(t *testing.T) {
	t.Parallel()
	needs(t, "ngspice")
	w := runLoop(t, loopCircuit{speed: 2400, talk: dialogue(28), neutral: 2, feedR: 3300, otherR: 1500})
	v := examined(t, w)
	if !near(v.Hz, 50, 0.05) {
		t.Fatalf("%.3f Hz, want 50", v.Hz)
	}
	checkMains(t, w, v.Hum)
	agree(t, v, w.levels())
}
