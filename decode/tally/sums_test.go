package tally_test

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"github.com/google/go-cmp/cmp"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/tally"
	"linewitness/decode/uart"
)

const bit = 1000 // ticks

var (
	clock    = capture.Clock{Num: 1_000_000, Den: 1}
	exported = cmp.Exporter(func(reflect.Type) bool { return true })
)

// piece is a frame with all that sums take of it.
type piece struct {
	f     link.Frame
	line  capture.Transitions
	at    []capture.Tick
	volts []float64
	wait  capture.Tick
	phase float64
}

// draw makes a frame of chance: characters with edges anywhere, at times broken off, at times without a stop element.
func draw(r *rand.Rand, at capture.Tick) (p piece) {
	p.f = link.Frame{At: at, Turnaround: -1, Why: link.Why(1<<r.IntN(6)) * link.Why(r.IntN(2))}
	p.wait, p.phase = capture.Tick(r.ExpFloat64()*1e5), 20*r.Float64()-10
	for range 1 + r.IntN(6) {
		c := uart.Character{At: at, End: at + 11*bit, Space: capture.Low}
		p.line.At, p.line.To = append(p.line.At, at), append(p.line.To, capture.Low)
		to := capture.High
		for t := at; ; to = capture.Low + capture.High - to {
			t += capture.Tick(1 + r.IntN(4*bit))
			if t >= c.End || t < at {
				break
			}
			p.line.At, p.line.To = append(p.line.At, t), append(p.line.To, to)
		}
		p.f.Chars = append(p.f.Chars, c)
		at = c.End + capture.Tick(r.IntN(3*bit))
		if to == capture.High { // it ends at space: the mark that the next one needs
			p.line.At, p.line.To = append(p.line.At, c.End), append(p.line.To, capture.High)
			at += bit
		}
	}
	p.f.End = p.f.Chars[len(p.f.Chars)-1].End
	for t := p.f.At - bit; t < p.f.End+bit; t += capture.Tick(1 + r.IntN(bit/2)) {
		v := 24 * r.Float64()
		switch r.IntN(200) {
		case 0:
			v = math.NaN()
		case 1:
			v = math.Inf(1)
		case 2:
			v = 40 * r.NormFloat64()
		}
		p.at, p.volts = append(p.at, t), append(p.volts, v)
	}
	return p
}

// into adds it.
func (p *piece) into(s *tally.Sums) {
	s.Add(&p.f, p.line.At, p.line.To)
	s.Samples(&p.f, p.at, p.volts)
	s.Waits.Add(p.wait)
	s.Phases.Add(p.phase, !p.f.OK())
}

func newSums() *tally.Sums { return tally.NewSums(capture.Indoor, bit, 0, clock) }

// Sums of any parts of a recording, merged in any order and grouping, are the sums of one pass.
func TestMergedSumsEqualOnePass(t *testing.T) {
	t.Parallel()
	for seed := range uint64(150) {
		r := rand.New(rand.NewPCG(seed, 8))
		span := math.Exp(4 + 24*r.Float64()) // ticks from frame to frame
		var all []piece
		for at := capture.Tick(r.IntN(2_000_000) - 1_000_000); len(all) < 2+r.IntN(80); {
			all = append(all, draw(r, at))
			at = all[len(all)-1].f.End + capture.Tick(r.ExpFloat64()*span)
		}
		want := newSums()
		for i := range all {
			all[i].into(want)
		}
		parts := []*tally.Sums{newSums()} // an empty part is a part
		for i := range all {
			if r.IntN(4) == 0 {
				parts = append(parts, newSums())
			}
			all[i].into(parts[len(parts)-1])
		}
		for len(parts) > 1 {
			i := r.IntN(len(parts) - 1)
			j := i + 1 + r.IntN(len(parts)-i-1)
			if r.IntN(2) == 0 {
				i, j = j, i
			}
			parts[i].Merge(parts[j])
			parts = append(parts[:j], parts[j+1:]...)
		}
		if d := cmp.Diff(want.Clone(), parts[0].Clone(), exported); d != "" {
			t.Fatalf("seed %d: (-one pass +merged):\n%.2000s", seed, d)
		}
	}
}

