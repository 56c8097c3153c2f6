package statistic_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"linewitness/decode/statistic"
)

// Where gonum has the same function, both agree; from other code, and for beta from other arithmetic.
func TestAgainstGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64Range(0.5, 500).Draw(t, "a"), rapid.Float64Range(0.5, 500).Draw(t, "b")
		x := rapid.Float64Range(0.001, 0.999).Draw(t, "x")
		n, k := rapid.IntRange(1, 400).Draw(t, "n"), rapid.IntRange(0, 400).Draw(t, "k")
		pairs := []struct {
			what           string
			got, want, rel float64
		}{
			{"beta", statistic.BetaRegularized(a, b, x), distuv.Beta{Alpha: a, Beta: b}.CDF(x), 1e-9},
			{"t", 1 - statistic.StudentTail(5*x, a), distuv.StudentsT{Nu: a, Sigma: 1}.CDF(5 * x), 1e-9},
			{"chi-squared", statistic.ChiSquaredTail(2*a*x, a), distuv.ChiSquared{K: a}.Survival(2 * a * x), 1e-9},
			{"normal", statistic.NormalTail(10 * x), distuv.UnitNormal.Survival(10 * x), 1e-9},
			{"Poisson", statistic.PoissonTest(k, b, statistic.Less), distuv.Poisson{Lambda: b}.CDF(float64(k)), 1e-9},
			{"binomial", statistic.BinomialTest(min(k, n), n, x, statistic.Less), distuv.Binomial{N: float64(n), P: x}.CDF(float64(min(k, n))), 1e-9},
		}
		for _, p := range pairs {
			if math.Abs(p.got-p.want) > p.rel*p.want+1e-13 {
				t.Fatalf("%s: %.15g, gonum %.15g", p.what, p.got, p.want)
			}
		}
	})
}

func TestDirectionAgainstGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		angles := rapid.SliceOfN(rapid.Float64Range(0, 3), 1, 30).Draw(t, "angles")
		got, want := statistic.ResultantOf(angles, 1).Direction(), stat.CircularMean(angles, nil)
		if math.Abs(got-want) > 1e-9 {
			t.Fatalf("direction %g, gonum %g", got, want)
		}
	})
}
