package validate_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/link"
	"linewitness/decode/statistic"
	"linewitness/decode/uart"
	"linewitness/decode/uart/uarttest"
	"linewitness/decode/validate"
)

// edge is one edge of a staged line: its instant in seconds, bit border, how many bits the run before it lasted (12: the line's rest),
// and what it changes to.
type edge struct {
	at       float64
	bit, run int
	mark     bool
}

// moved is a line of one sender at 4,800 Bd, 8E1: frames of 8 random characters, two a second, each edge moved by what move says, in unit
// intervals.
func moved(t *testing.T, seed uint64, frames int, move func(r *rand.Rand, e edge) float64) *validate.Fold {
	t.Helper()
	clock := capture.Nanoseconds
	p := &link.Profile{Line: uart.Line{Speed: 4800, Format: uart.Format{DataBits: 8, Parity: uart.ParityEven, StopHalfs: 2}}}
	dec, r := uart.NewDecoder(p.Line, clock), rand.New(rand.NewPCG(seed, 8))
	f, walk := validate.NewFold(p, clock), validate.NewEdgeWalk(p, clock)
	var c uart.Chars
	for n := range frames {
		b := burst.Batch{}
		start := 0.5*float64(n) + 0.05*r.Float64() + 0.1
		for ch := range 8 {
			line := start + float64(ch)*11/p.Line.Speed
			level, last := true, -12
			for i, bit := range append(uarttest.Bits(p.Line.Format, uint16(r.IntN(256))), true) {
				if bit == level {
					continue
				}
				e := edge{line + float64(i)/p.Line.Speed, i, i - last, bit}
				at := clock.Ticks(e.at + move(r, e)/p.Line.Speed)
				b.At, b.To = append(b.At, at), append(b.To, [...]capture.Level{capture.Low, capture.High}[len(b.At)%2])
				level, last = bit, i
			}
		}
		b.Bursts = []burst.Span{{To: len(b.At), Before: b.At[0], Until: b.At[len(b.At)-1] + 1e7}}
		c.Reset()
		dec.Decode(&c, &b)
		if len(c.Chars) != 8 {
			t.Fatalf("read %d characters of 8", len(c.Chars))
		}
		fr := link.Frame{At: c.Chars[0].At, End: c.Chars[7].End, Values: make([]uint16, 8), Chars: c.Chars, Turnaround: -1}
		q := validate.Measure(&fr, c.Fits)
		walk.Batch(b.At)
		walk.Measure(&fr, c.Fits, &q)
		f.Add(&fr, &q)
	}
	return f
}

const sigma = 0.02

func random(r *rand.Rand, _ edge) float64 { return sigma * r.NormFloat64() }

// What was put on a line comes back, with a small p where there is a test, and what was not put there stays within its interval's error.
// Hum of peak a moves edges to mark and to space in opposite directions, so that bias has up to 2 a of it, less what a character's 2 ms
// average over.
func TestJitterKindsComeBack(t *testing.T) {
	t.Parallel()
	const trend = 0.1 / 1000 // a second
	hum := func(hz, a float64, e edge) float64 {
		if e.mark {
			a = -a
		}
		return a * math.Cos(2*math.Pi*hz*e.at)
	}
	for _, c := range []struct {
		name  string
		move  func(r *rand.Rand, e edge) float64
		id    string
		value float64
		slack float64
		least float64 // of p on a line with the cause, 0: no test
	}{
		{"random", random, "time.random", 2, 0.06, 0}, // two characters a frame: the median is good to 3 %
		{"random beside pattern", func(r *rand.Rand, e edge) float64 {
			if e.run == 1 && e.mark {
				return random(r, e) + 0.06
			}
			return random(r, e)
		}, "time.random", 2, 0.06, 0},
		{"after one bit of space", func(r *rand.Rand, e edge) float64 {
			if e.run == 1 && e.mark {
				return random(r, e) - 0.06
			}
			return random(r, e)
		}, "time.pattern-after-spaces", -6, 0.2, 1e-9},
		{"after one bit of mark", func(r *rand.Rand, e edge) float64 {
			if e.run == 1 && !e.mark {
				return random(r, e) + 0.06
			}
			return random(r, e)
		}, "time.pattern-after-marks", 6, 0.2, 1e-9},
		{"marks longer and longer", func(r *rand.Rand, e edge) float64 {
			if e.mark {
				return random(r, e) - trend*e.at
			}
			return random(r, e)
		}, "time.bias-trend", 100 * trend * 3600, 1, 1e-9},
		{"hum of a frequency nobody knows", func(r *rand.Rand, e edge) float64 {
			return random(r, e) + hum(49.7, 0.15, e)
		}, "time.mains-locked", 21.5, 5, 1e-4}, // 0.05 Hz beside one that is scanned, for 8 s: less by sinc(0.4)
		{"hum of 60 Hz", func(r *rand.Rand, e edge) float64 {
			return random(r, e) + hum(60, 0.08, e)
		}, "time.mains-locked", 14.5, 1.2, 1e-6},
	} {
		x := factOf(t, moved(t, 3, 2000, c.move).FactList(), c.id, capture.SideUnknown)
		if !x.Measured() || math.Abs(x.Value-c.value) > c.slack || !(x.Low <= x.Value && x.Value <= x.High) {
			t.Errorf("%s: %+v, want %g", c.name, x, c.value)
		}
		if c.least > 0 && !(x.P < c.least) {
			t.Errorf("%s: p %g, want under %g", c.name, x.P, c.least)
		}
	}
}

// Random jitter alone is called anything else at most as often as p says, by an exact binomial bound of 1e-4 each.
func TestRandomJitterIsNothingElse(t *testing.T) {
	t.Parallel()
	const lines, frames = 300, 48
	p := map[string][]float64{}
	for i := range lines {
		for _, x := range moved(t, uint64(i), frames, random).FactList() {
			if x.P == x.P {
				p[x.ID] = append(p[x.ID], x.P)
			}
		}
	}
	for _, id := range []string{"time.pattern-after-spaces", "time.pattern-after-marks", "time.bias-trend", "time.mains-locked"} {
		for _, level := range []float64{0.05, 0.01} {
			n := 0
			for _, v := range p[id] {
				if v <= level {
					n++
				}
			}
			t.Logf("%s: %d of %d at most %g", id, n, len(p[id]), level)
			if len(p[id]) < lines*9/10 || statistic.BinomialTest(n, len(p[id]), level, statistic.Greater) < 1e-4 {
				t.Errorf("%s: %d of %d at most %g", id, n, len(p[id]), level)
			}
		}
	}
}

// No frame takes memory, however long a line is.
func TestJitterTakesNoMemory(t *testing.T) {
	f := moved(t, 1, 2100, random) // the sketches keep values no more
	r := link.Frame{At: 2e12, End: 2e12 + 1e7, Turnaround: -1, Chars: make([]uart.Character, 8)}
	q := validate.Quality{Bias: 0.01, Edges: validate.FrameEdges{N: 30, Late: 0.02, Sync: 0.02, Free: 0.0004, DoF: 20}}
	for range 200 {
		r.At += 5e8
		f.Add(&r, &q)
	}
	n := testing.AllocsPerRun(200, func() {
		r.At, r.End = r.At+5e8, r.At+5e8+1e7
		f.Add(&r, &q)
	})
	if n > 0 {
		t.Errorf("%g allocations a frame", n)
	}
}
