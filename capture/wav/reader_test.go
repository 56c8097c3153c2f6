package wav_test

import (
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"linewitness/capture"
	"linewitness/capture/capturetest"
	"linewitness/capture/wav"
)

func TestVector(t *testing.T) {
	const clock = 8000 * 1024
	expect(t, vector, wav.Options{}, fmt.Sprintf("0..4096 unknown 0:0V 1024:0.5V 2048:-0.5V 3072:%vV", 32767.0/32768), "")
	r, err := wav.Open(strings.NewReader(vector), "v.wav", wav.Options{FullScale: 60, Size: 52})
	if err != nil {
		t.Fatal(err)
	}
	want := capture.Info{Name: "v.wav", Format: "wav", Clock: capture.Clock{Num: clock, Den: 1}, Volts: true, Size: 52, FullScale: 60}
	if r.Info() != want {
		t.Errorf("got %+v, want %+v", r.Info(), want)
	}
}

// The values of codes follow from the definition: integers of n bits over 2^(n-1), 8 bits about 128.
func TestSamples(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(-1)
	for _, c := range []struct {
		name, format, data string
		opt                wav.Options
		want               string
	}{
		{"8 bits", pcm(8), unhex("00 80 C0 7F"), wav.Options{}, "0..4096 unknown 0:-1V 1024:0V 2048:0.5V 3072:-0.0078125V"},
		{"5 bits", pcm(5), unhex("00 C0"), wav.Options{}, "0..2048 unknown 0:-1V 1024:0.5V"},
		{"16 bits, scaled", pcm(16), unhex("0080 0060 FFFF"), wav.Options{FullScale: 64}, "0..3072 unknown 0:-64V 1024:48V 2048:-0.001953125V"},
		{"12 bits", pcm(12), unhex("0080 1000"), wav.Options{FullScale: 2048}, "0..2048 unknown 0:-2048V 1024:1V"},
		{"24 bits", pcm(24), unhex("000080 000040 FFFFFF"), wav.Options{FullScale: 1 << 23}, "0..3072 unknown 0:-8.388608e+06V 1024:4.194304e+06V 2048:-1V"},
		{"24 bits, odd", pcm(24), unhex("010000"), wav.Options{FullScale: 1 << 23}, "0..1024 unknown 0:1V"},
		{"32 bits", pcm(32), unhex("00000080 01000000"), wav.Options{FullScale: 1 << 31}, "0..2048 unknown 0:-2.147483648e+09V 1024:1V"},
		{"float 32", float(32), f32(0.1, -1.5), wav.Options{}, "0..2048 unknown 0:0.10000000149011612V 1024:-1.5V"},
		{"float 64, scaled", float(64), f64(0.1, -1), wav.Options{FullScale: 24}, "0..2048 unknown 0:2.4000000000000004V 1024:-24V"},
		{"extensible", extensible(1, 2, 16, 12, guid(1)), unhex("0040"), wav.Options{}, "0..1024 unknown 0:0.5V"},
		{"20 bits in 32", extensible(1, 4, 32, 20, guid(1)), unhex("00000040"), wav.Options{}, "0..1024 unknown 0:0.5V"},
		{"extensible float", extensible(1, 4, 32, 0, guid(3)), f32(0.5), wav.Options{}, "0..1024 unknown 0:0.5V"},
		{"no samples", pcm(16), "", wav.Options{}, "0..0 unknown"},
		{"left", form(1, 2, 1000, 4, 16), unhex("0040 0020 00C0 00E0"), wav.Options{Channel: 1}, "0..2048 unknown 0:0.5V 1024:-0.5V"},
		{"right", form(1, 2, 1000, 4, 16), unhex("0040 0020 00C0 00E0"), wav.Options{Channel: 2}, "0..2048 unknown 0:0.25V 1024:-0.25V"},
		{"third of 8 bits", form(1, 3, 1000, 3, 8), unhex("808080 8080C0 8080"), wav.Options{Channel: 3}, ""},
		{"damaged", float(32), f32(1, nan, inf, 2, 3, nan), wav.Options{},
			"0..6144 unknown 0:1V 3072:2V 4096:3V lost(1024..3072 why 5 unknown) lost(5120..6144 why 5 unknown)"},
		{"damaged at first", float(64), f64(nan, 2), wav.Options{}, "0..2048 unknown 1024:2V lost(0..1024 why 5 unknown)"},
		{"all damaged", float(64), f64(nan, inf, nan), wav.Options{}, "0..3072 unknown lost(0..3072 why 5 unknown)"},
		{"too much when scaled", float(64), f64(1e300, 1), wav.Options{FullScale: 1e10}, "0..2048 unknown 1024:1e+10V lost(0..1024 why 5 unknown)"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.want == "" { // 8 bytes of 3: the last one is no whole sample
				expect(t, riff(c.format, ck("data", c.data)), c.opt, "0..2048 unknown 0:0V 1024:0.5V",
					"t.wav: byte 50: at 0.002 s: expected data in whole samples of 3 bytes, found 2 bytes more")
				return
			}
			expect(t, riff(c.format, ck("data", c.data)), c.opt, c.want, "")
		})
	}
}

// long is a recording with damage, where that can be.
func long(codec, bits int) string {
	var b strings.Builder
	for i := range longSamples {
		v := math.Sin(float64(i))
		switch {
		case codec == 3 && i%100 == 99:
			b.WriteString(f32(math.NaN()))
		case codec == 3:
			b.WriteString(f32(v))
		case bits == 24:
			b.WriteString(u32(uint32(int32(v * (1 << 22))))[:3])
		default:
			b.WriteString(u16(int(v * 30000)))
		}
	}
	return riff(form(codec, 1, 48000, bits/8, bits), ck("data", b.String()))
}

