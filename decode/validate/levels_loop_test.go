package validate_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/decode/validate"
)

// levelTalk sets the senders of a loop talking in turns of 12 characters at a speed, with rests of 20 ms or more.
func levelTalk(l *capturetest.Loop, baud float64) {
	r := rand.New(rand.NewPCG(l.Seed, 7))
	senders := [2]*capture.Block{{First: capture.High}, {First: capture.High}}
	c := l.Clock()
	put := func(b *capture.Block, s float64, to capture.Level) {
		if b.Last() != to {
			b.At, b.To = append(b.At, c.Ticks(s)), append(b.To, to)
		}
	}
	for s, turn := 0.05, 0; s < l.Seconds-0.1; turn++ {
		b := senders[turn%2]
		for range 12 {
			bits := r.IntN(256)<<1 | 1<<9
			for i := range 10 {
				put(b, s, []capture.Level{capture.Low, capture.High}[bits>>i&1])
				s += 1 / baud
			}
		}
		s += 0.02 + 0.05*r.Float64()
	}
	l.Feed, l.Other = senders[0], senders[1]
}

// levelSliced is the loop's block with transitions where the volts cross the middle of the levels before and after.
func levelSliced(l *capturetest.Loop) *capture.Block {
	b := l.Block()
	supply, place := l.Supply, l.Place
	if supply == 0 {
		supply = 24
	}
	if place == 0 {
		place = 0.5
	}
	volts := map[capture.Level]float64{capture.Mid: supply * place, capture.High: supply}
	state := func(feed, other bool) capture.Level {
		switch {
		case !feed:
			return capture.Low
		case !other:
			return capture.High
		}
		return capture.Mid
	}
	b.First = capture.Mid
	var f, o capture.Block
	if l.Feed != nil {
		f = *l.Feed
	}
	if l.Other != nil {
		o = *l.Other
	}
	feed, other, was, i := true, true, capture.Mid, 0
	for len(f.At)+len(o.At) > 0 {
		var at capture.Tick
		if len(o.At) == 0 || len(f.At) > 0 && f.At[0] <= o.At[0] {
			at, feed = f.At[0], f.To[0] != capture.Low
			f.At, f.To = f.At[1:], f.To[1:]
		} else {
			at, other = o.At[0], o.To[0] != capture.Low
			o.At, o.To = o.At[1:], o.To[1:]
		}
		to := state(feed, other)
		if to == was {
			continue
		}
		half, up := (volts[was]+volts[to])/2, volts[to] > volts[was]
		now := func() float64 { // the middle, where the supply is now
			if l.Factor == nil {
				return half
			}
			return half * l.Factor(l.Clock().Seconds(b.SampleAt[i]))
		}
		for i < len(b.Volts) && (b.SampleAt[i] < at || (b.Volts[i] > now()) != up) {
			i++
		}
		if i == len(b.Volts) {
			break
		}
		part := min(max((now()-b.Volts[i-1])/(b.Volts[i]-b.Volts[i-1]), 0), 1)
		t := b.SampleAt[i-1] + capture.Tick(part*float64(b.SampleAt[i]-b.SampleAt[i-1]))
		b.At, b.To = append(b.At, max(t, b.SampleAt[i-1]+1)), append(b.To, to)
		was = to
	}
	return b
}

// levelBlocks cuts a block into blocks of so many samples, its transitions with it.
func levelBlocks(all *capture.Block, size func() int, add func(*capture.Block)) {
	first, k := all.First, 0
	for i := 0; i < len(all.Volts); {
		j := min(i+size(), len(all.Volts))
		b := capture.Block{Start: all.SampleAt[i], End: all.End, First: first}
		if i == 0 {
			b.Start, b.Gap = all.Start, all.Gap
		}
		if j < len(all.Volts) {
			b.End = all.SampleAt[j]
		}
		n := k
		for n < len(all.At) && (all.At[n] < b.End || j == len(all.Volts)) {
			n++
		}
		b.At, b.To = all.At[k:n], all.To[k:n]
		b.SampleAt, b.Volts = all.SampleAt[i:j], all.Volts[i:j]
		first, k, i = b.Last(), n, j
		add(&b)
	}
}

func levelFacts(l *capturetest.Loop, b *capture.Block) validate.LevelFacts {
	k, lv := validate.NewCutting(l.Clock()), validate.NewLevels(l.Clock())
	levelBlocks(b, func() int { return 4096 }, func(b *capture.Block) { k.Add(b, lv.Add) })
	return lv.Facts()
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: got %g, want %g within %g", what, got, want, within)
	}
}

// anySize tells whether what get makes of a block is the same however it is cut, a gap in its middle with it.
func anySize[T any](t *testing.T, all *capture.Block, get func(cut func(func(*capture.Block))) T) {
	t.Helper()
	half := len(all.Volts) / 2
	cut := func(size func() int, add func(*capture.Block)) {
		at := 0
		levelBlocks(all, func() int {
			n := size()
			if at < half {
				n = min(n, half-at)
			}
			at += n
			return n
		}, func(b *capture.Block) {
			if b.Start == all.SampleAt[half] {
				b.Gap = capture.Gap{From: b.Start, To: b.Start, Count: -1, Why: capture.GapOverflow}
			}
			add(b)
		})
	}
	want := get(func(add func(*capture.Block)) { cut(func() int { return len(all.Volts) }, add) })
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.IntRange(1, 3000).Draw(t, "size")
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		got := get(func(add func(*capture.Block)) { cut(func() int { return 1 + r.IntN(size) }, add) })
		if d := cmp.Diff(want, got, cmpopts.EquateNaNs()); d != "" {
			t.Fatalf("(-whole +cut)\n%s", d)
		}
	})
}
