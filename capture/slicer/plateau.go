package slicer

import "math"

// plateau is a stretch on which the signal rests.
type plateau struct {
	value float64
	n     int // samples
}

// runRule says what a plateau is: samples within reach of their running mean, at least so many.
type runRule struct {
	reach float64
	least int // samples of one on which the signal turns back
	long  int // samples of any other
	drift float64
}

func ruleFor(noise, spread float64, edge int, uniform bool) runRule {
	r := runRule{reach: max(4.5*noise, 0.025*spread), least: max(2, edge/2+1), drift: max(2*noise, 0.005*spread)}
	r.long = min(64*r.least, size/2)
	if !uniform {
		r.least, r.long = 1, 1 // a row of a list of changes is a stay by itself
	}
	return r
}

// plateaus appends the plateaus of a window: stretches where the signal turns back, or rests for long. Those that it
// only passes in one direction belong to edges.
func plateaus(v []float64, rule runRule, dst []plateau) []plateau {
	before := 0.0 // what the signal rose by when it came
	for i := 0; i < len(v); {
		m, j := v[i], i+1
		for ; j < len(v); j++ {
			d := v[j] - m
			if d > rule.reach || d < -rule.reach {
				break
			}
			m += d / float64(min(j-i+1, 8))
		}
		after := 0.0
		if j < len(v) {
			after = v[j] - m
		}
		if n := j - i; n >= rule.least && (before*after < 0 || n >= rule.long) {
			// The beginning may be the tail of an edge; where the end still moves the signal did not come to rest.
			end, prior := meanOf(v[j-max(n/4, 1):j]), meanOf(v[i+n/2:j])
			if n >= rule.long || math.Abs(end-prior) < rule.drift {
				dst = append(dst, plateau{end, n})
			}
		}
		i, before = j, after
	}
	return dst
}

func meanOf(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}

// countRuns is about how many plateaus the window has on different levels.
func countRuns(w *window, scratch *[]float64, uniform bool) int {
	f := w.v
	if uniform {
		*scratch = despike(w.v, *scratch)
		f = *scratch
	}
	far := jumpPart / 2 * w.shape.spread
	k, n := w.shape.edge, 0
	for i := k; i < len(f); i++ {
		if d := f[i] - f[i-k]; d > far || d < -far {
			n++
			i += k
		}
	}
	return n
}

// usual is the length of a plateau that counts in full: the median of those that are no rests.
func (r runRule) usual(p []plateau) int {
	var n []float64
	for _, x := range p {
		if x.n < r.long {
			n = append(n, float64(x.n))
		}
	}
	return max(2*r.least, int(median(n)))
}
