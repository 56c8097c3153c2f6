package validate_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/decode/validate"
)

// Mean within 0.2 % of the supply and noise within 5 %, of what the loop was made with.
func TestLevelsAreThoseOfTheLoop(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name                           string
		rate                           int
		supply, place, tau, noise, hum float64
	}{
		{"sharp", 20000, 24, 0.5, 0, 0.05, 0},
		{"curved", 20000, 56, 0.7, 150e-6, 0.1, 0},
		{"curved, 100 kSa/s", 100000, 24, 0.3, 150e-6, 0.02, 0},
		{"negative", 20000, -24, 0.4, 50e-6, 0.05, 0},
		{"ripple of 1 V at 100 Hz", 20000, 24, 0.5, 0, 0.05, 1},
		{"slow recorder", 6000, 24, 0.5, 0, 0.05, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			l := &capturetest.Loop{Rate: c.rate, Seconds: levelSeconds, Supply: c.supply, Place: c.place, Tau: c.tau, Noise: c.noise, Seed: 3}
			if c.hum > 0 {
				l.Factor = func(s float64) float64 { return 1 + c.hum/c.supply*math.Sin(2*math.Pi*100*s) }
			}
			levelTalk(l, 1200)
			f := levelFacts(l, levelSliced(l))
			for _, x := range []struct {
				name string
				f    validate.LevelFact
				mean float64
			}{{"low", f.Low, 0}, {"mid", f.Mid, c.supply * c.place}, {"high", f.High, c.supply}} {
				near(t, x.name+" mean", x.f.Mean, x.mean, 0.002*math.Abs(c.supply))
				near(t, x.name+" noise", x.f.Noise, c.noise, 0.05*c.noise+4*x.f.NoiseErr)
				if x.f.NoiseErr > 0.04*c.noise {
					t.Errorf("%s: standard error %g of a noise of %g", x.name, x.f.NoiseErr, c.noise)
				}
				if x.f.Samples < 500 || math.Abs(x.f.Seconds-float64(x.f.Samples)/float64(c.rate)) > 1e-9*x.f.Seconds {
					t.Errorf("%s: %d samples, %g s", x.name, x.f.Samples, x.f.Seconds)
				}
			}
			near(t, "ratio", f.Ratio.Median, c.place, 0.002)
			near(t, "growth", f.Growth, 1, 4*f.GrowthErr+0.02)
		})
	}
}

// The supply moves both levels and leaves the ratio (circuit of the loop: mark is place*supply).
func TestSupplyLeavesTheRatio(t *testing.T) {
	t.Parallel()
	l := &capturetest.Loop{Rate: 20000, Seconds: levelSeconds, Place: 0.6, Noise: 0.02, Seed: 4}
	l.Factor = func(s float64) float64 { return 1 - 0.2*s/l.Seconds }
	levelTalk(l, 2400)
	f := levelFacts(l, levelSliced(l))
	near(t, "correlation", f.Correlation, 1, 0.02)
	near(t, "follows", f.Follows, 1, 0.05)
	near(t, "change of high", f.High.Drift.Change, -0.2*24*(1-1/l.Seconds), 0.25)
	near(t, "change of mid", f.Mid.Drift.Change, -0.2*0.6*24*(1-1/l.Seconds), 0.15)
	near(t, "ratio", f.Ratio.Median, 0.6, 0.01)
	near(t, "change of the ratio", f.Ratio.Change, 0, 0.01)
	if d := f.High.Drift; d.First < d.Last || d.Highest != d.First || d.Lowest != d.Last || d.Bins != int(l.Seconds) {
		t.Errorf("high falls evenly, over 1 s bins: %+v", d)
	}
}

