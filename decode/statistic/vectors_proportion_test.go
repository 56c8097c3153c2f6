package statistic_test

import (
	"testing"

	"linewitness/decode/statistic"
)

var proportionVectors = map[string]func(*testing.T, vector){
	"wilson": func(t *testing.T, v vector) {
		i := statistic.Wilson(v.count(t, "x"), v.count(t, "n"), v.number(t, "confidence"))
		v.want(t, "lower", i.Lower)
		v.want(t, "upper", i.Upper)
	},
	"clopper_pearson": func(t *testing.T, v vector) {
		i := statistic.ClopperPearson(v.count(t, "x"), v.count(t, "n"), v.number(t, "confidence"))
		v.want(t, "lower", i.Lower)
		v.want(t, "upper", i.Upper)
	},
	"binom_test_one_sided": func(t *testing.T, v vector) {
		v.want(t, "p", statistic.BinomialTest(v.count(t, "x"), v.count(t, "n"), v.number(t, "p0"), statistic.Greater))
	},
	"two_proportion": twoProportionVector,
	"fisher":         fisherVector,
	"poisson_exact": func(t *testing.T, v vector) {
		i := statistic.PoissonInterval(v.count(t, "k"), v.number(t, "confidence"))
		v.want(t, "lower", i.Lower)
		v.want(t, "upper", i.Upper)
	},
	"poisson_rate_one_sample": func(t *testing.T, v vector) {
		r := statistic.RateOf(v.count(t, "k"), v.number(t, "exposure"), 0.95)
		v.want(t, "rate", r.Value)
		v.want(t, "lower", r.Within.Lower)
		v.want(t, "upper", r.Within.Upper)
	},
	"poisson_rate_ratio": func(t *testing.T, v vector) {
		r := statistic.RateRatioOf(v.count(t, "k1"), v.number(t, "t1"), v.count(t, "k2"), v.number(t, "t2"), 0.95)
		v.want(t, "ratio", r.Ratio)
		v.want(t, "lower", r.Within.Lower)
		v.want(t, "upper", r.Within.Upper)
		v.want(t, "p", r.P)
	},
	"quantiles": func(t *testing.T, v vector) {
		v.want(t, "z_0_975", statistic.NormalQuantile(0.975))
		v.want(t, "chi2_0_95_df1", statistic.ChiSquaredQuantile(0.95, 1))
		v.want(t, "chi2_0_95_df3", statistic.ChiSquaredQuantile(0.95, 3))
		v.want(t, "t_0_975_df10", statistic.StudentQuantile(0.975, 10))
		v.want(t, "beta_ppf", statistic.BetaQuantile(3, 998, 0.025)) // the lower limit for 3 of 1000
	},
}

func twoProportionVector(t *testing.T, v vector) {
	p := statistic.TwoProportions(v.count(t, "x1"), v.count(t, "n1"), v.count(t, "x2"), v.count(t, "n2"), 0.95)
	got := map[string]float64{
		"z": p.Z, "p": p.P, "chi2": p.ChiSquared, "chi2_yates": p.ChiYates, "p_yates": p.PYates, "fisher_p": p.PExact,
	}
	for key := range v.Expected {
		switch key {
		case "wald_ci":
			v.wants(t, key, []float64{p.Wald.Lower, p.Wald.Upper})
		case "newcombe_ci":
			v.wants(t, key, []float64{p.Newcombe.Lower, p.Newcombe.Upper})
		default:
			v.want(t, key, got[key])
		}
	}
}

func fisherVector(t *testing.T, v vector) {
	var table [2][2]int
	var side string
	decode(t, v.Input["table"], &table)
	decode(t, v.Input["alternative"], &side)
	alt := map[string]statistic.Alternative{"two-sided": statistic.TwoSided, "less": statistic.Less, "greater": statistic.Greater}[side]
	a, b, c, d := table[0][0], table[0][1], table[1][0], table[1][1]
	v.want(t, "p", statistic.FisherExact(a, b, c, d, alt))
	if _, ok := v.Expected["conditional_odds_ratio"]; ok {
		v.want(t, "conditional_odds_ratio", statistic.OddsRatioOf(a, b, c, d, 0.95).Conditional)
	}
}
