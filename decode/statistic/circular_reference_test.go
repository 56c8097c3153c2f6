package statistic_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"linewitness/decode/statistic"
)

func degrees(x ...float64) []float64 {
	for i := range x {
		x[i] *= math.Pi / 180
	}
	return x
}

// Two made-up samples. U2 also by the R package circular 0.4-95 (watson.two.test: 0.199346405228758); p of both by
// going through all 24,310 ways to deal out in Python, from the definition over cumulative shares. The package's Wheeler-Watson W,
// 6.125631364805180, is ours times (N-1)/N.
func TestTwoCircularSamples(t *testing.T) {
	x, y := degrees(35, 45, 50, 55, 60, 70, 85, 95), degrees(75, 80, 90, 100, 110, 130, 140, 150, 165)
	u, w := statistic.WatsonTwoSample(x, y), statistic.WatsonWheelerTwoSample(x, y)
	checkFigures(t, []figure{
		{"U2", u.U2, 0.19934640522875804, 1e-12}, {"p of U2", u.P, 0.03426573426573427, 1e-9},
		{"W", w.W, 6.508483325105504, 1e-12}, {"p of W", w.P, 0.04265734265734266, 1e-12},
		{"W of the package", w.W * 16 / 17, 6.125631364805180, 1e-12},
	})
	if !u.Exact || !w.Exact {
		t.Errorf("%+v, %+v: not exact", u, w)
	}
}

// mpmath at 40 digits, 60 terms. The usual 5 % and 1 % points are 0.187 and 0.268 (G. S. Watson, 1962; from memory).
func TestWatsonLimit(t *testing.T) {
	checkFigures(t, []figure{
		{"0.05", statistic.WatsonLimit(0.05), 0.707100348157759, 1e-12},
		{"0.187", statistic.WatsonLimit(0.187), 0.049881734731471415, 1e-12},
		{"0.268", statistic.WatsonLimit(0.268), 0.010082430679784486, 1e-12},
		{"0", statistic.WatsonLimit(0), 1, 0},
		{"NaN", statistic.WatsonLimit(math.NaN()), math.NaN(), 0},
	})
}

// Turning both samples, mirroring them and exchanging them changes nothing.
func TestCircularTestsKnowNoOrigin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		angle := rapid.Custom(func(t *rapid.T) float64 { return float64(rapid.IntRange(0, 4095).Draw(t, "step")) / 4096 * 2 * math.Pi })
		x, y := rapid.SliceOfN(angle, 1, 40).Draw(t, "x"), rapid.SliceOfN(angle, 1, 6).Draw(t, "y")
		turn := float64(rapid.IntRange(0, 4095).Draw(t, "turn")) / 4096 * 2 * math.Pi
		move := func(a []float64, sign float64) (out []float64) {
			for _, v := range a {
				// Back onto the grid, so that equal angles stay equal.
				out = append(out, math.Round((sign*v+turn)/(2*math.Pi)*4096)/4096*2*math.Pi)
			}
			return out
		}
		distinct := slices.Concat(x, y)
		slices.Sort(distinct)
		tied := len(slices.Compact(distinct)) < len(x)+len(y)
		w := statistic.WatsonWheelerTwoSample(x, y)
		u := statistic.WatsonTwoSample(x, y)
		if o := statistic.WatsonTwoSample(y, x); math.Abs(o.U2-u.U2) > 1e-9 || !close(o.P, u.P, 1e-6) {
			t.Fatalf("exchanged: %+v, %+v", u, o)
		}
		if o := statistic.WatsonTwoSample(move(x, 1), move(y, 1)); math.Abs(o.U2-u.U2) > 1e-9 || !close(o.P, u.P, 1e-6) {
			t.Fatalf("turned: %+v, %+v", u, o)
		}
		if tied {
			return // ties stand at the upper end or share ranks, which a mirror or a cut exchanges
		}
		if o := statistic.WatsonTwoSample(move(x, -1), move(y, -1)); math.Abs(o.U2-u.U2) > 1e-9 || !close(o.P, u.P, 1e-6) {
			t.Fatalf("mirrored: %+v, %+v", u, o)
		}
		if o := statistic.WatsonWheelerTwoSample(move(x, 1), move(y, 1)); math.Abs(o.W-w.W) > 1e-9 || !close(o.P, w.P, 1e-6) {
			t.Fatalf("turned: %+v, %+v", w, o)
		}
		if w.P < 0 || w.P > 1 || u.P < 0 || u.P > 1 {
			t.Fatalf("no probabilities: %+v, %+v", w, u)
		}
	})
}

func TestBinnedIsTheSameAsAngles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bad, good := make([]int, 16), make([]int, 16)
		var x, y []float64
		for i := range bad {
			bad[i], good[i] = rapid.IntRange(0, 2).Draw(t, "bad"), rapid.IntRange(0, 40).Draw(t, "good")
			at := (float64(i) + 0.5) / 16 * 2 * math.Pi
			for range bad[i] {
				x = append(x, at)
			}
			for range good[i] {
				y = append(y, at)
			}
		}
		a, b := statistic.WatsonBinned(bad, good), statistic.WatsonTwoSample(x, y)
		if !close(a.U2, b.U2, 1e-9) || !close(a.P, b.P, 1e-9) {
			t.Fatalf("binned %+v, as angles %+v", a, b)
		}
		r, s := statistic.ResultantOfBins(bad, 2), statistic.ResultantOf(x, 2)
		if r.N != s.N || math.Hypot(r.Cos-s.Cos, r.Sin-s.Sin) > 1e-9 {
			t.Fatalf("binned %+v, as angles %+v", r, s)
		}
	})
}

