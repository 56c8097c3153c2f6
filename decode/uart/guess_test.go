package uart_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"linewitness/capture"
	"linewitness/decode/uart"
	"linewitness/decode/uart/uarttest"
)

// Random bytes in frames of 8 with pauses, over all formats, speeds and polarities: the guess must name all three.
func TestGuessFindsSpeedFormatAndPolarity(t *testing.T) {
	t.Parallel()
	for _, speed := range []float64{100, 300, 1234.5, 2400, 9600, 10400, 31250, 115200, 1e6} {
		for _, format := range []string{"5N1", "6E1", "7E1", "7O2", "8N1", "8E1", "8O1", "8N2", "9N1", "8N1.5", "7N1"} {
			for _, inverted := range []bool{false, true} {
				name := fmt.Sprintf("%g-%s-%v", speed, format, inverted)
				f, err := uart.ParseFormat(format)
				if err != nil {
					t.Fatal(err)
				}
				r := rand.New(rand.NewPCG(1, uint64(speed)))
				w := &uarttest.Wire{Clock: capture.Nanoseconds, High: inverted}
				s := uarttest.Sender{Line: uart.Line{Speed: speed, Format: f}, Bias: 0.05, Jitter: 0.01, Rand: r}
				w.Idle(20 / speed)
				for range 40 {
					for range 8 {
						w.Send(s, uint16(r.IntN(1<<f.DataBits)))
					}
					w.Idle((20 + 20*r.Float64()) / speed)
				}
				got, err := uart.Guess(w.Block().Transitions, w.Clock)
				if err != nil {
					t.Fatalf("%s: %v", name, err)
				}
				g := got[0]
				if math.Abs(g.Speed/speed-1) > 1e-3 || g.Format != f || g.Inverted != inverted {
					t.Errorf("%s: got %.6g Bd %s inverted %v (%d broken of %d), bits %.0f, next %v", name, g.Speed, g.Format, g.Inverted, g.Broken, g.Characters, g.Bits, got[1])
				}
			}
		}
	}
}
