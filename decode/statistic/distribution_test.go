package statistic_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"linewitness/decode/statistic"
)

// Figures of mpmath 1.3 at 30 to 40 digits, the last four by integration of the density.
func TestBetaRegularized(t *testing.T) {
	for _, c := range []struct{ a, b, x, want float64 }{
		{11, 90, 0.05, 0.011472410067484705},
		{3.5, 1e6, 2e-6, 0.22022362815230247},
		{1, 1e9, 1e-9, 0.63212055901249742},
		{100, 3, 0.999, 0.99984056216800418},
		{0.5, 0.5, 1e-10, 6.3661977237819168e-6},
		{1e3, 1e3, 0.3, 4.2309250369077446e-78},
		{1e4, 1e6, 0.0101, 0.97778754330467248},
		{1e6, 1e6, 0.5005, 0.92135042241907533},
		{5e5, 2e6, 0.201, 0.9999606358538845},
		{1e5, 1e5, 0.49, 1.8571347290404196e-19},
		{1e9, 1e9, 0.5, 0.5},
	} {
		if got := statistic.BetaRegularized(c.a, c.b, c.x); !close(got, c.want, 1e-11) {
			t.Errorf("I(%g; %g, %g) is %.17g, want %.17g", c.x, c.a, c.b, got, c.want)
		}
	}
}

func TestBetaQuantileInverts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := math.Pow(10, rapid.Float64Range(-0.5, 7).Draw(t, "log a"))
		b := math.Pow(10, rapid.Float64Range(-0.5, 7).Draw(t, "log b"))
		p := rapid.Float64Range(1e-9, 1-1e-9).Draw(t, "p")
		x := statistic.BetaQuantile(a, b, p)
		// One step of x in its last digit moves p by more than 1e-9 where the density is steep.
		lo, hi := statistic.BetaRegularized(a, b, math.Nextafter(x, 0)), statistic.BetaRegularized(a, b, math.Nextafter(x, 1))
		if p < lo-1e-9*lo || p > hi+1e-9*hi {
			t.Fatalf("quantile(%g; %g, %g) = %g, between %g and %g", p, a, b, x, lo, hi)
		}
		if sum := statistic.BetaRegularized(a, b, x) + statistic.BetaRegularized(b, a, 1-x); x > 1e-3 && x < 0.999 && math.Abs(sum-1) > 1e-6 {
			t.Fatalf("both sides sum to %g", sum)
		}
	})
}

func TestTailsOfDistributions(t *testing.T) {
	// chi-squared with 2 degrees is exponential; t with 1 is Cauchy.
	for _, x := range []float64{0.01, 0.5, 1, 3, 20, 300} {
		for _, c := range []struct {
			what      string
			got, want float64
		}{
			{"chi-squared, 2", statistic.ChiSquaredTail(x, 2), math.Exp(-x / 2)},
			{"chi-squared, 1", statistic.ChiSquaredTail(x*x, 1), math.Erfc(x / math.Sqrt2)},
			{"t, 1", statistic.StudentTail(x, 1), math.Atan2(1, x) / math.Pi},
			{"t, below 0", statistic.StudentTail(-x, 7), 1 - statistic.StudentTail(x, 7)},
		} {
			if !close(c.got, c.want, 1e-10) {
				t.Errorf("%s at %g: %.15g, want %.15g", c.what, x, c.got, c.want)
			}
		}
	}
}

func TestQuantilesInvert(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.Float64Range(1e-12, 0.999).Draw(t, "p")
		df := rapid.Float64Range(0.5, 1e6).Draw(t, "df")
		if got := 1 - statistic.ChiSquaredTail(statistic.ChiSquaredQuantile(p, df), df); math.Abs(got-p) > 1e-9*p+1e-14 {
			t.Fatalf("chi-squared, %g: %g comes back as %g", df, p, got)
		}
		if got := statistic.StudentTail(-statistic.StudentQuantile(p, df), df); !close(got, p, 1e-8) {
			t.Fatalf("t, %g: %g comes back as %g", df, p, got)
		}
		if got := statistic.NormalTail(-statistic.NormalQuantile(p)); !close(got, p, 1e-12) {
			t.Fatalf("normal: %g comes back as %g", p, got)
		}
	})
}

// Both series of the law agree where they meet; 0.05 at 1.35810 (N. Smirnov's table, 1948, from memory).
func TestKolmogorovTail(t *testing.T) {
	if a, b := statistic.KolmogorovTail(1-1e-12), statistic.KolmogorovTail(1); !close(a, b, 1e-9) {
		t.Errorf("%.15g below 1, %.15g from 1 on", a, b)
	}
	if got := statistic.KolmogorovTail(1.35810); math.Abs(got-0.05) > 1e-5 {
		t.Errorf("p at 1.3581 is %g", got)
	}
}

// A sum of pairs of equal weights has a closed law: for weights l, l, m, m it is
// (l exp(-x/2l) - m exp(-x/2m))/(l-m).
func TestQuadraticTail(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := rapid.Float64Range(0.1, 10).Draw(t, "l")
		m := l * rapid.Float64Range(0.01, 0.9).Draw(t, "share")
		x := (l + m) * rapid.Float64Range(0.01, 60).Draw(t, "x")
		want := (l*math.Exp(-x/(2*l)) - m*math.Exp(-x/(2*m))) / (l - m)
		if got := statistic.QuadraticTail(x, []float64{l, m, m, l}); math.Abs(got-want) > 0.06*want {
			t.Fatalf("P(Q > %g) with %g and %g twice each: %g, want %g", x, l, m, got, want)
		}
	})
	if got := statistic.QuadraticTail(3, []float64{2, 0, -1}); !close(got, statistic.ChiSquaredTail(1.5, 1), 1e-14) {
		t.Errorf("one weight: %g", got)
	}
}
