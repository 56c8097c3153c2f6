package uart_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/uart"
	"linewitness/decode/uart/uarttest"
)

// Whatever a line is, its own reading costs least by far, and a reading that names it wrongly has it among its rivals as the best one.
func TestRivalsKnowTheLine(t *testing.T) {
	t.Parallel()
	line := func(speed float64, format string, inverted bool) uart.Line {
		f, err := uart.ParseFormat(format)
		if err != nil {
			t.Fatal(err)
		}
		return uart.Line{Speed: speed, Format: f, Inverted: inverted}
	}
	for _, c := range []struct {
		is, said uart.Line
		kind     uart.RivalKind
	}{
		{line(1200, "8E1", false), line(1200, "8E1", false), uart.RivalKinds},
		{line(9600, "8N1", true), line(9600, "8N1", true), uart.RivalKinds},
		{line(2400, "8N2", false), line(2400, "8N2", false), uart.RivalKinds},
		{line(1200, "8E1", false), line(1200, "8O1", false), uart.RivalFormat},
		{line(1200, "8E1", false), line(1200, "8N1", false), uart.RivalFormat},
		{line(2400, "8N1", false), line(1800, "8N1", false), uart.RivalSpeed},
		{line(4800, "8E1", false), line(7200, "8E1", false), uart.RivalSpeed},
		{line(4800, "8E1", false), line(4800, "8E1", true), uart.RivalPolarity},
	} {
		name := fmt.Sprintf("%g %v inverted %v read as %g %v inverted %v", c.is.Speed, c.is.Format, c.is.Inverted, c.said.Speed, c.said.Format, c.said.Inverted)
		r := rand.New(rand.NewPCG(1, 1))
		w := &uarttest.Wire{Clock: capture.Nanoseconds, High: c.is.Inverted, Now: 0.1}
		s := uarttest.Sender{Line: c.is, Jitter: 0.02, Bias: 0.05, Rand: r}
		for range 20 {
			w.Send(s, uint16(r.IntN(256)), uint16(r.IntN(256)), uint16(r.IntN(256)), uint16(r.IntN(256)), 0, 0xFF)
			w.Idle(0.2)
		}
		rivals := uart.NewRivals(c.said, w.Clock)
		sum := make([]float64, len(rivals.All))
		cut := burst.New(w.Clock.Ticks(0.1), func() *burst.Batch { return new(burst.Batch) }, func(b *burst.Batch) error {
			for i := range b.Bursts {
				for k, bits := range rivals.Weigh(nil, b, &b.Bursts[i]) {
					sum[k] += bits
				}
			}
			return nil
		})
		if err := cut.Add(w.Block()); err != nil {
			t.Fatal(err)
		}
		if err := cut.Flush(); err != nil {
			t.Fatal(err)
		}
		best := 0
		for k := range sum {
			if sum[k] < sum[best] {
				best = k
			}
		}
		if got := rivals.All[best]; got.Kind != c.kind || got.Speed != c.is.Speed || got.Inverted != c.is.Inverted || got.Format != c.is.Format {
			t.Errorf("%s: best is %+v of %.0f", name, got, sum)
		}
		if c.kind != uart.RivalKinds && sum[0]-sum[best] < 100 {
			t.Errorf("%s: only %.0f bits better", name, sum[0]-sum[best])
		}
		for k := 1; k < len(sum) && c.kind == uart.RivalKinds; k++ {
			if sum[k]-sum[0] < 100 {
				t.Errorf("%s: rival %+v costs only %.0f bits more", name, rivals.All[k].Line, sum[k]-sum[0])
			}
		}
	}
}
