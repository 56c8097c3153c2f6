package decode_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/decode"
	"linewitness/decode/cause"
	"linewitness/decode/uart"
)

// Sound loops of any make, as far as they have 8 samples a bit: no fault is ever the verdict, both units are named right, and
// hardly a frame is lost on the way from volts to octets.
func TestSoundLoopsAreSound(t *testing.T) {
	t.Parallel()
	seeds := 60
	if raceEnabled {
		seeds = 6
	}
	for seed := range seeds {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			t.Parallel()
			r := rand.New(rand.NewPCG(uint64(seed), 99))
			one := func(of ...float64) float64 { return of[r.IntN(len(of))] }
			speed := one(300, 600, 1200, 2400)
			l := capturetest.Loop{Supply: one(24, 30, 48, 56, 140, -24, -56), Place: 0.08 + 0.84*r.Float64(), Seed: uint64(seed),
				Rate: int(speed * (9 + 20*r.Float64()))}
			l.Noise = l.Supply * 0.004 * r.Float64() * one(1, 0.1)
			if l.Noise < 0 {
				l.Noise = -l.Noise
			}
			l.Tau = one(0, 0, 0.05, 0.2) / speed
			if one(0, 1) == 1 {
				a := l.Supply * 0.03 * r.Float64()
				l.Series = func(s float64) float64 { return a * sine(49.9*s) }
			}
			k := &talk{seed: uint64(seed), polls: 40, line: uart.Line{Speed: speed, Format: uart.Format{DataBits: 8, Parity: uart.Parity(r.IntN(3)), StopHalfs: 2}}, long: 600 / speed}
			f := find(t, loopSource(k.inVolts(l), 1+r.IntN(5000)), decode.Options{Tap: capture.IndoorTerminal})
			what := fmt.Sprintf("%g V, mark at %.2f, %g Bd, %.1f samples a bit, tau %.2f bit, noise %.3f V", l.Supply, l.Place, speed, float64(l.Rate)/speed, l.Tau*speed, l.Noise)
			if v := &f.Verdict; !v.Undetermined && v.Cause != cause.None {
				t.Errorf("%s: %s", what, v.Summary)
			}
			if len(f.Senders) != 2 {
				t.Fatalf("%s: %d senders: %s", what, len(f.Senders), f.Verdict.Summary)
			}
			for i, side := range []capture.Side{capture.Indoor, capture.Outdoor} {
				if s := &f.Senders[i]; s.Side != side || s.Good < 39 || s.Frames > 41 {
					t.Errorf("%s: %v: %d frames, %d good, want %v with 40", what, s.Side, s.Frames, s.Good, side)
				}
			}
		})
	}
}
