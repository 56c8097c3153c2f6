package statistic_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"linewitness/decode/statistic"
)

// A million draws of NumPy 1.24.2 each (standard error below 0.0005): the bound is never below and close where it is small.
func TestScanAgainstDraws(t *testing.T) {
	for _, c := range []struct {
		n    int
		w    float64
		k    int
		drew float64
	}{
		{10, 0.1, 4, 0.340543}, {10, 0.1, 5, 0.061059}, {20, 0.05, 5, 0.176248}, {20, 0.05, 6, 0.029692}, {8, 0.2, 6, 0.02656}, {30, 0.1, 10, 0.025972},
	} {
		p, noise := statistic.ScanProbability(c.k, c.n, c.w), 4*math.Sqrt(c.drew/1e6)
		if p < c.drew-noise || c.drew < 0.1 && p > 1.09*c.drew+noise {
			t.Errorf("%d of %d within %g: %g, drawn %g", c.k, c.n, c.w, p, c.drew)
		}
	}
	// k = 2: all gaps exceed w with (1-(n-1)w)^n. k > n/2: 3 of 4 within 0.1 by J. I. Naus, 1965, (k/w-n-1) b(k) + 2 P(X >= k), worked out
	// by hand; 4 million draws of NumPy gave 0.0976.
	checkFigures(t, []figure{
		{"2 of 5", statistic.ScanProbability(2, 5, 0.01), 1 - math.Pow(0.96, 5), 1e-9},
		{"3 of 4", statistic.ScanProbability(3, 4, 0.1), 25*0.0036 + 2*0.0037, 1e-9},
	})
}

func TestScanTest(t *testing.T) {
	s := statistic.ScanTest([]float64{50, 10, 10.5, 90, 11, 30}, 100, 1)
	if s.Most != 3 || s.At != 10 || s.P != statistic.ScanProbability(3, 6, 0.01) {
		t.Errorf("%+v", s)
	}
	rapid.Check(t, func(t *rapid.T) {
		n, w := rapid.IntRange(2, 60).Draw(t, "n"), rapid.Float64Range(0.001, 0.9).Draw(t, "w")
		last := 1.0
		for k := 1; k <= n+1; k++ {
			p := statistic.ScanProbability(k, n, w)
			if !(p >= 0 && p <= last*(1+1e-9)) && p < 0.99 { // a bound so close to 1 may pass the exact p of two
				t.Fatalf("%d of %d within %g: %g after %g", k, n, w, p, last)
			}
			if wide := statistic.ScanProbability(k, n, w*1.05); wide < p*(1-1e-9) && p < 0.99 {
				t.Fatalf("%d of %d: %g within %g, %g in a wider window", k, n, p, w, wide)
			}
			last = p
		}
	})
	nan := math.NaN()
	checkFigures(t, []figure{
		{"nothing", statistic.ScanTest(nil, 10, 1).P, 1, 0}, {"where", statistic.ScanTest(nil, 10, 1).At, nan, 0},
		{"outside", statistic.ScanTest([]float64{11}, 10, 1).P, nan, 0}, {"NaN", statistic.ScanTest([]float64{nan}, 10, 1).P, nan, 0},
		{"no length", statistic.ScanTest([]float64{0}, 0, 1).P, nan, 0}, {"whole", statistic.ScanProbability(3, 5, 1), 1, 0},
		{"no window", statistic.ScanProbability(3, 5, 0), 0, 0}, {"negative", statistic.ScanProbability(3, -5, 0.1), nan, 0},
	})
}

// p of a coincidence is the share of shifts with as many near: against 20,000 shifts one by one.
func TestCoincidenceIsTheShareOfShifts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		instant := rapid.Float64Range(0, 100)
		a, b := rapid.SliceOfN(instant, 1, 8).Draw(t, "a"), rapid.SliceOfN(instant, 1, 5).Draw(t, "b")
		window := rapid.Float64Range(0.5, 8).Draw(t, "window")
		c := statistic.CoincidenceTest(a, b, window, 100)
		near := func(shift float64) (n int) {
			for _, v := range a {
				for _, u := range b {
					d := math.Mod(math.Abs(v+shift-u), 100)
					if math.Min(d, 100-d) <= window {
						n++
						break
					}
				}
			}
			return n
		}
		enough, covered := 0, 0
		const steps = 20000
		for i := range steps {
			shift := (float64(i) + 0.5) * 100 / steps
			if near(shift) >= c.Near {
				enough++
			}
			if one := statistic.CoincidenceTest([]float64{shift}, b, window, 100); i < 200 && one.Near == 1 {
				covered++
			}
		}
		if want := float64(enough) / steps; math.Abs(c.P-want) > 0.01 && !(c.P > want && c.P <= 1/float64(len(a)+1)+0.01) {
			t.Fatalf("%+v: p %g by shifts", c, want)
		}
		if c.N != len(a) || c.Near > c.N || c.P <= 0 || c.P > 1 || covered > 200 {
			t.Fatalf("%+v", c)
		}
	})
}

// A clustered row against another one that knows nothing of it: p <= a with at most a, but for chance.
func TestCoincidenceHoldsItsLevel(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	const runs = 2000
	count := 0
	for range runs {
		var a, b []float64
		for range 4 {
			at := rng.Float64() * 1000
			for i := range 4 {
				a = append(a, math.Mod(at+float64(i), 1000))
			}
			b = append(b, rng.Float64()*1000, rng.Float64()*1000)
		}
		if statistic.CoincidenceTest(a, b, 10, 1000).P <= 0.05 {
			count++
		}
	}
	if limit := 0.05*runs + 3.5*math.Sqrt(0.05*runs); float64(count) > limit || count < runs/100 {
		t.Errorf("p <= 0.05 %d times of %d", count, runs)
	}
}

