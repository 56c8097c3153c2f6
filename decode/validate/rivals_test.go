package validate_test

import (
	"math"
	"testing"

	"linewitness/capture"
)

// Of nine readings of 1,200 Bd 8N1 two have another speed: one of them is cheaper by 5 bits in each of four bursts, which a choice among
// two gains by chance with 1-(1-2^-20)^2. The best of five formats costs 2 bits more, the other polarity 30.
func TestRivalsGainBits(t *testing.T) {
	t.Parallel()
	f := drawn(833)
	for range 4 {
		if !f.Weighs() {
			t.Fatal("one of the first bursts is not weighed")
		}
		f.Weighed([]float64{100, 95, 120, 102, 110, 110, 110, 110, 130})
	}
	all := f.FactList()
	for id, want := range map[string]float64{"structure.speed-gain": 20, "structure.format-gain": -8, "structure.polarity-gain": -120} {
		x := factOf(t, all, id, capture.Line)
		p := 1.
		if want > 0 {
			p = 1 - math.Pow(1-math.Exp2(-want), 2)
		}
		if x.Value != want || x.Low != want || x.High != want || math.Abs(x.P/p-1) > 1e-9 || x.N != 4 {
			t.Errorf("%s: %+v, want %g bits, p %g", id, x, want, p)
		}
	}
}