// A joint in S, seen from the end that does not feed: mark falls, high stands (observables: poor-joint).
func TestJointLowersMarkAlone(t *testing.T) {
	t.Parallel()
	l := &capturetest.Loop{Rate: 20000, Seconds: levelSeconds, Noise: 0.02, Seed: 5}
	r := rand.New(rand.NewPCG(5, 5))
	l.Joint = func(s float64) float64 { return 0.25 * s / l.Seconds * (1 + 0.1*r.NormFloat64()) }
	levelTalk(l, 2400)
	f := levelFacts(l, levelSliced(l))
	near(t, "change of high", f.High.Drift.Change, 0, 0.01)
	near(t, "last ratio", f.Ratio.Last, 0.5/1.25, 0.015)
	if f.Ratio.Change > -0.08 || f.Ratio.Change+5*f.Ratio.ChangeErr > 0 {
		t.Errorf("the ratio falls: %g +- %g", f.Ratio.Change, f.Ratio.ChangeErr)
	}
	if math.Abs(f.Correlation) > 0.9 {
		t.Errorf("mid moves alone, yet correlates by %g", f.Correlation)
	}
	if f.Growth < 3 || f.Growth-5*f.GrowthErr < 1 {
		t.Errorf("noise while current flows only: %g +- %g", f.Growth, f.GrowthErr)
	}
}

// A leak of conductance g beside S-N, in units of 1/Rf: high is V/(1+g), mark V*Ro/(Ro+Rf+g*Ro) (voltage divider).
func TestLeakLowersBothAndRaisesTheRatio(t *testing.T) {
	t.Parallel()
	l := &capturetest.Loop{Rate: 20000, Seconds: levelSeconds, Noise: 0.02, Seed: 6}
	levelTalk(l, 2400)
	b := levelSliced(l)
	level, k := b.First, 0
	for i, at := range b.SampleAt {
		for k < len(b.At) && b.At[k] <= at {
			level = b.To[k]
			k++
		}
		switch g := 0.3 * float64(i) / float64(len(b.Volts)); level {
		case capture.High:
			b.Volts[i] /= 1 + g
		case capture.Mid:
			b.Volts[i] *= 2 / (2 + g)
		}
	}
	f := levelFacts(l, b)
	if f.High.Drift.Change > -4 || f.Mid.Drift.Change > -1 {
		t.Errorf("both fall: high %g, mid %g", f.High.Drift.Change, f.Mid.Drift.Change)
	}
	near(t, "last ratio", f.Ratio.Last, 1.3/2.3, 0.01)
	if f.Ratio.Change < 0.04 || f.Ratio.Change-5*f.Ratio.ChangeErr < 0 {
		t.Errorf("the ratio rises: %g +- %g", f.Ratio.Change, f.Ratio.ChangeErr)
	}
	near(t, "correlation", f.Correlation, 1, 0.02)
	if f.Follows > 0.8 {
		t.Errorf("mid follows by %g, less than high falls", f.Follows)
	}
}

// Ten full spikes in mark are no noise; noise that has grown is, and soon.
func TestSpikesAreNoNoise(t *testing.T) {
	t.Parallel()
	l := &capturetest.Loop{Rate: 20000, Seconds: 10, Noise: 0.05, Seed: 7}
	l.Extra = func(s float64) float64 {
		if ms := math.Round(s * 1e3); math.Mod(ms, 1000) == 500 && math.Abs(s*1e3-ms) < 1e-6 {
			return 5
		}
		return 0
	}
	near(t, "noise with spikes", levelFacts(l, levelSliced(l)).Mid.Noise, 0.05, 0.0025)
	r := rand.New(rand.NewPCG(7, 7))
	l.Extra = func(s float64) float64 {
		if s < 5 {
			return 0
		}
		return 0.5 * r.NormFloat64()
	}
	near(t, "noise that grew", levelFacts(l, levelSliced(l)).Mid.Noise, math.Sqrt(0.05*0.05+0.5*0.5/2), 0.02)
}

