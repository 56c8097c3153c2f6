package decode_test

import (
	"math"
	"strings"
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/decode"
	"linewitness/decode/cause"
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

// What each fault leaves in the levels reaches the answer: its own evidence stands, and its cause leads or is among the
// first; and no level sign convicts where the line is sound.
func TestFaultsShowInLevels(t *testing.T) {
	t.Parallel()
	hum := func(t float64) float64 { return 4 * math.Sin(2*math.Pi*49.93*t) }
	for _, c := range []struct {
		name     string
		line     capturetest.Loop
		talk     talk
		evidence string // that must stand
		lead     string // cause/side that must lead among the faults
	}{
		{"hum in series with N", capturetest.Loop{Noise: 0.1, Series: hum}, talk{}, "hum", "mains-hum/line"},
		{"a joint that heats up", capturetest.Loop{Noise: 0.05, Joint: func(s float64) float64 { return 0.3 * min(s/20, 1) }}, talk{}, "place-moves", "poor-joint/line"},
		{"spikes", capturetest.Loop{Noise: 0.05, Extra: spikesAt(0.0531)}, talk{}, "spikes", "impulse-noise/line"},
		{"dips", capturetest.Loop{Noise: 0.05, Factor: dips}, talk{}, "dips", "voltage-sag/line"},
		{"long cable", capturetest.Loop{Noise: 0.05, Tau: 0.8e-3}, talk{}, "edges-curved", "excess-capacitance/line"},
		{"wrong sums", capturetest.Loop{Noise: 0.05}, talk{wrongSum: 0.5}, "no-dips", "bad-checksum/outdoor"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			k := c.talk
			k.seed, k.polls = 21, 60
			f := find(t, loopSource(k.inVolts(c.line), 777), decode.Options{Tap: capture.IndoorTerminal})
			has := false
			for _, e := range f.Evidence {
				has = has || e.ID == c.evidence
			}
			if !has {
				t.Errorf("no evidence %s", c.evidence)
			}
			lead := ""
			for _, k := range f.Candidates {
				if k.Cause != cause.None {
					lead = k.String()
					break
				}
			}
			t.Logf("%s: %s", f.Verdict.Summary, lead)
			if lead != c.lead {
				t.Errorf("%s leads, want %s", lead, c.lead)
				for _, k := range f.Candidates[:6] {
					t.Logf("%s %.3f", k, k.Probability)
				}
				for _, e := range f.Evidence {
					t.Logf("%s: %s", e.ID, e.Says)
				}
			}
		})
	}
}

// spikesAt are pulses of 9 V and 150 us of both signs, every so many seconds.
func spikesAt(every float64) func(float64) float64 {
	return func(s float64) float64 {
		n := math.Floor(s / every)
		if s-n*every > 150e-6 {
			return 0
		}
		if int(n)%2 == 0 {
			return 9
		}
		return -9
	}
}

func sine(cycles float64) float64 { return math.Sin(2 * math.Pi * cycles) }

// One talker leaves two levels. That the other one's spaces were not seen is said as that: it is silent, or they merge with
// mark.
func TestOneTalkerInVolts(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		place         float64
		says, verdict string
	}{
		{0.5, "current flows through both units", "silent-sender/outdoor"},
		{0.97, "silent, or its spaces merge with mark", "unknown/unknown"},
	} {
		k := &talk{seed: 3, polls: 60, silent: 1}
		f := find(t, loopSource(k.inVolts(capturetest.Loop{Noise: 0.1, Place: c.place}), 1000), decode.Options{Tap: capture.IndoorTerminal})
		said := ""
		for _, e := range f.Evidence {
			if e.ID == "levels" {
				said = e.Says
			}
		}
		if !strings.Contains(said, c.says) || f.Verdict.String() != c.verdict {
			t.Errorf("mark at %g: %s (%s)", c.place, said, f.Verdict.Summary)
		}
		if len(f.Senders) != 2 || f.Senders[0].Side != capture.Indoor || f.Senders[0].Good != 60 || f.Senders[1].Frames != 0 {
			t.Errorf("mark at %g: %v", c.place, f.Senders)
		}
	}
}

// A line that is held away from mark is not idle: after good talk it is open, shorted, unfed or held by a unit, and never called
// sound.
func TestHeldLinesAreNotSound(t *testing.T) {
	t.Parallel()
	for name, hold := range map[string]func(feed, other *capture.Block, at capture.Tick){
		"the feeding side opens for good": func(feed, _ *capture.Block, at capture.Tick) {
			feed.At, feed.To = append(feed.At, at), append(feed.To, capture.Low)
		},
		"the other side opens for good": func(_, other *capture.Block, at capture.Tick) {
			other.At, other.To = append(other.At, at), append(other.To, capture.Low)
		},
	} {
		k := &talk{seed: 12, polls: 60}
		l := k.inVolts(capturetest.Loop{Noise: 0.06})
		hold(l.Feed, l.Other, l.Clock().Ticks(l.Seconds))
		l.Seconds += 25
		f := find(t, loopSource(l, 4000), decode.Options{Tap: capture.IndoorTerminal})
		if v := &f.Verdict; !v.Undetermined && v.Cause == cause.None {
			t.Errorf("%s: %s", name, v.Summary)
		}
		if v := f.Volts; v.Held.N != 1 || v.HeldLow+v.HeldHigh < 24 || v.HeldLow+v.HeldHigh > 26 {
			t.Errorf("%s: held %d times, %.1f s low, %.1f s high", name, v.Held.N, v.HeldLow, v.HeldHigh)
		}
	}
}
