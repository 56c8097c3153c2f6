package compare_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"linewitness/decode/compare"
)

func find(t *testing.T, c compare.Changes, id string) compare.Change {
	t.Helper()
	for _, x := range c.All {
		if x.ID == id {
			return x
		}
	}
	t.Fatalf("no %s", id)
	return compare.Change{}
}

// Each kind by its own test, beside figures worked out elsewhere: Fisher's tea table of 1935 has p 34/70; 5 events of 7 against
// 0 in equal times p 2/32; ranks of 5 values above 5 others p 2/252.
func TestChangesByHand(t *testing.T) {
	t.Parallel()
	questions := []compare.Question{
		{ID: "share", Kind: compare.Proportion, Before: compare.Datum{K: 3, N: 4}, After: compare.Datum{K: 1, N: 4}},
		{ID: "rate", Kind: compare.Rate, Before: compare.Datum{K: 0, Seconds: 7200}, After: compare.Datum{K: 5, Seconds: 7200}},
		{ID: "sample", Kind: compare.Sample, Before: compare.Datum{Values: []float64{1, 2, 3, 4, 5}}, After: compare.Datum{Values: []float64{11, 12, 13, 14, 15}}},
		{ID: "estimate", Kind: compare.Estimate, Before: compare.Datum{Value: 10, Err: 3}, After: compare.Datum{Value: 19.8, Err: 4}},
		{ID: "nothing", Kind: compare.Estimate, Before: compare.Datum{Value: math.NaN()}, After: compare.Datum{Value: 1, Err: 1}},
		{ID: "told", Kind: compare.Rate, Before: compare.Datum{Seconds: 1}, After: compare.Datum{Unmeasured: "levels alone"}},
	}
	c := compare.ChangesOf(questions)
	if c.Tested != 4 || len(c.All) != 6 {
		t.Fatalf("%+v", c)
	}
	for _, w := range []struct {
		id             string
		p, was, is     float64
		difference, at float64
	}{{"share", 34.0 / 70, 75, 25, -50, 1e-12}, {"rate", 2.0 / 32, 0, 2.5, 2.5, 1e-12}, {"sample", 2.0 / 252, 3, 13, 10, 1e-12},
		{"estimate", 0.0499957902964, 10, 19.8, 9.8, 1e-9}} {
		x := find(t, c, w.id)
		if math.Abs(x.P-w.p) > w.at || x.Was.Value != w.was || x.Is.Value != w.is || math.Abs(x.Difference.Value-w.difference) > 1e-12 {
			t.Errorf("%s: %+v, want p %g", w.id, x, w.p)
		}
		if !(x.Difference.Low <= x.Difference.Value && x.Difference.Value <= x.Difference.High) {
			t.Errorf("%s: difference %+v", w.id, x.Difference)
		}
	}
	if x := find(t, c, "sample"); !x.Changed || c.All[0].ID != "sample" || math.Abs(x.Adjusted-8.0/252) > 1e-12 || c.N != 1 {
		t.Errorf("%+v", x)
	}
	if x := find(t, c, "estimate"); x.Changed { // below 0.05, but one of four
		t.Errorf("%+v", x)
	}
	for id, want := range map[string]string{"nothing": "before: too little", "told": "after: levels alone"} {
		if x := find(t, c, id); !strings.HasPrefix(x.NotComparable, want) || !math.IsNaN(x.P) || x.Changed {
			t.Errorf("%s: %+v", id, x)
		}
	}
}

// Frames lost in one run count once: 30 of 300 in a single run is no change from none, in 30 runs it is.
func TestRunsCountOnce(t *testing.T) {
	t.Parallel()
	for runs, changed := range map[int]bool{1: false, 30: true} {
		c := compare.ChangesOf([]compare.Question{{ID: "lost", Kind: compare.Proportion, Before: compare.Datum{N: 300},
			After: compare.Datum{K: 30, N: 300, Runs: runs}}})
		if x := c.All[0]; x.Changed != changed || x.FewRuns == changed || x.Is.Value != 10 || x.Is.Runs != runs {
			t.Errorf("%d runs: %+v", runs, x)
		}
	}
}

