package statistic_test

import (
	"math"
	"testing"

	"linewitness/decode/statistic"
)

// figure is a value and what an independent program gives for it.
type figure struct {
	what      string
	got, want float64
	rel       float64
}

func checkFigures(t *testing.T, all []figure) {
	t.Helper()
	for _, f := range all {
		if !close(f.got, f.want, f.rel) {
			t.Errorf("%s: %.16g, want %.16g", f.what, f.got, f.want)
		}
	}
}

func TestTailsAgainstSciPy(t *testing.T) {
	checkFigures(t, []figure{
		// SciPy 1.10.1, stats.chi2.sf
		{"chi-squared 0.001, 0.5", statistic.ChiSquaredTail(0.001, 0.5), 0.8350402492315872, 1e-12},
		{"chi-squared 3, 0.5", statistic.ChiSquaredTail(3, 0.5), 0.03341644415897894, 1e-12},
		{"chi-squared 7.3, 3", statistic.ChiSquaredTail(7.3, 3), 0.06292623645904312, 1e-12},
		{"chi-squared 40, 10", statistic.ChiSquaredTail(40, 10), 1.694474393006737e-05, 1e-12},
		{"chi-squared 1200, 1000", statistic.ChiSquaredTail(1200, 1000), 1.2255942330622893e-05, 1e-10},
		// SciPy 1.10.1, stats.t.sf
		{"t 0.5, 3", statistic.StudentTail(0.5, 3), 0.3257239824240755, 1e-12},
		{"t 2.5, 10", statistic.StudentTail(2.5, 10), 0.015723422118304388, 1e-12},
		{"t -1.2, 4.5", statistic.StudentTail(-1.2, 4.5), 0.8552614725790177, 1e-12},
		{"t 30, 2", statistic.StudentTail(30, 2), 0.0005546313409798294, 1e-12},
		{"t 4, 1e6", statistic.StudentTail(4, 1e6), 3.1673517005023895e-05, 1e-9},
		// SciPy 1.10.1, special.kolmogorov
		{"Kolmogorov 0.3", statistic.KolmogorovTail(0.3), 0.9999906941986655, 1e-12},
		{"Kolmogorov 0.7", statistic.KolmogorovTail(0.7), 0.7112351950296893, 1e-12},
		{"Kolmogorov 0.999", statistic.KolmogorovTail(0.999), 0.27107316411506394, 1e-12},
		{"Kolmogorov 1.2", statistic.KolmogorovTail(1.2), 0.11224966667072497, 1e-12},
		{"Kolmogorov 2", statistic.KolmogorovTail(2), 0.0006709252557796953, 1e-12},
		{"Kolmogorov 4", statistic.KolmogorovTail(4), 2.532833109818835e-14, 1e-12},
	})
}

func TestQuantilesAgainstSciPyAndMpmath(t *testing.T) {
	checkFigures(t, []figure{
		// mpmath, gammainc inverted by halving at 40 digits
		{"chi-squared 2^-12, 0.5", statistic.ChiSquaredQuantile(0.000244140625, 0.5), 4.7959488065258025e-15, 1e-12},
		{"chi-squared 1e-12, 1", statistic.ChiSquaredQuantile(1e-12, 1), 1.5707963267948966e-24, 1e-12},
		{"chi-squared 0.5, 0.5", statistic.ChiSquaredQuantile(0.5, 0.5), 0.08734760470574682, 1e-12},
		{"chi-squared 0.999, 3", statistic.ChiSquaredQuantile(0.999, 3), 16.26623619623813, 1e-12},
		{"chi-squared 0.025, 200", statistic.ChiSquaredQuantile(0.025, 200), 162.72798250184627, 1e-12},
		// SciPy 1.10.1, stats.t.ppf
		// With 2 degrees t is (2p-1)/sqrt(2p(1-p)); mpmath. SciPy 1.10.1 gives 4.302652729911275, off from the tenth digit.
		{"t 0.975, 2", statistic.StudentQuantile(0.975, 2), 4.30265272974946, 1e-12},
		{"t 0.5000001, 5", statistic.StudentQuantile(0.5000001, 5), 2.634305523281932e-07, 1e-8},
		{"t 0.001, 7.5", statistic.StudentQuantile(0.001, 7.5), -4.630319094037783, 1e-12},
		{"t 0.9, 1000", statistic.StudentQuantile(0.9, 1000), 1.2823987214609247, 1e-10},
		// SciPy 1.10.1, stats.beta.ppf
		{"beta 3, 998, 0.025", statistic.BetaQuantile(3, 998, 0.025), 0.0006190999316495713, 1e-12},
		{"beta 0.5, 0.5, 0.2", statistic.BetaQuantile(0.5, 0.5, 0.2), 0.09549150281252627, 1e-12},
		{"beta 20, 3, 0.9", statistic.BetaQuantile(20, 3, 0.9), 0.948825870112923, 1e-12},
		{"beta 1e5, 1e5, 0.3", statistic.BetaQuantile(1e5, 1e5, 0.3), 0.49941370187173967, 1e-12},
		// mpmath, betainc inverted by halving at 40 digits: what is left of 1
		{"1 less beta 30, 0.5, 0.99", 1 - statistic.BetaQuantile(30, 0.5, 0.99), 2.6400353756031525e-06, 1e-9},
		{"1 less beta 5, 1, 0.975", 1 - statistic.BetaQuantile(5, 1, 0.975), 0.005050763379468057, 1e-12},
	})
}

