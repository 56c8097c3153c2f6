package uart_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/capture/burst"
	"linewitness/decode/uart"
	"linewitness/decode/uart/uarttest"
)

// read decodes a whole wire as one burst at a line.
func read(w *uarttest.Wire, l uart.Line) uart.Chars {
	b := w.Block()
	batch := burst.Batch{At: b.At, To: b.To, Bursts: []burst.Span{{To: len(b.At), Until: b.End, Begins: true, Ends: true}}}
	var c uart.Chars
	uart.NewDecoder(l, w.Clock).Decode(&c, &batch)
	return c
}

func values(c uart.Chars) (v []uint16) {
	for i := range c.Chars {
		v = append(v, c.Chars[i].Value)
	}
	return v
}

func drawFormat(t *rapid.T) uart.Format {
	return uart.Format{DataBits: uint8(rapid.IntRange(5, 9).Draw(t, "data")), Parity: uart.Parity(rapid.IntRange(0, 4).Draw(t, "parity")),
		StopHalfs: uint8(rapid.IntRange(2, 4).Draw(t, "stop"))}
}

// What is sent is read, in every format, polarity and speed, with bias and jitter inside the receiver's margin.
func TestSentIsRead(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		l := uart.Line{Speed: rapid.Float64Range(100, 1e6).Draw(t, "speed"), Format: drawFormat(t), Inverted: rapid.Bool().Draw(t, "inverted")}
		s := uarttest.Sender{Line: l, Bias: rapid.Float64Range(-0.3, 0.3).Draw(t, "bias"), Jitter: 0.01,
			Pause: rapid.Float64Range(0, 3).Draw(t, "pause"), Rand: rand.New(rand.NewPCG(1, 2))}
		data := rapid.SliceOfN(rapid.Uint16Range(0, 1<<l.Format.DataBits-1), 1, 40).Draw(t, "data")
		w := &uarttest.Wire{Clock: capture.Nanoseconds, High: l.Inverted}
		w.Idle(3 / l.Speed)
		w.Send(s, data...)
		w.Idle(12 / l.Speed)
		c := read(w, l)
		if d := cmp.Diff(data, values(c)); d != "" {
			t.Fatalf("%s at %g Bd (-sent +read):\n%s", l.Format, l.Speed, d)
		}
		for i := range c.Chars {
			if c.Chars[i].Fault != 0 {
				t.Fatalf("character %d: fault %b", i, c.Chars[i].Fault)
			}
		}
	})
}

// A line sampled the other way round, moved in time or stretched says the same.
func TestPolarityShiftAndScale(t *testing.T) {
	t.Parallel()
	l := uart.Line{Speed: 2400, Format: uart.Format{DataBits: 8, Parity: uart.ParityEven, StopHalfs: 2}}
	r := rand.New(rand.NewPCG(5, 6))
	build := func(speed float64, high bool, wait float64) *uarttest.Wire {
		l := l
		l.Speed = speed
		w := &uarttest.Wire{Clock: capture.Nanoseconds, High: high}
		w.Idle(wait)
		r = rand.New(rand.NewPCG(5, 6))
		for range 50 {
			w.Send(uarttest.Sender{Line: l}, uint16(r.IntN(256)))
		}
		w.Idle(1)
		return w
	}
	want := values(read(build(2400, false, 0.1), l))
	inverted := l
	inverted.Inverted = true
	fast := l
	fast.Speed = 19200
	for name, got := range map[string][]uint16{
		"inverted": values(read(build(2400, true, 0.1), inverted)),
		"shifted":  values(read(build(2400, false, 777), l)),
		"scaled":   values(read(build(19200, false, 0.1), fast)),
	} {
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%s (-want +got):\n%s", name, d)
		}
	}
}

