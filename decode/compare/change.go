package compare

import (
	"cmp"
	"math"
	"slices"

	"linewitness/decode/statistic"
)

// Change is a question answered.
type Change struct {
	Question
	Test          string
	Was, Is       Figure
	Difference    Figure  // Is less Was
	P, Adjusted   float64 // Adjusted: corrected for all that were tested together (Holm)
	Changed       bool
	FewRuns       bool    // no change, but one if frames were independent: it lies in a few long runs
	Unseen        float64 // a change smaller than this would not have been seen four times in five
	NotComparable string  // why; "": it was compared
}

// Changes of before and after.
type Changes struct {
	All    []Change // those that changed first, surest first; then those of few runs; then the others as asked; then what could not be compared
	Tested int
	N      int // changed
	Few    int // with FewRuns
}

// significance is the chance of calling anything changed where nothing is.
const significance = 0.05

// ChangesOf answers questions.
func ChangesOf(questions []Question) Changes {
	var c Changes
	p := make([]float64, 0, len(questions))
	of := make([]answer, 0, len(questions))
	for _, q := range questions {
		x, a := changeOf(q)
		c.All, p, of = append(c.All, x), append(p, x.P), append(of, a)
		if !math.IsNaN(x.P) {
			c.Tested++
		}
	}
	// A change must pass the strictest of the corrected limits to be sure to be seen.
	seen := -statistic.NormalQuantile(significance/2/math.Max(1, float64(c.Tested))) + statistic.NormalQuantile(0.8)
	for i, adjusted := range statistic.Holm(p) {
		x := &c.All[i]
		x.Adjusted, x.Unseen = adjusted, seen*of[i].err
		if x.Changed = adjusted < significance; x.Changed {
			c.N++
		} else if x.FewRuns = of[i].single*float64(c.Tested) < significance; x.FewRuns {
			c.Few++
		}
	}
	rank := func(x *Change) int {
		switch {
		case x.Changed:
			return 0
		case x.FewRuns:
			return 1
		case x.NotComparable == "":
			return 2
		}
		return 3
	}
	slices.SortStableFunc(c.All, func(x, y Change) int {
		if d := rank(&x) - rank(&y); d != 0 || !x.Changed {
			return d
		}
		return cmp.Compare(x.P, y.P)
	})
	return c
}

func changeOf(q Question) (x Change, a answer) {
	nan := math.NaN()
	none := Figure{nan, nan, nan, 0, 0}
	x = Change{Question: q, Test: kindTests[q.Kind], Was: none, Is: none, Difference: none, P: nan}
	if x.NotComparable = q.missing(); x.NotComparable != "" {
		return x, answer{err: nan, single: nan}
	}
	a = q.answer()
	x.Was, x.Is, x.Difference, x.P = a.before, a.after, a.difference, a.p
	return x, a
}

// missing says why a question has no answer.
func (q *Question) missing() string {
	for _, d := range []struct {
		name string
		of   *Datum
	}{{"before", &q.Before}, {"after", &q.After}} {
		none := false
		switch q.Kind {
		case Proportion:
			none = d.of.N == 0
		case Rate:
			none = !(d.of.Seconds > 0)
		case Sample:
			none = len(d.of.Values) < 5
		case Estimate:
			none = math.IsNaN(d.of.Value) || math.IsNaN(d.of.Err)
		}
		switch {
		case d.of.Unmeasured != "":
			return d.name + ": " + d.of.Unmeasured
		case none:
			return d.name + ": too little of it was seen"
		}
	}
	return ""
}
