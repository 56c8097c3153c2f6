package uart_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/uart"
	"linewitness/decode/uart/uarttest"
)

// one is a batch of one burst.
func one(b *capture.Block) *burst.Batch {
	return &burst.Batch{At: b.At, To: b.To, Bursts: []burst.Span{{To: len(b.At), Before: b.Start, Until: b.End}}}
}

func TestFoldLeavesMarkAndSpace(t *testing.T) {
	t.Parallel()
	const l, m, h = capture.Low, capture.Mid, capture.High
	for _, c := range []struct {
		name   string
		to     []capture.Level
		spaces uart.Spaces
		mark   capture.Level
		at     []capture.Tick
		want   []capture.Level
	}{
		{"a loop: either outer level is space", []capture.Level{h, m, l, m}, uart.Below | uart.Above, m, []capture.Tick{0, 1, 2, 3}, []capture.Level{h, m, l, m}},
		{"from one space to the other is no change", []capture.Level{h, l, m, l, h, m}, uart.Below | uart.Above, m, []capture.Tick{0, 2, 3, 5}, []capture.Level{h, m, l, m}},
		{"a pair: bias and positive are mark", []capture.Level{h, l, h, m}, uart.Below, h, []capture.Tick{0, 1, 2}, []capture.Level{h, l, h}},
		{"a pair the other way round", []capture.Level{l, h, l, m}, uart.Above, l, []capture.Tick{0, 1, 2}, []capture.Level{l, h, l}},
		{"two levels, a space called as mark is", []capture.Level{h, m}, uart.Above, h, []capture.Tick{0, 1}, []capture.Level{l, h}},
	} {
		b := &capture.Block{End: 100, Transitions: capture.Transitions{To: c.to}}
		for i := range c.to {
			b.At = append(b.At, capture.Tick(i))
		}
		var got burst.Batch
		uart.Fold(&got, one(b), c.spaces, c.mark)
		if d := cmp.Diff(c.at, got.At) + cmp.Diff(c.want, got.To); d != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, d)
		}
		if s := got.Bursts[0]; s.From != 0 || s.To != len(c.at) || s.Until != 100 {
			t.Errorf("%s: burst %+v", c.name, s)
		}
	}
}

// A wire of two levels lifted to three reads as before, and every character tells the level of its spaces.
func TestThreeLevelsReadAsTwo(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		l := uart.Line{Speed: 9600, Format: uart.Format{DataBits: 8, Parity: uart.ParityEven, StopHalfs: 2}}
		values := rapid.SliceOfN(rapid.Uint16Range(0, 255), 1, 20).Draw(t, "values")
		space := rapid.SampledFrom([]capture.Level{capture.Low, capture.High}).Draw(t, "space")
		w := &uarttest.Wire{Clock: capture.Nanoseconds}
		w.Idle(0.01)
		w.Send(uarttest.Sender{Line: l}, values...)
		w.Idle(0.01)
		var two, three uart.Chars
		uart.NewReader(uart.NewDecoder(l, w.Clock), 0, false).Read(&two, one(w.Block()))
		b := w.Block()
		for i, to := range b.To {
			if b.To[i] = capture.Mid; to == capture.Low {
				b.To[i] = space
			}
		}
		l.Mid = true
		uart.NewReader(uart.NewDecoder(l, w.Clock), uart.Below|uart.Above, false).Read(&three, one(b))
		for i := range three.Chars {
			if three.Chars[i].Space != space {
				t.Fatalf("character %d: space at %v, want %v", i, three.Chars[i].Space, space)
			}
			three.Chars[i].Space = capture.Low
		}
		if d := cmp.Diff(two, three); d != "" {
			t.Fatalf("(-two +three):\n%s", d)
		}
	})
}

// On a pair a talker whose conductors are swapped is read, and told apart, with and without the bias being visible; noise
// alone never makes a whole burst of the other polarity out of a broken one.
func TestSwappedConductorsAreRead(t *testing.T) {
	t.Parallel()
	l := uart.Line{Speed: 9600, Format: uart.Format{DataBits: 8, Parity: uart.ParityEven, StopHalfs: 2}}
	values := []uint16{0x11, 0x03, 0x04, 0x00, 0x8D, 0x00, 0x8E, 0xFB, 0xBD}
	for _, swapped := range []bool{false, true} {
		w := &uarttest.Wire{Clock: capture.Nanoseconds}
		w.Idle(0.01)
		w.Send(uarttest.Sender{Line: l}, values...)
		w.Idle(0.01)
		b := w.Block()
		from, to := b.At[0]-100, b.At[len(b.At)-1]+100
		driven := func(mark bool) capture.Level {
			if mark != swapped {
				return capture.High
			}
			return capture.Low
		}
		three := &capture.Block{End: b.End, First: capture.Mid} // bias, driver on at mark, the bits, driver off
		three.At, three.To = append(three.At, from), append(three.To, driven(true))
		for i, x := range b.To {
			three.At, three.To = append(three.At, b.At[i]), append(three.To, driven(x == capture.High))
		}
		three.At, three.To = append(three.At, to), append(three.To, capture.Mid)
		var chars uart.Chars
		uart.NewReader(uart.NewDecoder(l, w.Clock), uart.Below, true).Read(&chars, one(three))
		var got []uint16
		for i := range chars.Chars {
			c := &chars.Chars[i]
			got = append(got, c.Value)
			if c.Fault != 0 || (c.Space == capture.High) != swapped {
				t.Errorf("swapped %v: character %d: fault %v, space at %v", swapped, i, c.Fault, c.Space)
			}
		}
		if d := cmp.Diff(values, got); d != "" {
			t.Errorf("swapped %v (-want +got):\n%s", swapped, d)
		}
		if len(chars.Fits) != len(chars.Chars) || chars.Ends[0] != len(chars.Chars) || len(chars.Glitches) != 0 {
			t.Errorf("swapped %v: %d fits, ends %v, %d glitches of %d characters", swapped, len(chars.Fits), chars.Ends, len(chars.Glitches), len(chars.Chars))
		}
	}
}
