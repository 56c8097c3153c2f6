package decode_test

import (
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/decode"
	"linewitness/decode/uart/uarttest"
)

// inVolts is a dialogue on a loop: the unit that does not feed asks.
func (k *talk) inVolts(l capturetest.Loop) *capturetest.Loop {
	if l.Rate == 0 {
		l.Rate = 20000
	}
	asks, answers := &uarttest.Wire{Clock: l.Clock()}, &uarttest.Wire{Clock: l.Clock()}
	k.on(asks, answers)
	l.Other, l.Feed = asks.Block(), answers.Block()
	l.Seconds = asks.Now
	return &l
}

// source gives a loop in blocks of so many samples.
func loopSource(l *capturetest.Loop, size int) capture.Source {
	return capturetest.Pieces(l.Info(), l.Block(), size)
}

// Volts at a terminal are read, and the level of a space says whose frame it is.
func TestVoltsNameTheSender(t *testing.T) {
	t.Parallel()
	for name, l := range map[string]capturetest.Loop{
		"24 V, mark in the middle": {Noise: 0.1},
		"140 V, mark near 0":       {Supply: 140, Place: 0.1, Noise: 0.3},
		"-48 V, mark near the top": {Supply: -48, Place: 0.9, Noise: 0.1},
		"curved edges":             {Noise: 0.05, Tau: 200e-6},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			k := &talk{seed: 1, polls: 50}
			f := find(t, loopSource(k.inVolts(l), 1000), decode.Options{Tap: capture.IndoorTerminal})
			if len(f.Senders) != 2 {
				t.Fatalf("%d senders: %s", len(f.Senders), f.Verdict.Summary)
			}
			for i, want := range []capture.Side{capture.Indoor, capture.Outdoor} {
				s := &f.Senders[i]
				if s.Side != want || s.Frames != 50 || s.Good != 50 {
					t.Errorf("%v: %d frames, %d good; want %v with 50", s.Side, s.Frames, s.Good, want)
				}
			}
			if v := f.Verdict.String(); v != "none/none" {
				t.Errorf("verdict %s: %s", v, f.Verdict.Summary)
			}
		})
	}
}