func TestRulesBroken(t *testing.T) {
	t.Parallel()
	l := uart.Line{Speed: 1000, Format: uart.Format{DataBits: 8, Parity: uart.ParityEven, StopHalfs: 2}}
	bits := func(s string) (b []bool) {
		for _, r := range s {
			b = append(b, r == '1')
		}
		return b
	}
	// Elements as on the line: start, eight data bits with the lowest first, parity, stop.
	for _, c := range []struct {
		name, line string
		value      uint16
		fault      uart.Fault
	}{
		{"good 0x53", "0 11001010 0 1", 0x53, 0},
		{"parity bit wrong", "0 11001010 1 1", 0x53, uart.FaultParity},
		{"data bit flipped", "0 11001011 0 1", 0xD3, uart.FaultParity},
		{"space in the stop element", "0 11001010 0 0 1", 0x53, uart.FaultStop},
		{"break", "0 00000000 0 0 0 0 1", 0, uart.FaultStop | uart.FaultBreak},
	} {
		w := &uarttest.Wire{Clock: capture.Nanoseconds}
		w.Idle(0.01)
		line := ""
		for _, r := range c.line {
			if r != ' ' {
				line += string(r)
			}
		}
		w.Elements(uarttest.Sender{Line: l}, bits(line))
		w.Idle(0.05)
		got := read(w, l)
		if len(got.Chars) != 1 || got.Chars[0].Value != c.value || got.Chars[0].Fault != c.fault {
			t.Errorf("%s: %s: got %+v, want value %#x fault %b", c.name, c.line, got.Chars, c.value, c.fault)
		}
	}
}

func TestShortPulsesAreReportedAndPassedOver(t *testing.T) {
	t.Parallel()
	l := uart.Line{Speed: 1000, Format: uart.Format{DataBits: 8, StopHalfs: 2}}
	w := &uarttest.Wire{Clock: capture.Nanoseconds}
	w.Idle(0.01)
	w.Pulse(1e-4) // a tenth of a bit of space while idle
	w.Idle(0.01)
	start, _ := w.Send(uarttest.Sender{Line: l}, 0x00)
	w.Idle(0.02)
	b := w.Block()
	// A mark of a tenth of a bit inside the fourth data bit, exactly over its middle.
	at := w.Clock.Ticks(start + 4.45e-3)
	for i := range b.At {
		if b.At[i] > at {
			b.At = append(b.At[:i:i], append([]capture.Tick{at, at + 100000}, b.At[i:]...)...)
			b.To = append(b.To[:i:i], append([]capture.Level{capture.High, capture.Low}, b.To[i:]...)...)
			break
		}
	}
	batch := burst.Batch{At: b.At, To: b.To, Bursts: []burst.Span{{To: len(b.At), Until: b.End, Begins: true, Ends: true}}}
	var c uart.Chars
	uart.NewDecoder(l, w.Clock).Decode(&c, &batch)
	if len(c.Chars) != 1 || c.Chars[0].Value != 0 || c.Chars[0].Fault != uart.FaultGlitch {
		t.Fatalf("got %+v, want one character 00 with a glitch", c.Chars)
	}
	want := []uart.Glitch{{At: 10e6, Width: 100000, Idle: true}, {At: at, Width: 100000, Mark: true}}
	if d := cmp.Diff(want, c.Glitches); d != "" {
		t.Errorf("glitches (-want +got):\n%s", d)
	}
}

// The clock comes out right whatever the bias, and the bias whatever the clock.
func TestClockAndBiasAreSeparate(t *testing.T) {
	t.Parallel()
	for _, off := range []float64{-0.02, 0, 1e-4, 0.02} {
		for _, bias := range []float64{-0.2, 0, 0.2} {
			l := uart.Line{Speed: 9600, Format: uart.Format{DataBits: 8, StopHalfs: 2}}
			s := l
			s.Speed *= 1 + off
			w := &uarttest.Wire{Clock: capture.Nanoseconds}
			r := rand.New(rand.NewPCG(7, 8))
			w.Idle(0.01)
			for range 500 {
				w.Send(uarttest.Sender{Line: s, Bias: bias, Jitter: 0.005, Rand: r}, uint16(r.IntN(256)))
			}
			w.Idle(0.01)
			c := read(w, l)
			var f uart.Fit
			b, lean := 0.0, 0.0
			n := 0.0
			for i, q := range c.Fits {
				f.AddChar(q)
				if v := float64(c.Chars[i].Bias); v == v {
					b += v
					lean += float64(q.Lean)
					n++
				}
			}
			slope, se := f.Slope()
			got := 1/(1+slope) - 1
			if math.Abs(got-off) > 5*se+2e-5 {
				t.Errorf("off %+g bias %+g: clock %+.6f +- %.6f", off, bias, got, se)
			}
			if gb := (b - slope*lean) / n; math.Abs(gb-bias) > 0.005 {
				t.Errorf("off %+g bias %+g: bias %+.4f", off, bias, gb)
			}
		}
	}
}

