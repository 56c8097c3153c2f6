package compare

import (
	"math"

	"linewitness/capture"
	"linewitness/decode/statistic"
)

// Kind is what a figure is, and so how two of them are compared.
type Kind uint8

// The kinds.
const (
	Proportion Kind = iota // K of N, by Fisher's exact test
	Rate                   // K events in so many seconds, an hour; by the exact test of two rates
	Sample                 // values, by the rank test of Mann and Whitney, sized by Hodges and Lehmann
	Estimate               // a value with its standard error, by the normal law
)

var kindTests = [...]string{"Fisher", "exact test of two rates", "Mann-Whitney", "normal"}

// Datum is one recording's part of a question; which fields count follows from the kind.
type Datum struct {
	K, N       int
	Runs       int       // that K stand in; 0: each stands alone
	Seconds    float64   // of a rate
	Values     []float64 // of a sample, at most 2,000
	Value, Err float64   // of an estimate
	Unmeasured string    // why there is no figure; "": there is
}

// Question is one figure of two recordings.
type Question struct {
	ID            string
	Side          capture.Side // SideUnknown: of the line
	Unit          string
	Kind          Kind
	Before, After Datum
}

// Figure is a recording's value with its 95 % interval; N is what it rests on.
type Figure struct {
	Value, Low, High float64
	N, Runs          int // Runs: of a share, those that it stands in
}

// answer is what one kind of test makes of a question.
type answer struct {
	before, after, difference Figure
	p                         float64
	single                    float64 // p of a share as if frames were independent; NaN: none
	err                       float64 // standard error of the difference where there is none, for what would not have been seen
}

func (q *Question) answer() answer {
	switch q.Kind {
	case Proportion:
		return proportions(&q.Before, &q.After)
	case Rate:
		return rates(&q.Before, &q.After)
	case Sample:
		return samples(q.Before.Values, q.After.Values)
	default:
		return estimates(&q.Before, &q.After)
	}
}

// SampleOf thins values evenly to at most so many, so that a test of them stays cheap and neighbours, which are alike, count
// less.
func SampleOf(values []float64, most int) []float64 {
	if len(values) <= most {
		return values
	}
	thin := make([]float64, most)
	for i := range thin {
		thin[i] = values[i*len(values)/most]
	}
	return thin
}

// alone divides a count by a mean length of runs, so that frames that fall together count once and the share stays.
func (d *Datum) alone(length float64) (k, n int) {
	k, n = int(math.Round(float64(d.K)/length)), int(math.Round(float64(d.N)/length))
	return min(max(k, count(d.K > 0)), max(n, 1)), max(n, 1)
}

// runLength is the mean length of the runs of all these together, 1 where there are none. Where more went wrong than right,
// the runs of what went right count: a fault that is there all the time is a state, and no run.
func runLength(all ...*Datum) float64 {
	n, runs := 0, 0
	for _, d := range all {
		rarer := min(d.K, d.N-d.K)
		n += rarer
		if d.Runs == 0 {
			runs += rarer
		} else {
			runs += min(d.Runs, rarer)
		}
	}
	if n == 0 {
		return 1
	}
	return float64(n) / float64(runs)
}

// in95 is a value between the ends of its interval.
func in95(v float64, i statistic.Interval, n int) Figure { return Figure{v, i.Lower, i.Upper, n, 0} }
