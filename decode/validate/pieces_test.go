package validate_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/decode/validate"
)

// levelCut is what a cutting gives, one piece a level of neighbouring samples.
type levelCut struct {
	Levels []capture.Level
	At     []capture.Tick
	Volts  []float64
}

func (c *levelCut) add(p validate.Piece) {
	for range p.At {
		c.Levels = append(c.Levels, p.Level)
	}
	c.At, c.Volts = append(c.At, p.At...), append(c.Volts, p.Volts...)
}

func TestPiecesInBlocksOfAnySize(t *testing.T) {
	t.Parallel()
	l := &capturetest.Loop{Rate: 20000, Seconds: cutSeconds, Tau: 300e-6, Noise: 0.05, Seed: 9}
	levelTalk(l, 600)
	type sum struct {
		N    int
		Hash uint64 // FNV-1a
	}
	anySize(t, levelSliced(l), func(cut func(func(*capture.Block))) (s sum) {
		k := validate.NewCutting(l.Clock())
		s.Hash = 14695981039346656037
		give := func(p validate.Piece) {
			for i, at := range p.At {
				for _, x := range [...]uint64{uint64(at), math.Float64bits(p.Volts[i]), uint64(p.Level)} {
					s.Hash = (s.Hash ^ x) * 1099511628211
				}
				s.N++
			}
		}
		cut(func(b *capture.Block) { k.Add(b, give) })
		if s.N < cutSeconds*5000 {
			t.Fatalf("%d samples", s.N)
		}
		return s
	})
}

// With a guard that is set, samples are given if and only if they are that far, and so many samples, from what is
// before and after.
func TestGuards(t *testing.T) {
	t.Parallel()
	for _, guard := range []capture.Tick{1, 10, 61, 150, 2000} {
		b := &capture.Block{End: 1000, First: capture.Mid}
		for i := range 100 {
			b.SampleAt, b.Volts = append(b.SampleAt, capture.Tick(10*i)), append(b.Volts, float64(i))
		}
		b.At, b.To = []capture.Tick{295, 595, 895}, []capture.Level{capture.High, capture.Unknown, capture.Mid}
		var got, want levelCut
		k := validate.NewCutting(capture.Nanoseconds)
		k.Guard(guard)
		k.Add(b, got.add)
		for _, run := range []struct {
			level                   capture.Level
			first, end, from, until int // samples; instants
		}{{capture.Mid, 0, 30, 0, 295}, {capture.High, 30, 60, 295, 595}, {capture.Mid, 90, 100, 895, 990}} {
			for i := run.first; i < run.end; i++ {
				near := 10*i-run.from < int(guard) || run.until-10*i < int(guard)/3
				if !near && i >= run.first+2 && i < run.end-1 {
					want.add(validate.Piece{Level: run.level, At: b.SampleAt[i : i+1], Volts: b.Volts[i : i+1]})
				}
			}
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("guard %d (-want +got)\n%s", guard, d)
		}
	}
}

// What is under way when a gap comes is left out, and so is what follows it: nothing is known of either.
func TestGuardsAtAGap(t *testing.T) {
	t.Parallel()
	var got levelCut
	k := validate.NewCutting(capture.Nanoseconds)
	k.Guard(1)
	for i, gap := range []capture.Gap{{}, {}, {From: 20, To: 30, Count: -1, Why: capture.GapOverflow}} {
		b := &capture.Block{Start: capture.Tick(10 * i), First: capture.Mid, Gap: gap}
		if gap.Present() {
			b.Start += 10
		}
		b.End = b.Start + 10
		for at := b.Start; at < b.End; at++ {
			b.SampleAt, b.Volts = append(b.SampleAt, at), append(b.Volts, float64(at))
		}
		k.Add(b, got.add)
	}
	var want []capture.Tick
	for at := capture.Tick(2); at < 39; at++ {
		if at < 19 || at >= 32 {
			want = append(want, at)
		}
	}
	if d := cmp.Diff(want, got.At); d != "" {
		t.Errorf("(-want +got)\n%s", d)
	}
}

// Once it has learned the edges, nothing of them is left: all within 0.2 % of the step and 5 times the noise.
func TestGuardsAreLearned(t *testing.T) {
	t.Parallel()
	for _, tau := range []float64{0, 100e-6, 400e-6} {
		l := &capturetest.Loop{Rate: 50000, Seconds: 3, Tau: tau, Noise: 0.01, Seed: 10}
		levelTalk(l, 600)
		var got levelCut
		validate.NewCutting(l.Clock()).Add(levelSliced(l), got.add)
		goal := map[capture.Level]float64{capture.Low: 0, capture.Mid: 12, capture.High: 24}
		count := map[capture.Level]int{}
		for i, v := range got.Volts {
			count[got.Levels[i]]++
			if math.Abs(v-goal[got.Levels[i]]) > 0.002*12+0.05 {
				t.Fatalf("tau %g: %g V at %v, %g s", tau, v, got.Levels[i], l.Clock().Seconds(got.At[i]))
			}
		}
		if count[capture.Low] < 1000 || count[capture.High] < 1000 || count[capture.Mid] < 50000 {
			t.Errorf("tau %g: samples %v", tau, count)
		}
	}
}
