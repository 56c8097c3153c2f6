package main

import (
	"math"
	"os"
	"slices"

	"linewitness/decode/verdict"
)

// writeModel fits each class on all samples and writes the model. How sure it may be comes from the worlds that were left out.
func (o *options) writeModel(all []sample, out []judged) error {
	m := &verdict.Model{Schema: verdict.ModelSchema, Lines: len(all), Classes: map[string]verdict.Weights{}}
	ids := verdict.Signs()
	for class := range verdict.Classes {
		var train []*sample
		for i := range all {
			s := &all[i]
			if int(s.Shown.Class) == class {
				train = append(train, s)
			}
			if !slices.Contains(m.Worlds, s.World) {
				m.Worlds = append(m.Worlds, s.World)
			}
		}
		w := newWeights(len(ids), !o.alone)
		w.fit(w.rows(train, byCause(train)), o.ridge, o.steps)
		m.Classes[verdict.Class(class).String()] = w.model(ids, supported(out, class))
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

// model are the weights in bits, by name.
func (m *weights) model(ids []string, most float64) verdict.Weights {
	w := verdict.Weights{Temperature: 1, Most: most, Evidence: map[string]float64{}, Base: map[string]float64{}, Signs: map[string]map[string]float64{}}
	for g := range verdict.Groups { // what was not fitted does not count
		w.Evidence[verdict.Group(g).String()] = 0
	}
	rounded := func(x float64) float64 { return math.Round(1000*x) / 1000 }
	for i, c := range m.cols {
		bits := rounded(m.w[i] / math.Ln2)
		switch {
		case c.sign == handSign:
			w.Evidence[verdict.Group(i-m.hand).String()] = rounded(m.w[i])
		case bits == 0:
		case c.sign == len(ids):
			w.Base[c.cause.String()] = bits
		default:
			if w.Signs[ids[c.sign]] == nil {
				w.Signs[ids[c.sign]] = map[string]float64{}
			}
			w.Signs[ids[c.sign]][c.cause.String()] = bits
		}
	}
	return w
}

// supported is the largest probability that held-out answers of a class support: the share of right ones among those at sure
// and more, by the rule of succession (P. S. Laplace, 1814).
func supported(out []judged, class int) float64 {
	n, ok := 0.0, 0.0
	for i := range out {
		j := &out[i]
		if int(j.s.Shown.Class) != class || j.p[j.lead] < sure {
			continue
		}
		n++
		if j.outof >= allowed {
			ok++
		}
	}
	return math.Max(0.6, (ok+1)/(n+2))
}