// slowEye counts by looking: it asks of each column of each character what stands there.
func slowEye(all []piece) (seen, space [tally.EyeColumns]int64) {
	const step = float64(bit) / tally.EyeSteps
	for _, p := range all {
		for k := range p.f.Chars {
			c := &p.f.Chars[k]
			// Edges are rounded to the nearest column, so a column shows what stands just before its end.
			for i := 0; i < 11*tally.EyeSteps; i++ {
				t := float64(c.At) + (float64(i)+0.5)*step - 1e-6
				at := capture.High
				for j := range p.line.At {
					if float64(p.line.At[j]) <= t {
						at = p.line.To[j]
					}
				}
				seen[i%tally.EyeColumns]++
				if at == capture.Low {
					space[i%tally.EyeColumns]++
				}
			}
		}
	}
	return seen, space
}

func TestEyeCountsWhatStandsInItsColumns(t *testing.T) {
	t.Parallel()
	for seed := range uint64(20) {
		r := rand.New(rand.NewPCG(seed, 9))
		var all []piece
		for i := range 5 {
			p := draw(r, capture.Tick(i*1_000_000))
			p.f.Why = 0
			all = append(all, p)
		}
		s := newSums()
		for i := range all {
			all[i].into(s)
		}
		seen, space := slowEye(all)
		for c := range tally.EyeColumns {
			if s.Whole.Seen(c) != seen[c] || s.Whole.Space(c) != space[c] {
				t.Fatalf("seed %d, column %d: %d of %d at space, want %d of %d", seed, c, s.Whole.Space(c), s.Whole.Seen(c), space[c], seen[c])
			}
		}
	}
}

// A frame of two characters 0x0F (8N1), the second with an edge a quarter of a bit late.
func TestSumsOfOneFrame(t *testing.T) {
	t.Parallel()
	f := link.Frame{At: 5000, End: 25000, Chars: []uart.Character{{At: 5000, End: 15000, Space: capture.Low}, {At: 16000, End: 26000, Space: capture.Low}}}
	at := []capture.Tick{5000, 6000, 10000, 14000, 16000, 17250, 21000, 25000}
	to := []capture.Level{capture.Low, capture.High, capture.Low, capture.High, capture.Low, capture.High, capture.Low, capture.High}
	s := newSums()
	if used := s.Add(&f, at, to); used != len(at) {
		t.Errorf("went through %d of %d transitions", used, len(at))
	}
	marks, spaces := map[float64]int64{}, map[float64]int64{}
	for i := range s.Pulses[tally.Mark].Bins {
		if n := s.Pulses[tally.Mark].Bins[i]; n > 0 {
			marks[s.Pulses[tally.Mark].Bits(i)] = n
		}
		if n := s.Pulses[tally.Space].Bins[i]; n > 0 {
			spaces[s.Pulses[tally.Space].Bits(i)] = n
		}
	}
	if d := cmp.Diff(map[float64]int64{4: 1, 2: 1, 3.75: 1}, marks); d != "" {
		t.Errorf("marks, by bits (-want +got):\n%s", d)
	}
	if d := cmp.Diff(map[float64]int64{1: 1, 4: 2, 1.25: 1}, spaces); d != "" {
		t.Errorf("spaces, by bits (-want +got):\n%s", d)
	}
	e := &s.Whole
	if e.Characters != 2 || e.To[tally.Mark][48] != 3 || e.To[tally.Mark][60] != 1 || e.To[tally.Space][48] != 2 {
		t.Errorf("eye: %d characters, to mark %v, to space %v", e.Characters, e.To[tally.Mark], e.To[tally.Space])
	}
	if s.Damaged.Characters != 0 || s.Time.Len() != 1 {
		t.Errorf("%d damaged characters, %d columns of time", s.Damaged.Characters, s.Time.Len())
	}
}

// Of three levels all that are space count as one, and a change from one space to the other is none.
func TestSumsOfThreeLevels(t *testing.T) {
	t.Parallel()
	f := link.Frame{At: 0, End: 10000, Chars: []uart.Character{{At: 0, End: 10000, Space: capture.Low}}}
	s := tally.NewSums(capture.Indoor, bit, uart.Below|uart.Above, clock)
	s.Add(&f, []capture.Tick{0, 500, 2000}, []capture.Level{capture.Low, capture.High, capture.Mid})
	if s.Pulses[tally.Space].N() != 1 || s.Pulses[tally.Space].Bins[2*tally.PulseSteps] != 1 || s.Pulses[tally.Mark].N() != 0 {
		t.Errorf("%d spaces, %d marks", s.Pulses[tally.Space].N(), s.Pulses[tally.Mark].N())
	}
}

