package slicer_test

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/slicer"
)

// The blocks of the input have no influence, whatever the line does.
func TestCutsDoNotMatter(t *testing.T) {
	t.Parallel()
	l := talk(1, 4).line(capturetest.Loop{Rate: 20_000, Noise: 0.3, Tau: 2e-4, Factor: dip(0.3, 0.02, 2), Series: sine(2, 50)})
	all := l.Block()
	for _, i := range []int{9000, 9001, 9500, 40_000} {
		all.Volts[i] = math.NaN()
	}
	all.Volts[70_000] = math.Inf(1)
	want := slice(t, l.Info(), all, 4096, slicer.Options{})
	if len(want.At) < 300 || len(want.Gaps) != 4 || len(want.Volts) != len(all.Volts)-5 {
		t.Fatalf("%d transitions, %d gaps, %d of %d samples", len(want.At), len(want.Gaps), len(want.Volts), len(all.Volts))
	}
	for _, cut := range []int{1, 7, 1000, 4095, 1 << 20} {
		if d := cmp.Diff(want, slice(t, l.Info(), all, cut, slicer.Options{}), cmp.AllowUnexported(sliced{}), nan); d != "" {
			t.Errorf("blocks of %d (-want +got):\n%.2000s", cut, d)
		}
	}
}

var nan = cmp.Comparer(func(a, b float64) bool { return a == b || a != a && b != b })

// Every sample comes out once, in order, and every block keeps the rules, for any volts, gaps and blocks.
func FuzzSlice(f *testing.F) {
	f.Add([]byte("\x00\x00\x00\x00\x00\x00\x28\x40\x00\x00\x00\x00\x00\x00\x38\x40"), uint64(1), uint8(0), false)
	f.Add([]byte{0, 0, 0, 0, 0, 0, 0xf8, 0x7f, 1, 2, 3, 4, 5, 6, 7, 8}, uint64(2), uint8(1), true)
	f.Fuzz(func(t *testing.T, raw []byte, seed uint64, kind uint8, even bool) {
		src := &wild{raw: raw, r: rand.New(rand.NewPCG(seed, 9)), even: even, left: 12_000}
		info := capture.Info{Clock: capture.Nanoseconds, FullScale: 10}
		got := run(t, info, src, slicer.Options{Kind: slicer.Kind(kind % 5)})
		if !slices.Equal(src.good, got.Volts) {
			t.Errorf("%d samples, want %d", len(got.Volts), len(src.good))
		}
		if src.blocks > 0 && (got.Start != src.start || got.End != src.end) {
			t.Errorf("covers %d..%d, want %d..%d", got.Start, got.End, src.start, src.end)
		}
	})
}

// wild gives samples out of arbitrary bits, held for a while, in blocks of any size, with gaps.
type wild struct {
	raw        []byte
	r          *rand.Rand
	even       bool
	left       int
	now        capture.Tick
	blocks     int
	start, end capture.Tick
	good       []float64
}

func (s *wild) Info() capture.Info { return capture.Info{} }
func (s *wild) Close() error       { return nil }

func (s *wild) Next(b *capture.Block) error {
	if s.left <= 0 || len(s.raw) < 8 {
		return errEnd
	}
	b.Reset()
	if s.blocks > 0 && s.r.IntN(4) == 0 {
		from := s.now
		s.now += 1 + capture.Tick(s.r.IntN(100_000))
		b.Gap = capture.Gap{From: from, To: s.now, Count: -1, Why: capture.GapPaused}
	}
	b.Start = s.now
	for n := s.r.IntN(3000); n > 0; n-- {
		s.sample(b)
	}
	s.now += capture.Tick(s.r.IntN(3))
	b.End = s.now
	if s.blocks++; s.blocks == 1 {
		s.start = b.Start
	}
	s.end = b.End
	s.left -= len(b.Volts) + 1
	return nil
}

func (s *wild) sample(b *capture.Block) {
	i := s.r.IntN(len(s.raw) - 7)
	v := math.Float64frombits(binary.LittleEndian.Uint64(s.raw[i:]))
	if s.r.IntN(3) > 0 { // tame: the same few values with noise
		v = float64(s.raw[i]&3)*6 + 0.1*s.r.NormFloat64()
	}
	for n := 1 + s.r.IntN(20); n > 0; n-- {
		b.SampleAt, b.Volts = append(b.SampleAt, s.now), append(b.Volts, v)
		if math.Abs(v) < 1e30 {
			s.good = append(s.good, v)
		}
		s.now += 1000
		if !s.even {
			s.now += capture.Tick(s.r.IntN(20_000))
		}
	}
}

type end struct{}

func (end) Error() string { return "end" }

var errEnd = end{}

