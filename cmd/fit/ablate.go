package main

import (
	"fmt"
	"io"
	"math"

	"linewitness/decode/verdict"
)

// ablate prints what each physical group of evidence is worth: the log score, and how often the leading candidate can't be excluded, with
// all groups and with all but one.
func ablate(w io.Writer, all []sample) {
	m := verdict.Shipped()
	fmt.Fprintf(w, "\nThe shipped weights without one group of evidence:\n\n%-12s %6s  %s\n", "without", "bits", "leading candidate right or allowed")
	for left := -1; left < verdict.Groups; left++ {
		bits, ok := 0.0, 0
		for i := range all {
			accepted, leads := all[i].without(m, left)
			bits += math.Min(20, -math.Log2(accepted))
			if leads {
				ok++
			}
		}
		name := "nothing"
		if left >= 0 {
			name = verdict.Group(left).String()
		}
		low, high := verdict.Wilson(float64(ok), float64(len(all)))
		n := float64(max(1, len(all)))
		fmt.Fprintf(w, "%-12s %6.2f  %.1f %% (%.1f to %.1f)\n", name, bits/n, 100*float64(ok)/n, 100*low, 100*high)
	}
}

// without is what the accepted candidates get where a group of evidence is left out (-1: none is), and whether one of them leads.
func (s *sample) without(m *verdict.Model, left int) (accepted float64, leads bool) {
	of := m.Classes[s.Shown.Class.String()]
	prior := verdict.Priors(s.Shown.Keys)
	score := make([]float64, len(prior))
	most, lead := math.Inf(-1), 0
	for i := range prior {
		score[i] = math.Log2(prior[i])
		for g, b := range s.Shown.Bits[i] {
			if g != left {
				score[i] += of.Evidence[verdict.Group(g).String()] * b / of.Temperature
			}
		}
		if score[i] > most {
			most, lead = score[i], i
		}
	}
	all := 0.0
	for i, x := range score {
		p := math.Exp2(x - most)
		all += p
		if s.Match[i] >= allowed {
			accepted += p
		}
	}
	return accepted / all, s.Match[lead] >= allowed
}
