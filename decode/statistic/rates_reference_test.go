package statistic_test

import (
	"fmt"
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"linewitness/decode/statistic"
)

func sides(f func(statistic.Alternative) float64, two, less, greater float64, what string) []figure {
	return []figure{
		{what + ", two-sided", f(statistic.TwoSided), two, 1e-9},
		{what + ", less", f(statistic.Less), less, 1e-9},
		{what + ", greater", f(statistic.Greater), greater, 1e-9},
	}
}

func TestExactTestsAgainstSciPy(t *testing.T) {
	for _, c := range []struct { // SciPy 1.10.1, stats.binomtest
		x, n               int
		p                  float64
		two, less, greater float64
	}{
		{3, 10, 0.5, 0.34375, 0.171875, 0.9453125},
		{82, 300, 0.2, 0.0023460577246538607, 0.9991298208942068, 0.0013611440821289867},
		{0, 20, 0.1, 0.25452997802490435, 0.12157665459056925, 1},
		{14, 20, 0.7, 1, 0.5836291705525188, 0.6080098122009238},
	} {
		f := func(a statistic.Alternative) float64 { return statistic.BinomialTest(c.x, c.n, c.p, a) }
		checkFigures(t, sides(f, c.two, c.less, c.greater, fmt.Sprint("binomial ", c.x, " of ", c.n)))
	}
	for _, c := range []struct { // SciPy 1.10.1, stats.poisson.cdf and sf
		k                        int
		mean, two, less, greater float64
	}{
		{3, 1.2, 0.24102580243273972, 0.9662310318143443, 0.12051290121636986},
		{0, 2.5, 0.1641699972477976, 0.0820849986238988, 1},
		{10, 10, 1, 0.5830397501929852, 0.5420702855281478},
		{150, 120, 0.009126882608302472, 0.9964480348947647, 0.004563441304151236},
	} {
		f := func(a statistic.Alternative) float64 { return statistic.PoissonTest(c.k, c.mean, a) }
		checkFigures(t, sides(f, c.two, c.less, c.greater, fmt.Sprint("Poisson ", c.k)))
	}
	for _, c := range []struct { // SciPy 1.10.1, stats.fisher_exact
		a, b, c, d         int
		two, less, greater float64
	}{
		{3, 7, 8, 2, 0.06977851869492736, 0.03488925934746368, 0.9972612526792093},
		{0, 5, 5, 0, 0.007936507936507938, 0.003968253968253969, 1},
		{120, 880, 95, 905, 0.08298330663021403, 0.9698372516807776, 0.04149165331510701},
		{1, 9, 11, 3, 0.0027594561852200836, 0.0013797280926100418, 0.9999663480953022},
	} {
		f := func(a statistic.Alternative) float64 { return statistic.FisherExact(c.a, c.b, c.c, c.d, a) }
		checkFigures(t, sides(f, c.two, c.less, c.greater, fmt.Sprint("Fisher ", c.a, c.b, c.c, c.d)))
	}
}

func TestIntervalsAgainstStatsmodels(t *testing.T) {
	for _, c := range []struct { // statsmodels 0.13.5, proportion_confint, methods beta and wilson
		x, n               int
		confidence         float64
		lower, upper, l, u float64
	}{
		{3, 10, 0.95, 0.0667395111777345, 0.6524528500599973, 0.10779126740630099, 0.6032218525388546},
		{199, 200, 0.99, 0.9634408694672215, 0.9999749376049494, 0.9587991180797599, 0.9994127002381603},
		{999999, 1000000, 0.95, 0.9999944283693448, 0.9999999746821924, 0.9999943350881957, 0.9999998234754233},
		{1, 4, 0.5, 0.0693951408979004, 0.5436782854190803, 0.1348202569789832, 0.4162395539712484},
	} {
		e, w := statistic.ClopperPearson(c.x, c.n, c.confidence), statistic.Wilson(c.x, c.n, c.confidence)
		checkFigures(t, []figure{
			{"exact lower", e.Lower, c.lower, 1e-10}, {"exact upper", e.Upper, c.upper, 1e-10},
			{"score lower", w.Lower, c.l, 1e-10}, {"score upper", w.Upper, c.u, 1e-10},
		})
	}
}

