package compare_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"linewitness/decode/compare"
)

// Whatever the offset, the drift and the losses, and however often contents repeat, the offset comes back to microseconds,
// and every frame that both show is matched with itself.
func TestOffsetAndDriftComeBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r := source(rapid.Uint64().Draw(t, "seed"))
		k := talk{polls: rapid.IntRange(240, 700).Draw(t, "polls"), period: 0.3,
			waver: rapid.Float64Range(0.5e-3, 8e-3).Draw(t, "waver"), slots: rapid.SampledFrom([]int{0, 4}).Draw(t, "slots"),
			walks: rapid.Bool().Draw(t, "walks"), contents: rapid.SampledFrom([]int{1, 2, 16, 256, 1 << 20}).Draw(t, "contents")}
		all := k.events(r)
		end := all[len(all)-1].at + 1
		loss := rapid.Float64Range(0, 0.3).Draw(t, "loss")
		hears := func(int, event) heard {
			if x := r.Float64(); x < loss/2 {
				return damaged
			} else if x < loss {
				return missing
			}
			return whole
		}
		cut := rapid.Float64Range(0, 0.5).Draw(t, "cut") * end
		a := probe{from: 0, to: end - rapid.Float64Range(0, 0.2).Draw(t, "tail")*end, zero: rapid.Float64Range(-1e4, 1e4).Draw(t, "zero a"), noise: 5e-6}
		b := probe{from: cut, to: end, zero: rapid.Float64Range(-1e4, 1e4).Draw(t, "zero b"), noise: 5e-6, hears: hears,
			drift: rapid.Float64Range(-300e-6, 300e-6).Draw(t, "drift")}
		recA, recB := a.record(all, r), b.record(all, r)
		if rapid.Bool().Draw(t, "other way") {
			recA, recB, a, b = recB, recA, b, a
		}
		al := compare.Align(recA, recB)
		if !al.Aligned || !al.Sure() {
			t.Fatalf("not aligned: %s (chance %g, %+v)", al.Why, al.Chance, al.Line)
		}
		l := al.Line
		middle := a.from + (l.At-a.zero)/(1+a.drift) // on the line
		want := b.zero + (middle-b.from)*(1+b.drift) - l.At
		if off := math.Abs(l.Offset - want); off > 6*l.OffsetErr+3e-6 || l.OffsetErr > 5e-6 {
			t.Errorf("offset %.9g ± %.2g s, want %.9g", l.Offset, l.OffsetErr, want)
		}
		drift := (1+b.drift)/(1+a.drift) - 1
		if off := math.Abs(l.Drift - drift); off > 6*l.DriftErr+1e-7 || l.DriftErr > 1e-6 {
			t.Errorf("drift %.4g ± %.2g ppm, want %.4g", l.Drift*1e6, l.DriftErr*1e6, drift*1e6)
		}
		for _, at := range []float64{al.From, (al.From + al.To) / 2, al.To} {
			line := a.from + (at-a.zero)/(1+a.drift)
			if got, want := al.Axis.Second(at), b.zero+(line-b.from)*(1+b.drift); math.Abs(got-want) > 60e-6 {
				t.Errorf("at %g s: %.9g, want %.9g", at, got, want)
			}
			if back := al.Axis.First(al.Axis.Second(at)); math.Abs(back-at) > 1e-7 {
				t.Errorf("at %g s: there and back again %.9g", at, back)
			}
		}
	})
}

// Recordings exchanged: the same alignment the other way round.
func TestAlignExchanged(t *testing.T) {
	t.Parallel()
	r := source(3)
	all := talk{polls: 300, period: 0.3, waver: 3e-3, contents: 64}.events(r)
	a := probe{to: 80, noise: 5e-6}.record(all, r)
	b := probe{from: 20, to: 95, zero: 7, noise: 5e-6, drift: 50e-6}.record(all, r)
	one, other := compare.Align(a, b), compare.Align(b, a)
	if one.Matched != other.Matched || one.FirstOf != other.SecOf || math.Abs(one.Line.Drift+other.Line.Drift) > 1e-7 {
		t.Errorf("%+v\n%+v", one.Line, other.Line)
	}
}

