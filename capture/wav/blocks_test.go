package wav_test

import (
	"bytes"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/wav"
)

// block has samples of 1 V at those instants, after a gap from gapFrom on if there is one.
func block(start, end, gapFrom capture.Tick, at ...capture.Tick) *capture.Block {
	b := &capture.Block{Start: start, End: end}
	if gapFrom < start {
		b.Gap = capture.Gap{From: gapFrom, To: start, Count: -1, Why: capture.GapDamaged}
	}
	for _, t := range at {
		b.SampleAt, b.Volts = append(b.SampleAt, t), append(b.Volts, 1)
	}
	return b
}

func TestWriteBlock(t *testing.T) {
	single := wav.Format{Rate: 1000, Bits: 32, Float: true}
	nanoseconds := wav.Format{Rate: 48000, Bits: 32, Float: true, Clock: capture.Nanoseconds}
	const even = "samples must be evenly spaced"
	for _, c := range []struct {
		name      string
		format    wav.Format
		blocks    []*capture.Block
		want, err string
	}{
		{"in a row", single, []*capture.Block{block(0, 2048, 0, 0, 1024), block(2048, 3072, 2048, 2048)}, "0..3072 unknown 0:1V 1024:1V 2048:1V", ""},
		{"from anywhere", single, []*capture.Block{block(-7, 2041, -7, -7, 1017)}, "0..2048 unknown 0:1V 1024:1V", ""},
		{"none", single, []*capture.Block{block(0, 9, 0)}, "0..0 unknown", ""},
		{"gap", single, []*capture.Block{block(0, 1024, 0, 0), block(3072, 4096, 1024, 3072)},
			"0..4096 unknown 0:1V 3072:1V lost(1024..3072 why 5 unknown)", ""},
		{"gap at first and last", single, []*capture.Block{block(1024, 2048, 0, 1024), block(4096, 4096, 2048)},
			"0..4096 unknown 1024:1V lost(0..1024 why 5 unknown) lost(2048..4096 why 5 unknown)", ""},
		{"all lost", single, []*capture.Block{block(2048, 2048, 0)}, "0..2048 unknown lost(0..2048 why 5 unknown)", ""},
		{"rounded, up, down", nanoseconds, []*capture.Block{block(5, 0, 5, 5, 20838, 41672, 62505), block(0, 0, 0, 83339)},
			"0..5120 unknown 0:1V 1024:1V 2048:1V 3072:1V 4096:1V", ""},
		{"gap, rounded up", nanoseconds, []*capture.Block{block(0, 20833, 0, 0), block(41667, 62500, 20833, 41667, 62500)},
			"0..4096 unknown 0:1V 2048:1V 3072:1V lost(1024..2048 why 5 unknown)", ""},
		{"a tick late", single, []*capture.Block{block(0, 2048, 0, 0, 1025)}, "0..0 unknown",
			"wav: sample 1: expected at 0.001 s, found at 0.0010009765625 s: " + even},
		{"a nanosecond early", nanoseconds, []*capture.Block{block(0, 1, 0, 0), block(0, 1, 0, 20832)}, "0..1024 unknown 0:1V",
			"wav: sample 1: expected at 0.000020833 s, found at 0.000020832 s: " + even},
		{"a hole", single, []*capture.Block{block(0, 1024, 0, 0), block(1024, 2048, 1024), block(2048, 3072, 2048, 2048)}, "0..1024 unknown 0:1V",
			"wav: sample 1: expected at 0.001 s, found at 0.002 s: " + even},
		{"restarted elsewhere", single, []*capture.Block{block(0, 1024, 0, 0), block(3000, 4024, 1024, 3000)}, "0..3072 unknown 0:1V lost(1024..3072 why 5 unknown)",
			"wav: sample 3: expected at 0.003 s, found at 0.0029296875 s: " + even},
		{"gap in PCM", wav.Format{Rate: 1000, Bits: 16, FullScale: 2}, []*capture.Block{block(0, 1024, 0, 0), block(2048, 3072, 1024, 2048)}, "0..1024 unknown 0:0.5V",
			"wav: sample 1: expected no gap, found one from 0.001 s to 0.002 s: PCM can't say that a sample is lost, floating point can"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var out file
			w := writer(t, &out, c.format)
			found := ""
			for _, b := range c.blocks {
				if err := w.WriteBlock(b); err != nil && found == "" {
					found = err.Error()
				} else if err != nil && err.Error() != found {
					t.Errorf("%v after %s", err, found)
				}
			}
			if err := w.Close(); (err != nil || found != "") && fmt.Sprint(err) != found {
				t.Errorf("closing: %v", err)
			}
			if found != c.err {
				t.Errorf("error\ngot  %s\nwant %s", found, c.err)
			}
			expect(t, string(out.data), wav.Options{}, c.want, "")
		})
	}
}

func TestWriteNaN(t *testing.T) {
	var out file
	w := writer(t, &out, wav.Format{Rate: 1000, Bits: 24})
	err := w.Write([]float64{0.5, -0.5, math.NaN(), 0.25})
	const want = "wav: sample 2: expected volts, found NaN: PCM can't say that a sample is lost, floating point can"
	if err == nil || err.Error() != want || w.Close() != err {
		t.Errorf("got %v", err)
	}
	expect(t, string(out.data), wav.Options{}, "0..2048 unknown 0:0.5V 1024:-0.5V", "")
}

