package decode_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
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

// sweep is what ails a loop of a random make.
type sweep struct {
	name string
	make func(r *rand.Rand, l *capturetest.Loop, k *talk)
	// may are the verdicts that are right or, sound, blind; undetermined always is.
	may []cause.Cause
}

// Whatever the make, what ails the wiring never convicts a board, and a board never the wiring: wrong and sure is the worst
// that an answer can be.
func TestFaultyLoopsConvictNobodyElse(t *testing.T) {
	t.Parallel()
	seeds := 6
	if raceEnabled {
		seeds = 1
	}
	uniform := func(r *rand.Rand, a, b float64) float64 { return a + (b-a)*r.Float64() }
	for _, s := range []sweep{
		{"dips", func(r *rand.Rand, l *capturetest.Loop, _ *talk) {
			every, low := uniform(r, 1.3, 4.3), uniform(r, 0.1, 0.7)
			l.Factor = func(s float64) float64 {
				if x := math.Mod(s, every) - 0.1; x > 0 {
					return 1 - (1-low)*math.Exp(-x/0.08)
				}
				return low
			}
		}, []cause.Cause{cause.None, cause.VoltageSag, cause.LoopSupply}},
		{"hum", func(r *rand.Rand, l *capturetest.Loop, _ *talk) {
			a := l.Supply * uniform(r, 0.05, 0.4)
			l.Series = func(s float64) float64 { return a * sine(50.03*s) }
		}, []cause.Cause{cause.None, cause.MainsHum, cause.ProbeArtefact}},
		{"a joint that heats up", func(r *rand.Rand, l *capturetest.Loop, _ *talk) {
			a := uniform(r, 0.1, 1)
			l.Joint = func(s float64) float64 { return a * min(s/20, 1) }
		}, []cause.Cause{cause.None, cause.PoorJoint}},
		{"spikes", func(r *rand.Rand, l *capturetest.Loop, _ *talk) {
			every, a := uniform(r, 0.02, 0.1), l.Supply*uniform(r, 0.3, 0.8)/9
			l.Extra = func(s float64) float64 { return a * spikesAt(every)(s) }
		}, []cause.Cause{cause.None, cause.ImpulseNoise, cause.Crosstalk}},
		{"a long cable", func(r *rand.Rand, l *capturetest.Loop, k *talk) { l.Tau = uniform(r, 0.3, 1.2) / k.line.Speed },
			[]cause.Cause{cause.None, cause.ExcessCapacitance}},
		{"a supply that sinks", func(r *rand.Rand, l *capturetest.Loop, _ *talk) {
			a := uniform(r, 0.1, 0.5)
			l.Factor = func(s float64) float64 { return 1 - a*min(s/20, 1) }
		}, []cause.Cause{cause.None, cause.LoopSupply, cause.VoltageSag}},
		{"wrong sums", func(r *rand.Rand, _ *capturetest.Loop, k *talk) { k.wrongSum = uniform(r, 0.2, 1) }, []cause.Cause{cause.BadChecksum}},
		{"no answer", func(_ *rand.Rand, _ *capturetest.Loop, k *talk) { k.silent = 1 }, []cause.Cause{cause.SilentSender}},
		{"a fast clock", func(_ *rand.Rand, _ *capturetest.Loop, k *talk) { k.replySpeed = 1.045 }, []cause.Cause{cause.ClockOff}},
	} {
		for seed := range seeds {
			t.Run(fmt.Sprintf("%s %d", s.name, seed), func(t *testing.T) {
				t.Parallel()
				r := rand.New(rand.NewPCG(uint64(seed), 7))
				speed := []float64{600, 1200, 2400}[r.IntN(3)]
				l := capturetest.Loop{Supply: []float64{24, 48, 140}[r.IntN(3)], Place: uniform(r, 0.2, 0.8), Seed: uint64(seed),
					Rate: int(speed * uniform(r, 10, 25))}
				l.Noise = l.Supply * 0.003 * r.Float64()
				k := &talk{seed: uint64(seed), polls: 60, line: uart.Line{Speed: speed, Format: uart.Format{DataBits: 8, Parity: uart.ParityEven, StopHalfs: 2}}, long: 600 / speed}
				s.make(r, &l, k)
				f := find(t, loopSource(k.inVolts(l), 4000), decode.Options{Tap: capture.IndoorTerminal})
				if v := &f.Verdict; !v.Undetermined && !slices.Contains(s.may, v.Cause) {
					t.Errorf("%s", v.Summary)
				}
			})
		}
	}
}
