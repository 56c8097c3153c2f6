package link_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/checksum"
	"linewitness/decode/link"
	"linewitness/decode/uart"
	"linewitness/decode/uart/uarttest"
)

var line9600 = uart.Line{Speed: 9600, Format: uart.Format{DataBits: 8, StopHalfs: 2}}

// cut decodes a wire and cuts it into frames.
func cut(p *link.Profile, w *uarttest.Wire) []link.Frame {
	d := uart.NewDecoder(p.Line, w.Clock)
	k := link.NewCutter(p, w.Clock)
	var frames link.Frames
	c := burst.New(k.BurstGap(d), func() *burst.Batch { return new(burst.Batch) }, func(b *burst.Batch) error {
		var chars uart.Chars
		d.Decode(&chars, b)
		k.Cut(&frames, &chars, b)
		return nil
	})
	_ = c.Add(w.Block())
	_ = c.Flush()
	return frames.Frames
}

// Frames of check-values: Modbus RTU as in public test suites (pymodbus test/framer/test_framer.py), then damaged.
func TestModbusFrames(t *testing.T) {
	t.Parallel()
	p := link.ModbusRTU(line9600)
	for _, c := range []struct {
		name  string
		frame []uint16
		pause float64
		why   string
		asks  bool
	}{
		{"request", []uint16{0x11, 0x03, 0x00, 0x7C, 0x00, 0x02, 0x07, 0x43}, 0, "", true},
		{"reply", []uint16{0x11, 0x03, 0x04, 0x00, 0x8D, 0x00, 0x8E, 0xFB, 0xBD}, 0, "", false},
		{"exception", []uint16{0x11, 0x83, 0x02, 0xC1, 0x34}, 0, "", false},
		{"a bit flipped", []uint16{0x11, 0x03, 0x00, 0x7D, 0x00, 0x02, 0x07, 0x43}, 0, "checksum", true},
		{"a byte lost", []uint16{0x11, 0x03, 0x00, 0x7C, 0x02, 0x07, 0x43}, 0, "checksum length", false},
		{"torn by pauses of two characters", []uint16{0x11, 0x03, 0x00, 0x7C, 0x00, 0x02, 0x07, 0x43}, 20, "timing", true},
		{"too short", []uint16{0x11, 0x03, 0x00}, 0, "unframed", false},
	} {
		w := &uarttest.Wire{Clock: capture.Nanoseconds}
		w.Idle(0.1)
		w.Send(uarttest.Sender{Line: line9600, Pause: c.pause}, c.frame...)
		w.Idle(0.1)
		got := cut(p, w)
		if len(got) != 1 {
			t.Errorf("%s: got %d frames", c.name, len(got))
			continue
		}
		f := &got[0]
		if d := cmp.Diff(c.frame, f.Values); d != "" {
			t.Errorf("%s (-want +got):\n%s", c.name, d)
		}
		if why := strings.Join(f.Why.Names(), " "); why != c.why {
			t.Errorf("%s: why %q, want %q", c.name, why, c.why)
		}
		if p.Asks(f) != c.asks {
			t.Errorf("%s: asks %v, want %v", c.name, p.Asks(f), c.asks)
		}
		if at := w.Clock.Ticks(0.1); f.At != at {
			t.Errorf("%s: begins at %d, want %d", c.name, f.At, at)
		}
	}
}

// A frame that the recording cuts is neither good nor bad, unless what is left is whole.
func TestFramesCutByTheRecording(t *testing.T) {
	t.Parallel()
	p := link.ModbusRTU(line9600)
	w := &uarttest.Wire{Clock: capture.Nanoseconds}
	w.Send(uarttest.Sender{Line: line9600}, 0x00, 0x7C, 0x00, 0x02, 0x07, 0x43) // the beginning is missing
	w.Idle(0.1)
	w.Send(uarttest.Sender{Line: line9600}, 0x11, 0x03, 0x00, 0x7C, 0x00, 0x02, 0x07, 0x43)
	w.Idle(0.1)
	w.Send(uarttest.Sender{Line: line9600}, 0x11, 0x03, 0x00, 0x7C, 0x00, 0x02, 0x07)
	w.Now -= 0.5e-3 // the recording ends in the seventh character
	got := cut(p, w)
	var why []string
	for i := range got {
		why = append(why, strings.Join(got[i].Why.Names(), "+"))
	}
	if d := cmp.Diff([]string{"cut", "", "cut"}, why); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}

// What is put together by a profile's rules is taken apart again, whatever the silences and the format.
func TestFramesOfSumsAtSilences(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 1))
	sum, err := checksum.Parse("sum8")
	if err != nil {
		t.Fatal(err)
	}
	l := uart.Line{Speed: 1200, Format: uart.Format{DataBits: 8, Parity: uart.ParityEven, StopHalfs: 2}}
	p := &link.Profile{Line: l, Framing: link.Framing{Gap: 0.03}, Checksum: &checksum.Spec{Sum: sum, From: 0, To: -1, At: -1}}
	w := &uarttest.Wire{Clock: capture.Nanoseconds}
	var want [][]uint16
	for range 200 {
		b := make([]byte, 3+r.IntN(20))
		for i := range b {
			b[i] = byte(r.IntN(256))
		}
		if !p.Checksum.Put(b) {
			t.Fatal("no room for the sum")
		}
		v := make([]uint16, len(b))
		for i := range b {
			v[i] = uint16(b[i])
		}
		w.Idle(0.04 + r.Float64()/10)
		w.Send(uarttest.Sender{Line: l, Pause: r.Float64() * 5}, v...)
		want = append(want, v)
	}
	w.Idle(0.1)
	got := cut(p, w)
	if len(got) != len(want) {
		t.Fatalf("got %d frames, want %d", len(got), len(want))
	}
	for i := range got {
		if !got[i].OK() {
			t.Errorf("frame %d: %v", i, got[i].Why.Names())
		}
		if d := cmp.Diff(want[i], got[i].Values); d != "" {
			t.Errorf("frame %d (-want +got):\n%s", i, d)
		}
	}
}

// The silences are 3.5 and 1.5 characters of 11 bits, fixed above 19,200 Bd (Modbus over Serial Line V1.02, clause
// 2.5.1.1; figures of the published table).
func TestModbusSilences(t *testing.T) {
	t.Parallel()
	f := uart.Format{DataBits: 8, Parity: uart.ParityEven, StopHalfs: 2}
	for speed, want := range map[float64][2]float64{1200: {13.7500e-3, 32.0833e-3}, 9600: {1.7188e-3, 4.0104e-3}, 38400: {0.75e-3, 1.75e-3}} {
		p := link.ModbusRTU(uart.Line{Speed: speed, Format: f})
		if d := p.Framing.Inside - want[0]; d > 1e-7 || d < -1e-7 {
			t.Errorf("%g Bd: inside %g, want %g", speed, p.Framing.Inside, want[0])
		}
		if d := p.Framing.Gap - want[1]; d > 1e-7 || d < -1e-7 {
			t.Errorf("%g Bd: gap %g, want %g", speed, p.Framing.Gap, want[1])
		}
	}
}
