package decode_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/uart"
	"linewitness/decode/uart/uarttest"
)

// picoseconds make the rounding of edges vanish beside a tenth of a per cent of a bit.
var picoseconds = capture.Clock{Num: 1e12, Den: 1}

// readAt reads all characters of a line at a speed, whatever speed they were sent at.
func readAt(b *capture.Block, l uart.Line, c capture.Clock) uart.Chars {
	var chars uart.Chars
	d := uart.NewDecoder(l, c)
	d.Decode(&chars, &burst.Batch{At: b.At, To: b.To,
		Bursts: []burst.Span{{To: len(b.At), Before: b.Start, Until: b.End, Begins: true, Ends: true}}})
	return chars
}

// The tolerance of an ideal receiver that samples in the middle of each bit (check-values.md 2.2): its last sample, in
// the middle of the stop element, must lie inside the sender's. With n = 9.5 bits to that sample (8N1) it holds for
//
//	sender slow: (n-0.5) Ts <= n T, speed >= (1 - 0.5/n) nominal
//	sender fast: (n+0.5) Ts >  n T, speed <= (1 + 0.5/n) nominal
//
// that is 5.263 % either way, and 0.5/10.5 = 4.762 % for the 11 bits of 8E1, 8O1 and 8N2. A slow sender is caught by an
// edge into the stop element, so the last bit must be space; a fast one by the start of the next character, so that
// must follow at once. Values without those edges are read beyond the tolerance.
func TestReceiverToleratesHalfABitAtTheStopElement(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		format     string
		tolerance  float64 // per cent
		directions []float64
		last       []uint16
	}{
		{"8N1", 5.263, []float64{-1, +1}, []uint16{0x00, 0x55, 0x7F, 0x01, 0x2A}},
		{"8E1", 4.762, []float64{-1, +1}, []uint16{0x00, 0x55, 0x7E, 0x81, 0xFF}}, // parity bit space
		{"8O1", 4.762, []float64{-1, +1}, []uint16{0x01, 0x7F, 0x80, 0x54, 0xFE}}, // parity bit space
		// The slow one is bound by the first stop bit, as 8N1.
		{"8N2", 4.762, []float64{+1}, []uint16{0x00, 0x55, 0x80, 0xFF}},
		{"8N2", 5.263, []float64{-1}, []uint16{0x00, 0x55, 0x7F}},
	} {
		for _, direction := range c.directions {
			for _, v := range c.last {
				for _, beyond := range []float64{-0.02, +0.02} { // percentage points from the tolerance
					off := direction * (c.tolerance + beyond)
					t.Run(fmt.Sprintf("%s/%02X/%+.3f%%", c.format, v, off), func(t *testing.T) {
						t.Parallel()
						mismatch(t, c.format, off, v, beyond < 0)
					})
				}
			}
		}
	}
}

// mismatch sends the same character ten times, back to back, and wants it right or wrong.
func mismatch(t *testing.T, format string, off float64, v uint16, right bool) {
	f, err := uart.ParseFormat(format)
	if err != nil {
		t.Fatal(err)
	}
	const nominal = 9600
	w := &uarttest.Wire{Clock: picoseconds}
	w.Idle(20.0 / nominal)
	for range 10 {
		w.Send(uarttest.Sender{Line: uart.Line{Speed: nominal * (1 + off/100), Format: f}}, v)
		if off < 0 {
			w.Idle(3.0 / nominal) // its own start edge must not be the next thing to go wrong
		}
	}
	w.Idle(20.0 / nominal)
	chars := readAt(w.Block(), uart.Line{Speed: nominal, Format: f}, w.Clock).Chars
	ok := len(chars) == 10
	for i := range chars {
		ok = ok && chars[i].Value == v && chars[i].Fault == 0
	}
	if ok != right {
		t.Errorf("read right: %v, want %v; first %+v of %d", ok, right, chars[0], len(chars))
	}
}