func TestRatesAgainstR(t *testing.T) {
	for _, c := range []struct { // R 4.2.2, poisson.test of two samples
		k1, k2                 int
		t1, t2, confidence     float64
		ratio, lower, upper, p float64
	}{
		{11, 21, 800, 3011, 0.95, 1.9714880952380953, 0.8584264033916392, 4.2772659436540712, 0.0796686330333295},
		{4, 19, 120.5, 300, 0.9, 0.524131906529810, 0.163641692056896, 1.369855116943280, 0.355191761293411},
	} {
		r := statistic.RateRatioOf(c.k1, c.t1, c.k2, c.t2, c.confidence)
		checkFigures(t, []figure{
			{"ratio", r.Ratio, c.ratio, 1e-12}, {"lower", r.Within.Lower, c.lower, 1e-10},
			{"upper", r.Within.Upper, c.upper, 1e-10}, {"p", r.P, c.p, 1e-10},
		})
	}
	r := statistic.RateOf(42, 7.5, 0.99) // R 4.2.2, poisson.test(42, 7.5, conf.level = 0.99)
	checkFigures(t, []figure{
		{"rate", r.Value, 5.6, 1e-12}, {"lower", r.Within.Lower, 3.62451101273861, 1e-12}, {"upper", r.Within.Upper, 8.23478028145177, 1e-12},
	})
}

// A thousand million events on one side, one on the other: the limits of the ratio need the digits of 1 less the share.
func TestRateRatioKeepsDigits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k1, k2 := rapid.IntRange(1, 1_000_000_000).Draw(t, "k1"), rapid.IntRange(1, 1_000_000_000).Draw(t, "k2")
		t1, t2 := rapid.Float64Range(1, 1e6).Draw(t, "t1"), rapid.Float64Range(1, 1e6).Draw(t, "t2")
		r, s := statistic.RateRatioOf(k1, t1, k2, t2, 0.95), statistic.RateRatioOf(k2, t2, k1, t1, 0.95)
		if !close(r.Within.Lower, 1/s.Within.Upper, 1e-9) || !close(r.Within.Upper, 1/s.Within.Lower, 1e-9) || !r.Within.Contains(r.Ratio) {
			t.Fatalf("%+v, exchanged %+v", r, s)
		}
		if math.Abs(r.P-s.P) > 1e-6 {
			t.Fatalf("p %g, exchanged %g", r.P, s.P)
		}
	})
}

// noncentral sums P(X <= a) and P(X >= a) of the top left cell at an odds ratio, in rational numbers.
func noncentral(a, b, c, d int, odds float64) (lower, upper float64) {
	psi := new(big.Rat)
	psi.SetFloat64(odds)
	power, all, low, up := big.NewRat(1, 1), new(big.Rat), new(big.Rat), new(big.Rat)
	for k := 0; k <= min(a+b, a+c); k++ {
		if a+c-k <= c+d {
			ways := new(big.Int).Mul(new(big.Int).Binomial(int64(a+b), int64(k)), new(big.Int).Binomial(int64(c+d), int64(a+c-k)))
			w := new(big.Rat).Mul(new(big.Rat).SetInt(ways), power)
			all.Add(all, w)
			if k <= a {
				low.Add(low, w)
			}
			if k >= a {
				up.Add(up, w)
			}
		}
		power = new(big.Rat).Mul(power, psi)
	}
	lower, _ = low.Quo(low, all).Float64()
	upper, _ = up.Quo(up, all).Float64()
	return lower, upper
}

