package decode

import (
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"

	"linewitness/capture"
)

// The samples that are kept of a head are the same however it is cut into blocks: so many before the first transition, and so many from
// there on.
func TestHeadVoltsDoNotKnowBlocks(t *testing.T) {
	t.Parallel()
	const first = 10_000 // transition, and there is one each 1,000 samples from there on
	pick := func(n int, size func() int) (all capture.Samples) {
		var h headVolts
		begun := false
		for i := 0; i < n; {
			var b capture.Block
			for end := min(n, i+size()); i < end; i++ {
				b.SampleAt, b.Volts = append(b.SampleAt, capture.Tick(i)), append(b.Volts, float64(i))
				if i >= first && i%1000 == 0 {
					b.At, b.To = append(b.At, capture.Tick(i)), append(b.To, capture.Low)
				}
			}
			s := h.pick(&b, begun)
			begun = begun || len(b.At) > 0
			all.SampleAt, all.Volts = append(all.SampleAt, s.SampleAt...), append(all.Volts, s.Volts...)
		}
		return all
	}
	const n = first + headSamples + 50_000
	want := pick(n, func() int { return n })
	if k := len(want.Volts); k != leadSamples+headSamples || want.Volts[0] != first-leadSamples {
		t.Fatalf("%d samples from %g on", k, want.Volts[0])
	}
	r := rand.New(rand.NewPCG(1, 2))
	for _, most := range []int{900, 9000, 90000} {
		if d := cmp.Diff(want, pick(n, func() int { return 1 + r.IntN(most) })); d != "" {
			t.Errorf("blocks up to %d:\n%.500s", most, d)
		}
	}
}
