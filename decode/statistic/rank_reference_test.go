package statistic_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"linewitness/decode/statistic"
)

// SciPy 1.10.1, stats.mannwhitneyu: exact without ties, asymptotic with them; with ties exact by all 462 ways to deal
// out in Python, two-sided twice the smaller tail. R 4.2.2, wilcox.test, for the shift at 90 %.
func TestMannWhitneyAgainstSciPy(t *testing.T) {
	x, y := []float64{1.1, 2.5, 2.9, 3.7, 5.0, 6.1}, []float64{0.4, 1.3, 1.9, 2.2, 2.8}
	tied := []float64{1.1, 2.2, 2.2, 3.7, 5.0, 6.1}
	for _, c := range []struct {
		alt                       statistic.Alternative
		exact, tiedExact, tiedLaw float64
	}{
		{statistic.TwoSided, 0.08225108225108226, 0.16883116883116883, 0.16699411792618535},
		{statistic.Less, 0.974025974025974, 0.9372294372294372, 0.9413472179939567},
		{statistic.Greater, 0.04112554112554113, 0.08441558441558442, 0.08349705896309267},
	} {
		a, b := statistic.MannWhitney(x, y, c.alt), statistic.MannWhitney(tied, y, c.alt)
		checkFigures(t, []figure{
			{"statistic", a.Statistic, 25, 0}, {"p", a.P, c.exact, 1e-12}, {"statistic, ties", b.Statistic, 23, 0},
			{"p, ties", b.P, c.tiedExact, 1e-12}, {"normal p, ties", b.PNormal, c.tiedLaw, 1e-12},
		})
		if !a.Exact || !b.Exact {
			t.Errorf("%v: %+v, %+v", c.alt, a, b)
		}
	}
	e := statistic.HodgesLehmannShift(x, y, 0.9)
	checkFigures(t, []figure{{"shift", e.Value, 1.7, 1e-12}, {"lower", e.Within.Lower, 0.1, 1e-12}, {"upper", e.Within.Upper, 3.7, 1e-12}})
}

// Under no difference the exact p is never too small: all 252 ways to deal 5 out of 10 with ties.
func TestMannWhitneyHoldsItsLevel(t *testing.T) {
	all := []float64{1, 2, 2, 3, 4, 4, 4, 5, 6, 7}
	for _, alt := range []statistic.Alternative{statistic.TwoSided, statistic.Less, statistic.Greater} {
		var p []float64
		for set := range 1 << 10 {
			var x, y []float64
			for i, v := range all {
				if set>>i&1 == 1 {
					x = append(x, v)
				} else {
					y = append(y, v)
				}
			}
			if len(x) == 5 {
				p = append(p, statistic.MannWhitney(x, y, alt).P)
			}
		}
		for _, a := range p {
			count := 0
			for _, q := range p {
				if q <= a {
					count++
				}
			}
			if float64(count) > a*float64(len(p))*(1+1e-9) {
				t.Fatalf("%v: P(p <= %g) is %d of %d", alt, a, count, len(p))
			}
		}
	}
}

// The interval of the shift holds just the shifts that the test does not reject.
func TestShiftIntervalInvertsTheTest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.Custom(func(t *rapid.T) float64 { return rapid.Float64Range(0, 100).Draw(t, "value") })
		x, y := rapid.SliceOfNDistinct(value, 4, 12, rapid.ID).Draw(t, "x"), rapid.SliceOfNDistinct(value, 4, 12, rapid.ID).Draw(t, "y")
		e := statistic.HodgesLehmannShift(x, y, 0.9)
		if !e.Within.Contains(e.Value) {
			t.Fatalf("%+v", e)
		}
		moved := func(by float64) float64 {
			z := make([]float64, len(x))
			for i, v := range x {
				z[i] = v - by
			}
			return statistic.MannWhitney(z, y, statistic.TwoSided).P
		}
		const little = 1e-6
		if p := moved(e.Within.Lower - little); p > 0.1+1e-9 {
			t.Fatalf("just below %+v: p %g", e, p)
		}
		if p := moved(e.Within.Upper + little); p > 0.1+1e-9 {
			t.Fatalf("just above %+v: p %g", e, p)
		}
		if p := moved(e.Value); p < 0.1 {
			t.Fatalf("at %+v: p %g", e, p)
		}
	})
}

