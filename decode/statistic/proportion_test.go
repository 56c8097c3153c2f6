package statistic_test

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"linewitness/decode/statistic"
)

// binomial is the exact mass in rational arithmetic, as a float.
func binomial(x, n int, p float64) float64 {
	P := new(big.Rat)
	P.SetFloat64(p)
	Q := new(big.Rat).Sub(big.NewRat(1, 1), P)
	out := new(big.Rat).SetInt(new(big.Int).Binomial(int64(n), int64(x)))
	for range x {
		out.Mul(out, P)
	}
	for range n - x {
		out.Mul(out, Q)
	}
	f, _ := out.Float64()
	return f
}

func TestBinomialTestIsTheSum(t *testing.T) {
	for _, p := range []float64{0.05, 0.3, 0.5, 0.875} {
		for n := range 13 {
			for x := range n + 1 {
				var less, more, two float64
				for k := range n + 1 {
					m := binomial(k, n, p)
					less += m * indicator(k <= x)
					more += m * indicator(k >= x)
					two += m * indicator(m <= binomial(x, n, p)*(1+1e-7))
				}
				for alt, want := range []float64{two, less, more} {
					if got := statistic.BinomialTest(x, n, p, statistic.Alternative(alt)); !close(got, want, 1e-12) {
						t.Errorf("%d of %d against %g, %v: %.15g, want %.15g", x, n, p, statistic.Alternative(alt), got, want)
					}
				}
			}
		}
	}
}

// Clopper-Pearson covers every proportion at least as often as it says; Wilson on the mean only.
func TestCoverageOfIntervals(t *testing.T) {
	const n, steps = 23, 400
	mean := 0.0
	for i := 1; i < steps; i++ {
		p, exact, wilson := float64(i)/steps, 0.0, 0.0
		for x := range n + 1 {
			m := binomial(x, n, p)
			exact += m * indicator(statistic.ClopperPearson(x, n, 0.9).Contains(p))
			wilson += m * indicator(statistic.Wilson(x, n, 0.9).Contains(p))
		}
		if exact < 0.9-1e-12 {
			t.Errorf("Clopper-Pearson covers %g with %g", p, exact)
		}
		mean += wilson / (steps - 1)
	}
	if mean < 0.88 || mean > 0.93 {
		t.Errorf("Wilson covers %g on the mean", mean)
	}
}

func TestIntervalsOfProportions(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 1_000_000_000).Draw(t, "n")
		x := rapid.IntRange(0, n).Draw(t, "x")
		c := rapid.Float64Range(0.5, 0.999).Draw(t, "confidence")
		for _, f := range []func(int, int, float64) statistic.Interval{statistic.Wilson, statistic.ClopperPearson} {
			i, wide, mirror := f(x, n, c), f(x, n, c+0.5*(1-c)), f(n-x, n, c)
			p := float64(x) / float64(n)
			if i.Lower < 0 || i.Upper > 1 || i.Lower > p*(1+1e-12) || i.Upper < p*(1-1e-12) {
				t.Fatalf("%d of %d: %v", x, n, i)
			}
			if wide.Lower > i.Lower || wide.Upper < i.Upper {
				t.Fatalf("%d of %d: more confidence narrows %v to %v", x, n, i, wide)
			}
			if math.Abs(1-mirror.Lower-i.Upper) > 1e-12 || math.Abs(1-mirror.Upper-i.Lower) > 1e-12 {
				t.Fatalf("%d of %d: %v, mirrored %v", x, n, i, mirror)
			}
		}
		// Exact limits are where the one-sided test just reaches half of the rest.
		i := statistic.ClopperPearson(x, n, c)
		if x > 0 {
			if p := statistic.BinomialTest(x, n, i.Lower, statistic.Greater); math.Abs(p-(1-c)/2) > 1e-6 {
				t.Fatalf("%d of %d: p at the lower limit %g", x, n, p)
			}
		}
	})
}

// Fisher's test against a plain sum over all tables with the same margins.
func TestFisherExactIsTheSum(t *testing.T) {
	choose := func(n, k int) float64 {
		if k < 0 || k > n {
			return 0
		}
		f, _ := new(big.Float).SetInt(new(big.Int).Binomial(int64(n), int64(k))).Float64()
		return f
	}
	rapid.Check(t, func(t *rapid.T) {
		cell := rapid.IntRange(0, 14)
		a, b, c, d := cell.Draw(t, "a"), cell.Draw(t, "b"), cell.Draw(t, "c"), cell.Draw(t, "d")
		mass := func(k int) float64 { return choose(a+b, k) * choose(c+d, a+c-k) / choose(a+b+c+d, a+c) }
		var less, more, two float64
		for k := range a + b + c + d + 1 {
			m := mass(k)
			less += m * indicator(k <= a)
			more += m * indicator(k >= a)
			two += m * indicator(m <= mass(a)*(1+1e-7))
		}
		for alt, want := range []float64{two, less, more} {
			if got := statistic.FisherExact(a, b, c, d, statistic.Alternative(alt)); !close(got, want, 1e-10) {
				t.Fatalf("%d %d / %d %d, %v: %.15g, want %.15g", a, b, c, d, statistic.Alternative(alt), got, want)
			}
		}
		if swap := statistic.FisherExact(c, d, a, b, statistic.Less); !close(swap, more, 1e-10) {
			t.Fatalf("rows exchanged: %g, want %g", swap, more)
		}
	})
}

func TestComparisonsAreSymmetric(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n1, n2 := rapid.IntRange(1, 200).Draw(t, "n1"), rapid.IntRange(1, 200).Draw(t, "n2")
		x1, x2 := rapid.IntRange(0, n1).Draw(t, "x1"), rapid.IntRange(0, n2).Draw(t, "x2")
		a, b := statistic.TwoProportions(x1, n1, x2, n2, 0.95), statistic.TwoProportions(x2, n2, x1, n1, 0.95)
		if !close(a.P, b.P, 1e-9) || !close(a.PExact, b.PExact, 1e-9) || math.Abs(a.Newcombe.Lower+b.Newcombe.Upper) > 1e-12 {
			t.Fatalf("%+v, exchanged %+v", a, b)
		}
		if a.PYates < a.P || !a.Newcombe.Contains(a.Difference) {
			t.Fatalf("%+v", a)
		}
	})
}

func TestPoissonIntervalAndTestAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(0, 10_000_000).Draw(t, "k")
		c := rapid.Float64Range(0.5, 0.999).Draw(t, "confidence")
		i := statistic.PoissonInterval(k, c)
		if p := statistic.PoissonTest(k, i.Upper, statistic.Less); !close(p, (1-c)/2, 1e-6) {
			t.Fatalf("%d: p at the upper limit %g", k, p)
		}
		if p := statistic.PoissonTest(k, i.Lower, statistic.Greater); k > 0 && !close(p, (1-c)/2, 1e-6) {
			t.Fatalf("%d: p at the lower limit %g", k, p)
		}
	})
}