func TestFormatsRoundTrip(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := drawFormat(t)
		if got, err := uart.ParseFormat(f.String()); err != nil || got != f {
			t.Fatalf("%s came back as %v, %v", f, got, err)
		}
	})
	for _, bad := range []string{"", "8N", "4N1", "8X1", "8N3", "8N1 ", "10N1"} {
		if _, err := uart.ParseFormat(bad); err == nil {
			t.Errorf("%q was taken for a format", bad)
		}
	}
}

func TestStandardSpeed(t *testing.T) {
	t.Parallel()
	for measured, want := range map[float64]float64{9600: 9600, 9500: 9600, 9313: 9600, 9300: 9300, 1250.56: 1251, 118000: 115200, 10400: 10400, 250000: 250000} {
		if got := uart.StandardSpeed(measured); math.Abs(got-want) > 1e-6 {
			t.Errorf("%g: got %g, want %g", measured, got, want)
		}
	}
}

// What the data cannot tell apart is said.
func TestGuessSaysWhatItCannotTell(t *testing.T) {
	t.Parallel()
	send := func(format string, pause float64, mask uint16) uart.Guessed {
		f, _ := uart.ParseFormat(format)
		l := uart.Line{Speed: 2400, Format: f}
		w := &uarttest.Wire{Clock: capture.Nanoseconds}
		r := rand.New(rand.NewPCG(9, 9))
		w.Idle(0.1)
		for range 60 {
			for range 6 {
				w.Send(uarttest.Sender{Line: l, Pause: pause}, uint16(r.IntN(256))&mask)
			}
			w.Idle(0.05)
		}
		g, err := uart.Guess(w.Block().Transitions, w.Clock)
		if err != nil {
			t.Fatal(err)
		}
		return g[0]
	}
	for _, c := range []struct {
		format string
		pause  float64
		mask   uint16
		want   string
	}{
		{"8N2", 0, 0xFF, "8M1: a parity bit that is always mark looks like a second stop bit"},
		{"8N1", 0, 0x7F, "7S1: the last data bit keeps that parity in all 120 distinct characters"},
		{"8N1", 3.3, 0xFF, "8N with 1, 1.5 or 2 stop bits: characters never stand back to back"},
	} {
		got := send(c.format, c.pause, c.mask)
		found := false
		for _, e := range got.Equivalent {
			found = found || e == c.want
		}
		if got.Format.String() != c.format || !found {
			t.Errorf("%s: got %s with %q, want %q among them", c.format, got.Format, got.Equivalent, c.want)
		}
	}
	if got := send("8E1", 0, 0xFF); len(got.Equivalent) != 0 {
		t.Errorf("8E1 back to back: nothing is open, got %q", got.Equivalent)
	}
}