// Two occasions on which the units say the same are no one conversation, whether contents repeat or not, whether or not a
// schedule makes the gaps differ alike on both.
func TestTwoOccasions(t *testing.T) {
	t.Parallel()
	aligned, small := 0, 0
	for seed := range uint64(320) {
		r := source(seed)
		k := talk{polls: 200, period: 0.3, waver: []float64{0.02e-3, 0.1e-3, 0.3e-3, 3e-3}[seed%4], contents: []int{1, 16, 1 << 20, 1 << 20}[seed/4%4],
			slots: []int{0, 3, 16, 0}[seed/16%4], walks: seed/64%2 == 1}
		a := probe{to: 70, noise: 5e-6}.record(k.events(r), r)
		b := probe{to: 70, noise: 5e-6}.record(k.events(r), r)
		al := compare.Align(a, b)
		if al.Aligned {
			aligned++
			if al.Chance < 0.05 {
				small++
			}
		}
		if al.Sure() {
			t.Errorf("seed %d %+v: chance %g: %+v, matched %d", seed, k, al.Chance, al.Line, al.Matched)
		}
	}
	if aligned < 50 || small > aligned/10 {
		t.Errorf("%d looked alike, %d of them with a chance below 0.05", aligned, small)
	}
}

// What cannot be aligned says why.
func TestNotAligned(t *testing.T) {
	t.Parallel()
	r := source(5)
	even := talk{polls: 200, period: 0.3, contents: 1}.events(r)
	other := talk{polls: 200, period: 0.3, waver: 3e-3, contents: 1 << 20}.events(r)
	for i := range other {
		other[i].hash += 1 << 50
	}
	counted := talk{polls: 200, period: 0.3, contents: 1 << 20}.events(r)
	for _, c := range []struct {
		name string
		a, b *compare.Recording
		want string
	}{
		{"nothing", &compare.Recording{Clock: nano}, &compare.Recording{Clock: nano}, "fewer than 8"},
		{"few", probe{to: 1.5}.record(even, r), probe{to: 60}.record(even, r), "fewer than 8"},
		{"other contents", probe{to: 60}.record(even, r), probe{to: 60}.record(other, r), "no row of frames"},
		{"even polls", probe{to: 40}.record(even, r), probe{from: 9, to: 60}.record(even, r), "two different offsets"},
		{"even, but counted", probe{to: 40, noise: 1e-5}.record(counted, r), probe{from: 9, to: 60, noise: 1e-5}.record(counted, r), "too even"},
	} {
		al := compare.Align(c.a, c.b)
		if al.Sure() || !strings.Contains(al.Why, c.want) {
			t.Errorf("%s: %+v", c.name, al)
		}
	}
}

// A short stretch in common is found in a long recording, also where all polls are alike.
func TestShortOverlap(t *testing.T) {
	t.Parallel()
	for _, contents := range []int{1, 256, 1 << 20} {
		r := source(uint64(contents))
		all := talk{polls: 20000, period: 0.3, waver: 4e-3, contents: contents}.events(r)
		a := probe{to: 5000, noise: 5e-6}.record(all, r)
		b := probe{from: 3200, to: 3260, zero: 12, noise: 5e-6, drift: -80e-6}.record(all, r)
		al := compare.Align(a, b)
		if !al.Sure() || math.Abs(al.Axis.First(42)-3230) > 3e-3 || al.Matched != len(b.Frames) {
			t.Errorf("contents %d: %+v, matched %d of %d, chance %g", contents, al.Line, al.Matched, len(b.Frames), al.Chance)
		}
	}
}

// go test -run '^$' -bench Align -benchmem ./decode/compare
func BenchmarkAlign(b *testing.B) {
	for _, c := range []struct {
		name     string
		contents int
	}{{"distinct", 1 << 20}, {"counter", 256}, {"alike", 1}} {
		b.Run("contents="+c.name, func(b *testing.B) {
			r := rand.New(rand.NewPCG(1, 2))
			all := talk{polls: 50000, period: 0.3, waver: 4e-3, contents: c.contents}.events(r)
			lose := func(int, event) heard {
				if r.Float64() < 0.02 {
					return damaged
				}
				return whole
			}
			x := probe{to: 15000, noise: 5e-6}.record(all, r)
			y := probe{to: 15000, zero: 3, noise: 5e-6, drift: 40e-6, hears: lose}.record(all, r)
			b.ReportAllocs()
			for b.Loop() {
				if al := compare.Align(x, y); !al.Sure() {
					b.Fatal(al.Why)
				}
			}
			b.ReportMetric(float64(len(x.Frames)), "frames/op")
		})
	}
}