func TestWaitsHoldEveryLength(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 1))
	var w tally.Waits
	for _, wait := range []capture.Tick{0, 1, 15, 16, 17, 31, 32, 33, math.MaxInt64 / 2, capture.Tick(r.Int64N(1 << 40))} {
		one := tally.Waits{}
		one.Add(wait)
		for i, n := range one.Bins {
			if from, to := one.Edges(i); n > 0 && (wait < from || wait >= to || float64(to-from) > max(1, float64(from)/16)) {
				t.Errorf("%d counts in [%d, %d)", wait, from, to)
			}
		}
		w.Merge(&one)
	}
	for i := 1; i < len(w.Bins); i++ {
		_, a := w.Edges(i - 1)
		if b, _ := w.Edges(i); a != b {
			t.Fatalf("bin %d begins at %d, the one before ends at %d", i, b, a)
		}
	}
	if w.N() != 10 {
		t.Errorf("%d counted", w.N())
	}
}

// However blocks are cut and parts merged, the envelope is the same, and it holds the lowest and highest of all.
func TestEnvelopeDoesNotKnowBlocks(t *testing.T) {
	t.Parallel()
	for seed := range uint64(40) {
		r := rand.New(rand.NewPCG(seed, 3))
		var b capture.Block
		step := math.Exp(12 * r.Float64())
		for at := capture.Tick(0); len(b.SampleAt) < 3000; at += 1 + capture.Tick(step*r.ExpFloat64()) {
			b.SampleAt, b.Volts = append(b.SampleAt, at), append(b.Volts, r.NormFloat64())
			if r.IntN(3) == 0 {
				b.At = append(b.At, at)
			}
		}
		b.Volts[0] = math.NaN()
		whole, cut, merged := tally.NewEnvelope(clock), tally.NewEnvelope(clock), tally.NewEnvelope(clock)
		whole.Add(&b)
		for i := 0; i < len(b.SampleAt); {
			n := min(i+1+r.IntN(500), len(b.SampleAt))
			part := capture.Block{Samples: capture.Samples{SampleAt: b.SampleAt[i:n], Volts: b.Volts[i:n]}}
			for _, at := range b.At {
				if at >= b.SampleAt[i] && (n == len(b.SampleAt) || at < b.SampleAt[n]) {
					part.At = append(part.At, at)
				}
			}
			cut.Add(&part)
			one := tally.NewEnvelope(clock)
			one.Add(&part)
			if r.IntN(2) == 0 {
				one, merged = merged, one
			}
			merged.Merge(&one)
			i = n
		}
		if d := cmp.Diff(whole.Clone(), merged.Clone(), exported); d != "" {
			t.Fatalf("seed %d: (-whole +merged):\n%.2000s", seed, d)
		}
		if d := cmp.Diff(whole.Clone(), cut.Clone(), exported); d != "" {
			t.Fatalf("seed %d: (-whole +cut):\n%.2000s", seed, d)
		}
		samples, changes, low := int64(0), int64(0), math.Inf(1)
		for i := range whole.Len() {
			_, s := whole.Column(i)
			samples, changes, low = samples+s.Samples, changes+s.Changes, min(low, s.Low)
		}
		if samples != 2999 || changes != int64(len(b.At)) || low != minOf(b.Volts[1:]) || whole.Len() > 256 {
			t.Errorf("seed %d: %d samples, %d changes, lowest %g in %d columns", seed, samples, changes, low, whole.Len())
		}
	}
}

func minOf(v []float64) float64 {
	low := math.Inf(1)
	for _, x := range v {
		low = min(low, x)
	}
	return low
}

func TestSumsDoNotAllocate(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	var all []piece
	for i := range 50 {
		all = append(all, draw(r, capture.Tick(i*1_000_000)))
	}
	s := newSums()
	add := func() {
		for i := range all {
			all[i].into(s)
		}
	}
	add()
	if n := testing.AllocsPerRun(10, add); n > 0 {
		t.Errorf("%g allocations for %d frames", n, len(all))
	}
}