// SciPy 1.10.1, stats.kendalltau of value against time (exact) and stats.theilslopes. The upper limit of the first is the 18th
// of 66 slopes from above: R. O. Gilbert's ranks 18.71 and 48.29 rounded outwards, where SciPy rounds and takes 0.2714.
func TestMannKendallAgainstSciPy(t *testing.T) {
	m := statistic.MannKendall([]float64{3.1, 2.9, 3.5, 3.4, 4.2, 3.9, 4.4, 5.0, 4.1, 4.8, 5.3, 5.1}, 0.95)
	at := []float64{0, 1, 2.5, 4, 4.5, 7, 9, 10, 13, 15}
	w := statistic.MannKendallAt(at, []float64{5, 4.1, 4.4, 3.9, 3.2, 3.5, 2.2, 2.9, 1.1, 1.7}, 0.9)
	checkFigures(t, []figure{
		{"S", float64(m.S), 50, 0}, {"p", m.P, 0.00024002425044091711, 1e-12}, {"slope", m.Slope, 0.21833333333333332, 1e-12},
		{"lower", m.Within.Lower, 0.1333333333333333, 1e-12}, {"upper", m.Within.Upper, 0.275, 1e-12},
		{"p, unequal steps", w.P, 0.0003576940035273369, 1e-12}, {"slope, unequal steps", w.Slope, -0.225, 1e-12},
		{"lower, unequal steps", w.Within.Lower, -0.3111111111111111, 1e-12}, {"upper, unequal steps", w.Within.Upper, -0.1714285714285714, 1e-12},
	})
}

// All 720 and 5,040 orders of six and seven values, with ties: p <= a in at most the share a of them.
func TestMannKendallHoldsItsLevel(t *testing.T) {
	for _, values := range [][]float64{{1, 2, 3, 4, 5, 6}, {1, 2, 2, 3, 4, 4, 4}} {
		var p []float64
		permute(values, 0, func(v []float64) { p = append(p, statistic.MannKendall(v, 0.95).P) })
		for _, a := range p[:60] {
			count := 0
			for _, q := range p {
				if q <= a*(1+1e-9) {
					count++
				}
			}
			if float64(count) > a*float64(len(p))*(1+1e-9) {
				t.Fatalf("%v: P(p <= %g) is %d of %d", values, a, count, len(p))
			}
		}
	}
}

func permute(v []float64, from int, visit func([]float64)) {
	if from == len(v) {
		visit(v)
		return
	}
	for i := from; i < len(v); i++ {
		v[from], v[i] = v[i], v[from]
		permute(v, from+1, visit)
		v[from], v[i] = v[i], v[from]
	}
}

func TestTrendFollowsTheValues(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.Float64Range(-100, 100), 3, 30).Draw(t, "values")
		m := statistic.MannKendall(v, 0.95)
		down := make([]float64, len(v))
		for i, x := range v {
			down[i] = -x
		}
		d := statistic.MannKendall(down, 0.95)
		if d.S != -m.S || !close(d.P, m.P, 1e-9) || math.Abs(d.Slope+m.Slope) > 1e-9 || d.Within.Lower != -m.Within.Upper || !m.Within.Contains(m.Slope) {
			t.Fatalf("%+v, mirrored %+v", m, d)
		}
	})
}