var formats = []wav.Format{{Bits: 8}, {Bits: 16}, {Bits: 24}, {Bits: 32}, {Bits: 32, Float: true}, {Bits: 64, Float: true}}

// drawFormat draws a format and volts for it: in PCM none beyond its range, in 32 bits of floating point none that they
// can't hold. Full scales of floating point of 64 bits are powers of 2, so that nothing is rounded.
func drawFormat(t *rapid.T) (f wav.Format, volts *rapid.Generator[float64]) {
	f = rapid.SampledFrom(formats).Draw(t, "format")
	f.Rate = rapid.Int64Range(1, math.MaxUint32).Draw(t, "rate")
	f.FullScale = math.Ldexp(1, rapid.IntRange(-20, 20).Draw(t, "exponent"))
	if f.Bits != 64 && rapid.Bool().Draw(t, "any full scale") {
		f.FullScale = rapid.Float64Range(1e-3, 1e4).Draw(t, "full scale")
	}
	switch {
	case !f.Float:
		return f, rapid.Float64Range(-f.FullScale, f.FullScale*(1-math.Ldexp(2, -f.Bits)))
	case f.Bits == 32:
		return f, rapid.Map(rapid.Float32Range(-2, 2), func(x float32) float64 { return float64(x) * f.FullScale })
	}
	return f, rapid.Float64Range(-1e6, 1e6)
}

// What is written and read again is the same: to the bit in floating point, to half a step in PCM. Written once more
// it is the same file.
func TestWriteRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, value := drawFormat(t)
		volts := rapid.SliceOfN(value, 0, 40).Draw(t, "volts")
		first := rewrite(t, f, capturetest.Pieces(capture.Info{}, evenly(volts), rapid.IntRange(1, 50).Draw(t, "block")))
		s, err := format(wav.Options{FullScale: f.FullScale})(bytes.NewReader(first.data), rapid.IntRange(1, 50).Draw(t, "block read"))
		if err != nil {
			t.Fatal(err)
		}
		if clock := s.Info().Clock; clock.Num != f.Rate*1024 || clock.Den != 1 {
			t.Fatalf("clock %v", clock)
		}
		got, err := capturetest.Collect(s)
		if err != nil || len(got.Volts) != len(volts) {
			t.Fatalf("got %s, error %v", got.String(), err)
		}
		half := math.Ldexp(f.FullScale, -f.Bits)
		for i, v := range volts {
			d := math.Abs(got.Volts[i] - v)
			if f.Float && math.Float64bits(got.Volts[i]) != math.Float64bits(v) || !f.Float && d > half*(1+1e-6) {
				t.Fatalf("sample %d: got %v, want %v, full scale %v", i, got.Volts[i], v, f.FullScale)
			}
		}
		if again := rewrite(t, f, capturetest.Pieces(capture.Info{}, evenly(got.Volts), 7)); string(again.data) != string(first.data) {
			t.Fatalf("written again\ngot  %x\nwant %x", again.data, first.data)
		}
	})
}

// evenly is a block of samples 1024 ticks apart.
func evenly(volts []float64) *capture.Block {
	b := &capture.Block{End: capture.Tick(len(volts) * 1024)}
	b.Volts = volts
	for i := range volts {
		b.SampleAt = append(b.SampleAt, capture.Tick(i*1024))
	}
	return b
}

// rewrite writes all of a source into a file.
func rewrite(t *rapid.T, f wav.Format, s capture.Source) *file {
	out := new(file)
	w, err := wav.NewWriter(out, f)
	if err != nil {
		t.Fatal(err)
	}
	var b capture.Block
	for s.Next(&b) == nil {
		if err := w.WriteBlock(&b); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out
}

// Each channel of many is what it was alone.
func TestChannels(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, value := drawFormat(t)
		channels, n := rapid.IntRange(1, 5).Draw(t, "channels"), rapid.IntRange(1, 20).Draw(t, "samples")
		width, codec := f.Bits/8, 1
		if f.Float {
			codec = 3
		}
		head := 80
		if f.Float {
			head = 94
		}
		alone, together := make([]*file, channels), make([]byte, channels*n*width)
		for c := range alone {
			alone[c] = rewrite(t, f, capturetest.Pieces(capture.Info{}, evenly(rapid.SliceOfN(value, n, n).Draw(t, "volts")), 9))
			for i := range n {
				copy(together[(i*channels+c)*width:], alone[c].data[head+i*width:head+(i+1)*width])
			}
		}
		data := riff(form(codec, channels, uint32(f.Rate), channels*width, f.Bits), ck("data", string(together)))
		for c := range alone {
			want, err1 := format(wav.Options{FullScale: f.FullScale}).Read(alone[c].data)
			got, err2 := format(wav.Options{FullScale: f.FullScale, Channel: c + 1}).Read([]byte(data))
			if err1 != nil || err2 != nil || got.String() != want.String() {
				t.Fatalf("channel %d of %d\ngot  %s, error %v\nwant %s, error %v", c+1, channels, got.String(), err2, want.String(), err1)
			}
		}
	})
}
