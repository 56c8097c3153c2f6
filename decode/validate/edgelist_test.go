package validate_test

import (
	"math"
	"testing"

	"linewitness/capture"
	"linewitness/decode/validate"
)

// An exponential has the ratio (ln 2 - 1/2) to 1/2, a slope 1; without volts each fact says why it is none.
func TestEdgesAreListed(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name       string
		shape      func(x float64) float64 // from 0 to 1, x in seconds after the edge
		tau, ratio float64
	}{
		{"exponential of 0.5 ms", func(x float64) float64 { return 1 - math.Exp(-x/0.5e-3) }, 0.5e-3, 2*math.Ln2 - 1},
		{"slope of 2 ms", func(x float64) float64 { return min(1, x/2e-3) }, 0.5e-3, 1},
	} {
		e := validate.NewEdges(capture.Clock{Num: 1e5, Den: 1})
		for _, b := range square(40, 1000, c.shape) {
			e.Add(b)
		}
		all := e.FactList()
		tau, slow, shape := factOf(t, all, "edges.time-constant", capture.Line), factOf(t, all, "edges.slow", capture.Line), factOf(t, all, "edges.shape", capture.Line)
		if math.Abs(tau.Value/c.tau-1) > 0.03 || tau.N < 18 || tau.Low > tau.Value || tau.High < tau.Value {
			t.Errorf("%s: %+v", c.name, tau)
		}
		if slow.Value != 1 || math.Abs(shape.Value-c.ratio) > 0.05 {
			t.Errorf("%s: %+v %+v", c.name, slow, shape)
		}
	}
	for _, x := range validate.NoEdges() {
		if x.Measured() || x.Value == x.Value {
			t.Errorf("%+v", x)
		}
	}
}

// square is a line that changes between 0 V and 10 V every so many samples, each edge of a shape, with its transition where the volts
// cross the middle.
func square(edges, every int, shape func(x float64) float64) []*capture.Block {
	b := &capture.Block{First: capture.Low, End: capture.Tick((edges + 1) * every)}
	crossing := 0
	for shape(float64(crossing)/1e5) < 0.5 {
		crossing++
	}
	for i := range (edges + 1) * every {
		run := i / every
		v := float64(run % 2)
		if run > 0 {
			s := shape(float64(i%every) / 1e5)
			v = v*s + (1-v)*(1-s)
			if i%every == crossing {
				b.At = append(b.At, capture.Tick(i))
				b.To = append(b.To, [...]capture.Level{capture.Low, capture.High}[run%2])
			}
		} else {
			v = 0
		}
		b.SampleAt, b.Volts = append(b.SampleAt, capture.Tick(i)), append(b.Volts, 10*v)
	}
	return []*capture.Block{b}
}