// Made-up counts added one by one, in any order and in two parts, give the same bins; a slope of 3 a unit of time comes back.
func TestTrendBins(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 300).Draw(t, "n")
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		whole, first, second, back := statistic.NewTrendBins(4), statistic.NewTrendBins(4), statistic.NewTrendBins(4), statistic.NewTrendBins(4)
		at, values := make([]int64, n), make([]int64, n)
		for i := range n {
			at[i], values[i] = rng.Int64N(100_000), rng.Int64N(2000)-1000
			whole.Add(at[i], values[i])
			if i%3 == 0 {
				first.Add(at[i], values[i])
			} else {
				second.Add(at[i], values[i])
			}
		}
		for i := n - 1; i >= 0; i-- {
			back.Add(at[i], values[i])
		}
		if first.Plus(second) != whole || second.Plus(first) != whole || back != whole {
			t.Fatal("bins depend on order or on the cut")
		}
		_, _, counts := whole.Means()
		sum := 0
		for _, c := range counts {
			sum += c
		}
		if sum != n || whole.Width() < 4 {
			t.Fatalf("%d values of %d in bins of %d", sum, n, whole.Width())
		}
	})
	b := statistic.NewTrendBins(1)
	for i := range int64(1000) {
		b.Add(i, 3*i)
	}
	if m := b.Trend(0.95); !close(m.Slope, 3, 0.01) || m.P > 1e-6 {
		t.Errorf("%+v", m)
	}
	var zero statistic.TrendBins
	zero.Add(1, 1)
	b = statistic.NewTrendBins(0)
	b.Add(-1, 5)
	if at, _, _ := zero.Means(); at != nil || b.Width() != 1 || !math.IsNaN(b.Trend(0.95).Slope) {
		t.Errorf("zero bins hold %v; width %d", at, b.Width())
	}
}

func TestRanksOfOddInput(t *testing.T) {
	nan := math.NaN()
	none := statistic.MannKendall(nil, 0.95)
	flat := statistic.MannKendall([]float64{2, 2, 2}, 0.95)
	checkFigures(t, []figure{
		{"Mann-Whitney of NaN", statistic.MannWhitney([]float64{nan}, []float64{1}, statistic.TwoSided).P, nan, 0},
		{"Mann-Whitney of another alternative", statistic.MannWhitney([]float64{1}, []float64{1}, 9).P, nan, 0},
		{"Mann-Whitney of nothing", statistic.MannWhitney(nil, []float64{1}, statistic.Less).P, 1, 0},
		{"Mann-Whitney of equals", statistic.MannWhitney([]float64{1, 1}, []float64{1}, statistic.TwoSided).P, 1, 0},
		{"shift of nothing", statistic.HodgesLehmannShift(nil, []float64{1}, 0.9).Value, nan, 0},
		{"shift of nothing, upper", statistic.HodgesLehmannShift(nil, []float64{1}, 0.9).Within.Upper, math.Inf(1), 0},
		{"shift of NaN", statistic.HodgesLehmannShift([]float64{nan}, []float64{1}, 0.9).Within.Upper, nan, 0},
		{"trend of nothing, p", none.P, 1, 0}, {"trend of nothing", none.Slope, nan, 0}, {"its upper limit", none.Within.Upper, math.Inf(1), 0},
		{"trend of equals, p", flat.P, 1, 0}, {"trend of equals", flat.Slope, 0, 0},
		{"trend of infinity", statistic.MannKendall([]float64{1, math.Inf(1)}, 0.95).P, nan, 0},
		{"instants that fall", statistic.MannKendallAt([]float64{2, 1}, []float64{1, 2}, 0.95).P, nan, 0},
		{"confidence of 1", statistic.MannKendall([]float64{1, 2}, 1).P, nan, 0},
		{"too many", statistic.MannKendall(make([]float64, 4001), 0.95).P, nan, 0},
	})
}

// Above the exact sizes the normal law stands in; close to the exact one just below.
func TestLargeRanksAreNormal(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	var x, y []float64
	for range 200 {
		x, y = append(x, rng.NormFloat64()), append(y, rng.NormFloat64()+0.2)
	}
	large := statistic.MannWhitney(x, y, statistic.TwoSided)
	small := statistic.MannWhitney(x[:20], y[:20], statistic.TwoSided)
	if large.Exact || large.P != large.PNormal || !small.Exact || !close(small.P, small.PNormal, 0.05) {
		t.Errorf("%+v, %+v", large, small)
	}
	e := statistic.HodgesLehmannShift(x, y, 0.95)
	if (e.Within.Contains(0)) != (large.P > 0.05) {
		t.Errorf("%+v beside %+v", e, large)
	}
	long, short := statistic.MannKendall(x, 0.95), statistic.MannKendall(x[:60], 0.95)
	if long.P != long.PNormal || !close(short.P, short.PNormal, 0.05) {
		t.Errorf("%+v, %+v", long, short)
	}
}