// Where both come from one distribution p <= a happens at most with a, but for chance and what the comments state: bad bits against good
// ones at risk whose phase is far from even, in 32 bins; exact, and by the limiting law.
func TestCircularTestsHoldTheirLevel(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	phase := func() float64 { return math.Mod(4+1.2*rng.NormFloat64()+2*math.Pi, 2*math.Pi) }
	fill := func(n int) []int {
		bins := make([]int, 32)
		for range n {
			bins[min(31, max(0, int(phase()/(2*math.Pi)*32)))]++
		}
		return bins
	}
	const runs = 2000
	var binned, plain, wheeler, rayleigh [2]int
	for range runs {
		var x, y, even []float64
		for range 25 {
			x, y = append(x, phase()), append(y, phase())
			even = append(even, 2*math.Pi*rng.Float64())
		}
		p := []float64{
			statistic.WatsonBinned(fill(12), fill(300)).P, statistic.WatsonTwoSample(x, y).P,
			statistic.WatsonWheelerTwoSample(x, y).P, statistic.ResultantOf(even, 1).Rayleigh().P,
		}
		for i, count := range []*[2]int{&binned, &plain, &wheeler, &rayleigh} {
			for k, a := range []float64{0.01, 0.1} {
				if p[i] <= a {
					count[k]++
				}
			}
		}
	}
	for i, count := range [][2]int{binned, plain, wheeler, rayleigh} {
		for k, a := range []float64{0.01, 0.1} {
			limit := a*runs + 3.5*math.Sqrt(a*runs)
			if float64(count[k]) > limit || float64(count[k]) < a*runs/4 {
				t.Errorf("test %d: p <= %g %d times of %d", i, a, count[k], runs)
			}
		}
	}
}

// Astropy 5.2.1, stats.rayleightest and its mean length: 7 made-up angles.
func TestRayleighAgainstAstropy(t *testing.T) {
	r := statistic.ResultantOf(degrees(10, 35, 50, 20, 300, 15, 80), 1)
	checkFigures(t, []figure{{"length", r.Length(), 0.7856703553362846, 1e-12}, {"p", r.Rayleigh().P, 0.00793209794033259, 1e-9}})
	var one, other statistic.Resultant
	one.Add(0.5)
	other.Add(2.5)
	if both := one.Plus(other); both != statistic.ResultantOf([]float64{0.5, 2.5}, 1) {
		t.Errorf("put together: %+v", both)
	}
	if p := one.Rayleigh().P; p != 1 {
		t.Errorf("one angle: p %g", p)
	}
	// Two angles d apart have a length of cos(d/2); the chance of as much is d/pi.
	if p := one.Plus(other).Rayleigh().P; !close(p, 2/math.Pi, 1e-12) {
		t.Errorf("two angles 2 apart: p %g", p)
	}
}

func TestCircularOfOddInput(t *testing.T) {
	nan := math.NaN()
	for name, got := range map[string]float64{
		"angles with NaN":        statistic.WatsonTwoSample([]float64{1, nan}, []float64{2}).P,
		"infinite angle":         statistic.WatsonWheelerTwoSample([]float64{1}, []float64{math.Inf(1)}).P,
		"negative count":         statistic.WatsonBinned([]int{1, -1}, []int{1, 1}).P,
		"unequal bins":           statistic.WatsonBinned([]int{1}, []int{1, 1}).P,
		"negative count, length": statistic.ResultantOfBins([]int{-1}, 1).Length(),
		"direction of nothing":   statistic.Resultant{}.Direction(),
		"length of nothing":      statistic.Resultant{}.Length(),
		"variance of nothing":    statistic.Resultant{}.Variance(),
		"Rayleigh of NaN":        statistic.ResultantOf([]float64{1, nan, 2}, 1).Rayleigh().P,
		"Rayleigh of bad bins":   statistic.ResultantOfBins([]int{-1}, 1).Rayleigh().P,
	} {
		if !math.IsNaN(got) {
			t.Errorf("%s: %g", name, got)
		}
	}
	for name, got := range map[string]float64{
		"no first":       statistic.WatsonTwoSample(nil, []float64{2}).P,
		"no second":      statistic.WatsonWheelerTwoSample([]float64{2}, nil).P,
		"empty bins":     statistic.WatsonBinned([]int{0, 0}, []int{0, 4}).P,
		"all in one bin": statistic.WatsonBinned([]int{0, 3}, []int{0, 4}).P,
		"Rayleigh":       statistic.Resultant{}.Rayleigh().P,
	} {
		if got != 1 {
			t.Errorf("%s: p %g", name, got)
		}
	}
}