// Limits of the odds ratio are where the conditional test has half of the rest on its side, by exact summation. For
// the convictions (R 4.2.2, fisher.test) R's own limits, 0.0033257640 and 0.3631822715, leave 0.025113 and 0.0250015
// there: its root search stops at a tolerance of 1e-4. SciPy 1.10.1, contingency.odds_ratio, gives the figures below.
func TestOddsRatioInterval(t *testing.T) {
	for _, c := range []struct {
		a, b, c, d               int
		conditional, lower, high float64
	}{
		{2, 15, 10, 3, 0.04693663904968004, 0.003317163950657366, 0.36318960235667996},
		{3, 7, 8, 2, 0.12264167096397045, 0.007873456216569668, 1.1336387977546232},
		{20, 80, 9, 91, 2.5163155552713072, 1.0249489777098693, 6.653905695862118},
		{0, 10, 5, 5, 0, 0, 0.8365217939177361},
	} {
		o := statistic.OddsRatioOf(c.a, c.b, c.c, c.d, 0.95)
		checkFigures(t, []figure{
			{"conditional", o.Conditional, c.conditional, 1e-9}, {"lower", o.Within.Lower, c.lower, 1e-9}, {"upper", o.Within.Upper, c.high, 1e-9},
		})
		if _, up := noncentral(c.a, c.b, c.c, c.d, o.Within.Lower); c.a > 0 && math.Abs(up-0.025) > 1e-12 {
			t.Errorf("%+v: P(X >= a) at the lower limit is %.15g", c, up)
		}
		if low, _ := noncentral(c.a, c.b, c.c, c.d, o.Within.Upper); math.Abs(low-0.025) > 1e-12 {
			t.Errorf("%+v: P(X <= a) at the upper limit is %.15g", c, low)
		}
	}
	if _, up := noncentral(2, 15, 10, 3, 0.0033257640338593); math.Abs(up-0.0251131) > 1e-7 {
		t.Errorf("P(X >= a) at R's lower limit is %g", up)
	}
}

func TestTwoProportionsAgainstStatsmodels(t *testing.T) {
	for _, c := range []struct {
		x1, n1, x2, n2                     int
		z, p, low, high, waldLow, waldHigh float64 // statsmodels 0.13.5, proportions_ztest; confint_proportions_2indep newcomb, wald
		ratioLow, ratioHigh, yates, pYates float64 // the same, log-adjusted; SciPy 1.10.1, chi2_contingency
	}{
		{12, 80, 25, 90, -2.0152055812590803, 0.04388311297952461, -0.24561802222656987, -0.0029508862984484185, -0.2489604811919528, -0.006595074363602793,
			0.3004967698658007, 1.0106604126824763, 3.345307243333557, 0.06739689543506784},
		{1, 30, 7, 40, -1.8435990689088881, 0.06524159182684387, -0.2887460281856909, 0.01787012766396301, -0.27579823176926876, -0.007535101564064534,
			0.049057718303964194, 1.4376825912739968, 2.143397177419355, 0.14318450718017905},
	} {
		p := statistic.TwoProportions(c.x1, c.n1, c.x2, c.n2, 0.95)
		checkFigures(t, []figure{
			{"z", p.Z, c.z, 1e-9}, {"p", p.P, c.p, 1e-9}, {"Newcombe lower", p.Newcombe.Lower, c.low, 1e-9},
			{"Newcombe upper", p.Newcombe.Upper, c.high, 1e-9}, {"Wald lower", p.Wald.Lower, c.waldLow, 1e-9},
			{"Wald upper", p.Wald.Upper, c.waldHigh, 1e-9}, {"ratio lower", p.RatioWithin.Lower, c.ratioLow, 1e-9},
			{"ratio upper", p.RatioWithin.Upper, c.ratioHigh, 1e-9}, {"Yates", p.ChiYates, c.yates, 1e-9}, {"p of Yates", p.PYates, c.pYates, 1e-9},
		})
	}
}

// Hits of n with the share that chance gives: 30 of 50 near where 20 % of the time is near leaves half explained (W. S. Abbott, 1925).
func TestAttributableShare(t *testing.T) {
	s, p := statistic.AttributableShare(30, 50, 0.2, 0.95), statistic.ClopperPearson(30, 50, 0.95)
	checkFigures(t, []figure{
		{"share", s.Value, 0.5, 1e-12}, {"lower", s.Within.Lower, (p.Lower - 0.2) / 0.8, 1e-12}, {"upper", s.Within.Upper, (p.Upper - 0.2) / 0.8, 1e-12},
	})
	if s := statistic.AttributableShare(1, 2, 1, 0.95); !math.IsNaN(s.Value) {
		t.Errorf("chance of 1: %+v", s)
	}
	if s := statistic.AttributableShare(0, 50, 0.2, 0.95); !(s.Value < 0) {
		t.Errorf("events that avoid the cause: %+v", s)
	}
}