func TestSizes(t *testing.T) {
	for _, data := range []string{long(1, 16), long(1, 24), long(3, 32)} {
		format(wav.Options{FullScale: 30}).Sizes(t, []byte(data))
	}
}

// A recording longer than the buffer, with samples across its edges.
func TestAcrossBuffers(t *testing.T) {
	const n = 100_000
	data := make([]byte, 0, 6*n)
	for i := range n {
		data = append(data, 1, 2, 3, byte(i), byte(i>>8), byte(i>>16))
	}
	got, err := format(wav.Options{Channel: 2, FullScale: 1 << 23}).Read([]byte(riff(form(1, 2, 1000, 6, 24), ck("data", string(data)))))
	if err != nil || len(got.Volts) != n || got.End != n*1024 || got.Blocks != n/8192+1 {
		t.Fatalf("%d samples until %d in %d blocks, error %v", len(got.Volts), got.End, got.Blocks, err)
	}
	for i, v := range got.Volts {
		if v != float64(i) || got.SampleAt[i] != capture.Tick(i*1024) {
			t.Fatalf("sample %d: got %v at %d", i, v, got.SampleAt[i])
		}
	}
}

func TestCuts(t *testing.T) {
	note := ck("LIST", "INFOodd")
	for _, data := range []string{
		vector,
		riff(note, extensible(1, 4, 32, 32, guid(3)), ck("fact", u32(4)), ck("data", f32(1, math.NaN(), 2, 3))),
		rf64(6, pcm(16), note, declared("data", math.MaxUint32, "abcdef")),
		riff(pcm(24), declared("data", math.MaxUint32, "abcdefghi")),
	} {
		format(wav.Options{}).Cuts(t, []byte(data))
	}
}

// A declared recording that is cut gives the samples before the cut and then says where it was cut and what is missing.
func TestCutIsToldAsCut(t *testing.T) {
	const rate, whole, align = 1000, 5, 6
	samples := unhex("000000 000040 000000 000060 000000 000020 000000 000010 000000 000008")
	head := riff(ck("odd!", "abc"), form(1, 2, rate, align, 24), ck("data", samples))
	start := len(head) - len(samples)
	want := []float64{0.5, 0.75, 0.25, 0.125, 0.0625}
	for n := start; n < len(head); n++ {
		got, err := format(wav.Options{Channel: 2}).Read([]byte(head[:n]))
		have, rest := (n-start)/align, (n-start)%align
		if len(got.Volts) != have || have > 0 && (got.Volts[have-1] != want[have-1] || got.End != capture.Tick(have*1024)) {
			t.Errorf("cut at %d: got %s", n, got.String())
		}
		var e *capture.FormatError
		if !errors.As(err, &e) {
			t.Fatalf("cut at %d: got %v", n, err)
		}
		text := fmt.Sprintf("the end of the file after %d sample%s", have, plural(have))
		if rest > 0 {
			text += fmt.Sprintf(" and %d byte%s", rest, plural(rest))
		}
		seconds := "0 s"
		if have > 0 {
			seconds = fmt.Sprintf("0.00%d s", have)
		}
		if e.Offset != int64(n) || e.Time != seconds || e.Expected != "5 samples as declared" || e.Found != text+": it was cut" {
			t.Errorf("cut at %d: got %v", n, err)
		}
	}
	for n := range start {
		if _, err := format(wav.Options{Channel: 2}).Read([]byte(head[:n])); err == nil || !strings.Contains(err.Error(), "found the end of the file") {
			t.Errorf("cut at %d: got %v", n, err)
		}
	}
}

func plural(n int) string {
	if n == 1 {
		return ""
	}
	return "s"
}

// stream is a recording of n bytes whose size nobody knew.
func stream(n int64) io.Reader {
	i := 0
	return capturetest.Repeat(riff(pcm(16), declared("data", math.MaxUint32, "")), n, func(p []byte) []byte {
		i++
		return append(p, byte(i), byte(i>>8))
	})
}

func TestMemory(t *testing.T) { format(wav.Options{}).Memory(t, shortBytes, stream) }
func TestAllocs(t *testing.T) { format(wav.Options{}).Allocs(t, stream(400<<10)) }

type closer struct {
	io.Reader
	err error
}

func (c closer) Close() error { return c.err }

func TestCloseAndProgress(t *testing.T) {
	want := errors.New("closed")
	r, err := wav.Open(closer{strings.NewReader(vector), want}, "t.wav", wav.Options{Size: 12})
	if err != nil {
		t.Fatal(err)
	}
	if r.BytesRead() != int64(len(vector)) || r.Info().Size != 12 || r.Close() != want {
		t.Errorf("read %d of %d, size %d", r.BytesRead(), len(vector), r.Info().Size)
	}
}

type empty struct{}

func (empty) Read([]byte) (int, error) { return 0, nil }

func TestNoProgress(t *testing.T) {
	if _, err := wav.Open(empty{}, "t.wav", wav.Options{}); !errors.Is(err, io.ErrNoProgress) {
		t.Errorf("got %v", err)
	}
}

func FuzzReader(f *testing.F) {
	note := ck("LIST", "INFOodd")
	for _, s := range []string{
		vector, riff(note, float(32), ck("data", f32(1, math.NaN(), 2)), note), riff(form(1, 2, 48000, 6, 24), declared("data", 0, "abcdefghi")),
		rf64(6, extensible(1, 2, 16, 12, guid(1)), declared("data", math.MaxUint32, "abcdef")), riff(pcm(8), declared("data", 0x7FFFFFFF, "abc")),
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		for channel := range 3 {
			format(wav.Options{Channel: channel, FullScale: 24}).Fuzz(t, data)
		}
	})
}
