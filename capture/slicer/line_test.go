package slicer_test

import (
	"math"
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/slicer"
)

// talk is a dialogue at 1200 Bd for so many seconds, after a rest.
func talk(rest, seconds float64) *telegraph {
	w := newTelegraph(1200, 11)
	w.now = rest
	w.dialogue(seconds, 0.3)
	return w
}

// sameLevels compares the sequence of levels from an instant on, and each instant to a third of a bit at 1200 Bd.
func sameLevels(t *testing.T, got *sliced, want []edge, clock capture.Clock, from float64) {
	t.Helper()
	start := from * clock.PerSecond()
	for len(want) > 0 && want[0].at < start {
		want = want[1:]
	}
	at, to := got.At, got.To
	for len(at) > 0 && float64(at[0]) < start-clock.PerSecond()/1200/3 {
		at, to = at[1:], to[1:]
	}
	slack := clock.PerSecond() / 1200 / 3
	for i := range min(len(at), len(want)) {
		if to[i] != want[i].to || math.Abs(float64(at[i])-want[i].at) > slack {
			t.Errorf("transition %d: %v at %.5f s, want %v at %.5f s; %+v",
				i, to[i], clock.Seconds(at[i]), want[i].to, want[i].at/clock.PerSecond(), got.found)
			return
		}
	}
	if len(at) != len(want) {
		t.Errorf("%d transitions, want %d; %+v", len(at), len(want), got.found)
	}
}

// dip is a sag to a depth, reached within fall, from the given instants on; back in 0.3 s.
func dip(depth, fall float64, at ...float64) func(float64) float64 {
	return func(s float64) float64 {
		f := 1.0
		for _, t := range at {
			switch d := s - t; {
			case d < 0:
			case d < fall:
				f = 1 - (1-depth)*d/fall
			case d < fall+0.2:
				f = depth
			case d < fall+0.5:
				f = depth + (1-depth)*(d-fall-0.2)/0.3
			}
		}
		return f
	}
}

func sine(amplitude, hertz float64) func(float64) float64 {
	return func(s float64) float64 { return amplitude * math.Sin(2*math.Pi*hertz*s) }
}

// What moves the supply moves the levels, and makes no transition.
func TestLevelsFollowTheLine(t *testing.T) {
	t.Parallel()
	for name, l := range map[string]capturetest.Loop{
		"dip in 10 ms":    {Factor: dip(0.4, 0.01, 1.03, 2.2, 3.35, 5.5)},
		"dip in 100 ms":   {Factor: dip(0.4, 0.1, 1.03, 2.2, 3.35, 5.5)},
		"dip, mark low":   {Factor: dip(0.4, 0.03, 1.03, 2.2, 3.35, 5.5), Place: 0.2},
		"dip, mark high":  {Factor: dip(0.4, 0.03, 1.03, 2.2, 3.35, 5.5), Place: 0.8},
		"dip, negative":   {Factor: dip(0.4, 0.03, 1.03, 2.2, 3.35, 5.5), Supply: -48},
		"hum 10 %":        {Series: sine(1.2, 50)},
		"hum 30 %":        {Series: sine(3.6, 50)},
		"hum 30 %, 60 Hz": {Series: sine(2.9, 60), Place: 0.6},
		"drift":           {Factor: func(s float64) float64 { return 1 + 0.4*math.Sin(s) }},
		"joint":           {Joint: func(s float64) float64 { return 0.05 * s }},
		"sharp":           {},
		"quantised":       {Bits: 8, Full: 60},
		"quiet":           {Noise: 1e-9},
	} {
		for _, rate := range []int{20_000, 100_000} {
			t.Run(name, func(t *testing.T) {
				t.Parallel()
				l := l
				l.Rate, l.Seed = rate, 5
				if l.Noise == 0 {
					l.Noise = 0.1
				}
				line := talk(0.3, 6).line(l)
				got := slice(t, line.Info(), line.Block(), 777, slicer.Options{})
				sameLevels(t, got, truth(line), line.Clock(), 0)
				if got.found.Levels != 3 || got.found.Kind != slicer.Loop || got.found.Mains || got.found.Coupled {
					t.Errorf("%+v", got.found)
				}
			})
		}
	}
}

// Another talker's level joins when it appears.
func TestSecondTalkerAppearsLater(t *testing.T) {
	t.Parallel()
	for _, place := range []float64{0.2, 0.5, 0.8} {
		for _, feedFirst := range []bool{true, false} {
			w := newTelegraph(1200, 4)
			for w.now = 0.5; w.now < 100.0; w.now += 0.5 {
				w.frame(feedFirst, 6)
			}
			from := w.now
			for range 4 {
				w.frame(!feedFirst, 6)
				w.now += 0.2
				w.frame(feedFirst, 6)
				w.now += 0.2
			}
			l := w.line(capturetest.Loop{Rate: 20_000, Place: place, Noise: 0.05, Tau: 1e-4})
			got := slice(t, l.Info(), l.Block(), 4096, slicer.Options{Kind: slicer.Loop})
			sameLevels(t, got, truth(l), l.Clock(), 0)
			if got.found.Levels != 3 {
				t.Errorf("place %g from %g s: %+v", place, from, got.found)
			}
		}
	}
}

// A supply that died and comes back, at once or slowly, is picked up again.
func TestSupplyComesBack(t *testing.T) {
	t.Parallel()
	for name, f := range map[string]func(float64) float64{
		"at once": func(s float64) float64 {
			if s > 3 && s < 5 {
				return 0
			}
			return 1
		},
		"soon": func(s float64) float64 {
			if s > 3 && s < 3.1 {
				return 0
			}
			return 1
		},
		"slowly": func(s float64) float64 {
			switch {
			case s < 3 || s > 5.5:
				return 1
			case s < 5:
				return 0
			}
			return (s - 5) * 2
		},
	} {
		for _, both := range []bool{true, false} {
			w := talk(0.3, 8)
			if !both {
				w.feed = nil
			}
			l := w.line(capturetest.Loop{Rate: 20_000, Noise: 0.05, Factor: f})
			got := slice(t, l.Info(), l.Block(), 4096, slicer.Options{})
			t.Run(name, func(t *testing.T) {
				sameLevels(t, got, truth(l), l.Clock(), 6.2)
			})
		}
	}
}

// An AC-coupled input is recognised and undone.
func TestCoupling(t *testing.T) {
	t.Parallel()
	for _, ms := range []float64{5, 10, 20, 50} {
		for _, place := range []float64{0.3, 0.5, 0.7} {
			l := talk(0.5, 6).line(capturetest.Loop{Rate: 48_000, Place: place, Noise: 0.05})
			b := l.Block()
			highPass(b.Volts, ms*1e-3*48_000)
			got := slice(t, l.Info(), b, 4096, slicer.Options{})
			if !got.found.Coupled || got.found.Levels != 3 {
				t.Errorf("%g ms, place %g: %+v", ms, place, got.found)
			}
			sameLevels(t, got, truth(l), l.Clock(), 0)
		}
	}
}

// highPass is one pole with a time constant in samples, started at rest.
func highPass(v []float64, tau float64) {
	slow := v[0]
	a := 1 - math.Exp(-1/tau)
	for i, x := range v {
		v[i] = x - slow
		slow += (x - slow) * a
	}
}
