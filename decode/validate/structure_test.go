package validate_test

import (
	"math"
	"testing"

	"linewitness/capture"
	"linewitness/decode/link"
	"linewitness/decode/validate"
)

// Frames whole only in the other polarity are a share of their sender's; a line that is read in one polarity does not tell.
func TestOtherPolarity(t *testing.T) {
	t.Parallel()
	p := twoTalkers()
	p.Either = true
	f := validate.NewFold(p, capture.Clock{Num: 1000, Den: 1})
	for i := range 10 {
		r := link.Frame{At: capture.Tick(i * 500), End: capture.Tick(i*500 + 40), Turnaround: -1, Space: capture.Low}
		if i >= 6 {
			r.Space = p.Line.Mark()
		}
		f.Add(&r, &validate.Quality{Bias: math.NaN()})
	}
	// Clopper and Pearson, 4 of 10 at 95 %: 0.12155 to 0.73762
	x := factOf(t, f.FactList(), "structure.other-polarity", capture.SideA)
	if x.Value != 0.4 || x.N != 10 || math.Abs(x.Low-0.12155) > 1e-5 || math.Abs(x.High-0.73762) > 1e-5 {
		t.Errorf("4 of 10 exchanged: %+v", x)
	}
	if x := factOf(t, damaged(5, func(int) bool { return false }).FactList(), "structure.other-polarity", capture.SideA); x.Measured() {
		t.Errorf("read in one polarity: %+v", x)
	}
}
