package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"slices"

	"linewitness/decode/verdict"
)

// temperatures are tried in this range.
const (
	coolest, hottest = 1.0, 6.0
	temperatureStep  = 0.05
)

// temper finds each class's temperature for the shipped model: by which all evidence is divided so that the probabilities said come true
// most (the mean log score), where half of the lines are sound, as the prior has it. It is found on all worlds but one, for every world,
// and the highest is taken: what was surest of itself is believed least.
func (o *options) temper(w io.Writer, all []sample, basis []verdict.Input) error {
	m := verdict.Shipped()
	for class := range verdict.Classes {
		name := verdict.Class(class).String()
		var of []tempered
		var worlds []string
		for i := range all {
			if int(all[i].Shown.Class) != class {
				continue
			}
			of = append(of, newTempered(&all[i], basis[i], m.Classes[name].Temperature))
			if !slices.Contains(worlds, all[i].World) {
				worlds = append(worlds, all[i].World)
			}
		}
		found := coolest
		for _, left := range worlds {
			found = math.Max(found, best(of, left))
		}
		c := m.Classes[name]
		c.Temperature = math.Round(100*found) / 100
		m.Classes[name] = c
		fmt.Fprintf(w, "%-8s %5d lines of %2d worlds: temperature %.2f, mean log score %.3f bits, at 1 %.3f\n", name, len(of), len(worlds), c.Temperature,
			score(of, "", c.Temperature), score(of, "", 1))
	}
	if o.write == "" {
		return nil
	}
	m.Lines = len(all)
	m.Worlds = nil
	for i := range all {
		if !slices.Contains(m.Worlds, all[i].World) {
			m.Worlds = append(m.Worlds, all[i].World)
		}
	}
	slices.Sort(m.Worlds)
	f, err := os.Create(o.write)
	if err != nil {
		return err
	}
	if err := m.Write(f); err != nil {
		f.Close()
		return err
	}
	return f.Close()
}

// tempered is a line's candidates: what the prior and what the evidence says of each, in bits, and which are accepted.
type tempered struct {
	world           string
	prior, evidence []float64
	accepted        []bool
	sound           bool
}

func newTempered(s *sample, in verdict.Input, now float64) tempered {
	j := verdict.Judge(in)
	t := tempered{world: s.World, sound: s.Cause == "none"}
	for _, c := range j.Candidates {
		sum := 0.0
		for i := range j.Evidence {
			sum += j.Evidence[i].Bits[c.Key] * now
		}
		t.prior = append(t.prior, c.PriorBits)
		t.evidence = append(t.evidence, sum)
		at := slices.Index(s.Shown.Keys, c.Key)
		t.accepted = append(t.accepted, s.Match[at] >= allowed)
	}
	return t
}

// bits is minus log2 of what is given to the accepted candidates at a temperature.
func (t *tempered) bits(temperature float64) float64 {
	most := math.Inf(-1)
	for i := range t.prior {
		most = math.Max(most, t.prior[i]+t.evidence[i]/temperature)
	}
	all, ok := 0.0, 0.0
	for i := range t.prior {
		p := math.Exp2(t.prior[i] + t.evidence[i]/temperature - most)
		all += p
		if t.accepted[i] {
			ok += p
		}
	}
	return math.Min(20, -math.Log2(ok/all))
}

// score is the mean log score of all worlds but one, sound lines as many as others.
func score(all []tempered, without string, temperature float64) float64 {
	var sum, n [2]float64
	for i := range all {
		t := &all[i]
		if t.world == without {
			continue
		}
		at := 0
		if t.sound {
			at = 1
		}
		sum[at] += t.bits(temperature)
		n[at]++
	}
	mean := 0.0
	for i := range sum {
		mean += sum[i] / math.Max(1, n[i]) / 2
	}
	return mean
}

func best(all []tempered, without string) float64 {
	found, least := coolest, math.Inf(1)
	for t := coolest; t <= hottest; t += temperatureStep {
		if s := score(all, without, t); s < least {
			found, least = t, s
		}
	}
	return found
}
