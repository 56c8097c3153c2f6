package main

import (
	"math"

	"linewitness/decode/cause"
	"linewitness/decode/verdict"
)

// weights of one class of taps: a score of a candidate is its offset and intercept plus the signs times their weights, in
// natural logarithms against sound.
type weights struct {
	w    []float64
	cols []column
	at   [][]int // cause, sign: place in w; -1: none. The last is the intercept
	hand int     // place of the weights of the groups of evidence; -1: they are not used
}

// column is what one weight stands for.
type column struct {
	cause cause.Cause
	sign  int // len(signs): the intercept
	way   int
}

// newWeights lays the weights out, all at their start.
func newWeights(signs int, hand bool) *weights {
	m := &weights{hand: -1}
	for _, c := range cause.All() {
		for int(c) >= len(m.at) {
			m.at = append(m.at, nil)
		}
		row := make([]int, signs+1)
		for f := range row {
			row[f] = -1
			way, ok := 0, c != cause.None
			if f < signs {
				way, ok = verdict.Says(f, c)
			}
			if ok && c != cause.None {
				row[f] = len(m.cols)
				m.cols = append(m.cols, column{c, f, way})
			}
		}
		m.at[c] = row
	}
	if hand {
		m.hand = len(m.cols)
		for range verdict.Groups {
			m.cols = append(m.cols, column{cause.Unknown, handSign, 1})
		}
	}
	m.w = make([]float64, len(m.cols))
	for i, c := range m.cols {
		if c.sign == handSign {
			m.w[i] = startWeight
			continue
		}
		if c.sign < signs && !hand { // else the evidence says it already
			m.w[i] = startWeight * float64(c.way)
		}
	}
	return m
}

// handSign stands for a group of evidence by itself.
const handSign = -1

// freeRidge is how strongly the few weights that most recordings share are drawn to their start.
const freeRidge = 3e-4

// startWeight is what a sign is worth before anything was fitted, and what the fit is drawn to: half of what it shows.
const startWeight = 0.5

// row is a sample ready for fitting: by candidate its offset and its terms.
type row struct {
	offset []float64
	terms  [][]term
	right  []bool
	weight float64
}

type term struct {
	at int
	x  float64
}

// rows prepares samples for a fit: with what the training prior gives each candidate, and a weight each.
func (m *weights) rows(all []*sample, weigh func(*sample) float64) []row {
	out := make([]row, 0, len(all))
	for _, s := range all {
		r := row{weight: weigh(s)}
		any := false
		for i, k := range s.Shown.Keys {
			r.offset = append(r.offset, trainingPrior(s.Shown.Keys, i))
			var terms []term
			if k.Cause != cause.None {
				at := m.at[k.Cause]
				terms = append(terms, term{at[len(at)-1], 1})
				if m.hand >= 0 {
					for g, b := range s.Shown.Bits[i] {
						if b != 0 {
							terms = append(terms, term{m.hand + g, math.Ln2 * b})
						}
					}
				}
				for f, x := range s.Shown.X[i] {
					if x != 0 && at[f] >= 0 {
						terms = append(terms, term{at[f], x})
					}
				}
			}
			r.terms = append(r.terms, terms)
			ok := s.Match[i] == right || k.Cause == cause.None && s.Match[i] == allowed && s.Lost == 0
			if s.Traceless {
				ok = k.Cause == cause.None
			}
			r.right = append(r.right, ok)
			any = any || ok
		}
		if any {
			out = append(out, r)
		}
	}
	return out
}

// trainingPrior is ln of a candidate's odds against sound in the samples as weighed: every cause has the same share, sound
// soundShare of them, shared among the places where a cause can sit.
func trainingPrior(keys []verdict.Key, i int) float64 {
	if keys[i].Cause == cause.None {
		return 0
	}
	n := 0
	for _, k := range keys {
		if k.Cause == keys[i].Cause {
			n++
		}
	}
	return -math.Log(soundShare * float64(n))
}

// soundShare is how much more a sound line weighs than a line of one cause.
const soundShare = 6.0

// fit finds the weights by accelerated projected gradients (Beck and Teboulle, SIAM J. Imaging Sciences 2(1), 2009, with
// restarts), ridge towards their start.
func (m *weights) fit(rows []row, ridge float64, steps int) {
	total := 0.0
	for i := range rows {
		total += rows[i].weight
	}
	x, y := append([]float64(nil), m.w...), append([]float64(nil), m.w...)
	start := append([]float64(nil), m.w...)
	grad := make([]float64, len(x))
	rate, t, last := 1.0, 1.0, math.Inf(1)
	for range steps {
		fy := m.loss(rows, y, start, ridge, total, grad)
		next := make([]float64, len(x))
		for {
			diff, square := 0.0, 0.0
			for i := range x {
				next[i] = m.project(i, y[i]-rate*grad[i])
				d := next[i] - y[i]
				diff += grad[i] * d
				square += d * d
			}
			if m.loss(rows, next, start, ridge, total, nil) <= fy+diff+square/(2*rate)+1e-12 {
				break
			}
			rate /= 2
		}
		f := m.loss(rows, next, start, ridge, total, nil)
		if f > last {
			t = 1
		}
		t2 := (1 + math.Sqrt(1+4*t*t)) / 2
		for i := range x {
			y[i] = next[i] + (t-1)/t2*(next[i]-x[i])
		}
		x, t = next, t2
		if math.Abs(last-f) < 1e-9*math.Abs(f) {
			break
		}
		last = f
		rate *= 1.1
	}
	m.w = x
}

// project keeps a weight within what physics says of it.
func (m *weights) project(i int, w float64) float64 {
	switch {
	case m.cols[i].sign == handSign:
		return math.Max(0, math.Min(1, w))
	case m.cols[i].way > 0:
		return math.Max(0, w)
	case m.cols[i].way < 0:
		return math.Min(0, w)
	}
	return w
}

// loss is the mean of minus ln of what the right candidates get, with the ridge; grad may be nil.
func (m *weights) loss(rows []row, w, start []float64, ridge, total float64, grad []float64) float64 {
	sum := 0.0
	clear(grad)
	var p []float64
	for i := range rows {
		r := &rows[i]
		p = scored(r, w, p)
		all, good := logSum(p, nil), logSum(p, r.right)
		sum += r.weight * (all - good) / total
		if grad == nil {
			continue
		}
		for k, ts := range r.terms {
			g := math.Exp(p[k] - all)
			if r.right[k] {
				g -= math.Exp(p[k] - good)
			}
			g *= r.weight / total
			for _, t := range ts {
				grad[t.at] += g * t.x
			}
		}
	}
	for i, v := range w {
		d := v - start[i]
		l := ridge
		switch m.cols[i].sign {
		case len(m.at[cause.None]) - 1, handSign: // intercepts and groups
			l = freeRidge
		}
		sum += l * d * d / 2
		if grad != nil {
			grad[i] += l * d
		}
	}
	return sum
}

// scored are the candidates', by ln.
func scored(r *row, w, p []float64) []float64 {
	p = p[:0]
	for k, ts := range r.terms {
		s := r.offset[k]
		for _, t := range ts {
			s += w[t.at] * t.x
		}
		p = append(p, s)
	}
	return p
}

// logSum is ln of the sum of exp over those that count; nil: all.
func logSum(p []float64, counts []bool) float64 {
	top := math.Inf(-1)
	for k, v := range p {
		if counts == nil || counts[k] {
			top = math.Max(top, v)
		}
	}
	sum := 0.0
	for k, v := range p {
		if counts == nil || counts[k] {
			sum += math.Exp(v - top)
		}
	}
	return top + math.Log(sum)
}
