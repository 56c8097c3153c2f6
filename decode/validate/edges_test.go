package validate_test

import (
	"math"
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/decode/validate"
)

func edgeFacts(c capture.Clock, b *capture.Block) validate.EdgeFacts {
	e := validate.NewEdges(c)
	levelBlocks(b, func() int { return 4096 }, e.Add)
	return e.Facts()
}

// Time constants within 5 % of the loop's own: Rf*C into high, Ro*C into low, both side by side into mid; and the shape
// of an exponential, ln 2 - 1/2 to 1/2.
func TestTimeConstants(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name              string
		rate              int
		place, tau, noise float64
		hum               float64
		baud              float64
	}{
		{"middle", 100000, 0.5, 250e-6, 0.01, 0, 600},
		{"high mark", 100000, 0.7, 300e-6, 0.02, 0, 600},
		{"low mark", 100000, 0.35, 250e-6, 0.02, 0, 600},
		{"ripple", 100000, 0.5, 250e-6, 0.02, 0.5, 600},
		{"fast recorder", 1000000, 0.5, 100e-6, 0.05, 0, 2400},
		{"bits of four time constants", 100000, 0.5, 400e-6, 0.01, 0, 1200},
		{"slow recorder", 20000, 0.5, 1.2e-3, 0.01, 0, 100},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			l := &capturetest.Loop{Rate: c.rate, Seconds: edgeSeconds, Place: c.place, Tau: c.tau, Noise: c.noise, Seed: 11}
			if c.baud < 300 {
				l.Seconds = 6
			}
			l.Factor = func(s float64) float64 { return 1 + c.hum/24*math.Sin(2*math.Pi*100*s) }
			levelTalk(l, c.baud)
			f := edgeFacts(l.Clock(), levelSliced(l))
			near(t, "resolution", f.Resolution, 1/float64(c.rate), 1e-9)
			for _, k := range []struct {
				from, to capture.Level
				tau      float64
			}{
				{capture.Mid, capture.High, c.tau * (1 - c.place)},
				{capture.Mid, capture.Low, c.tau * c.place},
				{capture.High, capture.Mid, c.tau * c.place * (1 - c.place)},
				{capture.Low, capture.Mid, c.tau * c.place * (1 - c.place)},
			} {
				s := f.Kind(k.from, k.to)
				name := k.from.String() + " to " + k.to.String()
				near(t, name+" tau", s.Tau50, k.tau, 0.05*k.tau)
				if c.hum == 0 {
					near(t, name+" tau, 90th percentile", s.Tau90, k.tau, 0.1*k.tau)
				}
				near(t, name+" shape", s.Shape, (math.Ln2-0.5)/0.5, 0.06)
				if s.N < 10 || s.Seen < s.N || s.Sharp != 0 || !s.Curved || s.Shapes < 5 || s.Tau90 < s.Tau50 {
					t.Errorf("%s: %+v", name, s)
				}
			}
			if s := f.Kind(capture.Low, capture.High); s.N != 0 || s.Seen != 0 || s.Tau50 == s.Tau50 {
				t.Errorf("a kind that is not there: %+v", s)
			}
		})
	}
}

// An edge between two samples is sharp: a quarter of their distance by area.
func TestSharpEdges(t *testing.T) {
	t.Parallel()
	l := &capturetest.Loop{Rate: 20000, Seconds: 3, Noise: 0.02, Seed: 12}
	levelTalk(l, 1200)
	f := edgeFacts(l.Clock(), levelSliced(l))
	if len(f.Kinds) != 4 {
		t.Errorf("kinds: %+v", f.Kinds)
	}
	for _, s := range f.Kinds {
		if s.N < 50 || s.Sharp != s.N || s.Curved || s.Shapes != 0 || s.Shape == s.Shape {
			t.Errorf("not sharp: %+v", s)
		}
		near(t, "tau", s.Tau50, 50e-6/4, 50e-6/8)
	}
}

// A driver with a limited slope: a quarter of the slope's duration, and as much area before the middle as after.
func TestSlopes(t *testing.T) {
	t.Parallel()
	const slope, bit = 40, 160 // samples
	b := &capture.Block{First: capture.Low}
	v, goal := 0.0, 0.0
	for i := range 40 * bit {
		if i%bit == bit/2 {
			goal = 5 - goal
			to := capture.Low
			if goal > 0 {
				to = capture.High
			}
			b.At, b.To = append(b.At, capture.Tick(1000*(i+slope/2)-500)), append(b.To, to)
		}
		v += min(max(goal-v, -5./slope), 5./slope)
		b.SampleAt, b.Volts = append(b.SampleAt, capture.Tick(1000*i)), append(b.Volts, v)
	}
	b.End = capture.Tick(1000 * len(b.Volts))
	f := edgeFacts(capture.Nanoseconds, b)
	for _, s := range f.Kinds {
		near(t, "shape", s.Shape, 1, 0.05)
		near(t, "tau", s.Tau50, slope/4*1e-6, slope/4*1e-6*0.05)
		if s.N < 15 || !s.Curved || s.Seen != 20 {
			t.Errorf("%+v", s)
		}
	}
	if len(f.Kinds) != 2 {
		t.Errorf("kinds: %+v", f.Kinds)
	}
}

// Edges without room on both sides are seen and not measured.
func TestEdgesWithoutRoom(t *testing.T) {
	t.Parallel()
	l := &capturetest.Loop{Rate: 5000, Seconds: 3, Seed: 13}
	levelTalk(l, 1200) // four samples a bit
	b := levelSliced(l)
	var want, got, seen int64
	for i, at := range b.At {
		before, after := capture.Tick(0), b.End
		if i > 0 {
			before = b.At[i-1]
		}
		if i+1 < len(b.At) {
			after = b.At[i+1]
		}
		count := func(from, to capture.Tick) capture.Tick { return (to+1023)/1024 - (from+1023)/1024 } // samples from one on, before the other
		if count(before, at) >= 6 && count(at, after) >= 6 {
			want++
		}
	}
	f := edgeFacts(l.Clock(), b)
	for _, s := range f.Kinds {
		got, seen = got+s.N, seen+s.Seen
	}
	if got != want || want == 0 || seen != int64(len(b.At)) {
		t.Errorf("%d of %d measured, %d have the room", got, seen, want)
	}
	if f := edgeFacts(capture.Nanoseconds, &capture.Block{}); len(f.Kinds) != 0 || f.Resolution == f.Resolution {
		t.Errorf("of nothing: %+v", f)
	}
	at := []capture.Tick{1, 2, 3, 4}
	to := []capture.Level{capture.High, capture.Mid, capture.Low, capture.Unknown}
	e := validate.NewEdges(capture.Nanoseconds)
	e.Add(&capture.Block{End: 9, First: capture.Mid, Transitions: capture.Transitions{At: at, To: to}})
	if f := e.Facts(); len(f.Kinds) != 3 || f.Kinds[0].N != 0 || f.Kinds[0].Tau50 == f.Kinds[0].Tau50 {
		t.Errorf("without samples: %+v", f)
	}
}

func TestEdgesInBlocksOfAnySize(t *testing.T) {
	t.Parallel()
	l := &capturetest.Loop{Rate: 20000, Seconds: cutSeconds, Tau: 300e-6, Noise: 0.05, Seed: 14}
	levelTalk(l, 600)
	anySize(t, levelSliced(l), func(cut func(func(*capture.Block))) validate.EdgeFacts {
		e := validate.NewEdges(l.Clock())
		cut(e.Add)
		return e.Facts()
	})
}
