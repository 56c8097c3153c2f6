package compare

import (
	"math"
	"slices"

	"linewitness/decode/statistic"
)

// proportions compares shares by Fisher's exact test; the interval of the difference is R. G. Newcombe's (1998, method 10).
// Per cent.
func proportions(before, after *Datum) answer {
	both := runLength(before, after) // of both alike: a run shortened alone would look rarer than it is
	k1, n1 := before.alone(both)
	k2, n2 := after.alone(both)
	one := func(d *Datum) Figure {
		k, n := d.alone(runLength(d))
		in := statistic.ClopperPearson(k, n, confidence)
		return Figure{100 * float64(d.K) / float64(d.N), 100 * in.Lower, 100 * in.Upper, d.N, d.Runs}
	}
	a := answer{before: one(before), after: one(after), p: statistic.FisherExact(k1, n1-k1, k2, n2-k2, statistic.TwoSided)}
	a.single = statistic.FisherExact(before.K, before.N-before.K, after.K, after.N-after.K, statistic.TwoSided)
	in := statistic.TwoProportions(k2, n2, k1, n1, confidence).Newcombe
	a.difference = Figure{a.after.Value - a.before.Value, 100 * in.Lower, 100 * in.Upper, before.N + after.N, 0}
	p := (float64(k1+k2) + 1) / (float64(n1+n2) + 2)
	a.err = 100 * math.Sqrt(p*(1-p)*(1/float64(n1)+1/float64(n2)))
	return a
}

// rates compares events an hour by the exact test of two rates. The interval of the difference is put together from those of
// both rates (A. Donner and G. Y. Zou, 2012).
func rates(before, after *Datum) answer {
	const hour = 3600
	h1, h2 := before.Seconds/hour, after.Seconds/hour
	r1, r2 := statistic.RateOf(before.K, h1, confidence), statistic.RateOf(after.K, h2, confidence)
	a := answer{single: math.NaN(), before: in95(r1.Value, r1.Within, before.K), after: in95(r2.Value, r2.Within, after.K),
		p: statistic.RateRatioOf(after.K, h2, before.K, h1, confidence).P}
	d := r2.Value - r1.Value
	a.difference = Figure{d, d - math.Hypot(r2.Value-r2.Within.Lower, r1.Within.Upper-r1.Value),
		d + math.Hypot(r2.Within.Upper-r2.Value, r1.Value-r1.Within.Lower), before.K + after.K, 0}
	a.err = math.Sqrt((float64(before.K+after.K) + 1) / (h1 + h2) * (1/h1 + 1/h2))
	return a
}

// samples compares values by ranks.
func samples(before, after []float64) answer {
	a := answer{single: math.NaN(), before: median(before), after: median(after), p: statistic.MannWhitney(after, before, statistic.TwoSided).P}
	shift := statistic.HodgesLehmannShift(after, before, confidence)
	a.difference = in95(shift.Value, shift.Within, len(before)+len(after))
	a.err = (shift.Within.Upper - shift.Within.Lower) / (2 * 1.96)
	return a
}

// median is the middle value with its distribution-free interval (W. R. Thompson, 1936).
func median(v []float64) Figure {
	n := len(v)
	f := Figure{statistic.Median(v), math.NaN(), math.NaN(), n, 0}
	if n < 6 {
		return f
	}
	v = slices.Clone(v)
	slices.Sort(v)
	in := statistic.ClopperPearson(n/2, n, confidence)
	f.Low, f.High = v[int(in.Lower*float64(n))], v[min(n-1, int(math.Ceil(in.Upper*float64(n))))]
	return f
}

// estimates compares values with standard errors.
func estimates(before, after *Datum) answer {
	const z = 1.96
	one := func(d *Datum) Figure { return Figure{d.Value, d.Value - z*d.Err, d.Value + z*d.Err, d.N, 0} }
	a := answer{single: math.NaN(), before: one(before), after: one(after), err: math.Hypot(before.Err, after.Err)}
	d := after.Value - before.Value
	a.difference = Figure{d, d - z*a.err, d + z*a.err, before.N + after.N, 0}
	switch {
	case a.err > 0:
		a.p = min(1, 2*statistic.NormalTail(math.Abs(d)/a.err))
	case d == 0:
		a.p = 1
	}
	return a
}
