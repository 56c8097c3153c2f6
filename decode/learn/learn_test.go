package learn_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"linewitness/capture"
	"linewitness/decode/checksum"
	"linewitness/decode/learn"
	"linewitness/decode/uart"
	"linewitness/decode/uart/uarttest"
)

// Frames of random content with a sum, polls and replies apart by their silences: the link comes out as it was made.
func TestLearnsWhatWasSent(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		speed  float64
		format string
		sum    string
		order  checksum.Order
	}{
		{1200, "8E1", "sum8", checksum.Big},
		{2400, "8N1", "xor8", checksum.Big},
		{9600, "8N2", "crc16 poly=0x1021 init=0x0000 refin=false refout=false xorout=0x0000", checksum.Big},
		{10400, "8O1", "crc8 poly=0x31 init=0x00 refin=true refout=true xorout=0x00", checksum.Big},
		{600, "8E1", "sum8-carry-ones-complement", checksum.Big},
	} {
		name := fmt.Sprintf("%g-%s-%s", c.speed, c.format, c.sum)
		f, err := uart.ParseFormat(c.format)
		if err != nil {
			t.Fatal(err)
		}
		sum, err := checksum.Parse(c.sum)
		if err != nil {
			t.Fatal(err)
		}
		spec := checksum.Spec{Sum: sum, To: -sum.Size(), At: -sum.Size(), Order: c.order}
		r := rand.New(rand.NewPCG(4, 4))
		l := uart.Line{Speed: c.speed, Format: f}
		char := f.Length() / c.speed
		w := &uarttest.Wire{Clock: capture.Nanoseconds}
		send := func(n int) {
			b := make([]byte, n)
			v := make([]uint16, n)
			for i := range b {
				b[i] = byte(r.IntN(256))
			}
			spec.Put(b)
			for i := range b {
				v[i] = uint16(b[i])
			}
			w.Send(uarttest.Sender{Line: l, Jitter: 0.01, Rand: r, Pause: 0.5 * r.Float64()}, v...)
		}
		for range 60 {
			w.Idle(60 * char)
			send(9)
			w.Idle(8 * char)
			send(7)
		}
		w.Idle(60 * char)
		p, err := learn.Learn([]capture.Block{*w.Block()}, w.Clock, learn.Known{})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if p.Line.Format != f || math.Abs(p.Speed()/c.speed-1) > 3e-4 || p.Line.Inverted {
			t.Errorf("%s: got %g Bd %s", name, p.Speed(), p.Line.Format)
		}
		if p.Checksum == nil {
			t.Errorf("%s: no checksum found", name)
		} else if got, want := p.Checksum.Sum.Compute([]byte("123456789")), sum.Compute([]byte("123456789")); got != want {
			t.Errorf("%s: got %s", name, p.Checksum.Sum)
		}
		if g := p.Framing.Gap; g < 1*char || g > 8*char {
			t.Errorf("%s: a silence of %g characters ends a frame", name, g/char)
		}
		if m := p.Timing.TurnaroundMax; !p.Timing.TwoTalkers || m < 8*char || m > 60*char {
			t.Errorf("%s: replies within %g characters, two talk: %v", name, m/char, p.Timing.TwoTalkers)
		}
	}
}

// Without a checksum none may be found: the chance of an accident is what Learn guards against.
func TestNoFalseChecksum(t *testing.T) {
	t.Parallel()
	l := uart.Line{Speed: 9600, Format: uart.Format{DataBits: 8, StopHalfs: 2}}
	for seed := range uint64(20) {
		r := rand.New(rand.NewPCG(seed, 0))
		w := &uarttest.Wire{Clock: capture.Nanoseconds}
		for range 12 {
			w.Idle(0.02)
			for range 8 {
				w.Send(uarttest.Sender{Line: l}, uint16(r.IntN(256)))
			}
		}
		w.Idle(0.1)
		p, err := learn.Learn([]capture.Block{*w.Block()}, w.Clock, learn.Known{})
		if err != nil {
			t.Fatal(err)
		}
		if p.Checksum != nil {
			t.Errorf("seed %d: found %s in random bytes", seed, p.Checksum.Sum)
		}
	}
}

func TestSilenceHasNothingToLearn(t *testing.T) {
	t.Parallel()
	for _, head := range [][]capture.Block{nil, {{End: 1e9, First: capture.High}}} {
		if p, err := learn.Learn(head, capture.Nanoseconds, learn.Known{}); !errors.Is(err, uart.ErrNoTalk) || p != nil {
			t.Errorf("got %v, %v", p, err)
		}
	}
}