// Volts 1,024 times as high have their transitions at the same instants, volts of the other sign to a tick, a 1,024th of a sample.
func TestScaleAndSign(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(r *rapid.T) {
		w := newTelegraph(1200, rapid.Uint64().Draw(r, "seed"))
		w.now = 0.2
		w.dialogue(1, 0.1)
		l := w.line(capturetest.Loop{Rate: 20_000, Noise: 0.1, Place: rapid.Float64Range(0.15, 0.85).Draw(r, "place"), Tau: 1e-4})
		all := l.Block()
		opt := slicer.Options{Kind: slicer.Loop}
		want := slice(t, l.Info(), all, 4096, opt)
		for i := range all.Volts {
			all.Volts[i] *= 1024
		}
		big := slice(t, l.Info(), all, 4096, opt)
		for i := range all.Volts {
			all.Volts[i] /= -1024
		}
		mirrored := slice(t, l.Info(), all, 4096, opt)
		for name, got := range map[string]*sliced{"big": big, "mirrored": mirrored} {
			// With the sign the order changes in which sums are made: what stands at half a tick may round the other way, and at the limit
			// between an edge's corner and its slope, whose doubts differ, an instant in a hundred may be taken for the other one.
			slack, odd := capture.Tick(0), 0
			if name == "mirrored" {
				slack, odd = 1, 1+len(want.doubt)/100
			}
			near := cmp.Comparer(func(a, b capture.Tick) bool { return max(a-b, b-a) <= slack })
			if d := cmp.Diff(want.Transitions, got.Transitions, near); len(want.At) < 100 || d != "" {
				r.Errorf("%s: %d transitions, want %d: %s", name, len(got.At), len(want.At), d)
			}
			for k := range min(len(want.doubt), len(got.doubt)) {
				if a, b := want.doubt[k], got.doubt[k]; max(a-b, b-a) > slack {
					odd--
				}
			}
			if odd < 0 || len(want.doubt) != len(got.doubt) {
				r.Errorf("%s: the doubts differ: %s", name, cmp.Diff(want.doubt, got.doubt))
			}
		}
		if !mirrored.found.Negative || big.found.High < 24_000 {
			r.Errorf("%+v %+v", big.found, mirrored.found)
		}
	})
}

// Silence of an hour before the first word costs no memory, and nothing is lost of what follows.
func TestSilenceFirst(t *testing.T) {
	l := talk(0.2, 3).line(capturetest.Loop{Rate: 20_000, Noise: 0.1})
	w := l.Block()
	quiet := (&capturetest.Loop{Rate: 20_000, Noise: 0.1, Seconds: 10}).Block()
	s := slicer.New(l.Clock(), slicer.Options{})
	samples, transitions := 0, 0
	var most, fed int
	emit := func(b *capture.Block) error {
		samples += len(b.Volts)
		transitions += len(b.At)
		return nil
	}
	shift := capture.Tick(0)
	feed := func(b *capture.Block) {
		for i := range b.SampleAt {
			b.SampleAt[i] += shift - b.Start
		}
		b.End, b.Start = b.End-b.Start+shift, shift
		if err := s.Add(b, emit); err != nil {
			t.Fatal(err)
		}
		fed += len(b.Volts)
		most = max(most, fed-samples)
		shift = b.End
	}
	for range silentTens {
		feed(quiet)
	}
	if most > 4*4096 {
		t.Errorf("%d samples held in silence", most)
	}
	allocs := testing.AllocsPerRun(3, func() { feed(quiet) })
	if allocs > 10 {
		t.Errorf("%g allocations for ten seconds of silence", allocs)
	}
	feed(w)
	if err := s.Flush(emit); err != nil {
		t.Fatal(err)
	}
	if want := len(truth(l)) + 1; transitions != want {
		t.Errorf("%d transitions, want %d and the one at which levels became known", transitions, want-1)
	}
	if want := (silentTens+4)*len(quiet.Volts) + len(w.Volts); samples != want {
		t.Errorf("%d samples, want %d", samples, want)
	}
}

// A level carries no allocation a sample or a transition.
func TestNoAllocationInTalk(t *testing.T) {
	l := talk(0.2, 10).line(capturetest.Loop{Rate: 20_000, Noise: 0.1})
	all := l.Block()
	s := slicer.New(l.Clock(), slicer.Options{})
	emit := func(*capture.Block) error { return nil }
	shift := all.End
	again := func() {
		if err := s.Add(all, emit); err != nil {
			t.Fatal(err)
		}
		for i := range all.SampleAt {
			all.SampleAt[i] += shift
		}
		all.Start, all.End = all.Start+shift, all.End+shift
	}
	again()
	again()
	if n := testing.AllocsPerRun(2, again); n > 4 {
		t.Errorf("%g allocations for %d samples", n, len(all.Volts))
	}
}
