package link_test

import (
	"testing"

	"linewitness/capture"
	"linewitness/decode/link"
)

// No frame allocates once a Frames has seen a batch, and nothing does where a dst is given.
func TestNoAllocation(t *testing.T) {
	if raced {
		t.Log("allocations are counted without the race detector only; here frames are just cut")
	}
	for _, l := range links(t) {
		chars, bursts := batch(characters(t, l.frame), 1, l.p.Framing.Break)
		k := link.NewCutter(l.p, capture.Nanoseconds)
		var f link.Frames
		var numbers []link.Number
		cut := func() {
			f.Reset()
			k.Cut(&f, &chars, &bursts)
			for i := range f.Frames {
				if !f.Frames[i].OK() {
					t.Fatalf("%s: %v", l.name, f.Frames[i].Why.Names())
				}
				numbers = l.p.Dissect(numbers[:0], f.Frames[i].Octets, f.Frames[i].Shape)
			}
		}
		cut()
		if n := testing.AllocsPerRun(20, cut); n > 0 && !raced {
			t.Errorf("%s: %g allocations a batch of %d frames", l.name, n, len(f.Frames))
		}
	}
	p := ft12(t, true)
	p.Shapes = []link.Shape{{Name: "data", Length: 9, Constant: octets(t, "680303685301"), Fields: []link.Field{{Name: "kind", At: 6}}}}
	set, dst := map[string]int64{"kind": 0x50}, make([]uint16, 0, 16)
	compose := func() {
		if _, err := p.Compose(dst, 0, set); err != nil {
			t.Fatal(err)
		}
	}
	compose()
	if n := testing.AllocsPerRun(100, compose); n > 0 && !raced {
		t.Errorf("Compose: %g allocations", n)
	}
}