// A sender of which nothing is whole any more has changed, although it is one run; so has one of which all is whole again.
func TestStateIsNoRun(t *testing.T) {
	t.Parallel()
	sound, gone := compare.Datum{N: 40}, compare.Datum{N: 40, K: 40, Runs: 1}
	for _, q := range []compare.Question{{Before: sound, After: gone}, {Before: gone, After: sound}} {
		if x := compare.ChangesOf([]compare.Question{q}).All[0]; !x.Changed || x.P > 1e-20 {
			t.Errorf("%+v", x)
		}
	}
	if x := compare.ChangesOf([]compare.Question{{Before: gone, After: gone}}).All[0]; x.Changed {
		t.Errorf("%+v", x)
	}
}

// Where nothing changes, all figures together are called changed in one of twenty comparisons at most.
func TestNothingChanged(t *testing.T) {
	t.Parallel()
	const comparisons = 400
	wrong := 0
	for seed := range uint64(comparisons) {
		r := source(seed)
		draw := func() (k compare.Datum, v compare.Datum, e compare.Datum) {
			k.N = 200
			for range k.N {
				if r.Float64() < 0.05 {
					k.K++
				}
			}
			for range 60 {
				v.Values = append(v.Values, 20+r.ExpFloat64())
			}
			return k, v, compare.Datum{Value: r.NormFloat64(), Err: 1}
		}
		k1, v1, e1 := draw()
		k2, v2, e2 := draw()
		c := compare.ChangesOf([]compare.Question{{ID: "k", Kind: compare.Proportion, Before: k1, After: k2},
			{ID: "v", Kind: compare.Sample, Before: v1, After: v2}, {ID: "e", Kind: compare.Estimate, Before: e1, After: e2}})
		if c.N > 0 {
			wrong++
		}
	}
	if most := comparisons/20 + 14; wrong > most || wrong == 0 { // 3 standard deviations
		t.Errorf("%d of %d, want 1 to %d", wrong, comparisons, most)
	}
}

// A change of the size that is said to be seen four times in five is.
func TestUnseen(t *testing.T) {
	t.Parallel()
	const comparisons = 300
	for name, kind := range map[string]compare.Kind{"share": compare.Proportion, "sample": compare.Sample, "estimate": compare.Estimate} {
		seen, asked := 0, 0
		for seed := range uint64(comparisons) {
			r := source(seed)
			draw := func(by float64) (d compare.Datum) {
				d.N = 1000
				for range d.N {
					if r.Float64() < 0.1+by/100 {
						d.K++
					}
				}
				for range 200 {
					d.Values = append(d.Values, r.NormFloat64()+by)
				}
				d.Value, d.Err = r.NormFloat64()+by, 1
				return d
			}
			same := compare.ChangesOf([]compare.Question{{Kind: kind, Before: draw(0), After: draw(0)}})
			if by := same.All[0].Unseen; by > 0 {
				asked++
				if c := compare.ChangesOf([]compare.Question{{Kind: kind, Before: draw(0), After: draw(by)}}); c.N > 0 {
					seen++
				}
			}
		}
		if share := float64(seen) / float64(asked); asked < comparisons || share < 0.7 || share > 0.9 {
			t.Errorf("%s: seen %.2f of %d, want about 0.8", name, share, asked)
		}
	}
}

// Before and after exchanged: the same, with the sign of the difference turned.
func TestChangesExchanged(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) compare.Datum {
			n := rapid.IntRange(1, 400).Draw(t, name+" n")
			return compare.Datum{N: n, K: rapid.IntRange(0, n).Draw(t, name+" k"), Seconds: rapid.Float64Range(1, 1e5).Draw(t, name+" s"),
				Values: rapid.SliceOfN(rapid.Float64Range(-10, 10), 5, 30).Draw(t, name+" v"), Value: rapid.Float64Range(-5, 5).Draw(t, name+" x"), Err: 1}
		}
		a, b := draw("a"), draw("b")
		for kind := compare.Proportion; kind <= compare.Estimate; kind++ {
			one := compare.ChangesOf([]compare.Question{{Kind: kind, Before: a, After: b}}).All[0]
			other := compare.ChangesOf([]compare.Question{{Kind: kind, Before: b, After: a}}).All[0]
			if math.Abs(one.P-other.P) > 1e-9 || math.Abs(one.Difference.Value+other.Difference.Value) > 1e-9 || one.Was.Value != other.Is.Value || one.Was.N != other.Is.N {
				t.Fatalf("kind %d: %+v\n%+v", kind, one, other)
			}
		}
	})
}
