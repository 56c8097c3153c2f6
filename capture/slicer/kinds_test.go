package slicer_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/slicer"
)

// mapped is a talk with each of the loop's levels put to a value of its own: low, mid, high.
func mapped(t *testing.T, values [3]float64, noise float64) (*capturetest.Loop, *capture.Block) {
	t.Helper()
	l := talk(0.3, 5).line(capturetest.Loop{Rate: 20_000, Place: 0.5, Supply: 2})
	b := l.Block()
	r := rand.New(rand.NewPCG(1, 2))
	for i, v := range b.Volts {
		b.Volts[i] = values[int(math.Round(v))] + noise*r.NormFloat64()
	}
	return l, b
}

func found(kind slicer.Kind, levels int, low, mid, high float64) slicer.Found {
	return slicer.Found{Kind: kind, Levels: levels, Low: low, Mid: mid, High: high, Negative: high < 0}
}

func TestKindsAndNames(t *testing.T) {
	t.Parallel()
	no := math.NaN()
	loop, relative := slicer.Options{Kind: slicer.Loop}, slicer.Options{Relative: true}
	for name, c := range map[string]struct {
		values [3]float64 // while the feeding side is open, while both conduct, while the other is open
		noise  float64
		opt    slicer.Options
		want   slicer.Found
	}{
		"loop":                  {values: [3]float64{0, 12, 24}, noise: 0.1, want: found(slicer.Loop, 3, 0, 12, 24)},
		"loop, negative":        {values: [3]float64{0, -12, -24}, noise: 0.1, want: found(slicer.Loop, 3, 0, -12, -24)},
		"mark near the top":     {values: [3]float64{0, 22.8, 24}, noise: 0.1, want: found(slicer.Loop, 3, 0, 22.8, 24)},
		"mark merged with high": {values: [3]float64{0, 22.8, 24}, noise: 0.5, want: found(slicer.Loop, 2, 0, 22.8, no)},
		"mark merged with low":  {values: [3]float64{0, 1.2, 24}, noise: 0.5, want: found(slicer.Loop, 2, no, 1.2, 24)},
		"low talks only":        {values: [3]float64{0, 12, 12}, noise: 0.1, want: found(slicer.Loop, 2, 0, 12, no)},
		"high talks only":       {values: [3]float64{12, 12, 24}, noise: 0.1, want: found(slicer.Loop, 2, no, 12, 24)},
		"current":               {values: [3]float64{0, 0.01, 0}, noise: 1e-4, want: found(slicer.Current, 2, 0, no, 0.01)},
		"current, reversed":     {values: [3]float64{0, -0.01, 0}, noise: 1e-4, want: found(slicer.Current, 2, 0, no, -0.01)},
		"pin":                   {values: [3]float64{0, 3.3, 0}, noise: 0.02, want: found(slicer.Pin, 2, 0, no, 3.3)},
		"terminal at 5 V":       {values: [3]float64{0, 5, 0}, noise: 0.02, opt: loop, want: found(slicer.Loop, 2, 0, 5, no)},
		"pair, idle at bias":    {values: [3]float64{-2, 0.25, 2}, noise: 0.02, want: found(slicer.Pair, 3, -2, 0.25, 2)},
		"pair, idle driven":     {values: [3]float64{-2, 2, -2}, noise: 0.02, want: found(slicer.Pair, 2, -2, no, 2)},
		"relative loop":         {values: [3]float64{0, 0.2, 0.5}, noise: 0.002, opt: relative, want: found(slicer.Loop, 3, 0, 0.2, 0.5)},
		"relative, two levels":  {values: [3]float64{0, 0.01, 0}, noise: 1e-4, opt: relative, want: found(slicer.Pin, 2, 0, no, 0.01)},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			l, b := mapped(t, c.values, c.noise)
			got := slice(t, l.Info(), b, 1000, c.opt)
			f := got.found
			if f.Kind != c.want.Kind || f.Levels != c.want.Levels || f.Negative != c.want.Negative ||
				f.Coupled || f.Mains || !f.Uniform || f.Spacing != 1024 {
				t.Errorf("%+v, want %+v", f, c.want)
			}
			tol := 0.03*math.Abs(c.values[2]-c.values[0]) + 0.3*c.noise + 1e-4
			for _, p := range [][2]float64{{f.Low, c.want.Low}, {f.Mid, c.want.Mid}, {f.High, c.want.High}} {
				if p[0] != p[0] != (p[1] != p[1]) || math.Abs(p[0]-p[1]) > tol {
					t.Errorf("level %g, want %g: %+v", p[0], p[1], f)
				}
			}
			if math.Abs(f.Noise-c.noise) > 0.2*c.noise {
				t.Errorf("noise %g, want %g", f.Noise, c.noise)
			}
			if len(got.At) < 100 {
				t.Errorf("%d transitions", len(got.At))
			}
		})
	}
}

