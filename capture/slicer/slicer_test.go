package slicer_test

import (
	"fmt"
	"math"
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/slicer"
)

// sameEdges compares with the truth: the same levels in the same order, each instant within its doubt and slack ticks.
func sameEdges(t *testing.T, got *sliced, want []edge, slack func(i int) float64) {
	t.Helper()
	at, to, doubt := got.At, got.To, got.doubt
	bad := 0
	for i := range min(len(at), len(want)) {
		off := math.Abs(float64(at[i]) - want[i].at)
		if to[i] != want[i].to || off > float64(doubt[i])+1+slack(i) {
			t.Errorf("transition %d: %v at %d +- %d, want %v at %.1f (off %.0f, slack %.0f)",
				i, to[i], at[i], doubt[i], want[i].to, want[i].at, off, slack(i))
			if bad++; bad > 3 {
				break
			}
		}
	}
	if len(at) != len(want) {
		t.Errorf("%d transitions, want %d; %+v", len(at), len(want), got.found)
	}
}

// Every true transition lies within the stated doubt, for every place of mark, supply, speed, rate and edge.
func TestTransitionsLieWithinTheirDoubt(t *testing.T) {
	t.Parallel()
	for _, place := range []float64{0.05, 0.2, 0.5, 0.8, 0.95} {
		for _, supply := range []float64{24, 48, 140, -48} {
			for _, baud := range []float64{1200, 9600} {
				for _, rate := range doubtRates {
					for _, tau := range []float64{0, 0.1, 0.4} {
						name := fmt.Sprintf("place %g supply %g baud %g rate %d tau %g", place, supply, baud, rate, tau)
						t.Run(name, func(t *testing.T) {
							t.Parallel()
							checkLine(t, place, supply, baud, rate, tau)
						})
					}
				}
			}
		}
	}
}

func checkLine(t *testing.T, place, supply, baud float64, rate int, tau float64) {
	w := newTelegraph(baud, 3)
	w.now = 0.05
	w.dialogue(0.4, 0.1)
	noise := 0.1 * math.Abs(supply) / 24
	l := w.line(capturetest.Loop{Rate: rate, Supply: supply, Place: place, Tau: tau / baud, Noise: noise, Seed: 1})
	got := slice(t, l.Info(), l.Block(), 1000, slicer.Options{})
	want := truth(l)
	// Noise moves a crossing by noise over slope; at the midpoint of an exponential the slope is half a step in a time constant.
	slack := func(i int) float64 {
		part := map[capture.Level]float64{capture.Low: place, capture.Mid: place * (1 - place), capture.High: 1 - place}[want[i].to]
		step := math.Abs(supply)
		was := capture.Mid
		if i > 0 {
			was = want[i-1].to
		}
		if was == capture.Mid || want[i].to == capture.Mid {
			other := want[i].to + was - capture.Mid
			if other == capture.Low {
				step *= place
			} else {
				step *= 1 - place
			}
		}
		return 4 * noise / (step / 2) * l.Tau * part * float64(rate) * 1024
	}
	sameEdges(t, got, want, slack)
}
