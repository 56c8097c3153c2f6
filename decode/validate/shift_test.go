package validate

import (
	"math"
	"math/rand/v2"
	"testing"

	"linewitness/capture"
)

// Mark at two heights is split where it changed, and the other levels are told for either time.
func TestShift(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 5))
	type heights struct{ low, mid, high float64 }
	dry, wet := heights{2.8, 17.8, 33}, heights{2.8, 13.3, 20}
	line := func(seconds int, of func(s int) heights) Shift {
		l := NewLevels(capture.Clock{Num: 1e6, Den: 1})
		for s := range seconds {
			h := of(s)
			at := capture.Tick(s) * 1e6
			for _, x := range []struct {
				level capture.Level
				volts float64
				n     int
			}{{capture.Mid, h.mid, 4000}, {capture.High, h.high, 400}, {capture.Low, h.low, 400}} {
				if math.IsNaN(x.volts) {
					continue
				}
				p := Piece{Level: x.level}
				for range x.n {
					p.At, p.Volts = append(p.At, at), append(p.Volts, x.volts+0.05*r.NormFloat64())
					at += 100
				}
				l.Add(p)
			}
		}
		return l.Facts().Shift
	}
	s := line(60, func(s int) heights {
		if s >= 12 && s < 28 || s >= 40 && s < 56 {
			return wet
		}
		return dry
	})
	near := func(a, b float64) bool { return math.Abs(a-b) < 0.05 }
	if s.Bins != [2]int{28, 32} || !near(s.Mid[0], dry.mid) || !near(s.Mid[1], wet.mid) || !near(s.High[0], dry.high) || !near(s.High[1], wet.high) || !near(s.Low[1], wet.low) {
		t.Errorf("%+v", s)
	}
	// Mark falls and the supply stands: the higher mark comes first.
	s = line(30, func(s int) heights {
		if s < 10 {
			return heights{2.8, 12, 33}
		}
		return dry
	})
	if s.Bins != [2]int{20, 10} || !near(s.Mid[0], 17.8) || !near(s.Mid[1], 12) || !near(s.High[1], 33) {
		t.Errorf("a joint: %+v", s)
	}
	// Where high was not seen it is not made up.
	s = line(30, func(s int) heights {
		if s < 10 {
			return heights{2.8, 12, math.NaN()}
		}
		return dry
	})
	if !s.Found() || !math.IsNaN(s.High[0]) && !math.IsNaN(s.High[1]) {
		t.Errorf("without high: %+v", s)
	}
	for name, of := range map[string]func(s int) heights{
		"steady":        func(int) heights { return dry },
		"drift":         func(s int) heights { return heights{2.8, 16 + 0.1*float64(s), 33} },
		"one odd bin":   func(s int) heights { return []heights{dry, wet}[s/59] },
		"little change": func(s int) heights { return heights{2.8, 17.8 + 0.3*float64(s/30), 33} },
	} {
		if s := line(60, of); s.Found() {
			t.Errorf("%s: %+v", name, s)
		}
	}
}
