package record_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"linewitness/capture"
	"linewitness/capture/internal/record"
)

// telegraph makes n transitions of 8E1 characters in frames of 12 with pauses between, at so many Bd, in nanoseconds; each
// edge lies off by a normal draw of jitter bits. It ends where the last transition stands.
func telegraph(n int, baud, jitter float64) *capture.Block {
	r := rand.New(rand.NewPCG(1, 9600))
	b := &capture.Block{First: capture.High}
	bit := 1e9 / baud
	at, level, characters := 20*bit, capture.High, 0
	send := func(l capture.Level) {
		if l != level && len(b.At) < n {
			t := capture.Tick(math.Round(at + jitter*bit*r.NormFloat64()))
			if k := len(b.At); k > 0 {
				t = max(t, b.At[k-1]+1)
			}
			b.At, b.To = append(b.At, t), append(b.To, l)
			level = l
		}
		at += bit
	}
	for len(b.At) < n {
		value, parity := r.IntN(256), 0
		send(capture.Low)
		for i := range 8 {
			send(capture.Low + 2*capture.Level(value>>i&1))
			parity ^= value >> i & 1
		}
		send(capture.Low + 2*capture.Level(parity))
		send(capture.High)
		if characters++; characters%12 == 0 {
			at += bit * (30 + 100*r.Float64())
		}
	}
	b.End = b.At[n-1]
	return b
}

// codes is a line of 24 V through a converter of so many bits, full scale 30 V, with noise, at 48 kHz on 1,024 ticks a sample.
func codes(n, bits int) *capture.Block {
	r := rand.New(rand.NewPCG(2, 48000))
	b := &capture.Block{End: capture.Tick(n) * 1024}
	step := 30 / float64(int(1)<<(bits-1))
	v := 12.0
	for i := range n {
		goal := []float64{12, 23.5, 12, 0.4}[i/40*7%4]
		v += (goal - v) * 0.4
		b.SampleAt = append(b.SampleAt, capture.Tick(i)*1024)
		b.Volts = append(b.Volts, math.Round((v+0.02*r.NormFloat64())/step)*step)
	}
	return b
}

// go test -run '^$' -bench . -count 6 ./capture/internal/record
func BenchmarkLevels(b *testing.B) {
	for _, n := range []int{64, 4096} {
		for _, baud := range []float64{1200, 9600} {
			for _, jitter := range []float64{0, 0.002, 0.01} {
				b.Run(fmt.Sprintf("n=%d/baud=%.0f/jitter=%g", n, baud, jitter), func(b *testing.B) { both(b, telegraph(n, baud, jitter), n) })
			}
		}
	}
}

func BenchmarkVolts(b *testing.B) {
	for _, bits := range []int{8, 12, 16, 24} {
		b.Run(fmt.Sprintf("bits=%d", bits), func(b *testing.B) { both(b, codes(4096, bits), 4096) })
	}
	sine := codes(4096, 16)
	for i := range sine.Volts {
		sine.Volts[i] = 12 + 11*math.Sin(float64(i)/7)
	}
	b.Run("float64", func(b *testing.B) { both(b, sine, 4096) })
	for i := range sine.Volts {
		sine.Volts[i] = math.Round(sine.Volts[i]*1e4) / 1e4
	}
	b.Run("decimal", func(b *testing.B) { both(b, sine, 4096) })
}

// both measures the codec on a block of n elements: million elements a second, and bytes an element with header.
func both(b *testing.B, block *capture.Block, n int) {
	var p []byte
	var size int
	keep := func(q []byte, h *record.Header) error {
		size += len(q)
		if h.Kind != record.Levels || len(block.At) > 0 {
			p = q
		}
		return nil
	}
	levels := len(block.At) > 0
	b.Run("encode", func(b *testing.B) {
		b.ReportAllocs()
		b.SetBytes(int64(8 * n))
		for b.Loop() {
			size = 0
			if _, err := record.AppendBlock(p[:0], 0, block, levels, keep); err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(float64(b.N)*float64(n)/b.Elapsed().Seconds()/1e6, "M/s")
		b.ReportMetric(float64(size)/float64(n), "bytes/element")
	})
	b.Run("decode", func(b *testing.B) {
		b.ReportAllocs()
		b.SetBytes(int64(8 * n))
		var back capture.Block
		for b.Loop() {
			h, body, err := record.Parse(p)
			if err == nil {
				err = record.DecodeInto(&h, body, &back)
			}
			if err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(float64(b.N)*float64(n)/b.Elapsed().Seconds()/1e6, "M/s")
	})
}