func TestCoincidenceOfOddInput(t *testing.T) {
	nan := math.NaN()
	checkFigures(t, []figure{
		{"no events", statistic.CoincidenceTest(nil, []float64{1}, 1, 10).P, 1, 0},
		{"nothing to be near", statistic.CoincidenceTest([]float64{1}, nil, 1, 10).P, 1, 0},
		{"outside", statistic.CoincidenceTest([]float64{11}, []float64{1}, 1, 10).P, nan, 0},
		{"NaN", statistic.CoincidenceTest([]float64{nan}, []float64{1}, 1, 10).P, nan, 0},
		{"no length", statistic.CoincidenceTest([]float64{1}, []float64{1}, 1, 0).P, nan, 0},
		{"all near", statistic.CoincidenceTest([]float64{1, 7}, []float64{1}, 5, 10).P, 1, 0},
	})
}

// SciPy 1.10.1, signal.lombscargle of the values less their mean, over their squares times two.
func TestLombScargleAgainstSciPy(t *testing.T) {
	at := []float64{0, 0.7, 1.9, 3.2, 4.1, 5.6, 6.0, 7.7, 8.4, 9.9}
	y := []float64{1, 0.2, -0.9, 0.4, 1.3, -0.2, -0.8, 0.9, 0.1, -1.1}
	checkFigures(t, []figure{
		{"0.1", statistic.LombScargle(at, y, 0.1), 0.010100875164594717, 1e-9},
		{"0.23", statistic.LombScargle(at, y, 0.23), 0.7688433303726786, 1e-9},
		{"0.37", statistic.LombScargle(at, y, 0.37), 0.024737555649943635, 1e-9},
		{"constant", statistic.LombScargle(at, make([]float64, 10), 0.1), math.NaN(), 0},
		{"nothing", statistic.LombScargle(nil, nil, 0.1), math.NaN(), 0},
		{"unequal", statistic.LombScargle(at, y[1:], 0.1), math.NaN(), 0},
	})
	rapid.Check(t, func(t *rapid.T) {
		f, move, scale := rapid.Float64Range(0.01, 2).Draw(t, "f"), rapid.Float64Range(-9, 9).Draw(t, "move"), rapid.Float64Range(0.1, 9).Draw(t, "scale")
		later, larger := make([]float64, len(at)), make([]float64, len(y))
		for i := range at {
			later[i], larger[i] = at[i]+move, scale*y[i]+move
		}
		p, q := statistic.LombScargle(at, y, f), statistic.LombScargle(later, larger, f)
		if math.Abs(p-q) > 1e-7 || p < 0 || p > 1+1e-12 {
			t.Fatalf("power %g, moved and scaled %g", p, q)
		}
	})
}

// Astropy 5.2.1, LombScargle's fap_single, fap_davies and fap_baluev, standard normalisation, frequencies 0 to 0.5.
func TestFalseAlarmAgainstAstropy(t *testing.T) {
	s := statistic.PeakScanOf([]float64{0, 0.7, 1.9, 3.2, 4.1, 5.6, 6.0, 7.7, 8.4, 9.9}, 0, 0.5)
	for _, c := range []struct{ power, single, bound, largest float64 }{
		{0.6, 0.04047715405015526, 0.5811509085861027, 0.4412163482868259},
		{0.9, 0.00031622776601683767, 0.010662906015453338, 0.010606308233480615},
	} {
		f := s.Power(c.power)
		checkFigures(t, []figure{{"single", f.Single, c.single, 1e-9}, {"bound", f.Bound, c.bound, 1e-9}, {"largest", f.Largest, c.largest, 1e-9}})
		if back := statistic.LookElsewhere(f.Single, f.Independent); !close(back, f.Largest, 1e-9) {
			t.Errorf("%g independent frequencies give %g, want %g", f.Independent, back, f.Largest)
		}
	}
	nan := math.NaN()
	one := s.Power(1)
	checkFigures(t, []figure{
		{"certain", one.Largest, 0, 0}, {"no power", s.Power(0).Largest, 1, 0}, {"beyond", s.Power(1.1).Largest, nan, 0},
		{"no values", statistic.PeakScanOf(nil, 0, 1).Power(0.5).Largest, nan, 0}, {"z below 0", s.Rayleigh(-1).Largest, nan, 0},
		{"z of no events", statistic.PeakScan{}.Rayleigh(3).Largest, nan, 0}, {"single z", s.Rayleigh(3).Single, math.Exp(-3), 1e-12},
	})
}

// 300 rows of 40 even events over 20 s, scanned over 49.5 to 50.5 Hz in fine steps: the largest Rayleigh z reaches what belongs to a false alarm
// of 0.1 about that often.
func TestFalseAlarmOfEvents(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	const runs, lowest, highest = 300, 49.5, 50.5
	count := 0
	for range runs {
		at := make([]float64, 40)
		for i := range at {
			at[i] = rng.Float64() * 20
		}
		best := 0.0
		for f := lowest; f <= highest; f += 0.005 {
			var r statistic.Resultant
			for _, v := range at {
				r.Add(2 * math.Pi * f * v)
			}
			best = math.Max(best, r.Rayleigh().Z)
		}
		if statistic.PeakScanOf(at, lowest, highest).Rayleigh(best).Largest <= 0.1 {
			count++
		}
	}
	if float64(count) > 0.1*runs+3*math.Sqrt(0.1*runs) || float64(count) < 0.1*runs-4*math.Sqrt(0.1*runs) {
		t.Errorf("alarm %d times of %d", count, runs)
	}
}