// FuzzDecoder: characters rise in time, hold their data bits only, and one start edge makes one character at most.
func FuzzDecoder(f *testing.F) {
	f.Add([]byte{10, 10, 10, 20, 5, 1, 1, 90, 30}, uint8(8), uint8(1), uint8(2), false)
	f.Add([]byte{1, 1, 1, 1}, uint8(5), uint8(4), uint8(4), true)
	f.Fuzz(func(t *testing.T, widths []byte, data, parity, stop uint8, inverted bool) {
		l := uart.Line{Speed: 1e8, Format: uart.Format{DataBits: 5 + data%5, Parity: uart.Parity(parity % 5), StopHalfs: 2 + stop%3}, Inverted: inverted}
		var b burst.Batch
		now := capture.Tick(0)
		for i, w := range widths {
			now += capture.Tick(w) + 1
			b.At, b.To = append(b.At, now), append(b.To, [...]capture.Level{capture.Low, capture.High}[i%2])
		}
		b.Bursts = []burst.Span{{To: len(b.At), Until: now, Ends: true}}
		var c uart.Chars
		uart.NewDecoder(l, capture.Nanoseconds).Decode(&c, &b)
		last := capture.Tick(-1)
		for i := range c.Chars {
			ch := &c.Chars[i]
			if ch.At <= last || ch.End < ch.At || ch.Value >= 1<<l.Format.DataBits || ch.Late < 0 || ch.Early > 0 {
				t.Fatalf("character %d: %+v after %d", i, ch, last)
			}
			last = ch.At
		}
		if len(c.Chars) > len(widths) || len(c.Fits) != len(c.Chars) || len(c.Ends) != 1 || c.Ends[0] != len(c.Chars) {
			t.Fatalf("%d characters, %d fits, ends %v of %d transitions", len(c.Chars), len(c.Fits), c.Ends, len(widths))
		}
	})
}

// FuzzGuess: any transitions give readings within bounds or ErrNoTalk, never both.
func FuzzGuess(f *testing.F) {
	f.Add([]byte{10, 10, 10, 20, 10, 10, 10, 90, 30, 10, 10, 10, 10, 20, 10, 10, 10, 10, 10, 20, 10, 10})
	f.Fuzz(func(t *testing.T, widths []byte) {
		if len(widths) > 400 {
			widths = widths[:400]
		}
		var tr capture.Transitions
		now := capture.Tick(0)
		for i, w := range widths {
			now += capture.Tick(w)*capture.Tick(w) + 1
			tr.At, tr.To = append(tr.At, now), append(tr.To, [...]capture.Level{capture.Low, capture.High}[i%2])
		}
		g, err := uart.Guess(tr, capture.Nanoseconds)
		if (err == nil) == (len(g) == 0) {
			t.Fatalf("%d readings and error %v", len(g), err)
		}
		for _, r := range g {
			if !(r.Speed > 0) || !r.Format.Valid() {
				t.Fatalf("reading %+v", r)
			}
		}
	})
}

// go test -run '^$' -bench Decoder -benchmem ./decode/uart
func BenchmarkDecoder(b *testing.B) {
	for _, format := range []string{"8N1", "8E1"} {
		b.Run(fmt.Sprintf("format=%s", format), func(b *testing.B) {
			f, _ := uart.ParseFormat(format)
			l := uart.Line{Speed: 9600, Format: f}
			w := &uarttest.Wire{Clock: capture.Nanoseconds}
			r := rand.New(rand.NewPCG(1, 2))
			for len(w.Block().At) < 4000 {
				for range 100 {
					w.Send(uarttest.Sender{Line: l, Bias: 0.03, Jitter: 0.01, Rand: r}, uint16(r.IntN(256)))
				}
			}
			blk := w.Block()
			batch := burst.Batch{At: blk.At, To: blk.To, Bursts: []burst.Span{{To: len(blk.At), Until: blk.End}}}
			d := uart.NewDecoder(l, w.Clock)
			var c uart.Chars
			b.ReportAllocs()
			for b.Loop() {
				c.Reset()
				d.Decode(&c, &batch)
			}
			b.ReportMetric(float64(len(blk.At))*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mtransitions/s")
			b.ReportMetric(float64(len(c.Chars))*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mcharacters/s")
		})
	}
}

// go test -run '^$' -bench Guess -benchmem ./decode/uart
func BenchmarkGuess(b *testing.B) {
	l := uart.Line{Speed: 9600, Format: uart.Format{DataBits: 8, Parity: uart.ParityEven, StopHalfs: 2}}
	w := &uarttest.Wire{Clock: capture.Nanoseconds}
	r := rand.New(rand.NewPCG(1, 2))
	for range 2000 {
		w.Send(uarttest.Sender{Line: l}, uint16(r.IntN(256)))
	}
	tr := w.Block().Transitions
	b.ReportAllocs()
	for b.Loop() {
		if _, err := uart.Guess(tr, w.Clock); err != nil {
			b.Fatal(err)
		}
	}
}