// Weighted sums of chi-squared against Imhof's integral (J. P. Imhof, 1961), taken with mpmath at 15 digits.
func TestQuadraticTailAgainstImhof(t *testing.T) {
	checkFigures(t, []figure{
		{"6 of 3 2 1", statistic.QuadraticTail(6, []float64{3, 2, 1}), 0.3773224000887219, 0.04},
		{"12 of 3 2 1", statistic.QuadraticTail(12, []float64{3, 2, 1}), 0.11724324660956603, 0.04},
		{"2 of 1 0.5 0.25 0.2", statistic.QuadraticTail(2, []float64{1, 0.5, 0.25, 0.2}), 0.3627021081233188, 0.04},
		{"1 of six", statistic.QuadraticTail(1, []float64{1, 1, 1, 1, 1, 1}), 0.9856123220548901, 0.04},
	})
}

// Watson's law is the sum of pairs of weights 1/(4 pi^2 k^2), whose tail has a closed form.
func TestQuadraticTailOfWatsonsWeights(t *testing.T) {
	var weights []float64
	for k := 1.0; k <= 1000; k++ {
		w := 1 / (4 * math.Pi * math.Pi * k * k)
		weights = append(weights, w, w)
	}
	for u := 0.03; u < 2; u *= 1.1 {
		got, want := statistic.QuadraticTail(u, weights), statistic.WatsonLimit(u)
		if want > 1e-8 {
			checkFigures(t, []figure{{"tail", got, want, 0.03}})
		} else if got < want || got > 1.045*want { // far out it errs to the safe side
			t.Errorf("tail beyond %g: %g, want %g", u, got, want)
		}
	}
}

func TestDistributionsOfOddInput(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	checkFigures(t, []figure{
		{"normal at 0", statistic.NormalQuantile(0), -inf, 0},
		{"normal at 1", statistic.NormalQuantile(1), inf, 0},
		{"normal beyond", statistic.NormalQuantile(1.1), nan, 0},
		{"chi-squared at 0", statistic.ChiSquaredQuantile(0, 3), 0, 0},
		{"chi-squared at 1", statistic.ChiSquaredQuantile(1, 3), inf, 0},
		{"chi-squared of no degrees", statistic.ChiSquaredQuantile(0.5, 0), nan, 0},
		{"chi-squared tail below 0", statistic.ChiSquaredTail(-1, 3), 1, 0},
		{"chi-squared tail at infinity", statistic.ChiSquaredTail(inf, 3), 0, 0},
		{"chi-squared tail of NaN", statistic.ChiSquaredTail(nan, 3), nan, 0},
		{"t of NaN", statistic.StudentTail(nan, 3), nan, 0},
		{"t at 0", statistic.StudentTail(0, 3), 0.5, 1e-15},
		{"t at infinity", statistic.StudentTail(inf, 3), 0, 0},
		{"t of infinite degrees", statistic.StudentTail(1.5, inf), statistic.NormalTail(1.5), 0},
		{"t quantile in the middle", statistic.StudentQuantile(0.5, 3), 0, 0},
		{"t quantile at 1", statistic.StudentQuantile(1, 3), inf, 0},
		{"t quantile beyond", statistic.StudentQuantile(-0.1, 3), nan, 0},
		{"t quantile of infinite degrees", statistic.StudentQuantile(0.9, inf), statistic.NormalQuantile(0.9), 0},
		{"beta of NaN", statistic.BetaRegularized(1, 2, nan), nan, 0},
		{"beta of no parameter", statistic.BetaRegularized(0, 2, 0.5), nan, 0},
		{"beta below 0", statistic.BetaRegularized(1, 2, -1), 0, 0},
		{"beta above 1", statistic.BetaRegularized(1, 2, 2), 1, 0},
		{"beta quantile at 0", statistic.BetaQuantile(1, 2, 0), 0, 0},
		{"beta quantile at 1", statistic.BetaQuantile(1, 2, 1), 1, 0},
		{"beta quantile of NaN", statistic.BetaQuantile(1, 2, nan), nan, 0},
		{"Kolmogorov of NaN", statistic.KolmogorovTail(nan), nan, 0},
		{"Kolmogorov at 0", statistic.KolmogorovTail(0), 1, 0},
		{"quadratic of NaN", statistic.QuadraticTail(nan, []float64{1, 1}), nan, 0},
		{"quadratic at 0", statistic.QuadraticTail(0, []float64{1, 1}), 1, 0},
		{"quadratic of nothing", statistic.QuadraticTail(1, nil), 0, 0},
		{"quadratic of a NaN weight", statistic.QuadraticTail(1, []float64{nan}), nan, 0},
	})
}
