package validate_test

import (
	"math"
	"testing"

	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/link"
	"linewitness/decode/uart"
	"linewitness/decode/validate"
)

// edgesOf55 is byte 55 as 8N1 from a mark, its ten edges at these instants in us, T = 100 us, again and again after a rest.
func edgesOf55(t *testing.T, times int, edges ...capture.Tick) *validate.Fold {
	t.Helper()
	clock := capture.Clock{Num: 1e6, Den: 1}
	p := &link.Profile{Line: uart.Line{Speed: 10000, Format: uart.Format{DataBits: 8, StopHalfs: 2}}}
	dec := uart.NewDecoder(p.Line, clock)
	f, walk := validate.NewFold(p, clock), validate.NewEdgeWalk(p, clock)
	for n := range times {
		b := burst.Batch{}
		for i, at := range edges {
			b.At = append(b.At, capture.Tick(5000*(n+1))+at)
			b.To = append(b.To, [...]capture.Level{capture.Low, capture.High}[i%2])
		}
		first, last := b.At[0], b.At[len(b.At)-1]
		b.Bursts = []burst.Span{{From: 0, To: len(b.At), Before: first - 2000, Until: last + 2000}}
		var c uart.Chars
		dec.Decode(&c, &b)
		if len(c.Chars) != 1 || c.Chars[0].Value != 0x55 {
			t.Fatalf("read %+v", c.Chars)
		}
		r := link.Frame{At: c.Chars[0].At, End: c.Chars[0].End, Values: []uint16{0x55}, Chars: c.Chars, Turnaround: -1}
		q := validate.Measure(&r, c.Fits)
		walk.Batch(b.At)
		walk.Measure(&r, c.Fits, &q)
		f.Add(&r, &q)
	}
	return f
}

// The worked examples of distortion: late rising edges; both edges moved; a sender 2 % slow. Bias is marks lengthened, so spacing
// bias is negative. In the second example the first space is 8 % long and the others are 11 %, so bias lies between their mean,
// 10.4 %, and 11 %, and what is left of the start edge's place passes for a clock error: none is given for it.
func TestWorkedDistortion(t *testing.T) {
	t.Parallel()
	type limits struct{ low, high float64 }
	for _, c := range []struct {
		name  string
		edges []capture.Tick
		want  map[string]limits
	}{
		{"only rising edges late", []capture.Tick{0, 108, 200, 308, 400, 508, 600, 708, 800, 908},
			map[string]limits{"time.isochronous": {8, 8}, "time.start-stop": {8, 8}, "time.start-stop-synchronous": {8, 8}, "time.start-stop-late": {8, 8},
				"time.start-stop-early": {0, 0}, "time.bias": {-8, -8}, "time.clock": {0, 0}}},
		{"both edges moved", []capture.Tick{0, 108, 197, 308, 397, 508, 597, 708, 797, 908},
			map[string]limits{"time.isochronous": {11, 11}, "time.start-stop": {8, 8}, "time.start-stop-late": {8, 8}, "time.start-stop-early": {-3, -3}, "time.bias": {-11, -10.4}}},
		{"a sender 2 % slow", []capture.Tick{0, 102, 204, 306, 408, 510, 612, 714, 816, 918},
			map[string]limits{"time.isochronous": {18, 18}, "time.start-stop": {18, 18}, "time.start-stop-synchronous": {0, 0}, "time.start-stop-late": {18, 18},
				"time.start-stop-early": {0, 0}, "time.bias": {0, 0}, "time.clock": {-0.02e6 / 1.02, -0.02e6 / 1.02}}},
	} {
		facts := edgesOf55(t, 12, c.edges...).FactList()
		for id, want := range c.want {
			x := factOf(t, facts, id, capture.SideUnknown)
			slack := 1e-3 + 1e-6*math.Abs(want.low) // displacements are kept with 24 bits
			if !x.Measured() || x.Value < want.low-slack || x.Value > want.high+slack || x.Low > x.Value+slack || x.High < x.Value-slack {
				t.Errorf("%s: %s is %+v, want %v", c.name, id, x, want)
			}
		}
	}
}