// Noise in mark counts as grown only against the noisier of the others.
func TestGrowthOfNoise(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ low, mid, high, want float64 }{
		{0.05, 0.2, 0.1, 2}, {0.2, 0.1, 0.05, 0.5}, {0, 0.3, 0.1, 3}, {0.1, 0.3, 0, 3}, {0, 0.1, 0, math.NaN()}, {0.1, 0, 0.1, math.NaN()},
	} {
		lv := validate.NewLevels(capture.Clock{Num: 20000, Den: 1})
		r := rand.New(rand.NewPCG(21, 21))
		at := capture.Tick(0)
		for range 200 {
			for i, noise := range []float64{c.low, c.mid, c.high} {
				if noise == 0 {
					continue // not seen
				}
				p := validate.Piece{Level: capture.Low + capture.Level(i)}
				for range 100 {
					p.At, p.Volts = append(p.At, at), append(p.Volts, 12*float64(i)+noise*r.NormFloat64())
					at++
				}
				lv.Add(p)
			}
		}
		f := lv.Facts()
		if math.IsNaN(c.want) {
			if f.Growth == f.Growth || f.GrowthErr == f.GrowthErr {
				t.Errorf("%+v: growth %g", c, f.Growth)
			}
			continue
		}
		// 16,000 degrees of freedom each: 1/sqrt(2*16000) relative, of two
		near(t, "standard error", f.GrowthErr, c.want*math.Sqrt(2./32000), 0.1*c.want*math.Sqrt(2./32000))
		near(t, "growth", f.Growth, c.want, 4*f.GrowthErr)
	}
}

// Time bins widen as the recording outgrows them: 70 s make 35 bins of 2 s.
func TestTimeBinsWiden(t *testing.T) {
	t.Parallel()
	l := &capturetest.Loop{Rate: 2000, Seconds: 70, Noise: 0.05, Seed: 8}
	f := levelFacts(l, levelSliced(l))
	if f.BinSeconds != 2 || f.Mid.Drift.Bins != 35 || f.Mid.Samples != 70*2000-32-16 { // before it has learned the edges
		t.Errorf("%d samples in %d bins of %g s", f.Mid.Samples, f.Mid.Drift.Bins, f.BinSeconds)
	}
	near(t, "change", f.Mid.Drift.Change, 0, 0.01)
}

// Facts do not depend on how the recording was cut into blocks, nor on when they are read.
func TestLevelsInBlocksOfAnySize(t *testing.T) {
	t.Parallel()
	l := &capturetest.Loop{Rate: 20000, Seconds: cutSeconds, Tau: 100e-6, Noise: 0.05, Seed: 8}
	levelTalk(l, 1200)
	anySize(t, levelSliced(l), func(cut func(func(*capture.Block))) validate.LevelFacts {
		k, lv := validate.NewCutting(l.Clock()), validate.NewLevels(l.Clock())
		n := 0
		cut(func(b *capture.Block) {
			k.Add(b, lv.Add)
			if n++; n%1000 == 0 {
				lv.Facts()
			}
		})
		return lv.Facts()
	})
}

func TestNoLevels(t *testing.T) {
	t.Parallel()
	lv := validate.NewLevels(capture.Nanoseconds)
	lv.Add(validate.Piece{})
	nan := math.NaN()
	none := validate.Drift{Median: nan, StdErr: nan, Spread: nan, First: nan, Last: nan, Lowest: nan, Highest: nan,
		Change: nan, ChangeErr: nan}
	level := validate.LevelFact{Mean: nan, Noise: nan, NoiseErr: nan, Drift: none}
	want := validate.LevelFacts{Low: level, Mid: level, High: level, BinSeconds: 1, Ratio: none,
		Correlation: nan, Follows: nan, Growth: nan, GrowthErr: nan}
	if d := cmp.Diff(want, lv.Facts(), cmpopts.EquateNaNs()); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
	lv.Add(validate.Piece{Level: capture.Mid, At: []capture.Tick{5, 6}, Volts: []float64{nan, math.Inf(1)}})
	if f := lv.Facts(); f.Mid.Samples != 0 || f.Mid.Mean == f.Mid.Mean {
		t.Errorf("what is no number was counted: %+v", f.Mid)
	}
}