// What is no telegraph has no transitions.
func TestNoTelegraph(t *testing.T) {
	t.Parallel()
	half := func(s float64) float64 { return math.Max(300*math.Sin(2*math.Pi*50.2*s), 0) }
	odd := func(s float64) float64 { return sine(325, 59.8)(s) + sine(30, 3*59.8)(s) + sine(15, 5*59.8)(s) }
	for name, c := range map[string]struct {
		line   capturetest.Loop
		levels int
		mains  bool
	}{
		"constant":      {line: capturetest.Loop{}, levels: 1},
		"noise":         {line: capturetest.Loop{Noise: 0.5}, levels: 1},
		"ramp":          {line: capturetest.Loop{Noise: 0.05, Extra: func(s float64) float64 { return s }}, levels: 1},
		"mains":         {line: capturetest.Loop{Noise: 0.5, Extra: sine(325, 50.1)}, mains: true},
		"harmonics":     {line: capturetest.Loop{Noise: 0.5, Extra: odd}, mains: true},
		"half waves":    {line: capturetest.Loop{Noise: 0.5, Extra: half}, mains: true},
		"clipped mains": {line: capturetest.Loop{Noise: 0.5, Extra: sine(325, 50.1), Full: 100, Bits: 12}, mains: true},
		"hum":           {line: capturetest.Loop{Noise: 0.05, Extra: sine(1, 50)}, mains: true},
	} {
		for _, rate := range []int{8000, 48_000} {
			t.Run(fmt.Sprintf("%s at %d", name, rate), func(t *testing.T) {
				t.Parallel()
				l := c.line
				l.Rate, l.Seconds = rate, 7
				got := slice(t, l.Info(), l.Block(), 500, slicer.Options{})
				if len(got.At) != 0 || got.found.Mains != c.mains || !c.mains && got.found.Levels != c.levels || got.found.Levels > 1 {
					t.Errorf("%d transitions, %+v", len(got.At), got.found)
				}
				if !math.IsNaN(got.found.Mid) || len(got.Volts) != 7*rate {
					t.Errorf("%d samples, %+v", len(got.Volts), got.found)
				}
			})
		}
	}
}

func TestClippedSamplesAreCounted(t *testing.T) {
	t.Parallel()
	l := talk(0.3, 3).line(capturetest.Loop{Rate: 20_000, Full: 20, Bits: 16, Noise: 0.05})
	b := l.Block()
	want := int64(0)
	for _, v := range b.Volts {
		if math.Abs(v) >= 20-20.0/32768 {
			want++
		}
	}
	got := slice(t, l.Info(), b, 4096, slicer.Options{})
	sameLevels(t, got, truth(l), l.Clock(), 0)
	if got.found.Clipped != want || want == 0 || math.Abs(got.found.High-20) > 0.1 {
		t.Errorf("%d clipped, want %d: %+v", got.found.Clipped, want, got.found)
	}
}

