package validate

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"

	"linewitness/capture"
)

// A line that swings is told by its windows: with the amplitude at the mains frequency and at twice it, whatever its levels are, and
// no telegraph passes for one.
func TestSwing(t *testing.T) {
	t.Parallel()
	const rate, seconds = 20_000, 6
	clock := capture.Clock{Num: 1e6, Den: 1}
	r := rand.New(rand.NewPCG(2, 9))
	telegraph := func() func(float64) float64 {
		next, v := 0.0, 18.0
		return func(t float64) float64 {
			for t >= next {
				next += 1. / 1200
				v = []float64{3, 18}[r.IntN(2)]
			}
			return v + 0.1*r.NormFloat64()
		}
	}
	for _, c := range []struct {
		name              string
		of                func(t float64) float64
		volts, twice, mid float64 // NaN: no swing
	}{
		{"50 Hz", func(t float64) float64 { return 17 + 9*math.Sin(2*math.Pi*50*t) }, 9, 0, 17},
		{"59.9 Hz", func(t float64) float64 { return -20 + 40*math.Sin(2*math.Pi*59.9*t+1) }, 40, 0, -20},
		{"rectified", func(t float64) float64 { return 30 * math.Abs(math.Sin(2*math.Pi*50*t)) }, 0, 30 * 4 / (3 * math.Pi), 30 * 2 / math.Pi},
		{"too little", func(t float64) float64 { return 17 + 0.5*math.Sin(2*math.Pi*50*t) }, math.NaN(), math.NaN(), math.NaN()},
		{"constant", func(float64) float64 { return 17 }, math.NaN(), math.NaN(), math.NaN()},
		{"talk", telegraph(), math.NaN(), math.NaN(), math.NaN()},
		{"30 Hz", func(t float64) float64 { return 9 * math.Sin(2*math.Pi*30*t) }, math.NaN(), math.NaN(), math.NaN()},
	} {
		at, v := make([]capture.Tick, rate*seconds), make([]float64, rate*seconds)
		for i := range at {
			at[i] = capture.Tick(i) * 1e6 / rate
			v[i] = c.of(float64(i) / rate)
		}
		whole, parts := NewSwing(clock), NewSwing(clock)
		whole.Add(&capture.Block{Samples: capture.Samples{SampleAt: at, Volts: v}}, 1)
		for from := 0; from < len(at); {
			to := min(from+1+r.IntN(700), len(at))
			parts.Add(&capture.Block{Samples: capture.Samples{SampleAt: at[from:to], Volts: v[from:to]}}, 1)
			from = to
		}
		f := whole.Facts()
		if d := cmp.Diff(f, parts.Facts(), cmp.Comparer(func(a, b float64) bool { return a == b || math.Abs(a-b) < 1e-9 || a != a && b != b })); d != "" {
			t.Errorf("%s: in parts\n%s", c.name, d)
		}
		if f.Windows < seconds/swingWindow-2 {
			t.Errorf("%s: %d windows", c.name, f.Windows)
		}
		if math.IsNaN(c.volts) {
			if f.Swinging != 0 {
				t.Errorf("%s swings in %d windows: %+v", c.name, f.Swinging, f)
			}
			continue
		}
		near := func(got, want float64) bool {
			return math.Abs(got-want) < 0.02*math.Max(math.Abs(c.volts), c.twice)+0.02*math.Abs(want)
		}
		if f.Swinging != f.Windows || !near(f.Volts, c.volts) || !near(f.Twice, c.twice) || !near(f.Mean, c.mid) {
			t.Errorf("%s: %+v", c.name, f)
		}
	}
}

// A gap ends a window, and samples too far apart tell nothing.
func TestSwingNeedsWholeWindows(t *testing.T) {
	t.Parallel()
	clock := capture.Clock{Num: 1e6, Den: 1}
	s := NewSwing(clock)
	for k := range 20 { // 0.1 s each, then as much missing
		b := capture.Block{}
		for i := range 2000 {
			at := capture.Tick(k)*200_000 + capture.Tick(i)*50
			b.SampleAt, b.Volts = append(b.SampleAt, at), append(b.Volts, 20*math.Sin(2*math.Pi*50*float64(at)/1e6))
		}
		if k > 0 {
			b.Gap = capture.Gap{From: capture.Tick(k)*200_000 - 100_000, To: b.SampleAt[0], Count: -1}
		}
		s.Add(&b, 1)
	}
	if f := s.Facts(); f.Windows != 0 {
		t.Errorf("%d windows of pieces", f.Windows)
	}
	s = NewSwing(clock)
	for i := range 3000 { // one in 2 ms
		s.Add(&capture.Block{Samples: capture.Samples{SampleAt: []capture.Tick{capture.Tick(i) * 2000}, Volts: []float64{20}}}, 1)
	}
	if f := s.Facts(); f.Windows != 0 {
		t.Errorf("%d windows of samples 2 ms apart", f.Windows)
	}
}
