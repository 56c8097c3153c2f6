package validate_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"linewitness/capture"
	"linewitness/decode/validate"
)

// marked is a loop's mark at 12 V, 1 kSa/s, as the volts at each second and a normal draw make it.
func marked(seconds int, volts func(s, noise float64) float64) *validate.Loads {
	l, r := validate.NewLoads(capture.Clock{Num: 1000, Den: 1}), rand.New(rand.NewPCG(1, 7))
	p := validate.Piece{Level: capture.Mid}
	for i := range seconds * 1000 {
		p.At, p.Volts = append(p.At, capture.Tick(i)), append(p.Volts, volts(float64(i)/1000, r.NormFloat64()))
		if len(p.At) == 37 {
			l.Add(p)
			p.At, p.Volts = p.At[:0], p.Volts[:0]
		}
	}
	l.Add(validate.Piece{Level: capture.High, At: []capture.Tick{capture.Tick(seconds * 1000)}, Volts: []float64{24}})
	return l
}

func TestLoadsStep(t *testing.T) {
	t.Parallel()
	hum := func(s float64) float64 { return math.Cos(2 * math.Pi * 50 * s) }
	for _, c := range []struct {
		name  string
		volts func(s, noise float64) float64
		at    []float64
	}{
		{"steady, with hum", func(s, noise float64) float64 { return 12 + 0.3*hum(s) + 0.05*noise }, nil},
		{"slow drift", func(s, noise float64) float64 { return 12 - 0.01*s + 0.05*noise }, nil},
		{"the mark falls by 4 % and comes back", func(s, noise float64) float64 {
			if s > 20 && s < 41 {
				return 11.5 + 0.05*noise
			}
			return 12 + 0.05*noise
		}, []float64{20, 41}},
		{"hum grows", func(s, noise float64) float64 {
			if s > 33.3 {
				return 12 + 0.4*hum(s) + 0.02*noise
			}
			return 12 + 0.05*hum(s) + 0.02*noise
		}, []float64{33.3}},
		{"a dip of half a second", func(s, noise float64) float64 {
			if s > 20 && s < 20.5 {
				return 8 + 0.05*noise
			}
			return 12 + 0.05*noise
		}, nil},
	} {
		l := marked(60, c.volts)
		got := l.Steps()
		if int(got.N) != len(c.at) {
			t.Errorf("%s: steps at %v ms, want %v s", c.name, got.At, c.at)
			continue
		}
		for i, at := range c.at {
			if math.Abs(float64(got.At[i])/1000-at) > 0.41 {
				t.Errorf("%s: step at %v ms, want %g s", c.name, got.At[i], at)
			}
		}
		if x := l.Facts()[0]; !x.Measured() || x.N != got.N || !(x.High > x.Value) {
			t.Errorf("%s: %+v", c.name, x)
		}
	}
}