// A list of changes has exact instants.
func TestChanges(t *testing.T) {
	t.Parallel()
	w := talk(0.3, 4)
	clock := capture.Nanoseconds
	all := &capture.Block{End: clock.Ticks(w.now + 1)}
	at := []float64{0}
	volts := []float64{12}
	i, j, feed, other := 0, 0, true, true
	for i < len(w.feed) || j < len(w.other) {
		if j == len(w.other) || i < len(w.feed) && w.feed[i] < w.other[j] {
			at, feed = append(at, w.feed[i]), !feed
			i++
		} else {
			at, other = append(at, w.other[j]), !other
			j++
		}
		v := 12.0
		if !feed {
			v = 0.02
		} else if !other {
			v = 24
		}
		volts = append(volts, v)
	}
	for k := range at {
		all.SampleAt, all.Volts = append(all.SampleAt, clock.Ticks(at[k])), append(all.Volts, volts[k])
	}
	got := slice(t, capture.Info{Clock: clock}, all, 100, slicer.Options{})
	if got.found.Uniform || got.found.Levels != 3 || len(got.At) != len(at)-1 {
		t.Fatalf("%d transitions, want %d: %+v", len(got.At), len(at)-1, got.found)
	}
	for k := range got.At {
		if got.At[k] != all.SampleAt[k+1] || got.doubt[k] != 0 {
			t.Fatalf("transition %d at %d +- %d, want %d", k, got.At[k], got.doubt[k], all.SampleAt[k+1])
		}
	}
}

// From one sample a second to one a nanosecond, with bits of 10 samples and of 1,000.
func TestRates(t *testing.T) {
	t.Parallel()
	for _, clock := range []capture.Clock{{Num: 1, Den: 1}, {Num: 1000, Den: 1}, capture.Nanoseconds} {
		for _, bit := range []int{10, 500} {
			r := rand.New(rand.NewPCG(3, 4))
			all := &capture.Block{}
			var want []capture.Tick
			v := 5.0
			for n := 0; n < 300_000; {
				for k := bit * (1 + r.IntN(4)); k > 0; k-- {
					all.SampleAt, all.Volts = append(all.SampleAt, capture.Tick(n)), append(all.Volts, v+0.05*r.NormFloat64())
					n++
				}
				v = 5 - v
				want = append(want, capture.Tick(n))
			}
			all.End = capture.Tick(len(all.Volts))
			got := slice(t, capture.Info{Clock: clock}, all, 4096, slicer.Options{Kind: slicer.Pin})
			want = want[:len(want)-1]
			if len(got.At) != len(want) {
				t.Errorf("%v, bit of %d: %d transitions, want %d: %+v", clock, bit, len(got.At), len(want), got.found)
				continue
			}
			for i := range want {
				if d := want[i] - got.At[i]; d < -1 || d > 1 {
					t.Errorf("%v: transition %d at %d, want %d", clock, i, got.At[i], want[i])
					break
				}
			}
		}
	}
}

// A passage between the outer levels leaves no mark behind; a stay in mark does.
func TestPassingMark(t *testing.T) {
	t.Parallel()
	for _, tau := range []float64{0, 1e-4, 3e-4} {
		w := talk(0.3, 3)
		w.now += 0.1
		swap := w.now
		w.feed, w.other = append(w.feed, swap, swap+0.005, swap+0.02), append(w.other, swap+0.005, swap+0.01, swap+0.015)
		w.other = append(w.other, swap+0.02) // low, high, mark, high, low
		w.feed = append(w.feed, swap+0.03)
		l := w.line(capturetest.Loop{Rate: 50_000, Noise: 0.05, Tau: tau, Seconds: w.now + 0.2})
		got := slice(t, l.Info(), l.Block(), 4096, slicer.Options{})
		var tail []capture.Level
		for i, at := range got.At {
			if float64(at) > (swap-0.01)*float64(50_000*1024) {
				tail = append(tail, got.To[i])
			}
		}
		want := []capture.Level{capture.Low, capture.High, capture.Mid, capture.High, capture.Low, capture.Mid}
		if fmt.Sprint(tail) != fmt.Sprint(want) {
			t.Errorf("tau %g: %v, want %v", tau, tail, want)
		}
	}
}