// Within the tolerance every value is read, from both sides, in any order, back to back.
func TestReceiverReadsAllValuesWithinTolerance(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		format    string
		tolerance float64
	}{{"8N1", 5.263}, {"8E1", 4.762}, {"8O1", 4.762}, {"8N2", 4.762}} {
		for _, off := range []float64{-c.tolerance + 0.02, -2, 0, 2, c.tolerance - 0.02} {
			t.Run(fmt.Sprintf("%s/%+.3f%%", c.format, off), func(t *testing.T) {
				t.Parallel()
				f, err := uart.ParseFormat(c.format)
				if err != nil {
					t.Fatal(err)
				}
				r := rand.New(rand.NewPCG(1, 2))
				var values []uint16
				for range 4 {
					for _, v := range r.Perm(256) {
						values = append(values, uint16(v))
					}
				}
				w := &uarttest.Wire{Clock: picoseconds}
				w.Idle(1e-3)
				w.Send(uarttest.Sender{Line: uart.Line{Speed: 9600 * (1 + off/100), Format: f}}, values...)
				w.Idle(1e-2)
				chars := readAt(w.Block(), uart.Line{Speed: 9600, Format: f}, w.Clock).Chars
				if len(chars) != len(values) {
					t.Fatalf("got %d characters, want %d", len(chars), len(values))
				}
				for i := range chars {
					if chars[i].Value != values[i] || chars[i].Fault != 0 {
						t.Fatalf("character %d: got %+v, want %02X", i, chars[i], values[i])
					}
				}
			})
		}
	}
}

// The worked examples of check-values.md 2.3: byte 55 as 8N1, unit interval 100 us, edges in microseconds.
func TestDistortionWorkedExamples(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name                   string
		edges                  []capture.Tick
		late, early, iso, bias float32 // of the unit interval
		clock                  float64 // relative error of the unit interval, from like edges
		biasAtClock            float32 // bias without the clock's part
	}{
		// Only the edges to mark are late: marks 92 us, spaces 108.
		{"bias 8 %", []capture.Tick{0, 108, 200, 308, 400, 508, 600, 708, 800, 908},
			0.08, 0, 0.08, -0.08, 0, -0.08},
		// Both kinds moved: five spaces of 108, 111, 111, 111 and 111 us, 10.4 % too long in the mean.
		{"both edges", []capture.Tick{0, 108, 197, 308, 397, 508, 597, 708, 797, 908},
			0.08, -0.03, 0.11, -0.104, -0.0015, -0.1055},
		// The sender is 2 % slow: gross distortion 18 %, synchronous 0 %.
		{"slow sender", []capture.Tick{0, 102, 204, 306, 408, 510, 612, 714, 816, 918},
			0.18, 0, 0.18, -0.02, 0.02, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			b := &capture.Block{Start: -1000, End: 3000, First: capture.High}
			for i, at := range c.edges {
				b.At, b.To = append(b.At, at), append(b.To, []capture.Level{capture.Low, capture.High}[i%2])
			}
			microseconds := capture.Clock{Num: 1e6, Den: 1}
			line := uart.Line{Speed: 1e4, Format: uart.Format{DataBits: 8, StopHalfs: 2}}
			chars := readAt(b, line, microseconds)
			if len(chars.Chars) != 1 || chars.Chars[0].Value != 0x55 || chars.Chars[0].Fault != 0 {
				t.Fatalf("got %+v, want one clean 55", chars.Chars)
			}
			got := &chars.Chars[0]
			for _, f := range []struct {
				name      string
				got, want float32
			}{
				{"late", got.Late, c.late}, {"early", got.Early, c.early}, {"isochronous", got.Isochronous(), c.iso},
				{"bias", got.Bias, c.bias}, {"degree of start-stop distortion", got.Distortion(), c.late},
				{"margin", got.Margin(), 0.5 - c.late},
			} {
				if !near(float64(f.got), float64(f.want), 1e-6) {
					t.Errorf("%s: got %+.4f, want %+.4f", f.name, f.got, f.want)
				}
			}
			fit := &chars.Fits[0]
			slope := float64(fit.Sxd / fit.Sxx)
			if !near(slope, c.clock, 1e-6) {
				t.Errorf("clock: got %+.6f, want %+.6f", slope, c.clock)
			}
			if bias := float64(got.Bias) - slope*float64(fit.Lean); !near(bias, float64(c.biasAtClock), 1e-6) {
				t.Errorf("bias beside the clock: got %+.4f, want %+.4f", bias, c.biasAtClock)
			}
			if c.clock != 0.02 {
				return
			}
			line.Speed /= 1 + slope
			own := readAt(b, line, microseconds).Chars[0]
			if !near(float64(own.Isochronous()), 0, 1e-5) || !near(float64(own.Bias), 0, 1e-5) || math.Abs(float64(own.Distortion())) > 1e-5 {
				t.Errorf("at its own rate: got %+v, want no distortion", own)
			}
		})
	}
}
